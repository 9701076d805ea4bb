//! What all seats together say of a box: which of it counts here, and what somebody has to settle.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use uuid::Uuid;

use super::from_others::FromOthers;
use super::happened::{BoxEntries, BoxEntry, EntryRef, StoredBoxEntry};
use crate::kit::{BoxChange, Piece, Place, SettledAt, Stock, StockedPiece};
use crate::sharing::pieces::{Fact, Newest, PieceTold, Power, Says, What, Whereabouts, fold, heads_about};
use crate::sharing::{BoxTold, Heads, NotASeat, SeatName, Told, WriterId};

/// Something that is said of a piece by an entry.
#[derive(Debug, Clone, PartialEq)]
pub struct SaidOfPiece {
    /// Where it was noted; none for this seat.
    pub seat: Option<SeatName>,
    /// When.
    pub at: Timestamp,
    /// Who noted it, if that was said.
    pub by: Option<String>,
    /// What.
    pub change: BoxChange,
    /// Whether it was noted while the box is handed over to somebody else, and so does not count.
    pub is_outside: bool,
}

/// A piece of which somebody has to say what is right.
#[derive(Debug, Clone, PartialEq)]
pub struct Unsettled {
    /// The piece.
    pub piece: Piece,
    /// What of it.
    pub(super) fact: Fact,
    /// What is said, by seats that did not know of each other: what was noted here first.
    pub said: Vec<SaidOfPiece>,
}

/// To whom a box is handed over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HandedOver {
    /// The seats: several where it was handed over to each by somebody who did not know of the others.
    pub to: Vec<SeatName>,
    /// Whether this seat may not change it.
    pub is_closed_here: bool,
}

/// What all seats together say of a box.
#[derive(Debug, Clone, PartialEq)]
pub struct Shared {
    told: BoxTold<Piece>,
    /// Pieces of which more is said than the entries of this logbook in their order tell.
    pieces: BTreeSet<Piece>,
}

impl Shared {
    /// From the entries of this logbook and of others, as if one of them were not there.
    pub(super) fn of(entries: &BoxEntries, others: &FromOthers, slip: Option<EntryRef>) -> Self {
        let mut told = told(entries, others);
        if let Some(slip) = slip {
            let nobody = EntryRef { writer: WriterId::new(Uuid::nil()), number: 1 };
            told.push(Told { entry: nobody, after: Heads::default(), what: What::TakesBack(slip) });
        }
        let seats: BTreeMap<WriterId, &SeatName> =
            others.entries.iter().map(|from| (from.stored.entry.writer, &from.seat)).collect();
        let seat_of = |writer| seats.get(&writer).copied().or(others.own_seat.as_ref()).cloned();
        let slips: BTreeSet<EntryRef> = told.iter().filter_map(Told::takes_back).collect();
        let standing = told.iter().filter(|one| !slips.contains(&one.entry));
        let mut pieces = BTreeSet::new();
        for (one, (piece, says)) in standing.flat_map(|one| one.says().iter().map(move |said| (one, said))) {
            if seats.contains_key(&one.entry.writer) && *says != Says::Else {
                pieces.insert(piece.clone());
            }
        }
        let own = entries.standing_changes().filter(|change| change.settles().is_some());
        pieces.extend(own.filter_map(|change| change.piece()));
        Self { told: fold(&told, &seat_of), pieces }
    }

    /// Whether more is said of a piece than the entries of this logbook in their order tell.
    pub(super) fn is_about(&self, piece: &Piece) -> bool {
        self.pieces.contains(piece)
    }

    /// Has the pieces be as all seats together say.
    pub(super) fn apply(&self, stock: &mut Stock, others: &FromOthers) {
        for piece in &self.pieces {
            let (Some(told), Some(is)) = (self.told.pieces.get(piece), stock.get(piece)) else { continue };
            let as_told = as_told(told, is, others);
            // it is there, as was just seen
            let _ = stock.put_back(&as_told);
        }
    }

