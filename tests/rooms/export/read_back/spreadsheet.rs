//! A table as a spreadsheet opens it by itself: the encoding by the byte-order mark, each cell by what it looks like.

/// What a spreadsheet takes a cell for.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    Empty,
    Number(f64),
    /// A day, as `6/12` or `3-4` is one.
    Date(String),
    /// What would be computed.
    Formula(String),
    Text(String),
}

/// The table with its head first.
pub fn opened(bytes: &[u8]) -> Result<Vec<Vec<Cell>>, Box<dyn std::error::Error>> {
    let text = match bytes.strip_prefix(b"\xef\xbb\xbf") {
        Some(utf8) => String::from_utf8(utf8.to_vec())?,
        // without the mark a spreadsheet takes the encoding of its computer, commonly one byte a letter
        None => bytes.iter().map(|&byte| char::from(byte)).collect(),
    };
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(text.as_bytes());
    let rows = reader.records().map(|row| Ok(row?.iter().map(cell).collect()));
    rows.collect()
}

fn cell(text: &str) -> Cell {
    let looks = text.trim_start_matches(|letter: char| letter.is_whitespace() || letter.is_control());
    if text.is_empty() {
        Cell::Empty
    } else if let Ok(number) =
        looks.parse::<f64>().map_err(|_| ()).and_then(|n| if n.is_finite() { Ok(n) } else { Err(()) })
    {
        Cell::Number(number)
    } else if looks.starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠']) {
        Cell::Formula(text.to_owned())
    } else if is_day(looks) {
        Cell::Date(text.to_owned())
    } else {
        Cell::Text(text.to_owned())
    }
}

/// Two or three numbers with a stroke or a hyphen between them.
fn is_day(text: &str) -> bool {
    let parts: Vec<&str> = text.split(['/', '-']).collect();
    let number = |part: &&str| (1..=4).contains(&part.len()) && part.chars().all(|letter| letter.is_ascii_digit());
    (2..=3).contains(&parts.len()) && parts.iter().all(number)
}

/// One row by the names of its columns.
pub fn column<'a>(table: &'a [Vec<Cell>], row: usize, name: &str) -> Option<&'a Cell> {
    let at = table.first()?.iter().position(|head| *head == Cell::Text(name.to_owned()))?;
    table.get(row)?.get(at)
}
