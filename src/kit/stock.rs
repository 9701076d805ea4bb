//! The pieces of a box, each one thing in one place.
//!
//! A piece carries its place as a single value, so it cannot be in two; and a place before an eye takes one piece only.

use std::collections::HashMap;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::declared::{DeclaredBox, LensForm, Rims};
use super::lens::{Lens, Piece};
use super::pieces::{Pieces, Place, StockedPiece};
use crate::optics::bounds::OutOfRange;
use crate::optics::{CylinderForm, Dioptres};

/// Something that happened to a piece of the box outside an exam.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BoxChange {
    /// Not found at stock-take.
    Lost(Piece),
    /// Found again.
    Found(Piece),
    /// Given to somebody for a while.
    Lent {
        /// The piece that was given away.
        piece: Piece,
        /// To whom, if it was said.
        to: Option<String>,
    },
    /// Given back.
    Returned(Piece),
    /// Scratched, chipped or loose in its rim.
    Damaged(Piece),
    /// Mended or cleaned: whole again.
    Mended(Piece),
    /// Measured on a focimeter; a power equal to the mark confirms the mark.
    Measured {
        /// The piece that was on the focimeter.
        piece: Piece,
        /// The measured power in dioptres.
        power: f64,
    },
    /// A further piece came into the box.
    Added(Lens),
    /// A piece was taken out of the set for good.
    Retired(Piece),
}

impl BoxChange {
    /// The piece that it is about; `None` for one that gets its number only by the change.
    pub fn piece(&self) -> Option<&Piece> {
        match self {
            Self::Lost(piece)
            | Self::Found(piece)
            | Self::Returned(piece)
            | Self::Damaged(piece)
            | Self::Mended(piece)
            | Self::Retired(piece)
            | Self::Lent { piece, .. }
            | Self::Measured { piece, .. } => Some(piece),
            Self::Added(_) => None,
        }
    }

    /// Whether the piece is not at hand after it.
    pub fn takes_away(&self) -> bool {
        match self {
            Self::Lost(_) | Self::Lent { .. } | Self::Retired(_) => true,
            Self::Found(_)
            | Self::Returned(_)
            | Self::Damaged(_)
            | Self::Mended(_)
            | Self::Measured { .. }
            | Self::Added(_) => false,
        }
    }

    /// Whether the piece is at hand again after it.
    pub fn brings_back(&self) -> bool {
        match self {
            Self::Found(_) | Self::Returned(_) => true,
            Self::Lost(_)
            | Self::Lent { .. }
            | Self::Retired(_)
            | Self::Damaged(_)
            | Self::Mended(_)
            | Self::Measured { .. }
            | Self::Added(_) => false,
        }
    }

    /// The lens of which it brings a further piece.
    pub fn added(&self) -> Option<&Lens> {
        if let Self::Added(lens) = self { Some(lens) } else { None }
    }
}

/// A change of the stock that cannot be.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum StockError {
    /// The box has no such piece.
    #[error("{piece} is not a piece of this box")]
    NoSuchPiece {
        /// The piece that was asked for.
        piece: Piece,
    },
    /// The place is taken by another piece.
    #[error("{occupant} is already {place}: take it out first")]
    Occupied {
        /// Where the piece was to go.
        place: Place,
        /// What is there.
        occupant: Piece,
    },
    /// The piece is not where the change needs it to be.
    #[error("{piece} is {place}, so it cannot be {change}")]
    NotThere {
        /// The piece that was to be changed.
        piece: Piece,
        /// Where it is.
        place: Place,
        /// What was to happen.
        change: &'static str,
    },
    /// A piece that is not marked with a power was to have a measured one.
    #[error("{piece} has no power that could be measured")]
    NoPower {
        /// The piece.
        piece: Piece,
    },
    /// A measured power is beyond any lens, or no number.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// A lens had its hundredth piece added.
    #[error("the box has numbered 99 pieces of {lens} already, the most it can")]
    TooMany {
        /// The lens of which a further piece came.
        lens: Lens,
    },
}

/// All pieces of one box.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stock {
    /// What its owner calls the box, as lists and records show it.
    pub box_name: String,
    /// The `id` of its file, if that has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub box_id: Option<String>,
    /// How its marks were computed.
    pub form: LensForm,
    /// How its rims are marked.
    pub rims: Rims,
    pieces: Pieces,
}

/// How many pieces of one lens are where; the parts add up to `declared`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LensCount {
    /// The lens that the pieces are of.
    pub lens: Lens,
    /// Pieces that belong to the set.
    pub declared: u8,
    /// Whole and in the box.
    pub free: u8,
    /// Pieces of which nobody knows where they are.
    pub lost: u8,
    /// Pieces that somebody else has.
    pub lent: u8,
    /// Damaged and in the box.
    pub damaged: u8,
    /// In a cell or in the hand.
    pub in_frame: u8,
}