    /// The entries that say how a fact of a piece is, where more is said of it than the entries of this logbook in their order
    /// tell.
    pub(super) fn deciding(&self, piece: &Piece, fact: Fact) -> Vec<EntryRef> {
        let told = self.told.pieces.get(piece).filter(|_| self.is_about(piece));
        told.map(|told| told.entries(fact)).unwrap_or_default()
    }

    /// Whether seats say different things of a fact of a piece.
    pub(super) fn is_open(&self, piece: &Piece, fact: Fact) -> bool {
        self.told.pieces.get(piece).is_some_and(|told| told.is_open(fact))
    }

    /// To whom the box is handed over, if it is.
    pub(super) fn handed_over(&self, own_seat: Option<&SeatName>) -> Option<HandedOver> {
        let to: Vec<SeatName> = self.told.handed_to().cloned().collect();
        (!to.is_empty()).then(|| HandedOver { to, is_closed_here: self.told.is_closed_to(own_seat) })
    }

    /// The pieces of which somebody has to say what is right, in their order.
    pub(super) fn unsettled(&self, entries: &BoxEntries, others: &FromOthers) -> Vec<Unsettled> {
        let of_each = self.told.pieces.iter();
        of_each.flat_map(|(piece, told)| unsettled(piece, told, entries, others)).collect()
    }
}

/// What is left open of a piece: its place first.
fn unsettled(piece: &Piece, told: &PieceTold, entries: &BoxEntries, others: &FromOthers) -> Vec<Unsettled> {
    let mut all = Vec::new();
    for fact in Fact::ALL {
        let said = |entry: &EntryRef, is_outside| said_by(*entry, piece, fact, is_outside, entries, others);
        let outside: Vec<SaidOfPiece> = told.outside.iter().filter_map(|entry| said(entry, true)).collect();
        if !told.is_open(fact) && outside.is_empty() {
            continue;
        }
        let mut said: Vec<SaidOfPiece> = told.entries(fact).iter().filter_map(|entry| said(entry, false)).collect();
        said.extend(outside);
        said.sort_by(|one, other| one.seat.cmp(&other.seat));
        all.push(Unsettled { piece: piece.clone(), fact, said });
    }
    all
}

/// What an entry says of one fact of a piece.
fn said_by(
    entry: EntryRef,
    piece: &Piece,
    fact: Fact,
    is_outside: bool,
    entries: &BoxEntries,
    others: &FromOthers,
) -> Option<SaidOfPiece> {
    let (seat, stored) = find(entry, entries, others)?;
    let changes = entries.changes_in(stored);
    let of_it = |change: &&BoxChange| change.piece().as_ref() == Some(piece) && says(change).fact() == Some(fact);
    let change = changes.iter().rev().find(of_it)?.clone();
    Some(SaidOfPiece { seat: seat.cloned(), at: stored.at, by: stored.by.clone(), change, is_outside })
}

/// Where a piece is settled to be, by a word: `in-box`, `lost`, or the name of a seat.
///
/// # Errors
/// When it is none of these.
pub fn settled_at(word: &str) -> Result<SettledAt, NotASeat> {
    Ok(match word.trim() {
        "in-box" => SettledAt::Box,
        "lost" => SettledAt::Lost,
        seat => SettledAt::Seat(SeatName::new(seat)?.as_str().to_owned()),
    })
}

/// An entry, with the seat where it was noted if that is another one.
pub(super) fn find<'a>(
    entry: EntryRef,
    entries: &'a BoxEntries,
    others: &'a FromOthers,
) -> Option<(Option<&'a SeatName>, &'a StoredBoxEntry)> {
    let own = entries.all.iter().find(|stored| stored.entry == entry).map(|stored| (None, stored));
    own.or_else(|| {
        let there = others.entries.iter().find(|from| from.stored.entry == entry)?;
        Some((Some(&there.seat), &there.stored))
    })
}

