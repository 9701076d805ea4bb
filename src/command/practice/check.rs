//! `dioptray practice check`: is this case or lesson file in order?

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use super::lessons::folder;
use crate::command::json::{PowerJson, write_line};
use crate::command::{CAUTION, Context, Outcome, text, values};
use crate::kit::document::fault::counted;
use crate::optics::Eyes;
use crate::practice::lessons::shipped::is_lesson_file;
use crate::practice::lessons::{Lesson, read_lesson};
use crate::practice::read_case;

/// The arguments of `dioptray practice check`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Check {
    /// The case file or lesson file.
    #[arg(value_name = "FILE", value_parser = values::path())]
    file: PathBuf,
}

const EXAMPLES: &str = "Examples:
  dioptray practice check kits/eyes/simple-myope.yaml
  dioptray practice check kits/lessons/first-spheres.yaml

Each fault is one line on standard error, FILE:LINE:COL: message; the exit code is 1 then. The case files \
that a lesson names are checked with it.";

#[derive(Serialize)]
struct CheckedJson<'a> {
    case: &'a str,
    age: u8,
    needs: NeedsJson,
}

#[derive(Serialize)]
struct CheckedLessonJson<'a> {
    lesson: &'a str,
    steps: usize,
}

#[derive(Serialize)]
struct NeedsJson {
    right: PowerJson,
    left: PowerJson,
}

impl Check {
    /// Checks.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        if is_lesson_file(&self.file) {
            return self.checked(&read_lesson(&self.file)?, context, out);
        }
        let case = read_case(&self.file)?;
        let (age, needs) = (case.person.age_years, case.person.needs());
        if context.json {
            let Eyes { right, left } = needs.map(PowerJson::from);
            write_line(out, &CheckedJson { case: &case.name, age, needs: NeedsJson { right, left } })?;
        } else {
            let Eyes { right, left } = needs.map(text::power);
            let file = self.file.display();
            writeln!(out, "OK: {file}: {}, {age} years, right {right}, left {left}", case.name)?;
        }
        Ok(Outcome::Done)
    }

    /// Checks what a lesson names, and says that it is in order.
    fn checked(&self, lesson: &Lesson, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        for file in lesson.files() {
            read_case(&folder(&self.file).join(file))?;
        }
        let steps = lesson.steps.len();
        if context.json {
            write_line(out, &CheckedLessonJson { lesson: &lesson.name, steps })?;
        } else {
            writeln!(out, "OK: {}: {}, {}", self.file.display(), lesson.name, counted(steps, "step", "steps"))?;
        }
        Ok(Outcome::Done)
    }
}
