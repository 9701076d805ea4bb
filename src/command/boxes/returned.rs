//! `dioptray box return`: a bag came back.

use std::io::Write;

use anyhow::{anyhow, bail};
use clap::Args;
use jiff::Timestamp;

use super::change::answer;
use super::chosen::{BoxToNote, open_logbook};
use super::lenses::{Choosing, meant};
use crate::command::exams::records::examiner;
use crate::command::files::{BoxAsItIs, known_box, logbook_to_read};
use crate::command::{CAUTION, Context, Outcome, note, values};
use crate::kit::bag::{note_of_bag, numbered_afresh};
use crate::kit::change::bare;
use crate::kit::document::fault::quoted;
use crate::kit::{BoxChange, Measurement, Piece, Place, Stock, StockedPiece, Tray, read_box};
use crate::logbook::{BoxKey, NewChanges, about_bag, goes_out};
use crate::session::known::named;

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

All of it is noted in one entry. What was brought back or lost before is let be. What was noted of the bag while it was away (lost, damaged, measured, added) is noted of the box too. Of a bag that is back nothing more is noted: its pieces are those of the box.";

impl Return {
    /// Notes it.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let chosen = self.which.read(context)?;
        let away = away(&chosen, &self.bag)?;
        let lost = lost(&chosen, &self.but, &away)?;
        let bag = Bag::find(context, &self.bag, &away)?;
        let mut changes = Vec::new();
        for one in &away {
            match &bag {
                _ if lost.contains(&one.piece) => changes.push(BoxChange::Lost(one.piece.clone())),
                Some(bag) => changes.extend(bag.comes_back(one, &chosen)),
                None => changes.push(BoxChange::Returned(one.piece.clone())),
            }
        }
        if let Some(bag) = &bag {
            changes.extend(bag.came_into_it());
        }
        if changes.is_empty() {
            bail!(
                "nothing of the bag {} came back: the bag's own record has all of it lent to others",
                quoted(&self.bag)
            );
        }
        let (now, by) = (Timestamp::now(), examiner(self.by)?);
        let mut logbook = open_logbook(&chosen, context, now)?;
        let text = note_of_bag(&self.bag);
        let new = NewChanges { changes, note: Some(&text), by: by.as_deref(), at: now, count: None };
        let noted = logbook.note_in_box(&chosen.named, &chosen.declared, &new, &[])?;
        Ok(answer(context, &noted, out))
    }
}

/// A piece of a bag that is still lent.
pub(super) struct Away {
    /// As the box knows it.
    pub piece: Piece,
    /// As the bag knows it, whose pieces are numbered from 1 in the order in which they went.
    in_the_bag: Piece,
}

/// The pieces of a bag that are still lent.
pub(super) fn away(chosen: &BoxAsItIs, bag: &str) -> anyhow::Result<Vec<Away>> {
    let entries = &chosen.record.entries;
    let went = about_bag(entries, bag).find(|stored| goes_out(stored)).ok_or_else(|| {
        anyhow!(
            "no bag {} was checked out of the box {}: `box loans` says what is away",
            quoted(bag),
            chosen.named.name
        )
    })?;
    let pieces: Vec<Piece> = went.body.changes().iter().filter_map(BoxChange::piece).collect();
    let is_lent = |one: &Away| chosen.stock.get(&one.piece).is_some_and(|stocked| stocked.place.is_lent());
    let both = pieces.iter().cloned().zip(numbered_afresh(&pieces));
    let away: Vec<Away> = both.map(|(piece, in_the_bag)| Away { piece, in_the_bag }).filter(is_lent).collect();
    if away.is_empty() {
        bail!("nothing of the bag {} is away any more", quoted(bag));
    }
    for piece in pieces.iter().filter(|piece| away.iter().all(|one| one.piece != **piece)) {
        note(format_args!("{piece} is not lent any more, and is let be"));
    }
    Ok(away)
}

/// A bag with what was noted of it while it was away.
struct Bag(BoxAsItIs);

