//! The pieces of a box, each one thing in one place.
//!
//! A piece carries its place as a single value, so it cannot be in two; and a place before an eye takes one piece only.

use std::collections::HashMap;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::change::{BoxChange, Further, Measurement};
use super::declared::{DeclaredBox, LensForm, Rims};
use super::lens::{Lens, Piece};
use super::mark::Doubt;
use super::pieces::{Pieces, Place, StockedPiece};
use crate::optics::bounds::OutOfRange;
use crate::optics::{CylinderForm, Dioptres};

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
    /// The piece is damaged, and was to be noted as damaged.
    #[error("{piece} is damaged already")]
    DamagedAlready {
        /// The piece.
        piece: Piece,
    },
    /// The piece is whole, and was to be noted as mended.
    #[error("{piece} is not damaged, so it cannot be mended")]
    NotDamaged {
        /// The piece.
        piece: Piece,
    },
    /// It was not said to whom a piece is lent.
    #[error("to whom is {piece} lent? A loan needs a name")]
    NoBorrower {
        /// The piece.
        piece: Piece,
    },
    /// A measured power is far from the mark.
    #[error("{piece}: {doubt}. Measure it again; if it is so, say that you are sure")]
    Doubtful {
        /// The piece.
        piece: Piece,
        /// Mark, measured power and difference.
        doubt: Doubt,
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
    /// A piece that is there was to come into the box.
    #[error("the box has {piece} already")]
    ThereAlready {
        /// The piece.
        piece: Piece,
    },
    /// A lens had its hundredth piece added.
    #[error("the box has numbered 99 pieces of {lens} already, the most it can")]
    TooMany {
        /// The lens of which a further piece came.
        lens: Lens,
    },
}

/// The most pieces of one lens that a box can number.
pub const MOST_OF_A_LENS: u8 = 99;

/// What applying a change did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effect {
    /// Something is otherwise than before, or is known that was not.
    Changed,
    /// It was so already.
    SoAlready,
}

impl Effect {
    /// Whether something is otherwise than before.
    pub fn is_a_change(self) -> bool {
        match self {
            Self::Changed => true,
            Self::SoAlready => false,
        }
    }

    fn when(changed: bool) -> Self {
        if changed { Self::Changed } else { Self::SoAlready }
    }
}

fn not_there(stocked: &StockedPiece, change: &'static str) -> StockError {
    StockError::NotThere { piece: stocked.piece.clone(), place: stocked.place.clone(), change }
}

impl StockError {
    /// Whether the piece was to be noted as damaged and is.
    pub fn is_damaged_already(&self) -> bool {
        matches!(self, Self::DamagedAlready { .. })
    }

    /// Whether the piece is not where the change needs it to be.
    pub fn is_about_the_place(&self) -> bool {
        matches!(self, Self::NotThere { .. })
    }

    /// Whether it is taken once somebody is sure.
    pub fn is_a_doubt(&self) -> bool {
        matches!(self, Self::Doubtful { .. })
    }
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
    /// Pieces that were noted in different places by seats that did not know of each other.
    #[serde(skip_serializing_if = "is_zero")]
    pub in_two_places: u8,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands it over so")]
fn is_zero(count: &u8) -> bool {
    *count == 0
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
        let of_the_set = self.pieces.iter().filter(|stocked| !stocked.place.has_left_the_set());
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
            return Err(not_there(stocked, "moved"));
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
    fn amend<T>(
        &mut self,
        piece: &Piece,
        change: impl FnOnce(&mut StockedPiece) -> Result<T, StockError>,
    ) -> Result<T, StockError> {
        let number = self.number_of(piece)?;
        let mut stocked = self.pieces.nth(number).clone();
        let done = change(&mut stocked)?;
        self.pieces.set(number, stocked);
        Ok(done)
    }

    /// Whether a change can be noted now, without noting it.
    ///
    /// # Errors
    /// As [`Stock::note`].
    pub fn check(&self, change: &BoxChange) -> Result<(), StockError> {
        self.clone().note(change)
    }

    /// Applies several changes that are noted now, all or none.
    ///
    /// # Errors
    /// At the first that is refused, with its place among them from 0; nothing is changed then.
    pub fn note_all<'a>(
        &mut self,
        changes: impl IntoIterator<Item = &'a BoxChange>,
    ) -> Result<(), (usize, StockError)> {
        let mut after = self.clone();
        for (place, change) in changes.into_iter().enumerate() {
            after.note(change).map_err(|why| (place, why))?;
        }
        *self = after;
        Ok(())
    }

