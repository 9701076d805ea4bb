//! How records are written: cylinder form, notation, examiner and time zone.

use std::path::Path;
use std::sync::OnceLock;

use jiff::tz::TimeZone;
use jiff::{Timestamp, ZonedDateTime};

use crate::export::exam_name::exam_name;
use crate::export::{Record, RecordHead};
use crate::logbook::{ExamNumber, StoredExam};
use crate::optics::{AcuityNotation, CylinderForm};
use crate::sharing::SeatName;

/// How records are written, in the time zone of this computer.
#[derive(Debug, Clone)]
pub struct Writing {
    /// By the settings; the box of an exam may decide otherwise.
    chosen: CylinderForm,
    /// Asked for: whatever the box holds.
    asked: Option<CylinderForm>,
    acuity: AcuityNotation,
    examiner: Option<String>,
    /// Found out when the first time is written: that reads the system's whole list of zones.
    zone: OnceLock<TimeZone>,
}

impl Writing {
    /// With a cylinder form, a notation, and who examines, where that is known.
    pub fn new(chosen: CylinderForm, acuity: AcuityNotation, examiner: Option<String>) -> Self {
        Self { chosen, asked: None, acuity, examiner, zone: OnceLock::new() }
    }

    /// How cylinders are written where several exams stand side by side, whatever their boxes.
    pub fn form(&self) -> CylinderForm {
        self.asked.unwrap_or(self.chosen)
    }

    /// Who examines, if that is known.
    pub fn examiner(&self) -> Option<&str> {
        self.examiner.as_deref()
    }

    /// The same with cylinders in a form that was asked for, whatever the box of an exam.
    #[must_use]
    pub fn in_form(&self, form: CylinderForm) -> Self {
        Self { asked: Some(form), ..self.clone() }
    }

    /// A time in the zone of this computer.
    pub fn local(&self, at: Timestamp) -> ZonedDateTime {
        at.to_zoned_datetime(self.zone.get_or_init(|| zone_here().unwrap_or(TimeZone::UTC)).clone())
    }

    /// The record of an exam as it stands. Where the exam does not say who examined, the record has the examiner of the
    /// settings; of an exam of another seat nobody knows it here.
    pub fn record(&self, stored: &StoredExam) -> Record {
        let here = self.examiner.as_ref().filter(|_| stored.seat.is_none());
        let head = RecordHead {
            id: Some(stored.id().uuid()),
            exam: number(stored.number()),
            seat: stored.seat.as_ref().map(ToString::to_string),
            opened: self.local(stored.opened),
            closed: stored.closed().map(|at| self.local(at)),
            examiner: stored.by.as_ref().or(here).cloned(),
            form: self.asked.unwrap_or_else(|| stored.exam.state().fitted.stock.form_in_use(self.chosen)),
            acuity: self.acuity,
            axis_step_deg: 1,
            additions_unread: stored.unread.len(),
        };
        Record::of(stored.exam.state(), head)
    }
}

/// By what people speak of an exam: its number, with the seat where that is another one.
pub fn name_of(stored: &StoredExam) -> String {
    exam_name(number(stored.number()), stored.seat.as_ref().map(SeatName::as_str))
}

/// The number of an exam as people see it.
pub fn number(number: ExamNumber) -> u64 {
    u64::try_from(number.0).unwrap_or_default()
}

/// The exam with a number that people see.
pub fn exam_number(number: u64) -> ExamNumber {
    ExamNumber(i64::try_from(number).unwrap_or(i64::MAX))
}

/// The time zone of this computer; `None` where what is set is none, so that times are written in UTC.
pub fn zone_here() -> Option<TimeZone> {
    let named = std::env::var("TZ").unwrap_or_default();
    let file = Path::new(named.strip_prefix(':').unwrap_or(&named));
    // a pipe would be waited for
    if file.is_absolute() && !file.is_file() {
        return None;
    }
    TimeZone::try_system().ok()
}

/// Whether a time zone is set that nobody knows. Where none is set nothing is looked up.
pub fn set_zone_is_unknown() -> bool {
    std::env::var_os("TZ").is_some_and(|named| !named.is_empty()) && zone_here().is_none()
}
