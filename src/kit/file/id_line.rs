//! Writing an `id` into the text of a box file, every other byte of it as it was.

use super::parse_box;

/// The text of a box file with a line `id: ID` below the line of its name, or above it where that cannot be; `None` where
/// neither gives the same box with this `id`, as in a file written in braces, or one that has an `id`.
pub fn with_id(text: &str, id: &str) -> Option<String> {
    let before = parse_box("", text).ok()?;
    let wanted = super::DeclaredBox { id: Some(id.to_owned()), ..before };
    let mut starts = text.split_inclusive('\n').scan(0, |at, line| {
        let start = *at;
        *at += line.len();
        Some((start, line))
    });
    let (start, line) = starts.find(|(_, line)| names_the_box(line))?;
    let ending = if line.ends_with("\r\n") { "\r\n" } else { "\n" };
    let indent: String = line.chars().take_while(|character| *character == ' ').collect();
    let below = start + line.len();
    let broken = if line.ends_with('\n') { "" } else { ending };
    let candidates =
        [(below, format!("{broken}{indent}id: {id}{ending}")), (start, format!("{indent}id: {id}{ending}"))];
    candidates.into_iter().find_map(|(at, new)| {
        let written = format!("{}{new}{}", &text[..at], &text[at..]);
        parse_box("", &written).is_ok_and(|read| read == wanted).then_some(written)
    })
}

/// The text of a box file with another name; `None` where its line cannot be changed alone.
pub fn with_name(text: &str, name: &str) -> Option<String> {
    let before = parse_box("", text).ok()?;
    let wanted = super::DeclaredBox { name: name.to_owned(), ..before };
    let mut at = 0;
    let mut lines = text.split_inclusive('\n').map(|line| {
        let start = at;
        at += line.len();
        (start, line)
    });
    let (start, line) = lines.find(|(_, line)| names_the_box(line))?;
    let ending = if line.ends_with("\r\n") {
        "\r\n"
    } else if line.ends_with('\n') {
        "\n"
    } else {
        ""
    };
    let indent: String = line.chars().take_while(|character| matches!(character, ' ' | '\u{feff}')).collect();
    let quoted = name.replace('\\', "\\\\").replace('"', "\\\"");
    let candidates = [format!("{indent}box: {name}{ending}"), format!("{indent}box: \"{quoted}\"{ending}")];
    candidates.into_iter().find_map(|new| {
        let written = format!("{}{new}{}", &text[..start], &text[start + line.len()..]);
        parse_box("", &written).is_ok_and(|read| read == wanted).then_some(written)
    })
}

fn names_the_box(line: &str) -> bool {
    let key = line.trim_start_matches([' ', '\u{feff}']);
    ["box:", "\"box\":", "'box':"].iter().any(|written| key.starts_with(written))
}
