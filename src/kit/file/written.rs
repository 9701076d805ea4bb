//! A box file as it is written: what is there now, with the comments and the order of the file before it as far as they can
//! be kept.

use std::collections::HashMap;
use std::fmt::Write as _;

use super::parse_box;
use crate::kit::accessory::Accessory;
use crate::kit::declared::{DeclaredBox, LensForm, LensLine, TrayRow};
use crate::kit::document::notes::Notes;
use crate::kit::document::tree;
use crate::kit::document::{Entry, Value};
use crate::kit::lens::{Lens, PoweredKind};

/// The text of a box file that declares this box; `before` is the text that it takes comments and order from.
pub fn write_box(wanted: &DeclaredBox, before: Option<&str>) -> String {
    let rewritten = before.and_then(|before| rewritten(wanted, before));
    // what does not come out as it should is written without the file before it
    rewritten.filter(|text| declares(text, wanted)).unwrap_or_else(|| afresh(wanted))
}

/// Whether a text declares a box, whatever the order of its lines.
fn declares(text: &str, wanted: &DeclaredBox) -> bool {
    let Ok(read) = parse_box("", text) else { return false };
    let counts = |declared: &DeclaredBox| -> HashMap<Lens, (u8, u8)> {
        declared.lines.iter().map(|line| (line.lens.clone(), (line.declared, line.missing))).collect()
    };
    counts(&read) == counts(wanted)
        && DeclaredBox { lines: Vec::new(), ..read } == DeclaredBox { lines: Vec::new(), ..wanted.clone() }
}

fn afresh(wanted: &DeclaredBox) -> String {
    let mut text = format!("box: {}\n", scalar(&wanted.name));
    if let Some(id) = &wanted.id {
        let _ = writeln!(text, "id: {}", scalar(id));
    }
    if let Some(note) = &wanted.note {
        let _ = writeln!(text, "note: {}", scalar(note));
    }
    match wanted.form {
        LensForm::Thin => text.push_str("lens_form: thin\n"),
        LensForm::Additive => text.push_str("lens_form: additive\n"),
    }
    let rims = [("plus", &wanted.rims.plus), ("minus", &wanted.rims.minus)];
    let rims: Vec<String> =
        rims.into_iter().filter_map(|(key, rim)| Some(format!("{key}: {}", quoted(rim.as_ref()?)))).collect();
    if !rims.is_empty() {
        let _ = writeln!(text, "rims: {{{}}}", rims.join(", "));
    }
    text.push_str("lenses:\n");
    text.push_str(&items(&wanted.lines));
    text + &missing(wanted) + &measured(wanted) + &tray(&wanted.tray)
}

/// A part of a text: a key with all below it, and the comments and empty lines after that.
struct Part<'t> {
    key: &'t str,
    body: String,
    behind: String,
    entry: &'t Entry,
}

/// The text before with what is otherwise now; nothing where it is not written line by line.
fn rewritten(wanted: &DeclaredBox, before: &str) -> Option<String> {
    let root = tree::read(before, &mut Notes::new(""))?;
    let Value::Mapping(entries) = &root.value else { return None };
    let lines: Vec<&str> = before.split_inclusive('\n').collect();
    let line_of = |at: usize| entries.get(at).map_or(lines.len(), |entry| entry.key_at.line - 1);
    if entries.iter().any(|entry| entry.key_at.column != 1) {
        return None;
    }
    let mut text: String = lines.get(..line_of(0))?.concat();
    let has_id = entries.iter().any(|entry| entry.key == "id");
    for (at, entry) in entries.iter().enumerate() {
        let (body, behind) = with_what_is_behind(lines.get(line_of(at)..line_of(at + 1))?);
        let part = Part { key: &entry.key, body, behind, entry };
        text.push_str(&rewritten_part(&part, wanted, &lines)?);
        if !text.ends_with('\n') {
            text.push('\n');
        }
        if entry.key == "box"
            && !has_id
            && let Some(id) = &wanted.id
        {
            let _ = writeln!(text, "id: {}", scalar(id));
        }
    }
    let lacks = |key: &str| entries.iter().all(|entry| entry.key != key);
    for (key, written) in [("missing", missing(wanted)), ("measured", measured(wanted)), ("tray", tray(&wanted.tray))] {
        if lacks(key) {
            text.push_str(&written);
        }
    }
    Some(text)
}

fn rewritten_part(part: &Part<'_>, wanted: &DeclaredBox, lines: &[&str]) -> Option<String> {
    let body = match part.key {
        "box" => with_value(&part.body, "box", &wanted.name),
        "id" => with_value(&part.body, "id", wanted.id.as_deref()?),
        "lenses" => lenses(part, wanted, lines)?,
        "missing" => missing(wanted),
        "measured" => measured(wanted),
        "tray"
            if parse_box("", &format!("{}{}", bare(wanted), part.body)).is_ok_and(|read| read.tray == wanted.tray) =>
        {
            part.body.clone()
        }
        "tray" => tray(&wanted.tray),
        _ => part.body.clone(),
    };
    Some(body + &part.behind)
}

