//! What happened to the pieces of a box.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use super::applied::applied_in;
use super::error::LogbookError;
use super::files::text_of;
use super::from_others::FromOthers;
use super::happened::{BoxEntries, EntriesRead, EntryRef, StoredBoxChange, StoredBoxEntry};
use super::names::{BoxKey, NamedBox};
use super::store::Logbook;
use super::told::{HandedOver, Shared, Unsettled, find};
use crate::kit::{BoxChange, DeclaredBox, Effect, Piece, Place, Stock, StockError, StockedPiece};
use crate::sharing::pieces::Fact;
use crate::sharing::{Heads, SeatName};

/// A change that the box as its file declares it now does not allow.
#[derive(Debug, Clone, PartialEq)]
pub struct RefusedChange {
    /// The change; it stays in the logbook.
    pub stored: StoredBoxChange,
    /// Why it cannot be.
    pub why: StockError,
}

/// A box with everything the logbook knows of it.
#[derive(Debug, Clone, PartialEq)]
pub struct StockOnRecord {
    /// The declared box with the changes applied.
    pub stock: Stock,
    /// Everything that was noted of it, slips among it.
    pub entries: BoxEntries,
    /// Changes that no longer fit, because the file of the box was edited since; the others were applied.
    pub refused: Vec<RefusedChange>,
    /// Why changes cannot be read: made by a newer program, or altered. The others were applied.
    pub unread: Vec<String>,
    /// The last changes that were looked at, those refused among them.
    pub applied: Heads,
    /// What was read from other seats about it.
    pub others: FromOthers,
    /// What all seats together say of it.
    pub(super) shared: Shared,
}

/// What became of one change in applying all of them.
type Outcome = Result<Effect, StockError>;

impl StockOnRecord {
    /// A box of which nothing was noted.
    pub fn of_nothing_noted(declared: &DeclaredBox) -> Self {
        let read = EntriesRead { entries: BoxEntries::default(), unread: Vec::new() };
        Self::of(declared, read, FromOthers::default())
    }

    pub(super) fn of(declared: &DeclaredBox, read: EntriesRead, others: FromOthers) -> Self {
        let EntriesRead { entries, unread } = read;
        let mut applied = Heads::default();
        let mut refused = Vec::new();
        let shared = Shared::of(&entries, &others, None);
        let mut stock = fold(declared, &entries, None, |stored, outcome| {
            // what does not follow from what was noted here may follow from what others noted
            let is_shared = || stored.change.piece().is_some_and(|piece| shared.is_about(&piece));
            if let Err(why) = outcome
                && !(why.is_about_the_place() && is_shared())
            {
                refused.push(RefusedChange { stored, why });
            }
        });
        shared.apply(&mut stock, &others);
        for stored in &entries.all {
            applied.learn(stored.entry.writer, stored.entry.number);
        }
        let unread = unread.iter().map(ToString::to_string).chain(others.unread.iter().cloned()).collect();
        Self { stock, entries, refused, unread, applied, others, shared }
    }

    /// To whom the box is handed over, if it is.
    pub fn handed_over(&self) -> Option<HandedOver> {
        self.shared.handed_over(self.others.own_seat.as_ref())
    }

    /// The pieces of which seats that did not know of each other say different things, and of which others said something
    /// while the box is handed over.
    pub fn unsettled(&self) -> Vec<Unsettled> {
        self.shared.unsettled(&self.entries, &self.others)
    }

    /// The other seat where it was noted that a piece is where it is; none where that was noted here, or nothing was.
    pub fn place_noted_at(&self, piece: &Piece) -> Option<&SeatName> {
        let deciding = self.shared.deciding(piece, Fact::Place);
        let found: Vec<_> = deciding.iter().filter_map(|entry| find(*entry, &self.entries, &self.others)).collect();
        let is_noted_here = found.iter().any(|(seat, _)| seat.is_none());
        found.into_iter().find_map(|(seat, _)| seat).filter(|_| !is_noted_here)
    }

    /// What became of each change as if one entry were not there.
    pub(super) fn without(
        &self,
        declared: &DeclaredBox,
        slip: Option<EntryRef>,
    ) -> (Stock, Vec<(StoredBoxChange, Outcome)>) {
        let mut outcomes = Vec::new();
        let mut stock = fold(declared, &self.entries, slip, |stored, outcome| outcomes.push((stored, outcome)));
        Shared::of(&self.entries, &self.others, slip).apply(&mut stock, &self.others);
        (stock, outcomes)
    }
}

