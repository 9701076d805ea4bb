//! A bag that goes out: a box of its own, its pieces lent.

use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, anyhow};
use clap::Args;
use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;
use uuid::Uuid;

use super::asked::{LONGEST_NAME, day, in_one_line};
use super::chosen::open_logbook;
use super::makes::KnownBoxAndPeople;
use crate::command::exams::records::examiner;
use crate::command::files::logbook_to_read;
use crate::command::{Context, values};
use crate::export::saving::{Existing, refuse_unsavable, save};
use crate::keeping::{Holding, declared_bag, marks_in_the_bag, pieces_for};
use crate::kit::bag::note_of_bag;
use crate::kit::document::fault::counted;
use crate::kit::document::load::{from_anywhere, is_only_shipped};
use crate::kit::document::name::fresh_id;
use crate::kit::file::write_box;
use crate::kit::{BoxChange, Lens, Piece, StockedPiece};
use crate::logbook::NewChanges;
use crate::session::known::{named, note_file};

/// Whether and to whom a bag goes out.
#[derive(Debug, Args)]
pub struct CheckOut {
    /// Check the bag out: write it as a box of its own, and note in the logbook that its pieces are lent.
    #[arg(id = "check_out", long = "check-out", requires = "to")]
    goes_out: bool,
    /// Who has it.
    #[arg(long, value_name = "WHO", requires = "check_out", value_parser = values::text())]
    to: Option<String>,
    /// The day by which it should be back, like 2026-12-24.
    #[arg(long, value_name = "DAY", requires = "check_out", value_parser = day)]
    until: Option<Date>,
    /// Where the bag's file is written; without it, beside the box.
    #[arg(long, value_name = "FILE", requires = "check_out", value_parser = values::path())]
    out: Option<PathBuf>,
    /// Who checks it out; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", requires = "check_out", value_parser = values::text())]
    by: Option<String>,
}

/// A bag that is out.
#[derive(Debug, Serialize)]
pub struct CheckedOut {
    id: String,
    file: String,
    to: String,
    until: Option<Date>,
    pieces: usize,
}

impl fmt::Display for CheckedOut {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { id, file, to, until, pieces } = self;
        let until = until.map(|until| format!(" until {until}")).unwrap_or_default();
        let pieces = counted(*pieces, "piece", "pieces");
        write!(f, "checked out: {pieces} to {to}{until}\n{file}: id {id}; `dioptray box return {id}` brings it back")
    }
}

impl CheckOut {
    /// Refuses before the search what could not be done after it.
    pub fn refuse_early(&self, of: &KnownBoxAndPeople, name: Option<&str>) -> anyhow::Result<()> {
        if self.goes_out {
            self.to()?;
            refuse_unsavable(&self.file(of, &bag_name(of, name)?), Existing::Stays)?;
        }
        Ok(())
    }

    fn to(&self) -> anyhow::Result<String> {
        in_one_line("--to", self.to.as_deref().unwrap_or_default(), LONGEST_NAME)
    }

    fn file(&self, of: &KnownBoxAndPeople, name: &str) -> PathBuf {
        self.out.clone().unwrap_or_else(|| {
            // a box that comes with the program has no folder of its own
            let folder = if is_only_shipped(&of.known.file) { None } else { of.known.file.parent() };
            let letters = |c: char| if c.is_alphanumeric() { c.to_ascii_lowercase() } else { '-' };
            let stem: String = name.chars().map(letters).collect();
            folder.unwrap_or(Path::new("")).join(format!("{}.yaml", stem.trim_matches('-')))
        })
    }

    /// What stands before an eye in open exams, and so cannot go out.
    pub fn in_frames(&self, context: &Context, of: &KnownBoxAndPeople) -> anyhow::Result<Vec<Piece>> {
        match logbook_to_read(context)?.filter(|_| self.goes_out) {
            Some(logbook) => {
                let there = logbook.before_eyes(&of.known.named.key)?;
                Ok(there.into_iter().map(|there| there.piece).collect())
            }
            None => Ok(Vec::new()),
        }
    }

    /// Writes the bag's file and lends its pieces in one entry; nothing where it is not to go out.
    pub fn run(
        &self,
        context: &Context,
        of: &KnownBoxAndPeople,
        name: Option<&str>,
        take: &[Holding],
        beside: &[(Lens, u8)],
        in_frames: &[Piece],
    ) -> anyhow::Result<Option<CheckedOut>> {
        if !self.goes_out {
            return Ok(None);
        }
        let name = bag_name(of, name)?;
        let is_free = |stocked: &StockedPiece| stocked.is_free() && !in_frames.contains(&stocked.piece);
        let pieces = pieces_for(&of.known.stock, take, beside, &is_free)
            .map_err(|lens| anyhow!("{lens} is in the frame of an exam that is open: nothing was checked out"))?;
        let id = fresh_id(&name, Uuid::new_v4());
        let bag = declared_bag(&of.known.declared, name.clone(), id.clone(), &pieces);
        let (to, now, by) = (self.to()?, Timestamp::now(), examiner(self.by.clone())?);
        let lent = |stocked: &StockedPiece| BoxChange::Lent {
            piece: stocked.piece.clone(),
            to: Some(to.clone()),
            until: self.until,
        };
        let note = note_of_bag(&id);
        let new = NewChanges {
            changes: pieces.iter().map(lent).collect(),
            note: Some(&note),
            by: by.as_deref(),
            at: now,
            count: None,
        };
        // the file first: whoever is stopped between the two has a file too many, and no lens is away without one
        let mut logbook = open_logbook(&of.known, context, now)?;
        let file = save(&self.file(of, &name), write_box(&bag, None).as_bytes(), Existing::Stays)?;
        let noted = logbook.note_in_box(&of.known.named, &of.known.declared, &new, &[]);
        let noted = noted
            .inspect_err(|_| {
                let _gone = fs::remove_file(&file);
            })
            .context("nothing was checked out")?;
        let marked = marks_in_the_bag(&noted.on_record.own_marks(), &pieces);
        if !marked.is_empty() {
            let marks = NewChanges { changes: marked, note: None, ..new };
            let noted = logbook.note_in_box(&named(&bag), &bag, &marks, &[]);
            noted.context("the bag is out, but how its pieces are marked could not be noted of it")?;
        }
        crate::command::files::say(note_file(&mut logbook, &named(&bag), &from_anywhere(&file)?)?.as_ref());
        let file = file.display().to_string();
        Ok(Some(CheckedOut { id, file, to, until: self.until, pieces: pieces.len() }))
    }
}

fn bag_name(of: &KnownBoxAndPeople, name: Option<&str>) -> anyhow::Result<String> {
    match name {
        Some(name) => in_one_line("--name", name, LONGEST_NAME),
        None => Ok(format!("Bag from {}", of.known.stock.box_name)),
    }
}
