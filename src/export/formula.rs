//! Texts that a spreadsheet would compute (CWE-1236), and the apostrophe that keeps them texts.

/// Whether a spreadsheet would take a text for a formula. Letters of double width count too, and white space before them and
/// apostrophes do not help: one more apostrophe before those keeps what was entered recognisable.
fn begins_as_a_formula(text: &str) -> bool {
    let text = text.trim_start_matches(|letter: char| letter.is_whitespace() || letter.is_control() || letter == '\'');
    text.starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠'])
}

/// A text as a cell holds it: an apostrophe stands before what begins as a formula does.
pub fn kept_as_text(text: &str) -> String {
    if begins_as_a_formula(text) { format!("'{text}") } else { text.to_owned() }
}

/// The text that was kept by [`kept_as_text`]; any other is as it is.
pub fn text_kept(cell: &str) -> &str {
    cell.strip_prefix('\'').filter(|text| begins_as_a_formula(text)).unwrap_or(cell)
}