/// The box with its standing entries applied in the order in which they came here; `see` is told what became of each change.
fn fold(
    declared: &DeclaredBox,
    entries: &BoxEntries,
    slip: Option<EntryRef>,
    mut see: impl FnMut(StoredBoxChange, Outcome),
) -> Stock {
    let mut stock = Stock::of(declared);
    for stored in &entries.all {
        if slip == Some(stored.entry) || entries.taken_back_by(stored.entry).is_some() {
            // of before pieces were added by their number: those added later keep the numbers that they had then
            for change in
                entries.flat(stored).filter(|one| one.change.added().is_some() && one.change.piece().is_none())
            {
                if stock.change(&change.change).is_ok()
                    && let Some(came) = stock.changed_by(&change.change).map(|came| came.piece.clone())
                {
                    let _ = stock.change(&BoxChange::Retired(came));
                }
            }
            continue;
        }
        for one in entries.flat(stored) {
            let outcome = stock.change(&one.change);
            see(one, outcome);
        }
    }
    stock
}

/// Something that befell a box since.
#[derive(Debug, Clone, PartialEq)]
pub enum Later {
    /// A change.
    Happened(StoredBoxChange),
    /// An earlier change of a piece was a slip: the piece as it is without it.
    TakenBack(StockedPiece),
}

impl Later {
    /// Applies it.
    ///
    /// # Errors
    /// When it does not fit this box.
    pub fn apply(&self, stock: &mut Stock) -> Result<(), StockError> {
        match self {
            Self::Happened(stored) => stock.change(&stored.change).map(|_| ()),
            Self::TakenBack(as_it_was) => stock.put_back(as_it_was),
        }
    }

    /// The piece that it is about; none for one that was added before pieces were added by their number.
    pub fn piece(&self) -> Option<Piece> {
        match self {
            Self::Happened(stored) => stored.change.piece(),
            Self::TakenBack(as_it_was) => Some(as_it_was.piece.clone()),
        }
    }

    /// Whether the piece is not at hand after it.
    pub fn takes_away(&self) -> bool {
        match self {
            Self::Happened(stored) => stored.change.takes_away(),
            Self::TakenBack(as_it_was) => as_it_was.place != Place::Box,
        }
    }

    /// Whether the piece is at hand again after it.
    pub fn brings_back(&self) -> bool {
        match self {
            Self::Happened(stored) => stored.change.brings_back(),
            Self::TakenBack(as_it_was) => as_it_was.place == Place::Box,
        }
    }
}

/// What happened to a box since an exam began.
#[derive(Debug, Clone, PartialEq)]
pub struct ChangesSince {
    /// The changes, in the order in which they came here.
    pub later: Vec<Later>,
    /// The last changes of all, with which the next exam begins.
    pub all: Heads,
}

/// Another file with the `id` of a box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SameId {
    /// The `id`.
    pub key: BoxKey,
    /// The file that had it last, which is still there.
    pub file: PathBuf,
    /// What the box was called there.
    pub name: String,
}