    /// Applies a change that is noted now: what is so already, or far from what is known, is refused.
    ///
    /// # Errors
    /// As [`Stock::change`]; when the piece is so already, nobody is named to whom it is lent, or a measured power is far
    /// from the mark and nobody said that it is so.
    pub fn note(&mut self, change: &BoxChange) -> Result<(), StockError> {
        match change {
            BoxChange::Lent { piece, to, .. } if to.as_deref().is_none_or(|to| to.trim().is_empty()) => {
                self.number_of(piece)?;
                return Err(StockError::NoBorrower { piece: piece.clone() });
            }
            BoxChange::Measured { piece, measurement } => {
                let stocked = self.get(piece).ok_or_else(|| StockError::NoSuchPiece { piece: piece.clone() })?;
                let range = piece.lens.power_range().ok_or_else(|| StockError::NoPower { piece: piece.clone() })?;
                range.check(measurement.power)?;
                let mark = stocked.piece.lens.mark().unwrap_or_default();
                if let Some(doubt) = Doubt::of(mark, measurement.power).filter(|_| !measurement.sure) {
                    return Err(StockError::Doubtful { piece: piece.clone(), doubt });
                }
            }
            BoxChange::Moved { piece, .. } => {
                let stocked = self.get(piece).ok_or_else(|| StockError::NoSuchPiece { piece: piece.clone() })?;
                if stocked.place != Place::Box {
                    return Err(not_there(stocked, "moved to another box"));
                }
            }
            BoxChange::Lost(_)
            | BoxChange::Found(_)
            | BoxChange::Lent { .. }
            | BoxChange::Returned(_)
            | BoxChange::Damaged { .. }
            | BoxChange::Mended(_)
            | BoxChange::Added(_)
            | BoxChange::Retired(_)
            | BoxChange::Looked { .. }
            | BoxChange::Marked { .. }
            | BoxChange::Settled { .. }
            | BoxChange::Note { .. } => {}
        }
        match self.change(change)? {
            Effect::Changed => Ok(()),
            Effect::SoAlready => Err(self.so_already(change)),
        }
    }

    /// Why a change that leaves everything as it is cannot be noted.
    fn so_already(&self, change: &BoxChange) -> StockError {
        let Some(stocked) = change.piece().and_then(|piece| self.get(&piece)) else {
            return StockError::TooMany { lens: change.lens().clone() };
        };
        let piece = stocked.piece.clone();
        match change {
            BoxChange::Damaged { .. } => StockError::DamagedAlready { piece },
            BoxChange::Mended(_) => StockError::NotDamaged { piece },
            BoxChange::Added(_) => StockError::ThereAlready { piece },
            BoxChange::Lost(_)
            | BoxChange::Found(_)
            | BoxChange::Lent { .. }
            | BoxChange::Returned(_)
            | BoxChange::Retired(_)
            | BoxChange::Moved { .. }
            | BoxChange::Measured { .. }
            | BoxChange::Looked { .. }
            | BoxChange::Marked { .. }
            | BoxChange::Settled { .. }
            | BoxChange::Note { .. } => not_there(stocked, change.word()),
        }
    }

