//! `dioptray practice lead`: the guide leads an exam of one named case.

use std::io::{self, Write};
use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use super::cases;
use super::feedback_out::FeedbackJson;
use super::questions::{QuestionJson, write_questions};
use crate::command::json::{PowerJson, no_minus_zero, write_line};
use crate::command::{CAUTION, Context, Outcome, files, text, values};
use crate::exam::Prescription;
use crate::exam::cautions::{Caution, called_for};
use crate::frame::FittedFrame;
use crate::kit::shipped::full_box;
use crate::kit::{Stock, read_box};
use crate::optics::notation::{Style, parse_figure, write_power};
use crate::optics::{Acuity, AcuityNotation, CylinderForm, Eye, Eyes, bounds};
use crate::practice::evaluation::Outcome as OfEye;
use crate::practice::feedback::{Ended, Feedback};
use crate::practice::{Case, Examined, Way, examine};

/// The arguments of `dioptray practice lead`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Lead {
    /// The name of a case that comes with the program, or a case file; `./NAME` for a file that is called like one.
    #[arg(value_name = "NAME|FILE", value_parser = values::path())]
    case: PathBuf,
    /// The seed: the same one gives the same answers on any machine.
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
    /// Begin with retinoscopy from a distance in metres, 0.1 to 2; without one, from the distance that the case names.
    #[arg(long, value_name = "M", num_args = 0..=1, default_missing_value = OF_THE_CASE, hide_default_value = true, value_parser = working_distance)]
    retinoscopy: Option<WorkingDistance>,
    /// The box file; without it, the full box that comes with the program. What a logbook knows of it is not asked.
    #[arg(long = "box", value_name = "FILE", value_parser = values::path())]
    file: Option<PathBuf>,
    /// The frame file; without it, the four-cell frame that comes with the program.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    frame: Option<PathBuf>,
}

/// How far the retinoscope is.
#[derive(Debug, Clone)]
enum WorkingDistance {
    /// As the case has it.
    OfTheCase,
    /// So many metres, as they were written.
    Metres(String),
}

/// The word for the distance of the case.
const OF_THE_CASE: &str = "case";

fn working_distance(value: &str) -> Result<WorkingDistance, &'static str> {
    if value == OF_THE_CASE {
        return Ok(WorkingDistance::OfTheCase);
    }
    values::figure(value).map(WorkingDistance::Metres)
}

const EXAMPLES: &str = "Examples:
  dioptray practice lead simple-myope
  dioptray practice lead oblique --retinoscopy 0.6667 --box kits/boxes/outreach.yaml
  dioptray practice lead my-case.yaml --seed 7 --json

Both eyes are examined and what is written is shown beside what they need. `dioptray practice cases` lists the names. \
Practice eyes are simulated: people are less steady, and an exam of a practice eye says nothing about any person.";

#[derive(Serialize)]
struct LedJson<'a> {
    case: &'a str,
    note: Option<&'a str>,
    age: u8,
    seed: u64,
    r#box: &'a str,
    frame: &'a str,
    questions: Vec<QuestionJson>,
    finished: bool,
    right: EyeJson,
    left: EyeJson,
    addition: Option<f64>,
    looks: usize,
    lenses_moved: usize,
    cautions: Vec<String>,
    feedback: FeedbackJson,
}

/// What was written for one eye beside what it needs; what was not written or read is null.
#[derive(Serialize)]
struct EyeJson {
    needs: PowerJson,
    best_log_mar: f64,
    written: Option<PowerJson>,
    read_log_mar: Option<f64>,
    m_off: Option<f64>,
    cylinder_off: Option<f64>,
    axis_off: Option<f64>,
}

/// One eye of the exam: what was written for it beside what it needs, and what it read with that.
struct Written {
    outcome: OfEye,
    best_log_mar: f64,
    read: Option<Acuity>,
}

