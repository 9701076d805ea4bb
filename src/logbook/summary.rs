//! The list of exams: a line of each, without reading them.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::engine::{IndexRow, SummaryRow, Which};
use super::error::{FileError, LogbookError};
use super::names::{ExamId, ExamNumber, NamedBox};
use super::row::{self, Stored};
use super::store::Logbook;
use crate::exam::drops;
use crate::exam::{Outcome, Prescription, Repeats, State, repeats_of};
use crate::optics::{Dioptres, Eye, Eyes, Power, SpheroCylinder};
use crate::sharing::{Erasure, SeatName};

/// What an exam has found, as far as lists need it; kept with the exam whenever a step is added.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Found {
    /// The prescription written down for each eye, minus-cylinder form, axes to the degree.
    pub written: Eyes<Option<SpheroCylinder>>,
    /// For which eyes that was found over something that stayed on: it is not the whole power.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over: Option<Eyes<bool>>,
    /// The addition in dioptres on the quarter grid.
    pub addition: Option<f64>,
    /// That of the left eye, where it is another one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub addition_of_left: Option<f64>,
    /// What the exam comes to, once the examiner chose.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outcome: Option<Outcome>,
    /// When the drops that were put in are ready.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drops_ready: Option<Timestamp>,
    /// Whether a practice eye was examined and no person; nothing is learnt from it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub practice: Option<bool>,
    /// What retinoscopy gave and what was then found for far away, one pair for each eye that has both.
    pub retinoscopy: Vec<(Power, Power)>,
    /// Questions that were asked again.
    #[serde(default, skip_serializing_if = "Repeats::is_none")]
    pub repeats: Repeats,
}

impl Found {
    /// What the results of an exam come to.
    pub fn of(state: &State) -> Self {
        let prescription = Prescription::of(state, 1);
        let results = &state.results;
        let near_chart = Power::sphere(Dioptres(results.chart_allowance.unwrap_or(0.0)));
        let pair = |eye| Some((results.retinoscopy[eye]?, results.refraction[eye]? - near_chart));
        let of_person = state.practised.is_none();
        Self {
            written: Eyes::from_fn(|eye| prescription.eye(eye).map(|eye| eye.written)),
            over: Some(state.person.stays_on.as_ref().map(Option::is_some)).filter(|over| *over != Eyes::both(false)),
            addition: prescription.additions.right.map(|addition| addition.0),
            addition_of_left: prescription
                .additions
                .left
                .filter(|_| prescription.addition().is_none())
                .map(|left| left.0),
            outcome: state.outcome.clone(),
            drops_ready: drops::ready(&state.person.drops_put),
            practice: (!of_person).then_some(true),
            retinoscopy: Eye::BOTH.into_iter().filter(|_| of_person).filter_map(pair).collect(),
            repeats: if of_person { repeats_of(&state.guide) } else { Repeats::default() },
        }
    }

    pub(super) fn encode(&self) -> Result<String, LogbookError> {
        Ok(Stored::encode(self, "what was found")?.text)
    }
}

/// A line of the list of exams.
#[derive(Debug, Clone, PartialEq)]
pub struct ExamSummary {
    /// The exam's number in this logbook.
    pub number: ExamNumber,
    /// Its identity.
    pub id: ExamId,
    /// When it began.
    pub opened: Timestamp,
    /// Who examined, if that was noted.
    pub by: Option<String>,
    /// The label or initials, if any were entered.
    pub label: Option<String>,
    /// The box, as it is called now.
    pub in_box: NamedBox,
    /// When it was finished, if it was.
    pub finished: Option<Timestamp>,
    /// When it was put aside unfinished, if it was.
    pub put_aside: Option<Timestamp>,
    /// How many steps it has, those taken back and the taking back among them.
    pub steps: i64,
    /// What it has found; `None` when the exam cannot be read, and reading it says why.
    pub found: Option<Found>,
    /// That it was erased, if it was: nothing else but times and numbers is left.
    pub erased: Option<Erasure>,
}

/// By what an exam is looked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Indexed {
    /// The exam's number in this logbook, or at its seat.
    pub number: ExamNumber,
    /// Its identity; `None` where that cannot be read.
    pub id: Option<ExamId>,
    /// Its seat, where that is another one than this.
    pub seat: Option<SeatName>,
    /// When it began; `None` where that cannot be read.
    pub opened: Option<Timestamp>,
    /// The label or initials, if any were entered.
    pub label: Option<String>,
    /// What the exam comes to, once the examiner chose.
    pub outcome: Option<Outcome>,
}

impl Indexed {
    /// Of the line of an exam.
    pub fn of(summary: &ExamSummary) -> Self {
        Self {
            number: summary.number,
            id: Some(summary.id),
            seat: None,
            opened: Some(summary.opened),
            label: summary.label.clone(),
            outcome: summary.found.as_ref().and_then(|found| found.outcome.clone()),
        }
    }
}

/// An exam whose line cannot be read.
#[derive(Debug)]
pub struct PassedOver {
    /// The exam's number in this logbook.
    pub number: ExamNumber,
    /// What the logbook says to reading it.
    pub why: LogbookError,
}

/// A list of exams, the latest first.
#[derive(Debug, Default)]
pub struct ExamList {
    /// Those that can be read.
    pub exams: Vec<ExamSummary>,
    /// Those that cannot; they are in the logbook all the same.
    pub passed_over: Vec<PassedOver>,
}

