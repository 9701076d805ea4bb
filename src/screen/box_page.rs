//! A box on the screen: its places in the order in which they lie, the chosen one, and the pieces that are marked.

use std::path::PathBuf;
use std::rc::Rc;

use super::counting::Counting;
use super::looking::{PairsSeen, Unmarked};
use super::shelf::{self, Shelf};
use crate::frame::{FrameDraft, FrameQuestion};
use crate::keeping::{Offer, Wanted, Zoom};
use crate::kit::{Lens, Piece, Stock, StockedPiece};
use crate::session::{BoxKnown, BoxNow};
use crate::sheets::Limits;

/// Places of a box that lie together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BoxRow {
    /// What it is called.
    pub name: String,
    /// What the labels of its places say, in their order.
    pub lenses: Vec<Lens>,
}

/// A box that is shown.
#[derive(Debug, Clone, PartialEq)]
pub struct BoxPage {
    /// The box as it was when it was looked at.
    pub now: Rc<BoxNow>,
    /// Its places.
    pub rows: Rc<[BoxRow]>,
    /// The chosen place, counted through all rows.
    pub chosen: usize,
    /// Which of its pieces is meant; whichever it can happen to where none is chosen.
    pub piece: Option<u8>,
    /// Pieces that what is noted next happens to, all at once.
    pub marked: Vec<Piece>,
    /// What of the box is shown.
    pub shown: BoxShown,
    /// Whether the chosen place says what one lost piece would cost.
    pub with_cost: bool,
    /// The box whose figures stand beside those of this one on the map.
    pub beside: Option<Rc<BoxNow>>,
    /// With what is bought.
    pub buying: Buying,
    /// What the keeper asks of the lenses, for the sheet of what was measured.
    pub limits: Limits,
}

/// With what is bought for a box.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Buying {
    /// The list of what can be bought; where none is named, the powers of the full box without prices.
    pub prices: Option<Rc<PriceList>>,
    /// At most for so much, in whatever the prices count.
    pub budget: Option<f64>,
}

/// What can be bought, as a file says.
#[derive(Debug, Clone, PartialEq)]
pub struct PriceList {
    /// The file.
    pub file: PathBuf,
    /// What it lists.
    pub offers: Vec<Offer>,
}

/// What of a box is shown.
#[derive(Debug, Clone, PartialEq)]
pub enum BoxShown {
    /// Its tray.
    Tray,
    /// All boxes that are known, one of them chosen.
    Boxes(Rc<[BoxKnown]>, usize),
    /// A frame that is being made.
    NewFrame(Box<NewFrame>),
    /// What somebody has of it, one piece of it chosen.
    Loans(usize),
    /// Of which pieces seats say different things, one of them chosen.
    Unsettled(usize),
    /// A stock-take.
    Counting(Box<Counting>),
    /// What it makes.
    Makes(Makes),
    /// What to buy for it.
    Buy,
    /// A bag of so many pieces.
    Pack(usize),
    /// The sheets that can be written.
    Sheets {
        /// The chosen one.
        chosen: usize,
        /// Of a bag of so many pieces is the list of what to take out.
        bag: usize,
    },
    /// Lenses of it held together in pairs.
    Pairs(Rc<PairsSeen>),
    /// A lens that nobody knows.
    Unmarked(Box<Unmarked>),
}

impl BoxShown {
    /// The stock-take, if one is shown.
    pub fn counting(&self) -> Option<&Counting> {
        if let Self::Counting(counting) = self { Some(counting) } else { None }
    }

    /// The frame that is being made, if one is.
    pub fn new_frame(&self) -> Option<&NewFrame> {
        if let Self::NewFrame(frame) = self { Some(frame) } else { None }
    }

    /// Which loan is chosen, if loans are shown.
    pub fn loan(&self) -> Option<usize> {
        if let Self::Loans(chosen) = self { Some(*chosen) } else { None }
    }

    /// Which unsettled piece is chosen, if they are shown.
    pub fn unsettled(&self) -> Option<usize> {
        if let Self::Unsettled(chosen) = self { Some(*chosen) } else { None }
    }

