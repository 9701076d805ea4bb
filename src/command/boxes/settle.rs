//! `dioptray box settle`: what seats say of one piece that did not know of each other.

use std::io::Write;

use anyhow::{anyhow, bail};
use clap::Args;
use jiff::Timestamp;
use serde::Serialize;

use super::change::answer;
use super::chosen::{BoxToNote, open_logbook};
use super::lenses::{Choosing, Meant, meant};
use crate::command::exams::records::examiner;
use crate::command::files::BoxAsItIs;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::kit::{BoxChange, Piece, StockedPiece, Tray};
use crate::logbook::{NewChanges, Unsettled, settled_at};

/// The arguments of `dioptray box settle`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Settle {
    #[command(flatten)]
    which: BoxToNote,
    /// The lens, and after it where it is: `in-box`, `lost`, or the name of the seat that has it. Without it, what is unsettled is
    /// listed.
    #[arg(value_name = "LENS WHERE", value_parser = values::text())]
    lens: Vec<String>,
    /// Who settles it; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
}

const EXAMPLES: &str = "Examples:
  dioptray box settle --box box.yaml
  dioptray box settle --box box.yaml \"-2.00 sphere #1\" in-box
  dioptray box settle --box box.yaml \"-2.00 sphere #1\" teamB

Two seats may note different places of one lens before either has read what the other noted: it is then in two places, and is not proposed. What is settled names everything that is known of that lens, so it stands at every seat that reads it. Whether a lens is damaged and what it was measured as is settled by noting that again: `box change damaged`, `mended`, `measured`.";

/// What of a piece somebody has to say.
#[derive(Serialize)]
pub struct UnsettledJson<'a> {
    piece: &'a Piece,
    /// `place`, `damage` or `power`.
    about: &'static str,
    said: Vec<SaidJson<'a>>,
}

#[derive(Serialize)]
struct SaidJson<'a> {
    /// Where it was noted; null for this seat.
    seat: Option<String>,
    by: Option<&'a str>,
    at: Timestamp,
    event: &'static str,
    says: Option<String>,
    /// Whether it counts: not where it was noted while the box is handed over to another seat.
    counts: bool,
}

impl<'a> UnsettledJson<'a> {
    /// Of a piece.
    pub fn of(unsettled: &'a Unsettled) -> Self {
        let said = unsettled.said.iter().map(|said| SaidJson {
            seat: said.seat.as_ref().map(ToString::to_string),
            by: said.by.as_deref(),
            at: said.at,
            event: said.change.word(),
            says: said.change.details(),
            counts: !said.is_outside,
        });
        Self { piece: &unsettled.piece, about: unsettled.about(), said: said.collect() }
    }
}

#[derive(Serialize)]
struct ListJson<'a> {
    r#box: &'a str,
    unsettled: Vec<UnsettledJson<'a>>,
}

impl Settle {
    /// Settles it, or lists.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let Some((to, lens)) = self.lens.split_last() else {
            return list(&self.which.to_look_at(context)?, context, out);
        };
        if lens.is_empty() {
            bail!("after the lens comes where it is: \"-2.00 sphere #1\" in-box, lost, or the name of a seat");
        }
        let at = settled_at(to).map_err(|why| anyhow!("where is it: in-box, lost, or at a seat? {why}"))?;
        let chosen = self.which.read(context)?;
        let pieces = pieces(lens, &chosen)?;
        let changes = pieces.into_iter().map(|piece| BoxChange::Settled { piece, at: at.clone() }).collect();
        let (now, by) = (Timestamp::now(), examiner(self.by)?);
        let mut logbook = open_logbook(&chosen, context, now)?;
        let new = NewChanges { changes, note: None, by: by.as_deref(), at: now, count: None };
        let noted = logbook.note_in_box(&chosen.named, &chosen.declared, &new, &[])?;
        Ok(answer(context, &noted, out))
    }
}

/// The pieces that are meant: those that are named, or the unsettled one of a lens.
fn pieces(lens: &[String], chosen: &BoxAsItIs) -> anyhow::Result<Vec<Piece>> {
    let (stock, unsettled) = (&chosen.record.stock, chosen.record.unsettled());
    let tray = Tray::of(&chosen.declared.tray, stock);
    let fits = |stocked: &StockedPiece| unsettled.iter().any(|one| one.is_of_the_place() && one.piece == stocked.piece);
    let choosing = Choosing { stock, fits: &fits, word: "settled", of_one_piece: false };
    let mut pieces = Vec::new();
    for meant in meant(lens, stock, &tray, false)? {
        if let Meant::Alike { lens, .. } = &meant
            && !stock.of_lens(lens).any(&fits)
        {
            bail!("of {lens} no place is unsettled: name the piece that is meant, like \"{lens} #1\"");
        }
        pieces.extend(choosing.pieces(&meant)?);
    }
    Ok(pieces)
}

fn list(chosen: &BoxAsItIs, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    let (box_name, unsettled) = (chosen.stock.box_name.as_str(), chosen.record.unsettled());
    if context.json {
        let unsettled = unsettled.iter().map(UnsettledJson::of).collect();
        write_line(out, &ListJson { r#box: box_name, unsettled })?;
        return Ok(Outcome::Done);
    }
    if unsettled.is_empty() {
        writeln!(out, "{box_name}: nothing is unsettled")?;
    }
    unsettled.iter().try_for_each(|one| writeln!(out, "{}", one.in_words()))?;
    Ok(Outcome::Done)
}
