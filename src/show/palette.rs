//! The one place where colour is decided, and the only one that names the colour library.
//!
//! Nothing is said by colour alone: every painted word stands there without colour as well. Named colours only, so
//! that the person's own theme decides how they look; never black, white or bright black, which vanish on one ground
//! or the other. Role colours are not insulation colours: the colour of a wire is always written out.

use crate::verdict::Role;
use owo_colors::OwoColorize;

/// What `--color` asks for.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum ColorChoice {
    /// Where the output is a terminal that takes it.
    #[default]
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// What a painted text means.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Tone {
    /// Running text.
    #[default]
    Plain,
    /// A heading, or the name of what comes next.
    Heading,
    /// Settled, proven, in order.
    Good,
    /// To be careful about: not settled, to be checked.
    Caution,
    /// Dangerous or wrong.
    Danger,
    /// A name of a box, a cable, a wire.
    Name,
    /// Less important.
    Faint,
    /// A wire's role.
    Role(Role),
}

/// Paints, or does not.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Palette {
    colour: bool,
}

impl Palette {
    /// A palette that paints nothing.
    pub const PLAIN: Palette = Palette { colour: false };
    /// A palette that paints.
    pub const COLOUR: Palette = Palette { colour: true };

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
            Tone::Heading => text.bold().to_string(),
            Tone::Good => text.green().to_string(),
            Tone::Caution => text.yellow().bold().to_string(),
            Tone::Danger => text.red().bold().to_string(),
            Tone::Name => text.cyan().to_string(),
            Tone::Faint => text.dimmed().to_string(),
            Tone::Role(role) => Self::role(role, text),
        }
    }

    fn role(role: Role, text: &str) -> String {
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
}

/// What the environment says about colour.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Surroundings {
    no_color: bool,
    forced: bool,
    refused: bool,
    dumb: bool,
}

impl Surroundings {
    /// Reads the variables that matter through `variable`, which keeps this room free of the environment.
    pub fn of(variable: impl Fn(&str) -> Option<String>) -> Surroundings {
        let given = |name: &str| variable(name).filter(|value| !value.is_empty());
        Surroundings {
            no_color: given("NO_COLOR").is_some(),
            forced: given("CLICOLOR_FORCE").is_some_and(|value| value != "0"),
            refused: given("CLICOLOR").is_some_and(|value| value == "0"),
            dumb: given("TERM").is_some_and(|value| value == "dumb"),
        }
    }

    /// Decides for one stream. What the person asks for comes first, then what the environment refuses or forces, then
    /// whether the stream is a terminal.
    pub fn palette(&self, choice: ColorChoice, plain: bool, terminal: bool) -> Palette {
        let colour = match choice {
            ColorChoice::Never => false,
            ColorChoice::Always => true,
            ColorChoice::Auto if plain || self.no_color => false,
            ColorChoice::Auto if self.forced => true,
            ColorChoice::Auto if self.refused || self.dumb => false,
            ColorChoice::Auto => terminal,
        };
        Palette { colour: colour && !plain }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    type Row = (&'static [(&'static str, &'static str)], bool, bool);

    /// Environment, then whether a terminal and a pipe are painted. The rule is the project's own; the rows are the
    /// combinations on which common libraries disagree.
    const ROWS: &[Row] = &[
        (&[], true, false),
        (&[("NO_COLOR", "1")], false, false),
        (&[("NO_COLOR", "")], true, false),
        (&[("NO_COLOR", "0")], false, false),
        (&[("CLICOLOR", "0")], false, false),
        (&[("CLICOLOR_FORCE", "1")], true, true),
        (&[("CLICOLOR_FORCE", "0")], true, false),
        (&[("NO_COLOR", "1"), ("CLICOLOR_FORCE", "1")], false, false),
        (&[("TERM", "dumb")], false, false),
        (&[("TERM", "dumb"), ("CLICOLOR_FORCE", "1")], true, true),
        (&[("FORCE_COLOR", "1")], true, false),
    ];

    #[test]
    fn the_environment_decides_as_documented() {
        for (set, terminal, pipe) in ROWS {
            let look =
                |name: &str| set.iter().find(|(key, _)| *key == name).map(|(_, value)| value.to_string());
            let around = Surroundings::of(look);
            assert_eq!(
                around.palette(ColorChoice::Auto, false, true).paints(),
                *terminal,
                "{set:?} on a terminal"
            );
            assert_eq!(
                around.palette(ColorChoice::Auto, false, false).paints(),
                *pipe,
                "{set:?} into a pipe"
            );
            assert!(!around.palette(ColorChoice::Never, false, true).paints());
            assert!(around.palette(ColorChoice::Always, false, false).paints());
            assert!(!around.palette(ColorChoice::Always, true, true).paints());
        }
    }

    #[test]
    fn plain_text_stays_as_it_is() {
        assert_eq!(Palette::PLAIN.paint(Tone::Danger, "live"), "live");
        assert!(Palette::COLOUR.paint(Tone::Danger, "live").contains("live"));
    }
}
