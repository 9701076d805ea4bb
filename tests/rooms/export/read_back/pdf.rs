//! The text of a PDF file as a reader of its own finds it: by the faces' tables of letters, with the place of each string.

use std::collections::BTreeMap;

/// One string on a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    pub page: usize,
    /// From the left edge, in points.
    pub left: f64,
    /// From the lower edge, in points.
    pub height: f64,
    pub text: String,
}

type Failure = Box<dyn std::error::Error>;

/// The bytes of a file as one letter each, so that it can be searched like a text.
fn latin(bytes: &[u8]) -> String {
    bytes.iter().map(|&byte| char::from(byte)).collect()
}

/// The numbered objects of a file.
pub fn objects(bytes: &[u8]) -> BTreeMap<u32, String> {
    let text = latin(bytes);
    let parts = text.split("endobj").filter_map(|part| {
        let (before, body) = part.split_once(" 0 obj")?;
        let number = before.rsplit(|letter: char| !letter.is_ascii_digit()).next()?.parse().ok()?;
        Some((number, body.to_owned()))
    });
    parts.collect()
}

fn reference(object: &str, key: &str) -> Option<u32> {
    object.split_once(key)?.1.split_whitespace().next()?.parse().ok()
}

/// The letters of each glyph of a face.
fn letters(cmap: &str) -> BTreeMap<u16, String> {
    let mut letters = BTreeMap::new();
    for part in cmap.split("beginbfchar").skip(1) {
        let body = part.split("endbfchar").next().unwrap_or_default();
        for line in body.lines() {
            let codes: Vec<&str> = line.split(['<', '>']).filter(|code| !code.trim().is_empty()).collect();
            if let [glyph, units] = codes[..]
                && let Ok(glyph) = u16::from_str_radix(glyph.trim(), 16)
            {
                let units: Vec<u16> = (0..units.len() / 4)
                    .filter_map(|at| u16::from_str_radix(&units[4 * at..4 * at + 4], 16).ok())
                    .collect();
                letters.insert(glyph, String::from_utf16_lossy(&units));
            }
        }
    }
    letters
}

/// Every string of a file, page by page in the order in which it is drawn.
pub fn strings(bytes: &[u8]) -> Result<Vec<Placed>, Failure> {
    let objects = objects(bytes);
    let pages: Vec<&String> = objects.values().filter(|body| body.contains("/Type /Page\n")).collect();
    let mut placed = Vec::new();
    for (index, page) in pages.into_iter().enumerate() {
        let mut faces = BTreeMap::new();
        for name in ["F1", "F2"] {
            let face =
                reference(page, &format!("/{name} ")).and_then(|number| objects.get(&number)).ok_or("no face")?;
            if !face.contains("/Type0") || !face.contains("/Identity-H") {
                return Err(format!("{name} is not embedded by its glyphs").into());
            }
            let cmap = reference(face, "/ToUnicode ").and_then(|number| objects.get(&number)).ok_or("no letters")?;
            faces.insert(name, letters(cmap));
        }
        let content = reference(page, "/Contents ").and_then(|number| objects.get(&number)).ok_or("no content")?;
        let content = content.split_once("stream\n").ok_or("no stream")?.1;
        for part in content.split("BT\n").skip(1) {
            placed.push(string(part, &faces, index)?);
        }
    }
    Ok(placed)
}

fn string(part: &str, faces: &BTreeMap<&str, BTreeMap<u16, String>>, page: usize) -> Result<Placed, Failure> {
    let (font, rest) = part.split_once(" Tf\n").ok_or("no font")?;
    let (place, rest) = rest.split_once(" Td\n").ok_or("no place")?;
    let name = font.trim_start_matches('/').split(' ').next().unwrap_or_default();
    let mut numbers = place.split(' ').map(str::parse::<f64>);
    let (Some(Ok(left)), Some(Ok(height))) = (numbers.next(), numbers.next()) else { return Err("no place".into()) };
    let face = faces.get(name).ok_or("another face")?;
    let glyphs = bytes_of(rest)?;
    let pairs = glyphs.chunks_exact(2).map(|pair| u16::from_be_bytes([pair[0], pair[1]]));
    let text = pairs.map(|glyph| face.get(&glyph).cloned().ok_or(format!("glyph {glyph} has no letter")));
    Ok(Placed { page, left, height, text: text.collect::<Result<String, _>>()? })
}

/// The bytes of a string, in hexadecimal or with escapes.
fn bytes_of(text: &str) -> Result<Vec<u8>, Failure> {
    if let Some(hex) = text.strip_prefix('<') {
        let hex = hex.split('>').next().unwrap_or_default();
        let byte = |at: usize| u8::from_str_radix(&hex[2 * at..2 * at + 2], 16);
        return Ok((0..hex.len() / 2).map(byte).collect::<Result<_, _>>()?);
    }
    let mut letters = text.strip_prefix('(').ok_or("no string")?.chars().peekable();
    let mut bytes = Vec::new();
    let mut depth = 0;
    while let Some(letter) = letters.next() {
        match letter {
            '\\' => match letters.next().ok_or("an escape of nothing")? {
                'n' => bytes.push(b'\n'),
                'r' => bytes.push(b'\r'),
                't' => bytes.push(b'\t'),
                'b' => bytes.push(8),
                'f' => bytes.push(12),
                first @ '0'..='7' => {
                    let mut code = first.to_digit(8).unwrap_or_default();
                    for _ in 0..2 {
                        if let Some(digit) = letters.peek().and_then(|next| next.to_digit(8)) {
                            code = code * 8 + digit;
                            letters.next();
                        }
                    }
                    bytes.push(u8::try_from(code)?);
                }
                other => bytes.push(u8::try_from(u32::from(other))?),
            },
            ')' if depth == 0 => return Ok(bytes),
            other => {
                depth += i32::from(other == '(') - i32::from(other == ')');
                bytes.push(u8::try_from(u32::from(other))?);
            }
        }
    }
    Err("a string without an end".into())
}

/// The lines of a file: strings of one height on one page, from left to right.
pub fn lines(bytes: &[u8]) -> Result<Vec<Vec<String>>, Failure> {
    let mut lines: Vec<(usize, f64, Vec<Placed>)> = Vec::new();
    for placed in strings(bytes)? {
        match lines.last_mut() {
            Some((page, height, line)) if *page == placed.page && (*height - placed.height).abs() < 0.01 => {
                line.push(placed);
            }
            _ => lines.push((placed.page, placed.height, vec![placed])),
        }
    }
    Ok(lines.into_iter().map(|(_, _, line)| line.into_iter().map(|placed| placed.text).collect()).collect())
}