    /// Of how many pieces the bag is, if one is shown.
    pub fn bag(&self) -> Option<usize> {
        if let Self::Pack(pieces) = self { Some(*pieces) } else { None }
    }

    /// Which sheet is chosen, and of a bag of how many pieces, if sheets are shown.
    pub fn sheets(&self) -> Option<(usize, usize)> {
        if let Self::Sheets { chosen, bag } = self { Some((*chosen, *bag)) } else { None }
    }

    /// The lenses held together, if they are shown.
    pub fn pairs(&self) -> Option<&PairsSeen> {
        if let Self::Pairs(pairs) = self { Some(pairs) } else { None }
    }

    /// The lens that nobody knows, if one is shown.
    pub fn unmarked(&self) -> Option<&Unmarked> {
        if let Self::Unmarked(unmarked) = self { Some(unmarked) } else { None }
    }

    /// The same, to say more of it.
    pub fn unmarked_mut(&mut self) -> Option<&mut Unmarked> {
        if let Self::Unmarked(unmarked) = self { Some(unmarked) } else { None }
    }
}

/// A frame that is being made.
#[derive(Debug, Clone, PartialEq)]
pub struct NewFrame {
    /// What is known of it.
    pub draft: FrameDraft,
    /// The chosen question; the row after the last writes the file.
    pub chosen: usize,
}

impl NewFrame {
    /// One that begins with its first question.
    pub fn of(draft: FrameDraft) -> Self {
        Self { draft, chosen: 0 }
    }

    /// The chosen question; none where its file is to be written.
    pub fn question(&self) -> Option<FrameQuestion> {
        FrameQuestion::ALL.get(self.chosen).copied()
    }
}

/// So many pieces has a bag at first.
pub const BAG: usize = 40;
/// The fewest pieces of a bag.
pub const LEAST_BAG: usize = 20;
/// The most pieces of a bag.
pub const MOST_BAG: usize = 300;
/// By so many pieces a bag grows and shrinks.
pub const BAG_STEP: usize = 5;

/// What is shown of what a box makes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Makes {
    /// The chosen prescription.
    pub wanted: Wanted,
    /// Whether both eyes have it at once.
    pub both: bool,
    /// How far two places of the map are apart.
    pub zoom: Zoom,
    /// Whether its stack is shown.
    pub with_stack: bool,
}

impl Default for Makes {
    fn default() -> Self {
        Self { wanted: Wanted { sphere: -3.0, cylinder: -0.5 }, both: false, zoom: Zoom::Half, with_stack: false }
    }
}

impl BoxPage {
    /// A box from its first place on.
    pub fn of(now: BoxNow) -> Self {
        let rows = rows_of(&now).into();
        Self {
            now: Rc::new(now),
            rows,
            chosen: 0,
            piece: None,
            marked: Vec::new(),
            shown: BoxShown::Tray,
            with_cost: false,
            beside: None,
            buying: Buying::default(),
            limits: Limits::default(),
        }
    }

    /// Shows the box as it has become; what was chosen stays chosen, and nothing is marked any more.
    pub fn show(&mut self, now: BoxNow) {
        let chosen = self.lens().cloned();
        let rows: Rc<[BoxRow]> = rows_of(&now).into();
        (self.now, self.rows, self.marked) = (Rc::new(now), rows, Vec::new());
        if let BoxShown::Loans(chosen) = &mut self.shown {
            *chosen = (*chosen).min(self.now.loans.len().saturating_sub(1));
        }
        if let BoxShown::Unsettled(chosen) = &mut self.shown {
            *chosen = (*chosen).min(self.now.unsettled.len().saturating_sub(1));
        }
        if let BoxShown::Pairs(pairs) = &mut self.shown {
            *pairs = Rc::new(PairsSeen::of(&self.now));
        }
        let count = self.places().count();
        let at = chosen.and_then(|lens| self.place_of(&lens));
        self.chosen = at.unwrap_or(self.chosen).min(count.saturating_sub(1));
        self.piece = self.piece.filter(|number| self.pieces().any(|stocked| stocked.piece.number == *number));
    }

