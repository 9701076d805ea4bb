//! How an exam of a practice eye went: what the page says of it, line by line, and the step that is replayed.

use std::rc::Rc;

use crate::exam::{Exam, ExamError};
use crate::export::wrapping::wrapped_to_columns;
use crate::frame::FittedFrame;
use crate::optics::{Acuity, AcuityNotation, CylinderForm, Eye};
use crate::practice::feedback::costliest::Costliest;
use crate::practice::feedback::sentences::{of_costliest, sentences};
use crate::practice::feedback::{Ended, Feedback, guides_own};
use crate::practice::seat::Seat;

use super::words;

/// No run of text is wider, whatever the screen.
const COLUMNS: usize = 70;

/// How an exam went.
#[derive(Debug, Clone, PartialEq)]
pub struct EndedPage {
    /// What is said of it.
    pub feedback: Rc<Feedback>,
    /// The first line that is shown, as far as there are lines after it.
    pub top: usize,
    /// The step that cost most, where one did.
    pub costliest: Option<Rc<Moments>>,
    /// Whether that is replayed.
    pub replays: bool,
}

/// What stood before the eyes before and after the step that cost most.
#[derive(Debug, Clone, PartialEq)]
pub struct Moments {
    /// The step.
    pub costliest: Costliest,
    /// Before it.
    pub before: FittedFrame,
    /// After it.
    pub after: FittedFrame,
}

/// A line of the page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum EndedLine {
    /// Nothing.
    Gap,
    /// What the next lines are about.
    Heading(&'static str),
    /// A row of the table: the eye, what it needs, what is written, its best line.
    Row([String; 4]),
    /// A part of a sentence.
    Said(String),
}

impl EndedPage {
    /// Of the exam of whoever sat there, who took so many minutes.
    ///
    /// # Errors
    /// When a step of it is refused; it was not when it was taken.
    pub fn of(exam: &Exam, seat: &Seat, minutes: Option<f64>) -> Result<Self, ExamError> {
        let person = &seat.person;
        // a guide that cannot lead this person says nothing of what it would have taken
        let guide = guides_own(exam, person, u64::from(seat.number)).ok();
        let feedback = Feedback::of(&Ended { person, exam, minutes, guide })?;
        let moments = |costliest: Costliest| -> Result<Rc<Moments>, ExamError> {
            let (before, after) = (exam.state_after(costliest.before)?, exam.state_after(costliest.after)?);
            Ok(Rc::new(Moments { costliest, before: before.fitted, after: after.fitted }))
        };
        let costliest = feedback.costliest.map(moments).transpose()?;
        Ok(Self { feedback: Rc::new(feedback), top: 0, costliest, replays: false })
    }

    /// All lines, as whoever reads them writes powers and acuities.
    pub fn lines(&self, form: CylinderForm, notation: AcuityNotation) -> Vec<EndedLine> {
        let said = |text: &str| wrapped_to_columns(text, COLUMNS).into_iter().map(EndedLine::Said).collect::<Vec<_>>();
        let mut lines = self.table(form, notation);
        for (section, sentences) in sentences(&self.feedback, form) {
            lines.extend([EndedLine::Gap, EndedLine::Heading(section.heading())]);
            lines.extend(sentences.iter().flat_map(|sentence| said(&words::sentence(sentence, form, notation))));
        }
        lines
    }

    /// What each eye needs beside what is written for it.
    fn table(&self, form: CylinderForm, notation: AcuityNotation) -> Vec<EndedLine> {
        let heads = ["", "needs", "written", "best line"].map(str::to_owned);
        let row = |eye: Eye| {
            let of_eye = &self.feedback.eyes[eye];
            let not_written = || of_eye.outcome.shown().to_owned();
            let written = of_eye.off.map_or_else(not_written, |off| words::power(off.written.power(), form));
            let best = words::acuity(Acuity::of_log_mar(of_eye.best_log_mar), notation);
            EndedLine::Row([format!("{eye} eye"), words::power(of_eye.needs, form), written, best])
        };
        vec![EndedLine::Row(heads), row(Eye::Right), row(Eye::Left)]
    }

    /// What is said of the step that is replayed, line by line.
    pub fn of_the_step(moments: &Moments, form: CylinderForm, notation: AcuityNotation) -> Vec<String> {
        wrapped_to_columns(&words::sentence(&of_costliest(&moments.costliest), form, notation), COLUMNS)
    }

    /// Goes some lines on or back; `count` are all, `shown` the rows of the page.
    pub fn scroll(&mut self, step: isize, count: usize, shown: usize) {
        if !self.replays {
            self.top = self.top.saturating_add_signed(step).min(count.saturating_sub(shown.max(1)));
        }
    }
}
