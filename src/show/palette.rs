//! The palette: what a tone looks like on a terminal. Colour only ever repeats what a word says.
//!
//! Named colours alone, so that the person's own theme decides how they look; never black, white or bright
//! black, which vanish on one background or the other. Role colours are not insulation colours: the colour of
//! a wire is always written out.

use crate::verdict::Role;
use owo_colors::OwoColorize;

/// What a piece of text is, for the palette.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Tone {
    /// Running text.
    #[default]
    Plain,
    /// Headings and names.
    Strong,
    /// Settled, proven, in order.
    Good,
    /// Not settled, to be checked.
    Warn,
    /// Danger.
    Danger,
    /// Of less weight.
    Dim,
    /// A wire's role.
    Role(Role),
}

/// Turns tones into terminal styles, or leaves them as they are.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Palette {
    colour: bool,
}

impl Palette {
    /// No escape codes at all.
    pub fn plain() -> Self {
        Palette { colour: false }
    }

    /// Named terminal colours.
    pub fn colour() -> Self {
        Palette { colour: true }
    }

    /// Whether it paints.
    pub fn paints(self) -> bool {
        self.colour
    }

    /// A text in its tone.
    pub fn paint(self, tone: Tone, text: &str) -> String {
        if !self.colour || text.is_empty() {
            return text.to_owned();
        }
        match tone {
            Tone::Plain => text.to_owned(),
            Tone::Strong => text.bold().to_string(),
            Tone::Good => text.green().to_string(),
            Tone::Warn => text.yellow().bold().to_string(),
            Tone::Danger => text.red().bold().to_string(),
            Tone::Dim => text.dimmed().to_string(),
            Tone::Role(role) => Self::role_colour(role, text),
        }
    }

    fn role_colour(role: Role, text: &str) -> String {
        match role {
            Role::Line => text.magenta().bold().to_string(),
            Role::Load => text.yellow().to_string(),
            Role::Neutral => text.cyan().to_string(),
            Role::Traveler | Role::Tie => text.blue().bold().to_string(),
            Role::Ground => text.green().to_string(),
            Role::Other => text.red().to_string(),
            Role::Spare => text.dimmed().to_string(),
        }
    }

    /// A wire's role.
    pub fn role(self, role: Role, text: &str) -> String {
        self.paint(Tone::Role(role), text)
    }

    /// Settled, proven, in order.
    pub fn good(self, text: &str) -> String {
        self.paint(Tone::Good, text)
    }

    /// Not settled, to be checked.
    pub fn warn(self, text: &str) -> String {
        self.paint(Tone::Warn, text)
    }

    /// Of less weight.
    pub fn dim(self, text: &str) -> String {
        self.paint(Tone::Dim, text)
    }

    /// Danger.
    pub fn danger(self, text: &str) -> String {
        self.paint(Tone::Danger, text)
    }
}
