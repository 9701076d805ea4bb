//! `dioptray box return`: a bag came back.

use std::io::Write;

use anyhow::{anyhow, bail};
use clap::Args;
use jiff::Timestamp;

use super::change::answer;
use super::check_out::note_of_bag;
use super::chosen::{BoxToNote, open_logbook};
use super::lenses::{Choosing, meant};
use crate::command::exams::records::examiner;
use crate::command::files::BoxAsItIs;
use crate::command::{CAUTION, Context, Outcome, note, values};
use crate::kit::document::fault::quoted;
use crate::kit::{BoxChange, Piece, StockedPiece, Tray};
use crate::logbook::NewChanges;

/// The arguments of `dioptray box return`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Return {
    #[command(flatten)]
    which: BoxToNote,
    /// The id of the bag, as `box pack --check-out` said it.
    #[arg(value_name = "ID", value_parser = values::text())]
    bag: String,
    /// What did not come back: it is lost.
    #[arg(long, value_name = "LENS", num_args = 1.., value_parser = values::text())]
    but: Vec<String>,
    /// Who takes it back; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
}

const EXAMPLES: &str = "Examples:
  dioptray box return --box my-box.yaml ford-bag-3f9a2c
  dioptray box return --box my-box.yaml ford-bag-3f9a2c --but \"-1.50 sphere x2\" occluder

All of it is noted in one entry. What was brought back or lost before is let be.";

impl Return {
    /// Notes it.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let chosen = self.which.read(context)?;
        let away = away(&chosen, &self.bag)?;
        let lost = lost(&chosen, &self.but, &away)?;
        let back = |piece: &Piece| {
            if lost.contains(piece) { BoxChange::Lost(piece.clone()) } else { BoxChange::Returned(piece.clone()) }
        };
        let (now, by) = (Timestamp::now(), examiner(self.by)?);
        let mut logbook = open_logbook(&chosen, context, now)?;
        let text = note_of_bag(&self.bag);
        let changes = away.iter().map(back).collect();
        let new = NewChanges { changes, note: Some(&text), by: by.as_deref(), at: now, count: None };
        let noted = logbook.note_in_box(&chosen.named, &chosen.declared, &new, &[])?;
        Ok(answer(context, &noted, out))
    }
}

/// The pieces of a bag that are still lent.
fn away(chosen: &BoxAsItIs, bag: &str) -> anyhow::Result<Vec<Piece>> {
    let entries = &chosen.record.entries;
    let text = note_of_bag(bag);
    let is_of_the_bag = |changes: &[BoxChange]| !changes.is_empty() && changes.iter().all(BoxChange::lends);
    let went = entries.all.iter().find(|stored| {
        stored.body.note() == Some(text.as_str())
            && is_of_the_bag(stored.body.changes())
            && entries.taken_back_by(stored.entry).is_none()
    });
    let went = went.ok_or_else(|| {
        anyhow!(
            "no bag {} was checked out of the box {}: `box loans` says what is away",
            quoted(bag),
            chosen.named.name
        )
    })?;
    let pieces: Vec<Piece> = went.body.changes().iter().filter_map(BoxChange::piece).collect();
    let is_lent = |piece: &&Piece| chosen.stock.get(piece).is_some_and(|stocked| stocked.place.is_lent());
    let away: Vec<Piece> = pieces.iter().filter(is_lent).cloned().collect();
    if away.is_empty() {
        bail!("nothing of the bag {} is away any more", quoted(bag));
    }
    for piece in pieces.iter().filter(|piece| !away.contains(piece)) {
        note(format_args!("{piece} is not lent any more, and is let be"));
    }
    Ok(away)
}

/// The pieces that did not come back.
fn lost(chosen: &BoxAsItIs, but: &[String], away: &[Piece]) -> anyhow::Result<Vec<Piece>> {
    let stock = &chosen.stock;
    let tray = Tray::of(&chosen.declared.tray, stock);
    let mut lost: Vec<Piece> = Vec::new();
    for meant in meant(but, stock, &tray, false)? {
        let fits = |stocked: &StockedPiece| away.contains(&stocked.piece) && !lost.contains(&stocked.piece);
        let choosing = Choosing { stock, fits: &fits, word: "missing from the bag", of_one_piece: false };
        let pieces = choosing.pieces(&meant)?;
        if let Some(piece) = pieces.iter().find(|piece| !away.contains(piece)) {
            bail!("--but: {piece} is not in this bag, or is back already");
        }
        lost.extend(pieces);
    }
    Ok(lost)
}
