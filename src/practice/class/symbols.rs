//! The alphabet of a code: 32 symbols of five bits each.
//!
//! Capitals and digits without 0, O, 1 and I, which most typefaces and hands draw alike. Others that are taken for each other
//! (5 and S, 2 and Z, 8 and B) cannot all be left out of 32 symbols: the check symbols find them.

/// The symbols, by their value from 0 to 31.
const ALPHABET: &[u8; 32] = b"23456789ABCDEFGHJKLMNPQRSTUVWXYZ";

/// Symbols that stand together before a hyphen.
const GROUP: usize = 4;

/// Symbols as they are written: in groups, with hyphens between.
pub fn write(values: &[u8]) -> String {
    let groups = values.chunks(GROUP).map(|group| group.iter().map(|&value| symbol(value)).collect::<String>());
    groups.collect::<Vec<_>>().join("-")
}

/// The values of the symbols of a text, small letters like capitals; hyphens and spaces between them say nothing.
///
/// # Errors
/// The first character that is not a symbol, and how many characters stand before it.
pub fn read(text: &str) -> Result<Vec<u8>, (usize, char)> {
    let said = text.chars().enumerate().filter(|(_, of)| *of != '-' && !of.is_whitespace());
    said.map(|(at, of)| value(of).ok_or((at, of))).collect()
}

fn symbol(value: u8) -> char {
    char::from(ALPHABET[usize::from(value) % ALPHABET.len()])
}

fn value(of: char) -> Option<u8> {
    let capital = u8::try_from(of.to_ascii_uppercase()).ok()?;
    ALPHABET.iter().position(|symbol| *symbol == capital).map(|at| at as u8)
}
