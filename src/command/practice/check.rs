//! `dioptray practice check`: is this case file in order?

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use crate::command::json::{PowerJson, write_line};
use crate::command::{CAUTION, Context, Outcome, text, values};
use crate::optics::Eyes;
use crate::practice::read_case;

/// The arguments of `dioptray practice check`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Check {
    /// The case file.
    #[arg(value_name = "FILE", value_parser = values::path())]
    file: PathBuf,
}

const EXAMPLES: &str = "Example:
  dioptray practice check kits/eyes/simple-myope.yaml

Each fault is one line on standard error, FILE:LINE:COL: message; the exit code is 1 then.";

#[derive(Serialize)]
struct CheckedJson<'a> {
    case: &'a str,
    age: u8,
    needs: NeedsJson,
}

#[derive(Serialize)]
struct NeedsJson {
    right: PowerJson,
    left: PowerJson,
}

impl Check {
    /// Checks.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
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
}
