//! Looking on at exams that are still open, read only, and going on with one at another seat.

use tokio_postgres::Row;
use uuid::Uuid;

use super::calls::{box_states, knock};
use super::error::RoomError;
use super::hint::Hint;
use super::link::Link;
use crate::exam::Exam;
use crate::logbook::parcels::exchange::state_wanted;
use crate::logbook::parcels::live::replayed;
use crate::logbook::{StepRow, Stored};
use crate::sharing::WriterId;

/// An exam that is open at some seat, as far as its steps were asked for.
#[derive(Debug, Clone)]
pub struct OpenThere {
    id: Uuid,
    /// The seat.
    pub seat: String,
    /// By which number it is spoken of there.
    pub number: i64,
    /// When it began, RFC 3339.
    pub opened: String,
    /// Who examines, if that was said.
    pub by: Option<String>,
    /// How many steps it has.
    pub step_count: i64,
    /// How long ago the room heard of it last, in seconds by the server's clock.
    pub ago_s: f64,
    opening: Stored,
    box_state: Option<Vec<u8>>,
    steps: Vec<StepRow>,
}

/// The exams that are open at the seats that the login may look on at.
///
/// # Errors
/// When the room is away, or the login is no teacher's.
pub fn open_exams(link: &Link) -> Result<Vec<OpenThere>, RoomError> {
    let sql = "SELECT exam, seat, number, opened, \"by\", format, opening, steps, ago FROM room.live_exams()";
    Ok(link.call(sql, &[])?.iter().map(OpenThere::of).collect())
}

/// Takes over the exam that is open at a seat, which is told of it; none where none is open there.
///
/// # Errors
/// When the room is away, or the login may not.
pub fn take_over(link: &Link, home: WriterId, seat: &str) -> Result<Option<OpenThere>, RoomError> {
    let sql = "SELECT exam, seat, number, opened, \"by\", format, opening, steps, ago
               FROM room.take_over($1, $2)";
    let taken = link.call(sql, &[&home.uuid(), &seat])?.first().map(OpenThere::of);
    if taken.is_some() {
        knock(link, Hint::TakenOver)?;
    }
    Ok(taken)
}

impl OpenThere {
    /// From a row, without its steps.
    fn of(row: &Row) -> Self {
        Self {
            id: row.get(0),
            seat: row.get(1),
            number: row.get(2),
            opened: row.get(3),
            by: row.get(4),
            opening: Stored { format: row.get(5), text: row.get(6) },
            step_count: row.get(7),
            ago_s: row.get(8),
            box_state: None,
            steps: Vec::new(),
        }
    }

    /// Whether this is another look at the same exam.
    pub fn is(&self, other: &Self) -> bool {
        self.id == other.id
    }

    /// The exam as it stands, once the steps are asked for that are not here yet.
    ///
    /// # Errors
    /// When the room is away or refuses, or the exam cannot be read by this program.
    pub fn as_it_stands(&mut self, link: &Link) -> Result<Exam, RoomError> {
        let unreadable = |what: String| RoomError::Unreadable { what };
        if self.box_state.is_none()
            && let Some(hash) = state_wanted(&self.opening)
        {
            self.box_state = box_states(link, &[hash])?.pop().map(|(_, content)| content);
        }
        let after = self.steps.last().map_or(0, |step| step.number);
        let sql = "SELECT number, at, format, events FROM room.live_steps($1, $2)";
        for row in link.call(sql, &[&self.id, &after])? {
            let events = Stored { format: row.get(2), text: row.get(3) };
            self.steps.push(StepRow { number: row.get(0), at: row.get(1), events });
        }
        let in_order = (1..).zip(&self.steps).all(|(number, step)| step.number == number);
        if !in_order {
            return Err(unreadable(format!("the steps of {}-{}", self.seat, self.number)));
        }
        replayed(&self.opening, |_| self.box_state.clone(), &self.steps).map_err(unreadable)
    }
}
