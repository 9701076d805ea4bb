//! `dioptray exam came-back`: what was found on glasses that came back, and what of it is likeliest to trouble.

use std::io::Write;

use anyhow::anyhow;
use clap::Args;
use jiff::Timestamp;
use serde::Serialize;

use super::name::{ExamName, exam_name};
use super::records;
use crate::command::files::logbook_path;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::exam::Event;
use crate::exam::came_back::GlassesQuestion;
use crate::exam::came_back::asked::{AnswerFault, GlassesDraft};
use crate::export::glasses::CameBackRecord;
use crate::export::glasses_words;
use crate::logbook::Logbook;
use crate::optics::Eye;
use crate::session::glasses::{came_back, taken_back};
use crate::session::records::stored_exam;

/// The arguments of `dioptray exam came-back`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct GlassesCameBack {
    /// The number of the exam that the glasses were made by; one of another seat is added to there.
    #[arg(value_name = "N", value_parser = exam_name)]
    exam: ExamName,
    /// The power of the right lens as it is measured.
    #[arg(long, value_name = "RX", value_parser = values::text())]
    right: Option<String>,
    /// The power of the left lens.
    #[arg(long, value_name = "RX", value_parser = values::text())]
    left: Option<String>,
    /// The addition: one for both lenses, or right and left.
    #[arg(long, value_name = "D", num_args = 1..=2, value_parser = values::text())]
    add: Vec<String>,
    /// Where the centres for far stand, right and left, in mm from the middle of the nose; `none` for one that was not measured.
    #[arg(long, value_names = ["R", "L"], num_args = 2, value_parser = values::text())]
    centres: Vec<String>,
    /// Where the centres for near stand.
    #[arg(long, value_names = ["R", "L"], num_args = 2, value_parser = values::text())]
    near_centres: Vec<String>,
    /// How far the centres stand above the pupils in mm, minus below.
    #[arg(long, value_names = ["R", "L"], num_args = 2, value_parser = values::text())]
    heights: Vec<String>,
    /// How far the glasses sit from the cornea, in mm.
    #[arg(long, value_name = "MM", value_parser = values::text())]
    vertex: Option<String>,
    /// What the person complains of.
    #[arg(long, value_name = "TEXT", value_parser = values::text())]
    complaint: Option<String>,
    /// The later exam in which the same person was refracted again.
    #[arg(long, value_name = "N", value_parser = values::text())]
    against: Option<String>,
    /// Take back what was noted last of glasses that came back; it stays readable in the record.
    #[arg(long, conflicts_with_all = ["right", "left", "add", "centres", "near_centres", "heights", "vertex", "complaint", "against"])]
    undo: bool,
    /// Write cylinders as plus cylinders.
    #[arg(long)]
    plus: bool,
    /// Who notes it; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
}

const EXAMPLES: &str = "Examples:
  dioptray exam came-back 14 --right -2.25/-0.50x180 --left -2.00 --centres 31.5 30 --vertex 14
  dioptray exam came-back 14 --right +8.50 --heights -2 0 --complaint \"doubles when reading\"
  dioptray exam came-back 14 --against 21
  dioptray exam came-back 14 --undo

It is added to the closed exam. Whatever was not measured is left out; what was is held against the order, the greatest \
difference in its own limit first.";

/// The most characters of a complaint and a name, as on the screen.
const MOST_IN_WORDS: usize = 400;

#[derive(Serialize)]
struct CameBackJson<'a> {
    exam: u64,
    #[serde(flatten)]
    came_back: &'a CameBackRecord,
    in_words: Vec<String>,
}

impl GlassesCameBack {
    /// Notes it, and says what it comes to.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let draft = self.draft()?;
        let (number, by) = (self.exam.added_to_here()?, records::examiner(self.by)?);
        let by = by.as_deref();
        // an exam that is not there makes no logbook
        let stored = records::exam(context, number)?;
        let mut logbook = Logbook::open(&logbook_path(context)?)?;
        let at = Timestamp::now();
        let event: Event =
            if self.undo { taken_back(&stored, at, by)? } else { came_back(&logbook, &stored, &draft, at, by)? };
        let step = stored.exam.check(vec![event])?;
        logbook.amend(&stored.open, step.events(), by, at)?;
        let record = records::writing(self.plus)?.record(&stored_exam(&logbook, number)?);
        let last = if self.undo {
            record.came_back.iter().rev().find(|came_back| came_back.taken_back.is_some())
        } else {
            record.came_back.last()
        };
        let last = last.ok_or_else(|| anyhow!("what was added to exam {number} cannot be read again"))?;
        let mut in_words = glasses_words::came_back(last);
        in_words.extend(glasses_words::came_back_sources(std::slice::from_ref(last)));
        if context.json {
            write_line(out, &CameBackJson { exam: number, came_back: last, in_words })?;
        } else {
            writeln!(out, "exam {number}")?;
            for line in in_words {
                writeln!(out, "{line}")?;
            }
        }
        Ok(Outcome::Done)
    }

    fn draft(&self) -> anyhow::Result<GlassesDraft> {
        let one = |text: &Option<String>| text.clone();
        let some = |texts: &[String]| (!texts.is_empty()).then(|| texts.join(" "));
        let said = [
            (GlassesQuestion::Lens(Eye::Right), "--right", one(&self.right)),
            (GlassesQuestion::Lens(Eye::Left), "--left", one(&self.left)),
            (GlassesQuestion::Additions, "--add", some(&self.add)),
            (GlassesQuestion::Centres, "--centres", some(&self.centres)),
            (GlassesQuestion::NearCentres, "--near-centres", some(&self.near_centres)),
            (GlassesQuestion::Heights, "--heights", some(&self.heights)),
            (GlassesQuestion::Vertex, "--vertex", one(&self.vertex)),
            (GlassesQuestion::Complaint, "--complaint", one(&self.complaint)),
            (GlassesQuestion::Again, "--against", one(&self.against)),
        ];
        let mut draft = GlassesDraft::default();
        for (question, option, text) in said {
            let Some(text) = text else { continue };
            if text.chars().count() > MOST_IN_WORDS {
                return Err(anyhow!("{option} has at most {MOST_IN_WORDS} characters"));
            }
            if text.trim().is_empty() {
                return Err(anyhow!("{option} says nothing: leave it out, or say {}", question.how()));
            }
            draft = draft.answer(question, &text).map_err(|fault| refused(option, &text, &fault))?;
        }
        Ok(draft)
    }
}

/// What is wrong, the text, and a caret under the place.
fn refused(option: &str, text: &str, fault: &AnswerFault) -> anyhow::Error {
    let text = crate::export::words::printable(text);
    let caret = fault.place.map(|place| format!("\n  {:place$}^", "")).unwrap_or_default();
    anyhow!("{option}: {}\n  {text}{caret}", fault.problem)
}
