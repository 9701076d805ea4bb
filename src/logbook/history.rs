//! What is known of a box and its pieces from all that was noted: history, loans, measurements.

use jiff::Timestamp;
use jiff::civil::Date;

use super::boxes::StockOnRecord;
use super::from_others::FromSeat;
use super::happened::{EntryRef, StoredBoxEntry};
use super::names::BoxKey;
use super::told::find;
use crate::kit::stock_take::LensCounted;
use crate::kit::{BoxChange, Lens, Measurement, OwnMarks, Piece, Place};
use crate::sharing::SeatName;
use crate::sharing::pieces::Fact;

/// One thing that happened to a piece, as a history lists it.
#[derive(Debug, Clone, PartialEq)]
pub struct HistoryLine {
    /// The place of the entry that says so among those of the box, from 1.
    pub place: i64,
    /// That entry.
    pub entry: EntryRef,
    /// When.
    pub at: Timestamp,
    /// Who noted it, if that was said.
    pub by: Option<String>,
    /// What happened, in a word; `undone` where an earlier line was a slip.
    pub event: &'static str,
    /// The lens.
    pub lens: Lens,
    /// The piece; none for one that was added before pieces were added by their number.
    pub piece: Option<Piece>,
    /// What it was held together with, in a look.
    pub with: Vec<Piece>,
    /// What more was said of it.
    pub says: Option<String>,
    /// What is to be remembered of the entry.
    pub note: Option<String>,
    /// When it was found that this was a slip.
    pub slip: Option<Timestamp>,
    /// The box from which the piece came, where it came from one.
    pub from: Option<BoxKey>,
    /// The other seat where it was noted. Its place is then that of the first entry here that was noted in the knowledge of it,
    /// before which it stands; past every place where there is none.
    pub seat: Option<SeatName>,
}

/// A piece that somebody has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Loan {
    /// The piece.
    pub piece: Piece,
    /// Who has it; none in entries of before it had to be said.
    pub to: Option<String>,
    /// The day by which it should be back.
    pub until: Option<Date>,
    /// Since when.
    pub since: Timestamp,
    /// Who noted it, if that was said.
    pub by: Option<String>,
    /// Whether that day has passed.
    pub overdue: bool,
}

/// A measurement that was noted.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredAt {
    /// When it was noted.
    pub at: Timestamp,
    /// Who noted it, if that was said.
    pub by: Option<String>,
    /// What was measured.
    pub measurement: Measurement,
}

/// What is known of one piece beside where it is.
#[derive(Debug, Clone, PartialEq)]
pub struct PieceKnown {
    /// What happened to it, the first thing first.
    pub history: Vec<HistoryLine>,
    /// What was last measured of it.
    pub measured: Option<MeasuredAt>,
    /// What is the matter with it, where it is damaged and that was said.
    pub damage: Option<String>,
    /// How it is marked by its keeper.
    pub own_mark: Option<String>,
    /// Who has it, where somebody has.
    pub loan: Option<Loan>,
}

impl StockOnRecord {
    /// What happened to the box, the first thing first; slips and what took them back among it.
    pub fn history(&self) -> Vec<HistoryLine> {
        self.history_where(&|_| true)
    }

    /// What happened to the pieces of a lens.
    pub fn history_of_lens(&self, lens: &Lens) -> Vec<HistoryLine> {
        self.history_where(&|change| change.is_about(lens))
    }

    /// What happened to a piece, a look among it whichever of its pieces it was.
    pub fn history_of(&self, piece: &Piece) -> Vec<HistoryLine> {
        self.history_where(&|change| change.pieces().contains(piece))
    }

    fn history_where(&self, is_meant: &dyn Fn(&BoxChange) -> bool) -> Vec<HistoryLine> {
        let entries = &self.entries;
        let mut lines = Vec::new();
        for stored in &entries.all {
            let slip_of = stored.body.takes_back().and_then(|slip| entries.all.iter().find(|one| one.entry == slip));
            let says = slip_of.unwrap_or(stored);
            let from = (!entries.is_noted_here(says)).then(|| says.about.clone());
            for change in entries.changes_of(says).into_iter().filter(is_meant) {
                let came_from = from.as_ref().map(|from| format!("from {from}"));
                let (event, details) = match (slip_of, &came_from) {
                    (Some(_), _) => ("undone", Some(in_a_line(&change))),
                    (None, Some(from)) if change.added().is_some() => ("moved", Some(from.clone())),
                    (None, _) => (change.word(), change.details()),
                };
                lines.push(HistoryLine {
                    place: stored.place,
                    entry: stored.entry,
                    at: stored.at,
                    by: stored.by.clone(),
                    event,
                    lens: change.lens().clone(),
                    piece: change.piece(),
                    with: change.pieces().into_iter().skip(1).collect(),
                    says: details,
                    note: stored.body.note().map(str::to_owned),
                    slip: entries.taken_back_by(stored.entry).map(|slip| slip.at),
                    from: from.clone(),
                    seat: None,
                });
            }
        }
        let theirs = self.others.entries.iter().flat_map(|there| self.lines_of_another_seat(there, is_meant));
        lines.extend(theirs);
        lines.sort_by_key(|line| (line.place, line.seat.is_none()));
        lines
    }