/// A box of these lenses and nothing else, to read a part of its file with.
fn bare(wanted: &DeclaredBox) -> String {
    format!("box: x\nlenses:\n{}", items(&wanted.lines))
}

/// The line of a key as it was where the value is the same, comments among it.
fn with_value(body: &str, key: &str, value: &str) -> String {
    let is_it = |entry: &Entry| match &entry.value.value {
        Value::Scalar { text, .. } => text.trim() == value,
        Value::List(_) | Value::Mapping(_) | Value::Refused => false,
    };
    let same = tree::read(body, &mut Notes::new("")).is_some_and(|root| match &root.value {
        Value::Mapping(entries) => entries.iter().any(is_it),
        Value::Scalar { .. } | Value::List(_) | Value::Refused => false,
    });
    if same { body.to_owned() } else { format!("{key}: {}\n", scalar(value)) }
}

/// Lines, and the comments and empty lines at the left edge that end them.
fn with_what_is_behind(lines: &[&str]) -> (String, String) {
    let is_behind = |line: &&&str| line.trim().is_empty() || line.starts_with('#');
    let behind = lines.iter().rev().take_while(is_behind).count();
    let (body, behind) = lines.split_at(lines.len() - behind);
    (body.concat(), behind.concat())
}

/// The lines of lenses: those of which nothing is otherwise as they were.
fn lenses(part: &Part<'_>, wanted: &DeclaredBox, lines: &[&str]) -> Option<String> {
    let Value::List(nodes) = &part.entry.value.value else { return None };
    let first = part.entry.key_at.line - 1;
    let end = first + part.body.split_inclusive('\n').count();
    let begins = |at: usize| nodes.get(at).map_or(end, |node| node.at.line - 1);
    if nodes.windows(2).any(|two| two[0].at.line == two[1].at.line) || begins(0) == first {
        return None;
    }
    let mut text: String = lines.get(first..begins(0))?.concat();
    let mut left: Vec<&LensLine> = wanted.lines.iter().collect();
    for at in 0..nodes.len() {
        let body: String = lines.get(begins(at)..begins(at + 1))?.concat();
        let declared = parse_box("", &format!("box: x\nlenses:\n{body}")).ok()?.lines;
        let now: Vec<LensLine> = declared
            .iter()
            .filter_map(|line| left.iter().find(|left| left.lens == line.lens))
            .map(|line| (*line).clone())
            .collect();
        left.retain(|line| now.iter().all(|now| now.lens != line.lens));
        let is_as_it_was =
            now.len() == declared.len() && now.iter().zip(&declared).all(|(now, was)| now.declared == was.declared);
        if is_as_it_was {
            text.push_str(&body);
            continue;
        }
        let comments = body.split_inclusive('\n').filter(|line| line.trim_start().starts_with('#'));
        text.extend(comments);
        text.push_str(&items(&now));
    }
    let left: Vec<LensLine> = left.into_iter().cloned().collect();
    if !text.ends_with('\n') {
        text.push('\n');
    }
    Some(text + &items(&left))
}

/// Lenses in lines, those of one kind and count together.
fn items(lines: &[LensLine]) -> String {
    let mut text = String::new();
    let kind = |line: &LensLine| line.lens.powered_kind();
    for together in
        lines.chunk_by(|one, next| kind(one).is_some() && (kind(one), one.declared) == (kind(next), next.declared))
    {
        let [first, ..] = together else { continue };
        let each = first.declared;
        match (&first.lens, kind(first)) {
            (_, Some(kind)) => {
                let powers: Vec<String> = powers(kind, together).iter().map(|power| format!("\"{power}\"")).collect();
                let _ =
                    writeln!(text, "  - kind: {}\n    powers: [{}]\n    each: {each}", kind.word(), powers.join(", "));
            }
            (Lens::Accessory(accessory), None) if Accessory::known(accessory.name()).is_some() => {
                let _ = writeln!(text, "  - {{kind: {}, each: {each}}}", accessory.name());
            }
            (lens, None) => {
                let does = [(lens.occludes(), "covers: true, "), (lens.has_direction(), "turns: true, ")];
                let does: String = does.into_iter().filter(|(does, _)| *does).map(|(_, words)| words).collect();
                let name = quoted(lens.name().unwrap_or_default());
                let _ = writeln!(text, "  - {{kind: accessory, name: {name}, {does}each: {each}}}");
            }
        }
    }
    text
}

/// Powers one by one, or in series where three or more follow each other by one step; both signs together.
fn powers(kind: PoweredKind, lines: &[LensLine]) -> Vec<String> {
    let marks: Vec<i32> = lines.iter().filter_map(|line| Some(line.lens.mark()?.thousandths())).collect();
    let mut signs: Vec<(&str, Vec<i32>)> = Vec::new();
    let mut of = |sign: &'static str, amount: i32| match signs.iter_mut().find(|(known, _)| *known == sign) {
        Some((_, amounts)) => amounts.push(amount),
        None => signs.push((sign, vec![amount])),
    };
    for &mark in &marks {
        let both = kind.is_signed() && mark != 0 && marks.contains(&-mark);
        match (both, mark.signum()) {
            (_, 0) => of("", 0),
            (true, 1) => of("±", mark),
            (true, _) => {}
            (false, 1) if kind.is_signed() => of("+", mark),
            (false, 1) => of("", mark),
            (false, _) => of("-", -mark),
        }
    }
    signs.into_iter().flat_map(|(sign, amounts)| series(sign, &amounts)).collect()
}

