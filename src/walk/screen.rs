//! What is shown at a question, as data, and how it is laid out.

use crate::show::palette::Tone;
use crate::show::{Sheet, Style};

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
        self.lines.push(Line { tone, lead: lead.into(), text: text.into() });
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

    /// The card as text.
    pub fn text(&self, style: &Style) -> String {
        let mut sheet = Sheet::new(style);
        if !style.plain {
            sheet.blank();
        }
        sheet.heading(&self.title);
        if let Some(status) = &self.status {
            sheet.text(Tone::Faint, status);
        }
        for line in &self.lines {
            if line.lead.is_empty() {
                sheet.text(line.tone, &line.text);
            } else {
                sheet.hang(line.tone, &line.lead, &line.text);
            }
        }
        sheet.text(Tone::Heading, &self.ask);
        self.answers(&mut sheet);
        sheet.finish()
    }

    /// The answers: numbered for a screen reader, else by their keys, several on a line where they are short.
    fn answers(&self, sheet: &mut Sheet<'_>) {
        if sheet.is_plain() && !self.typed {
            for (at, choice) in self.choices.iter().enumerate() {
                sheet.hang(
                    Tone::Plain,
                    &format!("{}.", at + 1),
                    &format!("{} ({})", choice.label, choice.key),
                );
            }
        } else if self.choices.len() < 6 && !sheet.is_plain() {
            let all: Vec<String> =
                self.choices.iter().map(|choice| format!("{} {}", choice.key, choice.label)).collect();
            if !all.is_empty() {
                sheet.text(Tone::Plain, &format!("  {}", all.join("  ·  ")));
            }
        } else {
            for choice in &self.choices {
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

    /// The key of the choice that was meant: by key, by number, by its words.
    pub fn chosen(&self, text: &str) -> Option<&str> {
        let small = text.trim().to_lowercase();
        let by_key = self.choices.iter().find(|choice| choice.key == small);
        let by_label = || self.choices.iter().find(|choice| choice.label.to_lowercase() == small);
        // Where keys are figures themselves, a figure is a key.
        let figures = self.typed || self.choices.iter().any(|choice| choice.key.parse::<usize>().is_ok());
        let by_number = || {
            if figures {
                return None;
            }
            let at = small.parse::<usize>().ok()?.checked_sub(1)?;
            self.choices.get(at)
        };
        by_key.or_else(by_label).or_else(by_number).map(|choice| choice.key.as_str())
    }
}
