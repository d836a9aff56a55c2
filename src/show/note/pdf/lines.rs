//! Text into lines of a width.

use super::face::Face;

/// Breaks a text at its spaces, and inside a word only where the word is wider than a line. The first line is shorter by
/// `first`. Every line but the last keeps the space that it was broken at.
pub fn lines(face: &Face, text: &str, size: f64, width: f64, first: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    let mut left = width - first;
    for word in text.split_inclusive(' ') {
        let wide = face.width(word.trim_end(), size);
        if wide > left && (!line.is_empty() || (lines.is_empty() && first > 0.0 && wide <= width)) {
            lines.push(std::mem::take(&mut line));
            left = width;
        }
        if wide <= left {
            line.push_str(word);
            left -= face.width(word, size);
            continue;
        }
        for letter in word.chars() {
            let wide = face.advance(letter, size);
            if wide > left && !line.is_empty() && letter != ' ' {
                lines.push(std::mem::take(&mut line));
                left = width;
            }
            line.push(letter);
            left -= wide;
        }
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// The width of the widest word.
pub fn widest_word(face: &Face, text: &str, size: f64) -> f64 {
    text.split(' ').map(|word| face.width(word, size)).fold(0.0, f64::max)
}