fn series(sign: &str, amounts: &[i32]) -> Vec<String> {
    let mut sorted = amounts.to_vec();
    sorted.sort_unstable();
    let hundredths = |amount: i32| format!("{}.{:02}", amount / 1000, amount % 1000 / 10);
    let written = |amount: i32| if amount == 0 { "plano".to_owned() } else { format!("{sign}{}", hundredths(amount)) };
    // eighths are cut to two places, so that their step cannot be written
    let is_whole = |amount: i32| amount % 10 == 0 && amount != 0;
    let mut all = Vec::new();
    let mut rest = sorted.as_slice();
    while let [first, others @ ..] = rest {
        let step = others.first().map_or(0, |next| next - first);
        let follow =
            rest.windows(2).take_while(|two| two[1] - two[0] == step && is_whole(two[0]) && is_whole(two[1])).count();
        if follow >= 2 {
            all.push(format!("{} to {} by {}", written(*first), written(rest[follow]), hundredths(step)));
            rest = &rest[follow + 1..];
        } else {
            all.push(written(*first));
            rest = others;
        }
    }
    all
}

fn missing(wanted: &DeclaredBox) -> String {
    let missing = wanted.lines.iter().filter(|line| line.missing > 0).map(|line| match line.missing {
        1 => quoted(&bare_name(&line.lens)),
        more => quoted(&format!("{} x{more}", bare_name(&line.lens))),
    });
    let missing: Vec<String> = missing.collect();
    if missing.is_empty() { String::new() } else { format!("missing: [{}]\n", missing.join(", ")) }
}

/// What a file calls a lens: an accessory of its own by its name alone.
fn bare_name(lens: &Lens) -> String {
    lens.name().map_or_else(|| lens.to_string(), str::to_owned)
}

fn measured(wanted: &DeclaredBox) -> String {
    let mut text = String::new();
    for measured in &wanted.measured {
        let (piece, power) = (&measured.piece, measured.power);
        let is_signed = piece.lens.powered_kind().is_some_and(PoweredKind::is_signed);
        let power = if is_signed && power != 0.0 { format!("{power:+}") } else { power.to_string() };
        let mark = piece.lens.mark().unwrap_or_default();
        let sure = if crate::kit::mark::Doubt::of(mark, measured.power).is_some() { ", sure: true" } else { "" };
        let note = measured.note.as_ref().map(|note| format!(", note: {}", quoted(note))).unwrap_or_default();
        let lens = quoted(&format!("{} #{}", bare_name(&piece.lens), piece.number));
        let _ = writeln!(text, "  - {{lens: {lens}, power: {power}{note}{sure}}}");
    }
    if text.is_empty() { text } else { format!("measured:\n{text}") }
}

fn tray(rows: &[TrayRow]) -> String {
    let mut text = String::new();
    for row in rows {
        let lenses: Vec<String> = row.lenses.iter().map(|lens| quoted(&bare_name(lens))).collect();
        let _ = writeln!(text, "  - {{row: {}, lenses: [{}]}}", quoted(&row.name), lenses.join(", "));
    }
    if text.is_empty() { text } else { format!("tray:\n{text}") }
}

/// A text as YAML writes it on a line of its own.
fn scalar(text: &str) -> String {
    let plain = !text.is_empty()
        && text.chars().all(|c| c.is_alphanumeric() || matches!(c, ' ' | '-' | '.' | ','))
        && text.starts_with(char::is_alphabetic)
        && !text.ends_with(' ')
        && !matches!(text.to_lowercase().as_str(), "null" | "true" | "false");
    if plain { text.to_owned() } else { quoted(text) }
}

/// A text in quotes, as YAML reads it.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

/// The text of a file for a new box: the lenses of a template of which there are any, under a name and an `id` of its own.
pub fn write_new_box(template: &DeclaredBox, name: &str, id: &str, pieces: &dyn Fn(&Lens) -> u8) -> String {
    let there = |lens: &Lens| pieces(lens) > 0;
    let line = |line: &LensLine| LensLine { lens: line.lens.clone(), declared: pieces(&line.lens), missing: 0 };
    let row = |row: &TrayRow| TrayRow {
        name: row.name.clone(),
        lenses: row.lenses.iter().filter(|lens| there(lens)).cloned().collect(),
    };
    let declared = DeclaredBox {
        name: name.to_owned(),
        id: Some(id.to_owned()),
        note: None,
        lines: template.lines.iter().filter(|line| there(&line.lens)).map(line).collect(),
        measured: Vec::new(),
        tray: template.tray.iter().map(row).filter(|row| !row.lenses.is_empty()).collect(),
        ..template.clone()
    };
    write_box(&declared, None)
}
