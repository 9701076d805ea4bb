//! `dioptray practice ask`: one question put to one practice eye again and again.

use std::io::{self, Write};

use anyhow::Context as _;
use clap::error::ErrorKind;
use clap::{Args, ValueEnum};
use libm::log10;
use serde::Serialize;

use super::names;
use crate::command::context::WrongUsage;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::optics::bounds::{self, Range};
use crate::optics::notation::{Style, parse_figure, parse_prescription};
use crate::optics::{Acuity, AcuityNotation, Eyes, Power};
use crate::practice::questioning::Answers;
use crate::practice::sight::Aperture;
use crate::practice::{Asking, Care, Law, Person, Questioning, Room};

/// The arguments of `dioptray practice ask`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Ask {
    /// What the eye needs, at cell 1 of the frame: -2.50/-0.75x180.
    #[arg(long, value_name = "RX", value_parser = values::text())]
    needs: String,
    /// Age of the person in years, 1 to 120.
    #[arg(long, value_name = "N", value_parser = values::figure)]
    age: String,
    /// With how much care the person answers.
    #[arg(long, value_name = "CARE", default_value = Care::default().name(), value_parser = names::care())]
    care: Care,
    /// By which law the eye sees and answers.
    #[arg(long, value_name = "LAW", default_value = Law::default().name(), value_parser = names::law())]
    law: Law,
    /// The seed: the same one gives the same answers on any machine.
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
    /// The best acuity of the eye by the lower figure of the 6 m fraction, 1.9 to 600: 12 for 6/12. Without it, that of the
    /// care.
    #[arg(long, value_name = "DENOMINATOR", value_parser = values::figure)]
    best: Option<String>,
    /// What stands before the eye, at cell 1.
    #[arg(long, value_name = "RX", value_parser = values::text())]
    before: String,
    /// What is shown second, for compare and letter: it is asked whether it is clearer, or whether another letter is read.
    #[arg(long, value_name = "RX", value_parser = values::text())]
    and: Option<String>,
    /// What is asked.
    #[arg(long, value_enum)]
    question: Question,
    /// The direction in which the streak of the retinoscope lies, 0 to 180 degrees; the sweep goes across it.
    #[arg(long, value_name = "DEG", value_parser = values::figure)]
    streak: Option<String>,
    /// How far the retinoscope is, 0.1 to 2 metres.
    #[arg(long, value_name = "M", value_parser = values::figure)]
    distance: Option<String>,
    /// The eye looks through a pinhole.
    #[arg(long)]
    pinhole: bool,
    /// How far the chart is, 0.5 to 10 metres; without it 6.
    #[arg(long, value_name = "M", value_parser = values::figure)]
    chart: Option<String>,
    /// How many times it is asked, in a row: the person remembers.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    times: u32,
}

const EXAMPLES: &str = "Examples:
  dioptray practice ask --needs -2.00 --age 30 --before -1.00 --question line --times 100
  dioptray practice ask --needs -2.00 --age 60 --before -1.75 --and -2.00 --question compare --times 100
  dioptray practice ask --needs plano/-1.00x180 --age 60 --before +0.50 --question fan --times 100
  dioptray practice ask --needs -2.00 --age 30 --before -1.00 --question streak --streak 90 --distance 0.5 --times 100

The eye is the right one. For compare, clearer means the second look; for letter, clearer is yes and same is no. MAR is the \
minimum angle of resolution with what stands before the eye, in minutes of arc, before the first question and without chance.";

/// What can be asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Question {
    /// The line that is read on the chart.
    Line,
    /// Whether the second look is clearer, the same or worse.
    Compare,
    /// Whether another letter is read with the second look.
    Letter,
    /// Which line of the fan is clearest.
    Fan,
    /// How the light in the pupil moves in retinoscopy.
    Streak,
}

impl Question {
    fn name(self) -> &'static str {
        match self {
            Self::Line => "line",
            Self::Compare => "compare",
            Self::Letter => "letter",
            Self::Fan => "fan",
            Self::Streak => "streak",
        }
    }

    /// Whether two looks are compared.
    fn has_two_looks(self) -> bool {
        match self {
            Self::Compare | Self::Letter => true,
            Self::Line | Self::Fan | Self::Streak => false,
        }
    }

    /// Whether letters are looked at, which a pinhole changes.
    fn is_about_letters(self) -> bool {
        match self {
            Self::Line | Self::Compare | Self::Letter => true,
            Self::Fan | Self::Streak => false,
        }
    }
}

#[derive(Serialize)]
struct AnswersJson<'a> {
    mar: f64,
    log_mar: &'a [f64],
    no_letter: usize,
    clearer: usize,
    same: usize,
    worse: usize,
    lines: &'a [Option<f64>],
    with: usize,
    against: usize,
    neither: usize,
}