impl Stock {
    /// The stock of a box as declared: everything in the box but what the file lists as missing.
    pub fn of(declared: &DeclaredBox) -> Self {
        let mut pieces = Vec::new();
        for line in &declared.lines {
            for number in 1..=line.declared {
                let piece = Piece { lens: line.lens.clone(), number };
                let measured = declared.measured.iter().find(|m| m.piece == piece).map(|m| m.power);
                // The highest numbers are the missing ones, so that numbers of pieces at hand stay low.
                let at_hand = line.declared.saturating_sub(line.missing);
                let place = if number > at_hand { Place::Lost } else { Place::Box };
                let mut stocked = StockedPiece { piece, place, damaged: false, measured: None };
                stocked.measured = measured.filter(|power| !stocked.confirms_mark(*power));
                pieces.push(stocked);
            }
        }
        Self {
            box_name: declared.name.clone(),
            box_id: declared.id.clone(),
            form: declared.form,
            rims: declared.rims.clone(),
            pieces: Pieces::of(pieces),
        }
    }

    /// In which form cylinders are written, drawn and asked for where this box stands, from the form that the settings
    /// choose: plus where they say so, or where the box has plus cylinders and no other; else minus.
    pub fn form_in_use(&self, chosen: CylinderForm) -> CylinderForm {
        let mut marks = self.cylinder_marks().peekable();
        let is_plus = |mark: Dioptres| CylinderForm::Plus.has_sign_of(mark.0);
        if marks.peek().is_some() && marks.all(is_plus) { CylinderForm::Plus } else { chosen }
    }

    /// Whether any cylinder of the set, wherever it is, has the sign of a form.
    pub fn has_cylinder_of(&self, form: CylinderForm) -> bool {
        self.cylinder_marks().any(|mark| form.has_sign_of(mark.0))
    }

    /// The marks of the cylinders that have not left the set, wherever they are.
    fn cylinder_marks(&self) -> impl Iterator<Item = Dioptres> {
        let of_the_set = self.pieces.iter().filter(|stocked| stocked.place != Place::Retired);
        of_the_set.filter(|stocked| stocked.piece.lens.is_cylinder()).map(StockedPiece::marked_power)
    }

    /// Every piece, in the order of the box.
    pub fn pieces(&self) -> &Pieces {
        &self.pieces
    }

    /// One piece, if the box has it.
    pub fn get(&self, piece: &Piece) -> Option<&StockedPiece> {
        self.pieces.number_of(piece).map(|number| self.pieces.nth(number))
    }

    /// The spheres with power and then the cylinders, each by rising power; of one lens whole pieces first.
    pub fn rising(&self) -> impl Iterator<Item = &StockedPiece> {
        self.pieces.rising()
    }