/// A piece as all seats together say that it is.
fn as_told(told: &PieceTold, is: &StockedPiece, others: &FromOthers) -> StockedPiece {
    let mut now = is.clone();
    if let Some(whereabouts) = told.place.value() {
        now.place = place(whereabouts, others.own_seat.as_ref());
    } else if told.place.is_unsettled() {
        now.place = Place::InTwoPlaces;
    }
    if let Some(damaged) = told.damage.value() {
        now.damaged = *damaged;
    } else if told.damage.is_unsettled() {
        // proposed last, until somebody looks at it
        now.damaged = true;
    }
    let figure = told.power.value().or_else(|| of_this_seat(&told.power, others));
    if let Some(power) = figure {
        let power = power.dioptres();
        now.measured = ((power - is.marked_power().0).abs() >= 1e-9).then_some(power);
    } else if told.power.is_unsettled() {
        // of figures that nobody here measured none is the right one: the mark is what can be read on the lens
        now.measured = None;
    }
    now
}

/// Of figures that differ the one that was measured here.
fn of_this_seat<'a>(power: &'a Newest<Power>, others: &FromOthers) -> Option<&'a Power> {
    let is_own = |entry: &EntryRef| others.entries.iter().all(|from| from.stored.entry.writer != entry.writer);
    power.iter().find(|(_, entries)| entries.iter().any(is_own)).map(|(power, _)| power)
}

fn place(whereabouts: &Whereabouts, own_seat: Option<&SeatName>) -> Place {
    match whereabouts {
        Whereabouts::InTheBox => Place::Box,
        Whereabouts::Lost => Place::Lost,
        Whereabouts::OnLoan(to) => Place::Lent { to: to.clone() },
        // what is at this seat is here
        Whereabouts::At(seat) if own_seat.is_some_and(|own| own.as_str() == seat) => Place::Box,
        Whereabouts::At(seat) => Place::Lent { to: Some(seat.clone()) },
        Whereabouts::Retired => Place::Retired,
        Whereabouts::InAnotherBox(to) => Place::Moved { to: to.clone() },
    }
}

/// Everything that is known of a box, entry by entry.
///
/// A further piece that came into the box at another seat is not one of the pieces here, whichever number it has there: what is
/// said of it is passed over.
pub(super) fn told(entries: &BoxEntries, others: &FromOthers) -> Vec<Told<Piece>> {
    let came_there: Vec<(Piece, EntryRef)> = others
        .entries
        .iter()
        .flat_map(|from| from.stored.body.changes().iter().map(move |change| (change, from.stored.entry)))
        .filter_map(|(change, entry)| Some((change.added()?.piece()?, entry)))
        .collect();
    let is_another = |piece: &Piece, stored: &StoredBoxEntry| {
        let EntryRef { writer, number } = stored.entry;
        came_there.iter().any(|(came, entry)| {
            let before = entry.writer == writer && entry.number <= number;
            came == piece && (before || stored.after.know(entry.writer, entry.number))
        })
    };
    let own = entries.all.iter().map(|stored| one(stored, &entries.changes_of(stored), |_| true));
    let theirs = others.entries.iter().map(|from| {
        let stored = &from.stored;
        one(stored, stored.body.changes(), |piece| !is_another(piece, stored))
    });
    own.chain(theirs).collect()
}

fn one(stored: &StoredBoxEntry, changes: &[BoxChange], is_here: impl Fn(&Piece) -> bool) -> Told<Piece> {
    let what = match &stored.body {
        BoxEntry::Undone { entry, .. } => What::TakesBack(*entry),
        BoxEntry::HandedOver { to, .. } => What::HandsOver(to.clone()),
        BoxEntry::Happened { .. } | BoxEntry::Counted { .. } => {
            let each = changes.iter().flat_map(|change| {
                let says = says(change);
                change.pieces().into_iter().map(move |piece| (piece, says.clone()))
            });
            What::Of(each.filter(|(piece, _)| is_here(piece)).collect())
        }
    };
    Told { entry: stored.entry, after: stored.after.clone(), what }
}