    /// What was noted at another seat.
    fn lines_of_another_seat(&self, there: &FromSeat, is_meant: &dyn Fn(&BoxChange) -> bool) -> Vec<HistoryLine> {
        let FromSeat { seat, stored } = there;
        let theirs = || self.others.entries.iter().map(|from| &from.stored);
        let slip_of = stored.body.takes_back().and_then(|slip| theirs().find(|one| one.entry == slip));
        let slip = theirs().find(|one| one.body.takes_back() == Some(stored.entry)).map(|one| one.at);
        let changes = slip_of.unwrap_or(stored).body.changes().iter().filter(|change| is_meant(change));
        let entry = stored.entry;
        let known = self.entries.all.iter().find(|own| own.after.know(entry.writer, entry.number));
        let line = |change: &BoxChange| HistoryLine {
            place: known.map_or(i64::MAX, |own| own.place),
            entry: stored.entry,
            at: stored.at,
            by: stored.by.clone(),
            event: if slip_of.is_some() { "undone" } else { change.word() },
            lens: change.lens().clone(),
            piece: change.piece(),
            with: change.pieces().into_iter().skip(1).collect(),
            says: if slip_of.is_some() { Some(in_a_line(change)) } else { change.details() },
            note: stored.body.note().map(str::to_owned),
            slip,
            from: None,
            seat: Some(seat.clone()),
        };
        changes.map(line).collect()
    }

    /// The entries that stand.
    fn standing(&self) -> impl DoubleEndedIterator<Item = &StoredBoxEntry> {
        self.entries.all.iter().filter(|stored| self.entries.taken_back_by(stored.entry).is_none())
    }

    /// The last standing change of a kind of one piece.
    fn last_of<T>(&self, piece: &Piece, of: impl Fn(BoxChange) -> Option<T>) -> Option<(&StoredBoxEntry, T)> {
        self.standing().rev().find_map(|stored| Some((stored, self.said_in(stored, piece, &of)?)))
    }

    /// The same of the entry that says how a fact of the piece is, wherever that was noted.
    fn deciding_of<T>(
        &self,
        piece: &Piece,
        fact: Fact,
        of: impl Fn(BoxChange) -> Option<T>,
    ) -> Option<(&StoredBoxEntry, T)> {
        let deciding = self.shared.deciding(piece, fact);
        if deciding.is_empty() {
            return self.last_of(piece, of);
        }
        let found = deciding.iter().filter_map(|entry| find(*entry, &self.entries, &self.others));
        found.map(|(_, stored)| stored).find_map(|stored| Some((stored, self.said_in(stored, piece, &of)?)))
    }

    /// The last change of a kind of one piece in an entry.
    fn said_in<T>(&self, stored: &StoredBoxEntry, piece: &Piece, of: &impl Fn(BoxChange) -> Option<T>) -> Option<T> {
        self.entries.changes_in(stored).into_iter().rev().find_map(|change| {
            let is_meant = change.piece().as_ref() == Some(piece);
            if is_meant { of(change) } else { None }
        })
    }

    /// Who has a piece, on a given day.
    pub fn loan_of(&self, piece: &Piece, today: Date) -> Option<Loan> {
        let Some(Place::Lent { to }) = self.stock.get(piece).map(|stocked| &stocked.place) else { return None };
        let (stored, until) = self.deciding_of(piece, Fact::Place, |change| change.away_until())?;
        Some(Loan {
            piece: piece.clone(),
            to: to.clone(),
            until,
            since: stored.at,
            by: stored.by.clone(),
            overdue: until.is_some_and(|until| until < today),
        })
    }

    /// Every piece that somebody has, on a given day: by borrower, and of one the day that comes first first.
    pub fn loans(&self, today: Date) -> Vec<Loan> {
        let pieces = self.stock.pieces().iter().map(|stocked| &stocked.piece);
        let mut loans: Vec<Loan> = pieces.filter_map(|piece| self.loan_of(piece, today)).collect();
        // what has no day comes after what has one
        loans.sort_by(|one, other| {
            let key = |loan: &Loan| (loan.to.clone(), loan.until.is_none(), loan.until);
            key(one).cmp(&key(other))
        });
        loans
    }

    /// What was last measured of a piece.
    pub fn last_measured(&self, piece: &Piece) -> Option<MeasuredAt> {
        let of = |change| if let BoxChange::Measured { measurement, .. } = change { Some(measurement) } else { None };
        let (stored, measurement) = self.deciding_of(piece, Fact::Power, of)?;
        Some(MeasuredAt { at: stored.at, by: stored.by.clone(), measurement })
    }

    /// How pieces are marked by their keeper.
    pub fn own_marks(&self) -> OwnMarks {
        OwnMarks::of(self.entries.standing_changes())
    }

    /// What is known of a piece beside where it is, on a given day.
    pub fn known_of(&self, piece: &Piece, today: Date) -> PieceKnown {
        let is_damaged = self.stock.get(piece).is_some_and(|stocked| stocked.damaged);
        let what = |change| if let BoxChange::Damaged { what, .. } = change { Some(what) } else { None };
        PieceKnown {
            history: self.history_of(piece),
            measured: self.last_measured(piece),
            damage: self.deciding_of(piece, Fact::Damage, what).filter(|_| is_damaged).and_then(|(_, what)| what),
            own_mark: self.own_marks().of_piece(piece).map(str::to_owned),
            loan: self.loan_of(piece, today),
        }
    }

    /// What the last stock-take found, and when it ended.
    pub fn last_stock_take(&self) -> Option<(Timestamp, &[LensCounted])> {
        self.standing().rev().find_map(|stored| Some((stored.at, stored.body.count()?)))
    }
}

/// A change in a few words: `lost`, `lent to K.M.`.
fn in_a_line(change: &BoxChange) -> String {
    let details = change.details().map(|details| format!(" {details}")).unwrap_or_default();
    format!("{}{details}", change.word())
}
