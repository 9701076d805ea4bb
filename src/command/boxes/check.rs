//! `dioptray box check`: is this box file in order?

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::kit::document::fault::counted;
use crate::kit::read_box;

/// The arguments of `dioptray box check`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Check {
    /// The box file.
    #[arg(value_name = "FILE", value_parser = values::path())]
    file: PathBuf,
}

const EXAMPLES: &str = "Example:
  dioptray box check kits/boxes/outreach.yaml

Each fault is one line on standard error, FILE:LINE:COL: message; the exit code is 1 then.";

#[derive(Serialize)]
struct CheckedJson<'a> {
    r#box: &'a str,
    lenses: usize,
    pieces: usize,
}

impl Check {
    /// Checks.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let declared = read_box(&self.file)?;
        let lenses = declared.lines.len();
        let pieces = declared.lines.iter().map(|line| usize::from(line.declared)).sum();
        if context.json {
            write_line(out, &CheckedJson { r#box: &declared.name, lenses, pieces })?;
        } else {
            let (lenses, pieces) = (counted(lenses, "lens", "lenses"), counted(pieces, "piece", "pieces"));
            writeln!(out, "OK: {}: {}, {lenses}, {pieces}", self.file.display(), declared.name)?;
        }
        Ok(Outcome::Done)
    }
}