impl Logbook {
    /// The box as declared, with what happened to it since. A change that does not fit the declared box, or cannot be
    /// read, keeps nobody from the box: it is reported in [`StockOnRecord::refused`] or [`StockOnRecord::unread`]. What of a
    /// bag is in its box again is not in the bag any more.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    pub fn stock_of(&self, key: &BoxKey, declared: &DeclaredBox) -> Result<StockOnRecord, LogbookError> {
        let read = self.entries_read(key)?;
        let others = self.what_others_noted(&read.entries.keys, &self.box_name(key)?)?;
        let mut on_record = StockOnRecord::of(declared, read, others);
        if let Some(bag) = self.bag(key)? {
            bag.take_out_of(&mut on_record.stock, declared);
        }
        Ok(on_record)
    }

    pub(super) fn entries_read(&self, key: &BoxKey) -> Result<EntriesRead, LogbookError> {
        let rows = self.engine.box_changes(key)?;
        Ok(EntriesRead::of(self.path(), &self.box_name(key)?, self.keys_of(key)?, rows))
    }

    /// Every key of a box, the one that is asked for among them.
    pub(super) fn keys_of(&self, key: &BoxKey) -> Result<HashSet<BoxKey>, LogbookError> {
        Ok(self.engine.box_keys(key)?.into_iter().chain([key.clone()]).collect())
    }

    /// Everything that was noted of a box, slips among it, in the order in which it came here.
    ///
    /// # Errors
    /// When an entry cannot be read.
    pub fn box_entries(&self, key: &BoxKey) -> Result<BoxEntries, LogbookError> {
        let mut read = self.entries_read(key)?;
        if read.unread.is_empty() { Ok(read.entries) } else { Err(read.unread.remove(0)) }
    }

    /// Everything that happened to a box, without what was a slip, in the order in which it came here.
    ///
    /// # Errors
    /// When an entry cannot be read.
    pub fn box_changes(&self, key: &BoxKey) -> Result<Vec<StoredBoxChange>, LogbookError> {
        let entries = self.box_entries(key)?;
        Ok(standing(&entries).flat_map(|stored| entries.flat(stored)).collect())
    }

    /// What happened to a box beyond the changes that an exam began with, by their numbers, whatever any clock says.
    ///
    /// Where it was not noted with which, it is found from the box as it was: a piece is as the last change of it left it.
    ///
    /// A change that cannot be read is passed over.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    pub fn changes_since(
        &self,
        key: &BoxKey,
        applied: Option<&Heads>,
        stock: &Stock,
    ) -> Result<ChangesSince, LogbookError> {
        let entries = self.entries_read(key)?.entries;
        let mut all = Heads::default();
        for stored in &entries.all {
            all.learn(stored.entry.writer, stored.entry.number);
        }
        let later = if let Some(known) = applied {
            let knows = |entry: EntryRef| known.know(entry.writer, entry.number);
            let mut later = Vec::new();
            for stored in entries.all.iter().filter(|stored| !knows(stored.entry)) {
                match stored.body.takes_back() {
                    // what came and was taken back since was never there
                    Some(slip) if !knows(slip) => {}
                    Some(_) => later.extend(entries.back(stored).into_iter().map(Later::TakenBack)),
                    None if entries.taken_back_by(stored.entry).is_some() => {}
                    None => later.extend(entries.flat(stored).map(Later::Happened)),
                }
            }
            later
        } else {
            let changes: Vec<StoredBoxChange> = standing(&entries).flat_map(|stored| entries.flat(stored)).collect();
            let there = applied_in(stock, changes.iter().map(|change| &change.change));
            changes.into_iter().skip(there).map(Later::Happened).collect()
        };
        Ok(ChangesSince { later, all })
    }

    /// Every box that the logbook knows, in the order in which they came here, with the file that each was last read from.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    pub fn boxes(&self) -> Result<Vec<(NamedBox, Option<PathBuf>)>, LogbookError> {
        let rows = self.engine.known_boxes()?;
        Ok(rows.into_iter().map(|(key, row)| (NamedBox { key, name: row.name }, row.file)).collect())
    }

    /// What a box was last called, or its key when it is not known.
    pub(super) fn box_name(&self, key: &BoxKey) -> Result<String, LogbookError> {
        Ok(self.engine.known_box(key)?.map_or_else(|| key.to_string(), |known| known.name))
    }

    /// Whether the logbook knows a box by this key.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn knows_box(&self, key: &BoxKey) -> Result<bool, LogbookError> {
        Ok(self.engine.known_box(key)?.is_some())
    }

    /// Whether two keys stand for one box.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn is_same_box(&self, one: &BoxKey, other: &BoxKey) -> Result<bool, LogbookError> {
        let number = |key| Ok::<_, LogbookError>(self.engine.known_box(key)?.map(|known| known.number));
        Ok(one == other || number(one)?.is_some() && number(one)? == number(other)?)
    }

    /// The file that a box was last read from.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    pub fn box_file(&self, key: &BoxKey) -> Result<Option<PathBuf>, LogbookError> {
        Ok(self.engine.known_box(key)?.and_then(|known| known.file))
    }

    /// Notes the file, by its absolute path, that a box is read from. When the box has an `id` and another file that is
    /// still there had it last, that is reported: the two are one box to the logbook.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn note_box_file(&mut self, in_box: &NamedBox, file: &Path) -> Result<Option<SameId>, LogbookError> {
        let before = self.engine.known_box(&in_box.key)?;
        self.engine.note_box(in_box, Some(text_of(file)?))?;
        let other = before.filter(|_| in_box.key.is_id()).and_then(|before| {
            let other = before.file.filter(|other| other != file && other.exists())?;
            Some(SameId { key: in_box.key.clone(), file: other, name: before.name })
        });
        Ok(other)
    }

    /// Carries what is known under a box's name over to the `id` that its file now has; ask first. Nothing is done when
    /// nothing is known under the name.
    ///
    /// # Errors
    /// [`LogbookError::BothBoxesKnown`] when the `id` already stands for another box: they are never made one.
    pub fn adopt_box(&mut self, name: &BoxKey, id: &BoxKey) -> Result<(), LogbookError> {
        let known = (self.engine.known_box(name)?, self.engine.known_box(id)?);
        match known {
            (None, _) => Ok(()),
            (Some(known), None) => self.engine.add_key(known.number, id),
            (Some(by_name), Some(by_id)) if by_name.number == by_id.number => Ok(()),
            (Some(_), Some(_)) => Err(LogbookError::BothBoxesKnown { id: id.clone(), name: name.clone() }),
        }
    }
}

/// The entries that were not taken back.
fn standing(entries: &BoxEntries) -> impl Iterator<Item = &StoredBoxEntry> {
    entries.all.iter().filter(|stored| entries.taken_back_by(stored.entry).is_none())
}
