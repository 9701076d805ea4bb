//! Which exams a room has, line by line: asked of the room, nothing is fetched.

use jiff::Timestamp;

use super::error::RoomError;
use super::link::Link;

/// The most lines that a room gives at once.
pub const MOST_LINES: u16 = 999;

/// Which exams are wanted; nothing named is every one that the login may see. Names are whole ones, in small or large letters.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wanted {
    /// Of this seat.
    pub seat: Option<String>,
    /// With this number at its seat.
    pub number: Option<i64>,
    /// Of the seats of this site.
    pub site: Option<String>,
    /// By this examiner.
    pub by: Option<String>,
    /// Closed from the first of these times on and before the second, by the clock of the seat.
    pub closed: Option<(Timestamp, Timestamp)>,
    /// After the exam with this number of this seat, in the order of the list.
    pub after: Option<(String, i64)>,
}

/// An exam as the list of a room has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListedThere {
    /// Its seat.
    pub seat: String,
    /// The site of that, if it has one.
    pub site: Option<String>,
    /// Its number there.
    pub number: i64,
    /// Who examined, if that was noted.
    pub by: Option<String>,
    /// When it was closed, as its seat wrote it: RFC 3339 in UTC.
    pub closed: String,
    /// Its label.
    pub label: Option<String>,
    /// Whether the room let go of what was found, so that this line is all there is.
    pub is_let_go: bool,
    /// Whether it was erased, with its label.
    pub is_erased: bool,
}

/// Exams as lists of the room show them, the newest first: by the month in which they came to the room, then by when they were
/// closed. At most so many, up to [`MOST_LINES`]; and whether there are further ones.
///
/// # Errors
/// When the room is away or refuses: a keeper gets no list, and a login of a site none of another.
pub fn exams(link: &Link, wanted: &Wanted, most: u16) -> Result<(Vec<ListedThere>, bool), RoomError> {
    let most = usize::from(most.min(MOST_LINES));
    let (from, to) = wanted.closed.map(|(from, to)| (from.to_string(), to.to_string())).unzip();
    let (after_seat, after_number) = wanted.after.clone().unzip();
    let one_more = i32::try_from(most + 1).unwrap_or(i32::MAX);
    let rows = link.call(
        "SELECT seat, site, spoken, \"by\", at, label, is_let_go, is_erased FROM room.exams($1, $2, $3, $4, $5, $6, $7, $8, $9)",
        &[&wanted.seat, &wanted.number, &wanted.site, &wanted.by, &from, &to, &after_seat, &after_number, &one_more],
    )?;
    let mut lines: Vec<ListedThere> = rows
        .iter()
        .map(|row| ListedThere {
            seat: row.get(0),
            site: row.get(1),
            number: row.get(2),
            by: row.get(3),
            closed: row.get(4),
            label: row.get(5),
            is_let_go: row.get(6),
            is_erased: row.get(7),
        })
        .collect();
    let has_more = lines.len() > most;
    lines.truncate(most);
    Ok((lines, has_more))
}
