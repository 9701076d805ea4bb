//! `dioptray practice replay`: an exam that a student handed in, step by step on the screen.

use std::io::Write;
use std::path::PathBuf;

use anyhow::{Context as _, anyhow, bail};
use clap::Args;

use super::class::read;
use crate::command::start::Form;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::exam::Event;
use crate::screen::keys::StepsAction;
use crate::screen::settings::Settings;
use crate::screen::{AtStart, PrintForm, ScreenStart, Size, Surroundings, is_there, print, run};
use crate::session::Session;

/// The arguments of `dioptray practice replay`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Replay {
    /// The file that a student handed in.
    #[arg(value_name = "FILE", value_parser = values::path())]
    file: PathBuf,
    /// Which station, from 1.
    #[arg(long, value_name = "N", default_value_t = 1)]
    station: u16,
    /// How many steps were taken when it begins; none when not said.
    #[arg(long, value_name = "N", default_value_t = 0)]
    step: usize,
    /// Print this step, or with --as recording all that follow it too, and leave.
    #[arg(long)]
    print: bool,
    /// How it is printed; needs --print.
    #[arg(long = "as", value_name = "FORM", requires = "print", value_enum)]
    form: Option<Form>,
    /// Columns and rows of the frame that is printed, 120x36 when not said; needs --print.
    #[arg(long, value_name = "SIZE", requires = "print")]
    size: Option<Size>,
}

const EXAMPLES: &str = "Examples:
  dioptray practice replay ana.json --station 2
  dioptray practice replay ana.json --station 2 --print --as recording > station-2.cast

It is the screen itself, at the beginning of the exam: the key that brings back goes a step on (r), the one that takes back goes a \
step back (u). Nothing is kept. For a wall, make the letters of the terminal larger: at 80x24 everything is there.";

impl Replay {
    /// Opens the screen at the beginning of the exam.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        if context.json {
            bail!("--json answers in JSON, the screen does not: `dioptray practice class` has the results");
        }
        let hand_in = read(&self.file).map_err(|why| anyhow!(why))?;
        let station = hand_in.stations.iter().find(|station| station.number == self.station);
        let station = station.ok_or_else(|| {
            let has: Vec<String> = hand_in.stations.iter().map(|station| station.number.to_string()).collect();
            anyhow!("station {} was not handed in: the file has {}", self.station, has.join(", "))
        })?;
        let does_not_follow = || anyhow!("the steps of this station do not follow each other");
        let exam = station.kept.from_the_beginning().ok_or_else(does_not_follow)?;
        let steps = exam.redoable();
        if self.step > steps {
            bail!("this station has {steps} steps, and not {}", self.step);
        }
        let mut settings = Settings::own()?;
        let surroundings = Surroundings::here();
        let (on, back) = (settings.keys.key_of(StepsAction::Redo), settings.keys.key_of(StepsAction::Undo));
        if !self.print {
            is_there().context("the screen")?;
            surroundings.adapt(&mut settings);
        }
        let mut session = Session::in_memory(exam);
        for _ in 0..self.step {
            session.take(vec![Event::Redone])?;
        }
        let hint = format!("{}, station {}: {on} goes a step on, {back} a step back", hand_in.by, self.station);
        let options = ScreenStart {
            session,
            settings,
            choices: None,
            goes_on: None,
            cautions: false,
            offers_kit: false,
            learns: false,
            said: AtStart { notes: Vec::new(), hints: vec![hint] },
            sends: None,
            reports_keys: surroundings.reports_keys(),
        };
        if !self.print {
            run(options).context("the screen")?;
            return Ok(Outcome::Done);
        }
        let form = self.form.map_or(PrintForm::Text, Form::printed);
        let keys = match form {
            PrintForm::Recording => on.repeat(steps - self.step),
            PrintForm::Text | PrintForm::Ansi | PrintForm::Svg => String::new(),
        };
        out.write_all(print(options, &keys, self.size.unwrap_or_default(), form)?.as_bytes())?;
        Ok(Outcome::Done)
    }
}