impl Ask {
    /// Asks.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        self.check_options()?;
        let questioning = self.questioning()?;
        let mar = questioning.mar();
        let answers = questioning.ask(self.times as usize, self.seed);
        if context.json {
            write_line(
                out,
                &AnswersJson {
                    mar,
                    log_mar: &answers.log_mar,
                    no_letter: answers.no_letter,
                    clearer: answers.clearer,
                    same: answers.same,
                    worse: answers.worse,
                    lines: &answers.lines_deg,
                    with: answers.with,
                    against: answers.against,
                    neither: answers.neither,
                },
            )?;
        } else {
            let acuity = Acuity::of_log_mar(log10(mar)).write(AcuityNotation::SixMetres, Style::Ascii);
            writeln!(out, "sees           {acuity}, MAR {mar:.2} minutes of arc, without chance")?;
            write_answers(out, self.question, &answers)?;
        }
        Ok(Outcome::Done)
    }

    /// What would be passed over in silence is refused.
    fn check_options(&self) -> Result<(), WrongUsage> {
        let at_eye = self.question == Question::Streak;
        let pinhole = "--pinhole is for --question line, compare and letter";
        for (given, goes, message) in [
            (self.and.is_some(), self.question.has_two_looks(), "--and is for --question compare and letter"),
            (self.streak.is_some(), at_eye, "--streak is for --question streak"),
            (self.distance.is_some(), at_eye, "--distance is for --question streak"),
            (self.chart.is_some(), !at_eye, "--chart is for --question line, compare, letter and fan"),
            (self.pinhole, self.question.is_about_letters(), pinhole),
        ] {
            if given && !goes {
                let message = format!("{message}; this is --question {}", self.question.name());
                return Err(WrongUsage { kind: ErrorKind::ArgumentConflict, message });
            }
        }
        Ok(())
    }

    /// What the question cannot do without.
    fn needed<T>(&self, given: Option<T>, option: &str) -> Result<T, WrongUsage> {
        given.ok_or_else(|| WrongUsage {
            kind: ErrorKind::MissingRequiredArgument,
            message: format!("--question {} wants {option}", self.question.name()),
        })
    }

    fn questioning(&self) -> anyhow::Result<Questioning> {
        let needs = power("needs", &self.needs)?;
        let before = power("before", &self.before)?;
        let and = self.and.as_ref().map(|and| power("and", and)).transpose()?;
        let age_years = figure("age", &self.age, &bounds::AGE_YEARS)? as u8;
        let best = self.best.as_ref().map(|best| figure("best", best, &bounds::DENOMINATOR_6_M)).transpose()?;
        let chart = self.chart.as_ref().map(|chart| figure("chart", chart, &bounds::CHART_M)).transpose()?;
        let streak = self.streak.as_ref().map(|streak| figure("streak", streak, &bounds::AXIS)).transpose()?;
        let distance =
            self.distance.as_ref().map(|metres| figure("distance", metres, &bounds::WORKING_M)).transpose()?;
        let best_log_mar = best.map(|denominator| log10(denominator / 6.0));
        let mut person = Person::of_needs(Eyes::both(needs), age_years, (self.care, self.law), best_log_mar, self.seed);
        person.room.chart_m = chart.unwrap_or(Room::USUAL.chart_m);
        let asking = match self.question {
            Question::Line => Asking::Line,
            Question::Compare => Asking::Compare { and: self.needed(and, "--and")? },
            Question::Letter => Asking::Letter { and: self.needed(and, "--and")? },
            Question::Fan => Asking::Fan,
            Question::Streak => Asking::Streak {
                lies_deg: self.needed(streak, "--streak")?,
                metres: self.needed(distance, "--distance")?,
            },
        };
        let aperture = if self.pinhole { Aperture::Pinhole } else { Aperture::Pupil };
        Ok(Questioning { person, before, aperture, asking })
    }
}

fn power(option: &str, written: &str) -> anyhow::Result<Power> {
    Ok(parse_prescription(written).with_context(|| format!("--{option}"))?.power())
}

fn figure(option: &str, written: &str, row: &Range) -> anyhow::Result<f64> {
    parse_figure(written, row).with_context(|| format!("--{option}"))
}

fn write_answers(out: &mut dyn Write, question: Question, answers: &Answers) -> io::Result<()> {
    match question {
        Question::Line => write_readings(out, answers),
        Question::Compare => {
            writeln!(out, "clearer        {}", answers.clearer)?;
            writeln!(out, "the same       {}", answers.same)?;
            writeln!(out, "worse          {}", answers.worse)
        }
        Question::Letter => {
            writeln!(out, "another letter {}", answers.clearer)?;
            writeln!(out, "none           {}", answers.same)
        }
        Question::Fan => write_lines(out, &answers.lines_deg),
        Question::Streak => {
            writeln!(out, "with           {}", answers.with)?;
            writeln!(out, "against        {}", answers.against)?;
            writeln!(out, "neither        {}", answers.neither)
        }
    }
}

fn write_readings(out: &mut dyn Write, answers: &Answers) -> io::Result<()> {
    let mut read = answers.log_mar.clone();
    read.sort_by(f64::total_cmp);
    if let (Some(best), Some(poorest)) = (read.first(), read.last()) {
        let mean = read.iter().sum::<f64>() / read.len() as f64;
        let [mean, best, poorest] =
            [mean, *best, *poorest].map(|of| Acuity::of_log_mar(of).write(AcuityNotation::LogMar, Style::Ascii));
        writeln!(out, "read           {} times, {mean} on average, {best} to {poorest}", read.len())?;
    }
    writeln!(out, "no letter      {}", answers.no_letter)
}

/// The lines of the fan, each with how often it was the clearest.
fn write_lines(out: &mut dyn Write, lines: &[Option<f64>]) -> io::Result<()> {
    let mut seen: Vec<f64> = lines.iter().flatten().copied().collect();
    seen.sort_by(f64::total_cmp);
    for alike in seen.chunk_by(|one, other| one == other) {
        writeln!(out, "{:<14} {}", format!("{} degrees", alike[0]), alike.len())?;
    }
    writeln!(out, "all alike      {}", lines.len() - seen.len())
}