    /// Applies what happened to the box, as the logbook has it. What is so already, as when the file of the box has it too,
    /// is settled with that.
    ///
    /// # Errors
    /// When the box has no such piece, a measured power is out of range, or the piece is where the change cannot happen to
    /// it: a lens in a cell cannot be lent. Nothing is changed then.
    pub fn change(&mut self, change: &BoxChange) -> Result<Effect, StockError> {
        let mut moved = |piece: &Piece, from: fn(&Place) -> bool, so: fn(&Place) -> bool, to: Place| {
            self.amend(piece, |stocked| {
                if so(&stocked.place) {
                    return Ok(Effect::SoAlready);
                }
                if !from(&stocked.place) {
                    return Err(not_there(stocked, change.word()));
                }
                stocked.place = to;
                Ok(Effect::Changed)
            })
        };
        // what is said now of a piece in two places is said in the knowledge of both
        let in_box_or_lent: fn(&Place) -> bool =
            |place| *place == Place::Box || place.is_lent() || place.is_in_two_places();
        match change {
            BoxChange::Lost(piece) => moved(piece, in_box_or_lent, |p| *p == Place::Lost, Place::Lost),
            BoxChange::Found(piece) => {
                moved(piece, |p| *p == Place::Lost || p.is_in_two_places(), Place::is_at_hand, Place::Box)
            }
            BoxChange::Lent { piece, to, .. } => {
                moved(piece, |p| *p == Place::Box, |_| false, Place::Lent { to: to.clone() })
            }
            BoxChange::Returned(piece) => {
                moved(piece, |p| p.is_lent() || p.is_in_two_places(), Place::is_at_hand, Place::Box)
            }
            BoxChange::Retired(piece) => {
                let from: fn(&Place) -> bool = |place| !place.is_before_an_eye() && !place.has_left_the_set();
                moved(piece, from, |p| *p == Place::Retired, Place::Retired)
            }
            // it is worth knowing that somebody looked, wherever it was known to be
            BoxChange::Settled { piece, at } => self.amend(piece, |stocked| {
                let place = at.place();
                if stocked.place.is_before_an_eye() && place.is_at_hand() {
                    return Ok(Effect::Changed);
                }
                if stocked.place.is_before_an_eye() || stocked.place.has_left_the_set() {
                    return Err(not_there(stocked, change.word()));
                }
                stocked.place = place;
                Ok(Effect::Changed)
            }),
            // wherever its file has it now: it is in the other box
            BoxChange::Moved { piece, to, .. } => {
                let from: fn(&Place) -> bool = |place| !place.is_before_an_eye() && *place != Place::Retired;
                moved(piece, from, Place::is_in_another_box, Place::Moved { to: to.clone() })
            }
            BoxChange::Damaged { piece, .. } => self.amend(piece, |stocked| {
                let effect = Effect::when(!stocked.damaged);
                stocked.damaged = true;
                Ok(effect)
            }),
            BoxChange::Mended(piece) => self.amend(piece, |stocked| {
                let effect = Effect::when(stocked.damaged);
                stocked.damaged = false;
                Ok(effect)
            }),
            BoxChange::Measured { piece, measurement: Measurement { power, .. } } => self.amend(piece, |stocked| {
                let range = piece.lens.power_range().ok_or_else(|| StockError::NoPower { piece: piece.clone() })?;
                range.check(*power)?;
                stocked.measured = (!stocked.confirms_mark(*power)).then_some(*power);
                // that it was measured again is worth knowing, whatever came out
                Ok(Effect::Changed)
            }),
            BoxChange::Added(further) => self.add(further),
            BoxChange::Looked { piece, with, .. } => {
                std::iter::once(piece).chain(with).try_for_each(|held| self.number_of(held).map(|_| ()))?;
                Ok(Effect::Changed)
            }
            BoxChange::Marked { piece, .. } | BoxChange::Note { piece, .. } => {
                self.number_of(piece).map(|_| Effect::Changed)
            }
        }
    }

    /// Puts a further piece into the box. One that the file of the box has meanwhile is there already.
    fn add(&mut self, Further { lens, number }: &Further) -> Result<Effect, StockError> {
        let last = self.of_lens(lens).map(|stocked| stocked.piece.number).max().unwrap_or(0);
        let number = number.unwrap_or(last.saturating_add(1));
        if number > MOST_OF_A_LENS {
            return Err(StockError::TooMany { lens: lens.clone() });
        }
        let piece = Piece { lens: lens.clone(), number };
        if self.get(&piece).is_some() {
            return Ok(Effect::SoAlready);
        }
        self.pieces.add(StockedPiece { piece, place: Place::Box, damaged: false, measured: None });
        Ok(Effect::Changed)
    }

    /// Has a piece be as it was, where a change of it was taken back. One that is before an eye stays there.
    ///
    /// # Errors
    /// When the box has no such piece.
    pub fn put_back(&mut self, as_it_was: &StockedPiece) -> Result<(), StockError> {
        self.amend(&as_it_was.piece, |stocked| {
            let place = if stocked.place.is_before_an_eye() { stocked.place.clone() } else { as_it_was.place.clone() };
            *stocked = StockedPiece { place, ..as_it_was.clone() };
            Ok(())
        })
    }

    /// The piece that a change that was applied was about, a new one included.
    pub fn changed_by(&self, change: &BoxChange) -> Option<&StockedPiece> {
        match change.piece() {
            Some(piece) => self.get(&piece),
            None => self.of_lens(change.lens()).last(),
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
                let (declared, free, lost, lent, damaged, in_frame, in_two_places) = Default::default();
                counts.push(LensCount {
                    lens: lens.clone(),
                    declared,
                    free,
                    lost,
                    lent,
                    damaged,
                    in_frame,
                    in_two_places,
                });
                counts.len() - 1
            });
            let count = &mut counts[line];
            let part = match place {
                Place::Retired | Place::Moved { .. } => continue,
                Place::Box if *damaged => &mut count.damaged,
                Place::Box => &mut count.free,
                Place::Lost => &mut count.lost,
                Place::Lent { .. } => &mut count.lent,
                Place::InTwoPlaces => &mut count.in_two_places,
                Place::Cell { .. } | Place::Hand { .. } => &mut count.in_frame,
            };
            *part += 1;
            count.declared += 1;
        }
        counts
    }
}
