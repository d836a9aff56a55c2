//! `--color`: the palette's choice in the words of the command line.

use crate::show::palette::ColorChoice;
use clap::ValueEnum;
use clap::builder::PossibleValue;

impl ValueEnum for ColorChoice {
    fn value_variants<'a>() -> &'a [ColorChoice] {
        &[ColorChoice::Auto, ColorChoice::Always, ColorChoice::Never]
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        let (word, help) = match self {
            ColorChoice::Auto => ("auto", "Where the output is a terminal that takes it"),
            ColorChoice::Always => ("always", "Always"),
            ColorChoice::Never => ("never", "Never"),
        };
        Some(PossibleValue::new(word).help(help))
    }
}
