//! Exams of practice eyes: they have a logbook of their own beside the real one, so that no record, stock or loan is touched.

use std::collections::BTreeSet;
use std::ffi::OsString;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use uuid::Uuid;

use super::error::RecordError;
use super::fresh::KeptBox;
use crate::exam::{Exam, Opening};
use crate::guide::PROCEDURES_VERSION;
use crate::logbook::{BeganWith, BoxClaim, BoxKey, Logbook, NamedBox, OpenExam};
use crate::sharing::Heads;

/// What the name of a practice logbook begins with, before the name of the real one.
const BEFORE_ITS_NAME: &str = "practice-";

/// The logbook of practice exams beside a real one.
pub fn practice_logbook(real: &Path) -> PathBuf {
    let mut name = OsString::from(BEFORE_ITS_NAME);
    name.push(real.file_name().unwrap_or_default());
    real.with_file_name(name)
}

/// Whether a logbook is called as one of practice exams.
pub fn is_practice_logbook(logbook: &Path) -> bool {
    logbook.file_name().is_some_and(|name| name.as_encoded_bytes().starts_with(BEFORE_ITS_NAME.as_bytes()))
}

/// The real logbook beside a practice logbook.
pub fn real_logbook(practice: &Path) -> PathBuf {
    let name = practice.file_name().unwrap_or_default().to_string_lossy().into_owned();
    practice.with_file_name(name.strip_prefix(BEFORE_ITS_NAME).unwrap_or(&name))
}

/// An exam of a practice eye with everything by which it is kept.
pub struct Sat {
    /// The practice logbook.
    pub logbook: Logbook,
    /// The exam in it.
    pub open: OpenExam,
    /// Its box, which is nobody's.
    pub in_box: KeptBox,
    /// No other program goes on with it meanwhile.
    pub claim: BoxClaim,
    /// The exam.
    pub exam: Exam,
    /// The version of the procedures with which it began.
    pub procedures_version: u32,
}

impl Sat {
    /// Begins an exam of a practice eye.
    ///
    /// # Errors
    /// When the logbook cannot be used.
    pub fn begin(path: &Path, opening: Opening, by: Option<&str>) -> Result<Self, RecordError> {
        let mut logbook = Logbook::open(path)?;
        let now = Timestamp::now();
        // the box of a practice exam is nobody's: each has its own, so that two programs never wait for one
        let key = BoxKey::of_name(&format!("{BEFORE_ITS_NAME}{}", Uuid::now_v7()));
        let in_box = NamedBox { key, name: opening.fitted.stock.box_name.clone() };
        let claim = logbook.claim_box(&in_box, now)?;
        let applied = Heads::default();
        let by = by.map(str::to_owned);
        let with = BeganWith { in_box, applied, by, procedures_version: PROCEDURES_VERSION };
        let open = logbook.begin_exam(&opening, &with, now)?;
        logbook.note_exam(&claim, open.number())?;
        let in_box = KeptBox { in_box: with.in_box, applied: Some(with.applied), began_with: None };
        Ok(Self { logbook, open, in_box, claim, exam: Exam::open(opening), procedures_version: PROCEDURES_VERSION })
    }

    /// The one that was begun last and has not ended; `None` where there is none, or another program has it.
    ///
    /// # Errors
    /// When the logbook cannot be used.
    pub fn last(path: &Path) -> Result<Option<Self>, RecordError> {
        if !path.exists() {
            return Ok(None);
        }
        let mut logbook = Logbook::open(path)?;
        let Some(summary) = logbook.open_exams()?.exams.into_iter().next() else { return Ok(None) };
        let Ok(claim) = logbook.claim_box(&summary.in_box, Timestamp::now()) else { return Ok(None) };
        let stored = logbook.read_exam(summary.number)?;
        logbook.note_exam(&claim, stored.open.number())?;
        let applied = stored.beginning.applied;
        let in_box = KeptBox { in_box: summary.in_box, applied, began_with: None };
        let procedures_version = stored.beginning.procedures_version;
        Ok(Some(Self { logbook, open: stored.open, in_box, claim, exam: stored.exam, procedures_version }))
    }
}

/// Which of several, from 1, have sat and ended by a text in a practice logbook.
///
/// # Errors
/// When the logbook cannot be read.
pub fn ended(path: &Path, who: &str) -> Result<BTreeSet<u16>, RecordError> {
    if !path.exists() {
        return Ok(BTreeSet::new());
    }
    let logbook = Logbook::open_read_only(path)?;
    let mut ended = BTreeSet::new();
    for exam in logbook.index()? {
        // what cannot be read has not ended
        let Ok(stored) = logbook.read_exam(exam.number) else { continue };
        let practised = stored.exam.state().practised.as_ref();
        ended.extend(practised.filter(|of| of.sitter.who == who && of.ended.is_some()).map(|of| of.sitter.number));
    }
    Ok(ended)
}