impl Bag {
    /// By its id; nothing, which is said, where its file is not there any more or is not of this bag.
    fn find(context: &Context, id: &str, away: &[Away]) -> anyhow::Result<Option<Self>> {
        let key = BoxKey::of_id(id);
        let file = logbook_to_read(context)?.map(|logbook| logbook.box_file(&key)).transpose()?.flatten();
        let Some(file) = file.filter(|file| read_box(file).is_ok_and(|declared| named(&declared).key == key)) else {
            note("the file of the bag is not there: what was noted of the bag while it was away is not taken over");
            return Ok(None);
        };
        let bag = known_box(context, &file)?;
        if let Some(one) = away.iter().find(|one| bag.stock.get(&one.in_the_bag).is_none()) {
            bail!("{} does not declare {} any more: put it back as it was checked out", file.display(), one.in_the_bag);
        }
        Ok(Some(Self(bag)))
    }

    /// What came into the bag while it was away: it is in the box now.
    fn came_into_it(&self) -> Vec<BoxChange> {
        let Self(bag) = self;
        let went = Stock::of(&bag.declared);
        let came =
            bag.stock.pieces().iter().filter(|there| there.place.is_at_hand() && went.get(&there.piece).is_none());
        came.map(|there| {
            note(format_args!("{}: added, says what was noted of {}", there.piece.lens, bag.named.name));
            BoxChange::Added(there.piece.lens.clone().into())
        })
        .collect()
    }

    /// What is noted in the box of a piece that comes back with the bag.
    fn comes_back(&self, Away { piece, in_the_bag }: &Away, to: &BoxAsItIs) -> Vec<BoxChange> {
        let Self(bag) = self;
        let (Some(there), Some(here)) = (bag.stock.get(in_the_bag), to.stock.get(piece)) else { return Vec::new() };
        let said = |what: &str| note(format_args!("{piece}: {what}, says what was noted of {}", bag.named.name));
        match &there.place {
            Place::Lost => {
                said("lost");
                return vec![BoxChange::Lost(piece.clone())];
            }
            Place::Retired => {
                said("retired");
                return vec![BoxChange::Retired(piece.clone())];
            }
            // it is a further piece where it went
            Place::Moved { to } => {
                said(&format!("moved to {}, so it is retired here", bare(to)));
                return vec![BoxChange::Retired(piece.clone())];
            }
            Place::Lent { to } => {
                let whom = to.as_deref().unwrap_or("somebody");
                said(&format!("lent to {whom}, so it stays away"));
                return Vec::new();
            }
            // it is here, whatever was noted of it in the bag
            Place::Box | Place::Cell { .. } | Place::Hand { .. } | Place::InTwoPlaces => {}
        }
        let mut changes = vec![BoxChange::Returned(piece.clone())];
        let known = bag.record.known_of(in_the_bag, jiff::civil::Date::MAX);
        if there.damaged && !here.damaged {
            changes.push(BoxChange::Damaged { piece: piece.clone(), what: known.damage });
        }
        let marked_here = to.record.own_marks().of_piece(piece).map(str::to_owned);
        if known.own_mark != marked_here {
            changes.push(BoxChange::Marked { piece: piece.clone(), own_mark: known.own_mark });
        }
        // it was asked about there where it was doubtful
        changes.extend(known.measured.map(|measured| BoxChange::Measured {
            piece: piece.clone(),
            measurement: Measurement { sure: true, ..measured.measurement },
        }));
        changes
    }
}

/// The pieces that did not come back.
fn lost(chosen: &BoxAsItIs, but: &[String], away: &[Away]) -> anyhow::Result<Vec<Piece>> {
    let stock = &chosen.stock;
    let tray = Tray::of(&chosen.declared.tray, stock);
    let mut lost: Vec<Piece> = Vec::new();
    for meant in meant(but, stock, &tray, false)? {
        let is_away = |piece: &Piece| away.iter().any(|one| one.piece == *piece);
        let fits = |stocked: &StockedPiece| is_away(&stocked.piece) && !lost.contains(&stocked.piece);
        let choosing = Choosing { stock, fits: &fits, word: "missing from the bag", of_one_piece: false };
        let pieces = choosing.pieces(&meant)?;
        if let Some(piece) = pieces.iter().find(|piece| !is_away(piece)) {
            bail!("--but: {piece} is not in this bag, or is back already");
        }
        lost.extend(pieces);
    }
    Ok(lost)
}
