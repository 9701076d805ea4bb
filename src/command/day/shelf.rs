//! `dioptray day shelf`: what is left of the ready-made pairs.

use std::io::Write;
use std::path::PathBuf;

use anyhow::anyhow;
use clap::Args;
use jiff::Timestamp;
use serde::Serialize;

use super::which::{any_day, open_day};
use crate::command::exams::records::examiner;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::day::{Day, DayEvent, ShelfLeft};
use crate::exam::ReadyMadeLimits;
use crate::export::words;
use crate::kit::document::fault::counted;
use crate::kit::shelf::{ShelfPair, read_shelf};

/// The arguments of `dioptray day shelf`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct ShelfOfDay {
    /// Which day, from 1; without it the last one.
    #[arg(long, value_name = "N", conflicts_with_all = ["back", "check"])]
    day: Option<usize>,
    /// The pair of the person with this number is back on the shelf.
    #[arg(long, value_name = "NUMBER", conflicts_with = "check")]
    back: Option<u32>,
    /// Only say whether a shelf file is in order; each fault is one line on standard error, FILE:LINE:COL: message.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    check: Option<PathBuf>,
    /// Who notes it; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", requires = "back", value_parser = values::text())]
    by: Option<String>,
}

const EXAMPLES: &str = "Examples:
  dioptray day shelf
  dioptray day shelf --back 12
  dioptray day shelf --check kits/shelf/demo.yaml

Pairs are counted off by the name of the shelf, over all days of the logbook: `each` in its file is how many there ever were.";

#[derive(Serialize)]
struct ShelfJson<'a> {
    shelf: &'a str,
    limits: ReadyMadeLimits,
    cylinder: f64,
    apart: f64,
    pairs: Vec<PairJson>,
}

#[derive(Serialize)]
struct PairJson {
    #[serde(flatten)]
    pair: ShelfPair,
    declared: u32,
    given: u32,
    left: u32,
}

#[derive(Serialize)]
struct CheckedJson<'a> {
    shelf: &'a str,
    kinds: usize,
    pairs: u32,
}

impl ShelfOfDay {
    /// Lists it, has a pair be back, or checks a file.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        if let Some(file) = &self.check {
            let declared = read_shelf(file)?;
            let (kinds, pairs) = (declared.lines.len(), declared.lines.iter().map(|line| line.pieces).sum());
            if context.json {
                write_line(out, &CheckedJson { shelf: &declared.name, kinds, pairs })?;
            } else {
                let kinds = counted(kinds, "kind of pair", "kinds of pair");
                writeln!(out, "OK: {}: {}, {kinds}, {pairs} in all", file.display(), declared.name)?;
            }
            return Ok(Outcome::Done);
        }
        let day = match self.back {
            Some(number) => {
                let by = examiner(self.by)?;
                let (mut logbook, on_record) = open_day(context)?;
                let given = on_record.day.given.iter().rfind(|given| given.number == number);
                let given = given.ok_or_else(|| anyhow!("number {number} has no pair off the shelf"))?.clone();
                let back =
                    DayEvent::PairBack { number, exam: given.exam, shelf: given.off.shelf, pair: given.off.pair };
                logbook.note_in_day(on_record.id, &[back], by.as_deref(), Timestamp::now())?.day
            }
            None => any_day(context, self.day)?.2.day,
        };
        list(&day, context, out)
    }
}

fn list(day: &Day, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    let shelf = day.settings.shelf.as_ref();
    let shelf = shelf.ok_or_else(|| anyhow!("this day has no shelf: `dioptray day start --shelf FILE` names one"))?;
    let (left, limits) = (day.left_on_shelf(), shelf.limits);
    if context.json {
        let pair = |kind: &ShelfLeft| PairJson {
            pair: kind.pair,
            declared: kind.declared,
            given: kind.given,
            left: kind.left(),
        };
        let (cylinder, apart) = (limits.cylinder_d(), limits.apart_d());
        let pairs = left.iter().map(pair).collect();
        write_line(out, &ShelfJson { shelf: &shelf.name, limits, cylinder, apart, pairs })?;
        return Ok(Outcome::Done);
    }
    writeln!(out, "shelf {}: {limits} ({})", words::printable(&shelf.name), ReadyMadeLimits::SOURCE)?;
    for kind in &left {
        let (pair, given, declared) = (kind.pair.to_string(), kind.given, kind.declared);
        writeln!(out, "{pair:<34}{:>4} left of {declared}, {given} given", kind.left())?;
    }
    Ok(Outcome::Done)
}
