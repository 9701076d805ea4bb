//! The steps of an exam that is still open, for whoever looks on or goes on with it.

use super::calls::{keep_box_state, knock};
use super::error::RoomError;
use super::hint::Hint;
use super::joining::Caller;
use super::link::Link;
use crate::logbook::{ExamId, ExamNumber, LiveExam, Logbook};

/// Which exam is open here, and how much of it the room has.
#[derive(Debug, Default)]
pub struct Live {
    exam: Option<i64>,
    /// The exam that was sent last, and the number of its last step.
    sent: Option<(i64, i64)>,
    /// The exam of which the room has steps.
    there: Option<(i64, ExamId)>,
    /// The seat that goes on with it.
    pub taken_by: Option<String>,
}

impl Live {
    /// This exam is open now.
    pub fn follow(&mut self, exam: Option<i64>) {
        self.exam = exam;
    }

    /// The room was lost: what it has is asked for again.
    pub fn forget(&mut self) {
        self.sent = None;
    }

    /// Sends the steps that the room has not.
    ///
    /// # Errors
    /// When the room is away or refuses.
    pub fn send(&mut self, logbook: &Logbook, caller: &Caller, link: &Link) -> Result<(), RoomError> {
        if let Some((_, id)) = self.there.filter(|(there, _)| self.exam != Some(*there)) {
            link.call("SELECT room.not_open($1, $2)", &[&caller.writer.uuid(), &id.uuid()])?;
            knock(link, Hint::Step { exam: id.uuid(), last: 0 })?;
            (self.there, self.sent, self.taken_by) = (None, None, None);
        }
        let Some(number) = self.exam else { return Ok(()) };
        let Some(exam) = logbook.live(ExamNumber(number))? else {
            (self.exam, self.sent, self.taken_by) = (None, None, None);
            return Ok(());
        };
        let now = (number, exam.steps.last().map_or(0, |step| step.number));
        if self.sent == Some(now) {
            let taken = link.call("SELECT room.taken_by($1, $2)", &[&caller.writer.uuid(), &exam.id.uuid()])?;
            self.taken_by = taken.first().and_then(|row| row.get(0));
            return Ok(());
        }
        let after = match self.sent.filter(|(sent, _)| *sent == number) {
            Some((_, last)) => last,
            None => live_head(caller, link, &exam)?,
        };
        let mut there = send(caller, link, &exam, after)?;
        if !there.is_here {
            there = send(caller, link, &exam, 0)?;
        }
        (self.sent, self.there, self.taken_by) = (Some(now), Some((number, exam.id)), there.taken_by);
        knock(link, Hint::Step { exam: exam.id.uuid(), last: now.1 })
    }
}

/// What the room says to a step.
struct There {
    /// Whether it knows the exam.
    is_here: bool,
    /// The seat that goes on with it.
    taken_by: Option<String>,
}

fn live_head(caller: &Caller, link: &Link, exam: &LiveExam) -> Result<i64, RoomError> {
    let rows = link.call("SELECT room.live_head($1, $2)", &[&caller.writer.uuid(), &exam.id.uuid()])?;
    Ok(rows.first().map_or(0, |row| row.get(0)))
}

/// Sends the steps after a number; how the exam began only where there is none before.
fn send(caller: &Caller, link: &Link, exam: &LiveExam, after: i64) -> Result<There, RoomError> {
    let opening = (after == 0).then_some(exam.opening.text.as_str());
    if opening.is_some()
        && let Some((hash, content)) = &exam.box_state
    {
        keep_box_state(link, *hash, content)?;
    }
    let steps: Vec<_> = exam.steps.iter().filter(|step| step.number > after).collect();
    let numbers: Vec<i64> = steps.iter().map(|step| step.number).collect();
    let ats: Vec<&str> = steps.iter().map(|step| step.at.as_str()).collect();
    let formats: Vec<i64> = steps.iter().map(|step| step.events.format).collect();
    let events: Vec<&str> = steps.iter().map(|step| step.events.text.as_str()).collect();
    let said = link.call(
        "SELECT is_here, taken_by FROM room.step($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
        &[
            &caller.writer.uuid(),
            &exam.id.uuid(),
            &exam.number.0,
            &exam.opened,
            &exam.by,
            &exam.opening.format,
            &opening,
            &numbers,
            &ats,
            &formats,
            &events,
        ],
    )?;
    let row = said.first().ok_or_else(|| RoomError::Unreadable { what: "no answer to a step".to_owned() })?;
    Ok(There { is_here: row.get(0), taken_by: row.get(1) })
}
