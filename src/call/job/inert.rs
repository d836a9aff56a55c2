//! Characters that could do more than be read. Names and remarks come from files that anybody may have written, and what
//! is shown of them must neither act on a terminal nor turn a line round.

/// Stands where a character was taken out that could have acted.
const REPLACED: char = '\u{FFFD}';

/// What a character may stay as: itself, a space, a visible mark for what could have acted, or nothing.
pub fn harmless(c: char) -> Option<char> {
    match c {
        c if c.is_whitespace() => Some(' '),
        c if c.is_control() => Some(REPLACED),
        // Direction overrides and isolates: they would reorder the words after them.
        '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}' => Some(REPLACED),
        // Interlinear and tag characters carry hidden text.
        '\u{FFF9}'..='\u{FFFB}' | '\u{E0000}'..='\u{E007F}' => Some(REPLACED),
        // Invisible marks, fillers and variation selectors: two names must not differ in them alone, and a
        // line's width must be the sum of what is seen.
        '\u{00AD}' | '\u{034F}' | '\u{061C}' | '\u{115F}' | '\u{1160}' | '\u{17B4}' | '\u{17B5}' => None,
        '\u{180B}'..='\u{180F}' | '\u{200B}'..='\u{200F}' | '\u{2060}'..='\u{2065}' => None,
        '\u{206A}'..='\u{206F}' | '\u{3164}' | '\u{FE00}'..='\u{FE0F}' | '\u{FEFF}' | '\u{FFA0}' => None,
        '\u{E0100}'..='\u{E01EF}' => None,
        c => Some(c),
    }
}

/// A text on one line with nothing in it that could act: for names of files, and whatever is put into a message.
pub fn inert(text: &str) -> String {
    text.chars().filter_map(harmless).collect()
}