impl Logbook {
    /// Whether no exam was ever begun.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn is_empty(&self) -> Result<bool, LogbookError> {
        Ok(self.engine.summaries(Which::Latest(1))?.is_empty())
    }

    /// Every exam, the latest first.
    ///
    /// # Errors
    /// When the file cannot be read. A single line that cannot is passed over, and named in the answer.
    pub fn exams(&self) -> Result<ExamList, LogbookError> {
        self.list(Which::All)
    }

    /// The line of one exam.
    ///
    /// # Errors
    /// When there is no such exam, or its line cannot be read.
    pub fn exam_line(&self, exam: ExamNumber) -> Result<ExamSummary, LogbookError> {
        let row = self.engine.summaries(Which::One(exam))?.pop();
        row.map_or_else(|| Err(FileError::NoSuchExam { exam }.at(self.path())), |(_, row)| self.line(row?))
    }

    /// By what each exam is looked for, the latest first, without reading any further.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn index(&self) -> Result<Vec<Indexed>, LogbookError> {
        /// What of the results an exam is looked for by.
        #[derive(Deserialize)]
        struct Searched {
            outcome: Option<Outcome>,
        }
        let indexed = |row: IndexRow| Indexed {
            number: row.number,
            id: row.id,
            seat: None,
            opened: row.opened.parse().ok(),
            label: row.label,
            // most have none, and reading each is what a search of many would wait for
            outcome: row
                .found
                .filter(|found| found.contains("\"outcome\""))
                .and_then(|found| serde_json::from_str::<Searched>(&found).ok()?.outcome),
        };
        Ok(self.engine.index()?.into_iter().map(indexed).collect())
    }

    /// The exams that were neither finished nor put aside, the latest first: those to offer at the next start. One of them
    /// may be in use in another program: claim its box first.
    ///
    /// # Errors
    /// As [`Logbook::exams`].
    pub fn open_exams(&self) -> Result<ExamList, LogbookError> {
        self.list(Which::Open)
    }

    /// What retinoscopy gave and what was then found for far away, one pair for each eye of the latest finished exams that
    /// has both, of exams that name no other examiner. Looks at the lines of at most `most` exams; one that cannot be read
    /// has no pair.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn retinoscopy_pairs(&self, most: usize, by: Option<&str>) -> Result<Vec<(Power, Power)>, LogbookError> {
        Ok(self.found_by(most, by)?.into_iter().flat_map(|found| found.retinoscopy).collect())
    }

    /// How often a question that was asked again got another answer, in the same exams.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn repeats(&self, most: usize, by: Option<&str>) -> Result<Repeats, LogbookError> {
        let found = self.found_by(most, by)?.into_iter();
        Ok(found.fold(Repeats::default(), |all, found| all.with(found.repeats)))
    }

    /// What the latest finished exams found that name no other examiner.
    fn found_by(&self, most: usize, by: Option<&str>) -> Result<Vec<Found>, LogbookError> {
        let rows = self.engine.summaries(Which::LatestClosed(most))?;
        let read = rows.iter().filter_map(|(_, row)| row.as_ref().ok());
        let own = read.filter(|row| row.by.is_none() || row.by.as_deref() == by);
        Ok(own.filter_map(|row| self.found(row)).collect())
    }

    fn list(&self, which: Which) -> Result<ExamList, LogbookError> {
        let mut list = ExamList::default();
        for (number, row) in self.engine.summaries(which)? {
            match row.and_then(|row| self.line(row)) {
                Ok(line) => list.exams.push(line),
                Err(why) => list.passed_over.push(PassedOver { number, why }),
            }
        }
        Ok(list)
    }

    pub(super) fn line(&self, row: SummaryRow) -> Result<ExamSummary, LogbookError> {
        let what = format!("exam {}", row.number);
        let time = |text: &String| row::time(self.path(), &what, text);
        Ok(ExamSummary {
            number: row.number,
            id: row.id,
            opened: time(&row.opened)?,
            finished: row.finished.as_ref().map(time).transpose()?,
            put_aside: row.put_aside.as_ref().map(time).transpose()?,
            found: self.found(&row),
            by: row.by,
            label: row.label,
            in_box: row.in_box,
            steps: row.steps,
            erased: row.erased,
        })
    }

    /// As it is kept with the exam, or else from the exam itself.
    fn found(&self, row: &SummaryRow) -> Option<Found> {
        let kept = row.found.as_deref().and_then(|found| serde_json::from_str(found).ok());
        kept.or_else(|| match row.steps {
            0 => Some(Found::default()),
            _ => self.read_exam(row.number).ok().map(|read| Found::of(read.exam.state())),
        })
    }

    /// Notes it for exams from before it was kept with them. Those that cannot be read stay without.
    pub(super) fn note_what_was_found(&mut self) -> Result<(), LogbookError> {
        if self.is_read_only() {
            return Ok(());
        }
        let mut noted = Vec::new();
        let rows = self.engine.summaries(Which::NotNoted)?.into_iter().filter_map(|(_, row)| row.ok());
        for row in rows.filter(|row| row.steps > 0) {
            if let Some(found) = self.found(&row) {
                noted.push((row.number, found.encode()?));
            }
        }
        if noted.is_empty() { Ok(()) } else { self.engine.note_found(&noted) }
    }
}
