//! The steps of an exam that is still open, for whoever looks on or goes on with it.

use super::calls::{keep_box_state, knock};
use super::error::RoomError;
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
    pub fn send(&mut self, caller: &Caller, link: &Link) -> Result<(), RoomError> {
        if let Some((_, id)) = self.there.filter(|(there, _)| self.exam != Some(*there)) {
            link.call("SELECT room.not_open($1, $2)", &[&caller.writer.uuid(), &id.uuid()])?;
            (self.there, self.sent, self.taken_by) = (None, None, None);
        }
        let Some(number) = self.exam else { return Ok(()) };
        let Some(exam) = Logbook::open_read_only(&caller.path)?.live(ExamNumber(number))? else {
            (self.exam, self.sent, self.taken_by) = (None, None, None);
            return Ok(());
        };
        let taken = link.call("SELECT room.taken_by($1, $2)", &[&caller.writer.uuid(), &exam.id.uuid()])?;
        self.taken_by = taken.first().and_then(|row| row.get(0));
        let now = Some((number, exam.steps.last().map_or(0, |step| step.number)));
        if self.sent == now {
            return Ok(());
        }
        let after = live_head(caller, link, &exam)?;
        if after == 0
            && let Some((hash, content)) = &exam.box_state
        {
            keep_box_state(link, *hash, content)?;
        }
        send(caller, link, &exam, after)?;
        (self.sent, self.there) = (now, Some((number, exam.id)));
        knock(link)
    }
}

fn live_head(caller: &Caller, link: &Link, exam: &LiveExam) -> Result<i64, RoomError> {
    let rows = link.call("SELECT room.live_head($1, $2)", &[&caller.writer.uuid(), &exam.id.uuid()])?;
    Ok(rows.first().map_or(0, |row| row.get(0)))
}

fn send(caller: &Caller, link: &Link, exam: &LiveExam, after: i64) -> Result<(), RoomError> {
    let steps: Vec<_> = exam.steps.iter().filter(|step| step.number > after).collect();
    let numbers: Vec<i64> = steps.iter().map(|step| step.number).collect();
    let ats: Vec<&str> = steps.iter().map(|step| step.at.as_str()).collect();
    let formats: Vec<i64> = steps.iter().map(|step| step.events.format).collect();
    let events: Vec<&str> = steps.iter().map(|step| step.events.text.as_str()).collect();
    link.call(
        "SELECT room.step($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
        &[
            &caller.writer.uuid(),
            &exam.id.uuid(),
            &exam.number.0,
            &exam.opened,
            &exam.by,
            &exam.opening.format,
            &exam.opening.text,
            &numbers,
            &ats,
            &formats,
            &events,
        ],
    )
    .map(|_| ())
}