    /// All pieces of one lens.
    pub fn of_lens<'a>(&'a self, lens: &Lens) -> impl Iterator<Item = &'a StockedPiece> + use<'a> {
        self.pieces.of_lens(lens)
    }

    /// A free piece of a lens: a whole one before a damaged one.
    pub fn free_piece(&self, lens: &Lens) -> Option<&StockedPiece> {
        self.of_lens(lens).filter(|stocked| stocked.is_free()).min_by_key(|stocked| stocked.damaged)
    }

    /// What is in a cell or in the hand, in the order of the box.
    pub fn before_eyes(&self) -> impl Iterator<Item = &StockedPiece> {
        self.pieces.before_eyes()
    }

    /// What stands in a place before an eye.
    pub fn at(&self, place: &Place) -> Option<&StockedPiece> {
        self.before_eyes().find(|stocked| stocked.place == *place)
    }

    /// Moves a piece between the box, the cells and the hand. What else becomes of a piece is a [`BoxChange`].
    ///
    /// # Errors
    /// When the box has no such piece, the piece is lost, lent or retired or would become so, or another piece is already
    /// in that cell or hand; nothing is changed then.
    pub fn place(&mut self, piece: &Piece, place: Place) -> Result<(), StockError> {
        let number = self.number_of(piece)?;
        let stocked = self.pieces.nth(number);
        if !(stocked.place.is_at_hand() && place.is_at_hand()) {
            let (piece, place) = (stocked.piece.clone(), stocked.place.clone());
            return Err(StockError::NotThere { piece, place, change: "moved" });
        }
        match self.at(&place) {
            Some(occupant) if occupant.piece != *piece => {
                let occupant = occupant.piece.clone();
                Err(StockError::Occupied { place, occupant })
            }
            Some(_) | None => {
                self.pieces.put(number, place);
                Ok(())
            }
        }
    }

    fn number_of(&self, piece: &Piece) -> Result<usize, StockError> {
        self.pieces.number_of(piece).ok_or_else(|| StockError::NoSuchPiece { piece: piece.clone() })
    }

    /// Changes what is known of one piece.
    fn amend(
        &mut self,
        piece: &Piece,
        change: impl FnOnce(&mut StockedPiece) -> Result<(), StockError>,
    ) -> Result<(), StockError> {
        let number = self.number_of(piece)?;
        let mut stocked = self.pieces.nth(number).clone();
        change(&mut stocked)?;
        self.pieces.set(number, stocked);
        Ok(())
    }

    /// Whether a change can be applied, without applying it.
    ///
    /// # Errors
    /// As [`Stock::change`].
    pub fn check(&self, change: &BoxChange) -> Result<(), StockError> {
        self.clone().change(change)
    }

    /// Applies what happened to the box.
    ///
    /// # Errors
    /// When the box has no such piece, a measured power is out of range, or the piece is where the change cannot happen to it: a lens in a cell cannot be
    /// lent, a lens in the box cannot be found.
    pub fn change(&mut self, change: &BoxChange) -> Result<(), StockError> {
        let mut moved = |piece: &Piece, from: fn(&Place) -> bool, to: Place, what: &'static str| {
            self.amend(piece, |stocked| {
                if !from(&stocked.place) {
                    let (piece, place) = (stocked.piece.clone(), stocked.place.clone());
                    return Err(StockError::NotThere { piece, place, change: what });
                }
                stocked.place = to;
                Ok(())
            })
        };
        let in_box_or_lent = |place: &Place| *place == Place::Box || place.is_lent();
        match change {
            BoxChange::Lost(piece) => moved(piece, in_box_or_lent, Place::Lost, "lost"),
            BoxChange::Found(piece) => moved(piece, |p| *p == Place::Lost, Place::Box, "found"),
            BoxChange::Lent { piece, to } => moved(piece, |p| *p == Place::Box, Place::Lent { to: to.clone() }, "lent"),
            BoxChange::Returned(piece) => moved(piece, Place::is_lent, Place::Box, "returned"),
            BoxChange::Retired(piece) => {
                let from = |place: &Place| *place == Place::Lost || *place == Place::Box || place.is_lent();
                moved(piece, from, Place::Retired, "retired")
            }
            BoxChange::Damaged(piece) => self.amend(piece, |stocked| {
                stocked.damaged = true;
                Ok(())
            }),
            BoxChange::Mended(piece) => self.amend(piece, |stocked| {
                stocked.damaged = false;
                Ok(())
            }),
            BoxChange::Measured { piece, power } => self.amend(piece, |stocked| {
                let range = piece.lens.power_range().ok_or_else(|| StockError::NoPower { piece: piece.clone() })?;
                range.check(*power)?;
                stocked.measured = (!stocked.confirms_mark(*power)).then_some(*power);
                Ok(())
            }),
            BoxChange::Added(lens) => {
                let last = self.of_lens(lens).map(|stocked| stocked.piece.number).max().unwrap_or(0);
                if last >= 99 {
                    return Err(StockError::TooMany { lens: lens.clone() });
                }
                let piece = Piece { lens: lens.clone(), number: last + 1 };
                self.pieces.add(StockedPiece { piece, place: Place::Box, damaged: false, measured: None });
                Ok(())
            }
        }
    }

    /// The piece that a change that was applied was about, a new one included.
    pub fn changed_by(&self, change: &BoxChange) -> Option<&StockedPiece> {
        match change.piece() {
            Some(piece) => self.get(piece),
            None => change.added().and_then(|lens| self.of_lens(lens).last()),
        }
    }

    /// How many of each lens are where, in the order of the box.
    pub fn counts(&self) -> Vec<LensCount> {
        let mut counts: Vec<LensCount> = Vec::new();
        let mut line_of: HashMap<&Lens, usize> = HashMap::new();
        // taken apart, so that whatever else is known of a piece is counted here or left out on purpose
        for StockedPiece { piece, place, damaged, measured: _ } in self.pieces.iter() {
            let lens = &piece.lens;
            let line = *line_of.entry(lens).or_insert_with(|| {
                let (declared, free, lost, lent, damaged, in_frame) = Default::default();
                counts.push(LensCount { lens: lens.clone(), declared, free, lost, lent, damaged, in_frame });
                counts.len() - 1
            });
            let count = &mut counts[line];
            let part = match place {
                Place::Retired => continue,
                Place::Box if *damaged => &mut count.damaged,
                Place::Box => &mut count.free,
                Place::Lost => &mut count.lost,
                Place::Lent { .. } => &mut count.lent,
                Place::Cell { .. } | Place::Hand { .. } => &mut count.in_frame,
            };
            *part += 1;
            count.declared += 1;
        }
        counts
    }
}