    /// By what another box than that of the exam is known.
    pub fn other(&self) -> Option<String> {
        (!self.now.is_of_the_exam).then(|| self.now.key.clone())
    }

    /// What the labels say, in the order of the rows.
    pub fn places(&self) -> impl Iterator<Item = &Lens> {
        self.rows.iter().flat_map(|row| &row.lenses)
    }

    /// Where a lens has its place.
    pub fn place_of(&self, lens: &Lens) -> Option<usize> {
        self.places().position(|place| place == lens)
    }

    /// What the chosen place is for.
    pub fn lens(&self) -> Option<&Lens> {
        self.places().nth(self.chosen)
    }

    /// The pieces of the chosen place that belong to the set.
    pub fn pieces(&self) -> impl Iterator<Item = &StockedPiece> {
        let of = |lens| self.now.stock.of_lens(lens).filter(|stocked| !stocked.place.has_left_the_set());
        self.lens().into_iter().flat_map(of)
    }

    /// Goes to a place; which of its pieces is meant is open again.
    pub fn go_to(&mut self, place: usize) {
        self.chosen = place.min(self.places().count().saturating_sub(1));
        self.piece = None;
    }

    /// Chooses the next of the pieces of the place, or none of them after the last.
    pub fn choose_next_piece(&mut self) {
        let numbers: Vec<u8> = self.pieces().map(|stocked| stocked.piece.number).collect();
        let at = self.piece.and_then(|chosen| numbers.iter().position(|number| *number == chosen));
        self.piece = numbers.get(at.map_or(0, |at| at + 1)).copied();
    }

    /// Marks a piece, or no longer where it is marked.
    pub fn marked_or_not(&mut self, piece: Option<Piece>) {
        let Some(piece) = piece else { return };
        let before = self.marked.len();
        self.marked.retain(|marked| *marked != piece);
        if self.marked.len() == before {
            self.marked.push(piece);
        }
    }

    /// Marks the chosen piece, or the next of the place that is not marked; where all are, none of them is afterwards.
    pub fn mark(&mut self) {
        let here: Vec<Piece> = self.pieces().map(|stocked| stocked.piece.clone()).collect();
        let meant = |piece: &&Piece| self.piece.is_none_or(|number| number == piece.number);
        let meant: Vec<&Piece> = here.iter().filter(meant).collect();
        match meant.iter().find(|piece| !self.marked.contains(piece)) {
            Some(next) => self.marked.push((*next).clone()),
            None => self.marked.retain(|marked| !meant.contains(&marked)),
        }
    }
}

/// The rows in which its file says that a box lies; else its places by kind and sign, the weakest first.
fn rows_of(now: &BoxNow) -> Vec<BoxRow> {
    let stock = &now.stock;
    if now.tray_is_declared {
        let of_the_set = |lens: &&Lens| stock.of_lens(lens).any(|stocked| !stocked.place.has_left_the_set());
        let rows = now.tray.iter().map(|row| BoxRow {
            name: row.name.clone(),
            lenses: row.lenses.iter().filter(of_the_set).cloned().collect(),
        });
        return rows.filter(|row| !row.lenses.is_empty()).collect();
    }
    by_kind(stock)
}

fn by_kind(stock: &Stock) -> Vec<BoxRow> {
    let mut rows: Vec<BoxRow> = Vec::new();
    for line in shelf::lines(stock, Shelf::All, "") {
        let name = match Shelf::of(&line.lens) {
            Shelf::CrossCylinders | Shelf::Accessories => "others",
            of @ (Shelf::All
            | Shelf::MinusSpheres
            | Shelf::PlusSpheres
            | Shelf::MinusCylinders
            | Shelf::PlusCylinders
            | Shelf::Prisms) => of.name(),
        };
        match rows.last_mut() {
            Some(row) if row.name == name => row.lenses.push(line.lens),
            _ => rows.push(BoxRow { name: name.to_owned(), lenses: vec![line.lens] }),
        }
    }
    rows
}