impl Lead {
    /// Leads the exam.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let mut case = cases::find(&self.case)?;
        let declared = match &self.file {
            Some(file) => read_box(file)?,
            None => full_box()?,
        };
        let fitted = FittedFrame::new(files::frame(self.frame.as_deref())?, Stock::of(&declared));
        if let Some(WorkingDistance::Metres(metres)) = &self.retinoscopy {
            case.person.room.working_m = parse_figure(metres, &bounds::WORKING_M)?;
        }
        let retinoscopy_m = self.retinoscopy.as_ref().map(|_| case.person.room.working_m);
        let way = Way { both: true, retinoscopy_m, ..Way::default() };
        let mut questions = Vec::new();
        let needs = case.person.needs();
        let examined = examine(&fitted, case.examinee(self.seed), way, None, &mut |asked| {
            questions.push(QuestionJson::of(asked, &needs, &Eye::BOTH));
        })?;
        let prescription = Prescription::of(examined.exam.state(), 1);
        let written = Eyes::from_fn(|eye| Written {
            outcome: OfEye::of(0, &case.person, eye, &examined, None, true),
            best_log_mar: case.person.eyes[eye].best_log_mar,
            read: prescription.eye(eye).and_then(|of_eye| of_eye.acuity).filter(|_| examined.finished),
        });
        // a practice exam is never closed
        let cautions = called_for(examined.exam.state(), &prescription);
        let cautions = cautions.into_iter().filter(|caution| *caution != Caution::NotClosed);
        let ended = Ended { person: &case.person, exam: &examined.exam, minutes: None, guide: None };
        let feedback = FeedbackJson::of(&Feedback::of(&ended)?, CylinderForm::Minus);
        let led = LedJson {
            case: &case.name,
            note: case.note.as_deref(),
            age: case.person.age_years,
            seed: self.seed,
            r#box: &declared.name,
            frame: &fitted.frame.name,
            questions,
            finished: examined.finished,
            right: EyeJson::from(&written.right),
            left: EyeJson::from(&written.left),
            addition: prescription.addition().filter(|_| examined.finished).map(|addition| addition.0),
            looks: examined.effort.presentations,
            lenses_moved: examined.effort.moves,
            cautions: cautions.map(|caution| caution.to_string()).collect(),
            feedback,
        };
        if context.json {
            write_line(out, &led)?;
        } else {
            write_led(out, &case, &led, &written, &examined)?;
        }
        Ok(Outcome::Done)
    }
}

impl From<&Written> for EyeJson {
    fn from(of: &Written) -> Self {
        let outcome = &of.outcome;
        Self {
            needs: outcome.needs.into(),
            best_log_mar: of.best_log_mar,
            written: outcome.written.map(|written| written.power().into()),
            read_log_mar: of.read.and_then(Acuity::log_mar).map(no_minus_zero),
            m_off: outcome.m_off_d().map(no_minus_zero),
            cylinder_off: outcome.cylinder_off_d().map(no_minus_zero),
            axis_off: outcome.axis_off_deg(),
        }
    }
}

fn write_led(
    out: &mut dyn Write,
    case: &Case,
    led: &LedJson<'_>,
    written: &Eyes<Written>,
    examined: &Examined,
) -> io::Result<()> {
    writeln!(out, "{}, {} years. {}", case.name, led.age, led.note.unwrap_or_default())?;
    write_questions(out, &led.questions)?;
    writeln!(out)?;
    if !examined.finished {
        writeln!(out, "the exam did not come to its end: nothing is written")?;
    }
    for (eye, of) in written.iter() {
        writeln!(out, "{eye} eye: {}", in_words(of))?;
    }
    if let Some(addition) = led.addition {
        writeln!(out, "addition {}", write_power(addition, Style::Ascii))?;
    }
    writeln!(out, "{} looks, {} lenses moved", led.looks, led.lenses_moved)?;
    for caution in &led.cautions {
        writeln!(out, "! {caution}")?;
    }
    led.feedback.write(out)
}

/// What an eye needs, what was written, by how much that is off, and what was read with it.
fn in_words(of: &Written) -> String {
    let needs = text::power(of.outcome.needs);
    let acuity = |acuity: Acuity| acuity.write(AcuityNotation::SixMetres, Style::Ascii);
    let best = acuity(Acuity::of_log_mar(of.best_log_mar));
    let Some((written, off)) = of.outcome.written.zip(of.outcome.off()) else {
        return format!("needs {needs}, {best} at best; nothing is written");
    };
    let cylinder_off = 2.0 * off.astigmatism();
    let read = of.read.map_or_else(|| "nothing was read".to_owned(), |read| format!("{} read", acuity(read)));
    format!(
        "needs {needs}, written {}: M off by {:+.2}, cylinder by {cylinder_off:.2}; {read} with it, {best} at best",
        text::power(written.power()),
        off.m + 0.0,
    )
}
