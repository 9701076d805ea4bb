//! `dioptray box history`: what happened to a lens, or to the whole box.

use std::io::Write;

use clap::Args;
use jiff::Timestamp;
use serde::Serialize;

use super::lenses::{Meant, meant};
use crate::command::json::write_line;
use crate::command::which_box::WhichBox;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::kit::{Lens, Piece, Tray};
use crate::logbook::HistoryLine;

/// The arguments of `dioptray box history`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct History {
    #[command(flatten)]
    which: WhichBox,
    /// The lens, "-1.50 sphere", or one piece of it, "-1.50 sphere #2"; without one, the whole box.
    #[arg(value_name = "LENS", value_parser = values::text())]
    lens: Vec<String>,
}

const EXAMPLES: &str = "Examples:
  dioptray box history --box box.yaml \"-6.00 sphere\"
  dioptray box history --box box.yaml

What was a slip stays in the history, and says so.";

#[derive(Serialize)]
struct HistoryJson {
    history: Vec<LineJson>,
}

#[derive(Serialize)]
struct LineJson {
    /// The place of the entry in the history of the box; `box undo --entry` takes it. None for what was noted at another seat.
    #[serde(skip_serializing_if = "Option::is_none")]
    entry: Option<i64>,
    /// The other seat where it was noted.
    #[serde(skip_serializing_if = "Option::is_none")]
    seat: Option<String>,
    at: Timestamp,
    by: Option<String>,
    event: &'static str,
    lens: Lens,
    piece: Option<Piece>,
    says: Option<String>,
    note: Option<String>,
    slip: bool,
}

impl From<HistoryLine> for LineJson {
    fn from(line: HistoryLine) -> Self {
        let HistoryLine { place, at, by, event, lens, piece, says, note, slip, seat, .. } = line;
        let entry = seat.is_none().then_some(place);
        let seat = seat.map(|seat| seat.to_string());
        let note = note.or_else(|| says.clone().filter(|_| matches!(event, "note" | "damaged")));
        Self { entry, seat, at, by, event, lens, piece, says, note, slip: slip.is_some() }
    }
}

impl History {
    /// Lists.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let chosen = self.which.read(context)?;
        let record = &chosen.record;
        let lines = if self.lens.is_empty() {
            record.history()
        } else {
            let tray = Tray::of(&chosen.declared.tray, &record.stock);
            let mut lines: Vec<HistoryLine> = Vec::new();
            for meant in meant(&self.lens, &record.stock, &tray, false)? {
                lines.extend(match &meant {
                    Meant::Piece(piece) => record.history_of(piece),
                    Meant::Alike { lens, .. } => record.history_of_lens(lens),
                    Meant::Each(lenses) | Meant::Row { lenses, .. } => {
                        lenses.iter().flat_map(|lens| record.history_of_lens(lens)).collect()
                    }
                });
                refuse_unknown(&meant, &record.stock)?;
            }
            lines.sort_by_key(|line| (line.place, line.seat.is_none()));
            lines
        };
        if context.json {
            write_line(out, &HistoryJson { history: lines.into_iter().map(LineJson::from).collect() })?;
            return Ok(Outcome::Done);
        }
        if lines.is_empty() {
            writeln!(out, "{}: nothing was noted", record.stock.box_name)?;
        }
        for line in &lines {
            writeln!(out, "{}", in_words(line))?;
        }
        Ok(Outcome::Done)
    }
}

fn refuse_unknown(meant: &Meant, stock: &crate::kit::Stock) -> anyhow::Result<()> {
    let lens = match meant {
        Meant::Piece(piece) => &piece.lens,
        Meant::Alike { lens, .. } => lens,
        Meant::Each(_) | Meant::Row { .. } => return Ok(()),
    };
    if stock.of_lens(lens).next().is_none() {
        anyhow::bail!("the box {} has no {lens}", stock.box_name);
    }
    Ok(())
}

fn in_words(line: &HistoryLine) -> String {
    let HistoryLine { place, at, by, event, lens, piece, says, note, slip, seat, .. } = line;
    let place = if seat.is_some() { String::new() } else { place.to_string() };
    let seat = seat.as_ref().map(|seat| format!(", at {seat}")).unwrap_or_default();
    let subject = piece.as_ref().map_or_else(|| lens.to_string(), ToString::to_string);
    let by = by.as_ref().map(|by| format!(", by {by}")).unwrap_or_default();
    let says = says.as_ref().map(|says| format!(" {says}")).unwrap_or_default();
    let note = note.as_ref().map(|note| format!(" ({note})")).unwrap_or_default();
    let slip = slip.map(|slip| format!(", a slip, taken back {slip:.0}")).unwrap_or_default();
    format!("{place:>4}  {at:.0}  {subject}: {event}{says}{note}{by}{seat}{slip}")
}