/// Which fact a change is about, and what it says of it.
fn says(change: &BoxChange) -> Says {
    match change {
        BoxChange::Lost(_) => Says::Place(Whereabouts::Lost),
        BoxChange::Found(_) | BoxChange::Returned(_) | BoxChange::Added(_) => Says::Place(Whereabouts::InTheBox),
        BoxChange::Lent { to, .. } => Says::Place(Whereabouts::OnLoan(to.clone())),
        BoxChange::Retired(_) => Says::Place(Whereabouts::Retired),
        BoxChange::Moved { to, .. } => Says::Place(Whereabouts::InAnotherBox(to.clone())),
        BoxChange::Settled { at, .. } => Says::Place(match at {
            SettledAt::Box => Whereabouts::InTheBox,
            SettledAt::Lost => Whereabouts::Lost,
            SettledAt::Seat(seat) => Whereabouts::At(seat.clone()),
        }),
        BoxChange::Damaged { .. } => Says::Damage(true),
        BoxChange::Mended(_) => Says::Damage(false),
        BoxChange::Measured { measurement, .. } => Says::Power(Power::of(measurement.power)),
        BoxChange::Looked { .. } | BoxChange::Marked { .. } | BoxChange::Note { .. } => Says::Else,
    }
}

/// The last entries of each writer about these pieces; none where there are none.
pub(super) fn known_of_pieces(entries: &BoxEntries, others: &FromOthers, pieces: &[Piece]) -> Option<Heads> {
    let heads = heads_about(&told(entries, others), pieces);
    if heads.is_empty() { None } else { Some(heads) }
}

/// The last entries of each writer about a box; none where there are none.
pub(super) fn known_of_box(entries: &BoxEntries, others: &FromOthers) -> Option<Heads> {
    let mut heads = Heads::default();
    let theirs = others.entries.iter().map(|from| &from.stored);
    entries.all.iter().chain(theirs).for_each(|stored| heads.learn(stored.entry.writer, stored.entry.number));
    if heads.is_empty() { None } else { Some(heads) }
}

impl SaidOfPiece {
    /// In words, with where it was noted: `lent to Clinic 3, noted at teamB`.
    pub fn in_words(&self) -> String {
        let Self { seat, change, is_outside, by, at: _ } = self;
        let details = change.details().map(|details| format!(" {details}")).unwrap_or_default();
        let place = seat.as_ref().map_or_else(|| "here".to_owned(), |seat| format!("at {seat}"));
        let by = by.as_ref().map(|by| format!(" by {by}")).unwrap_or_default();
        let outside = if *is_outside { " while the box is handed over" } else { "" };
        format!("{}{details}, noted {place}{by}{outside}", change.word())
    }
}

impl Unsettled {
    /// What of the piece is unsettled, in a word: `place`, `damage` or `power`.
    pub fn about(&self) -> &'static str {
        match self.fact {
            Fact::Place => "place",
            Fact::Damage => "damage",
            Fact::Power => "power",
        }
    }

    /// Whether it is where the piece is, which can be settled; damage and power are noted once more.
    pub fn is_of_the_place(&self) -> bool {
        self.fact == Fact::Place
    }

    /// What somebody has to say, in a few words.
    pub fn question(&self) -> &'static str {
        let counting = self.said.iter().filter(|said| !said.is_outside).count();
        match self.fact {
            Fact::Place if counting > 1 => "in two places",
            Fact::Place => "where is it?",
            Fact::Damage => "damaged or not?",
            Fact::Power => "which power?",
        }
    }

    /// In a sentence: `-2.00 sphere #1, in two places: lost, noted here; lent to Clinic 3, noted at teamB`.
    pub fn in_words(&self) -> String {
        let said: Vec<String> = self.said.iter().map(SaidOfPiece::in_words).collect();
        format!("{}, {}: {}", self.piece, self.question(), said.join("; "))
    }
}
