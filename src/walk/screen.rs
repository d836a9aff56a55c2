//! What is shown at a question, as data, and how it is laid out.

use crate::call::job::inert;
use crate::show::palette::Tone;
use crate::show::text::{sanitize, width};
use crate::show::{Sheet, Style};

/// Up to so many columns a choice is short.
const SHORT: usize = 12;

/// Fewer choices than these stand on a line, however long they are.
const FEW: usize = 6;

/// One of the answers that can be chosen.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Choice {
    /// What to type.
    pub key: String,
    /// What it means.
    pub label: String,
}

/// A line of a card.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Line {
    /// Its tone.
    pub tone: Tone,
    /// What stands before it and its further lines.
    pub lead: String,
    /// What it says.
    pub text: String,
    /// A drawing that says the same, with its spaces; not for a screen reader.
    pub drawn: Option<String>,
}

/// Everything on one card.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Screen {
    /// What this is about.
    pub title: String,
    /// How the call stands.
    pub status: Option<String>,
    /// What to know, and what to do first.
    pub lines: Vec<Line>,
    /// The question.
    pub ask: String,
    /// Answers to choose from; none where something is typed.
    pub choices: Vec<Choice>,
    /// Whether something else than the choices is typed as well.
    pub typed: bool,
    /// What an empty answer means, where it means something.
    pub empty: Option<String>,
}

impl Screen {
    /// A card with a question.
    pub fn new(title: impl Into<String>, ask: impl Into<String>) -> Screen {
        Screen { title: title.into(), ask: ask.into(), ..Screen::default() }
    }

    /// With a line of running text.
    pub fn say(self, text: impl Into<String>) -> Screen {
        self.line(Tone::Plain, "", text)
    }

    /// With a line.
    pub fn line(mut self, tone: Tone, lead: impl Into<String>, text: impl Into<String>) -> Screen {
        self.lines.push(Line { tone, lead: lead.into(), text: text.into(), drawn: None });
        self
    }

    /// With a line of a drawing; where nothing is drawn, what it says of a name is said.
    pub fn draw(mut self, name: &str, drawn: String, says: String) -> Screen {
        let lead = format!("{}:", sanitize(name));
        self.lines.push(Line { tone: Tone::Plain, lead, text: says, drawn: Some(drawn) });
        self
    }

    /// With answers to choose from.
    pub fn choose(mut self, choices: &[(&str, &str)]) -> Screen {
        let choice = |(key, label): &(&str, &str)| Choice { key: (*key).into(), label: (*label).into() };
        self.choices.extend(choices.iter().map(choice));
        self
    }

    /// With something else than the choices to type as well.
    pub fn typed(mut self) -> Screen {
        self.typed = true;
        self
    }

    /// With a meaning of an empty answer.
    pub fn empty(mut self, means: impl Into<String>) -> Screen {
        self.empty = Some(means.into());
        self
    }

    /// The card as text, after another one: a title that says the same again is left out.
    pub fn text(&self, style: &Style, before: Option<&Screen>) -> String {
        let mut sheet = Sheet::new(style);
        if before.is_none_or(|before| before.title != self.title) || self.status.is_some() {
            sheet.heading(&self.title);
        }
        if let Some(status) = &self.status {
            sheet.text(Tone::Faint, status);
        }
        for line in &self.lines {
            match &line.drawn {
                Some(drawn) if !style.plain => sheet.verbatim(&inert(drawn)),
                _ if line.lead.is_empty() => sheet.text(line.tone, &line.text),
                _ => sheet.hang(line.tone, &line.lead, &line.text),
            }
        }
        self.asked(&mut sheet);
        if style.plain { sheet.finish() } else { format!("\n{}", sheet.finish()) }
    }

    /// The question alone, where the card was just shown.
    pub fn question(&self, style: &Style) -> String {
        let mut sheet = Sheet::new(style);
        self.asked(&mut sheet);
        sheet.finish()
    }

    /// The question and its answers: numbered for a screen reader, else by their keys, several on a line where they are
    /// short.
    fn asked(&self, sheet: &mut Sheet<'_>) {
        sheet.text(Tone::Heading, &self.ask);
        if sheet.is_plain() && !self.typed {
            for (at, choice) in self.choices.iter().enumerate() {
                let says = format!("{} ({})", choice.label, choice.key);
                sheet.hang(Tone::Plain, &format!("{}.", at + 1), &says);
            }
        } else {
            let short = |choice: &&Choice| width(&choice.label) <= SHORT;
            let long = self.choices.iter().filter(|choice| !short(choice)).count();
            let all = self.choices.len() < FEW;
            let beside = |choice: &&Choice| !sheet.is_plain() && (all || (long < 3 && short(choice)));
            let (beside, below): (Vec<&Choice>, Vec<&Choice>) = self.choices.iter().partition(beside);
            let beside = beside.iter().map(|choice| format!("{} {}", choice.key, choice.label));
            packed(beside, sheet.room()).iter().for_each(|line| sheet.text(Tone::Plain, line));
            for choice in below {
                sheet.hang(Tone::Name, &format!("  {}", choice.key), &choice.label);
            }
        }
        if let Some(empty) = &self.empty {
            sheet.text(Tone::Plain, &format!("Enter: {empty}."));
        }
    }

    /// The words of the choice that was meant.
    pub fn chosen_label(&self, text: &str) -> Option<&str> {
        let key = self.chosen(text)?;
        self.choices.iter().find(|choice| choice.key == key).map(|choice| choice.label.as_str())
    }

    /// What was typed where the choices are shown with numbers: the key of the number, else the same. A number that is not shown
    /// is a reading, or a slip, and no choice.
    pub fn by_number<'t>(&'t self, text: &'t str) -> &'t str {
        let numbered = !self.typed && self.choices.iter().all(|choice| choice.key.parse::<usize>().is_err());
        let at =
            text.trim().parse::<usize>().ok().filter(|_| numbered).and_then(|number| number.checked_sub(1));
        at.and_then(|at| self.choices.get(at)).map_or(text, |choice| choice.key.as_str())
    }

    /// The key of the choice that was meant: by key, or by its words.
    pub fn chosen(&self, text: &str) -> Option<&str> {
        let small = text.trim().to_lowercase();
        let by_key = self.choices.iter().find(|choice| choice.key == small);
        let by_label = || self.choices.iter().find(|choice| choice.label.to_lowercase() == small);
        by_key.or_else(by_label).map(|choice| choice.key.as_str())
    }
}

/// Choices put on lines of a width, none of them cut in two.
fn packed(choices: impl Iterator<Item = String>, room: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for choice in choices {
        match lines.last_mut() {
            Some(line) if width(line) + 3 + width(&choice) <= room => {
                line.push_str(" · ");
                line.push_str(&choice);
            }
            _ => lines.push(choice),
        }
    }
    lines
}
