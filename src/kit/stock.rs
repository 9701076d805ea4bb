//! The pieces of a box, each one thing in one place.
//!
//! A piece carries its place as a single value, so it cannot be in two; and a place before an eye takes one piece only.

use std::collections::HashMap;
use std::sync::{Arc, OnceLock};

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::declared::{DeclaredBox, LensForm, Rims};
use super::lens::{Lens, Piece};
use crate::optics::bounds::OutOfRange;
use crate::optics::{Dioptres, Eye};

/// Where a piece is.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// In its place in the box, free to take.
    #[default]
    Box,
    /// In a cell before an eye; `cell` counts from 1, nearest the eye.
    Cell {
        /// The eye.
        eye: Eye,
        /// The cell's number from 1.
        cell: u8,
    },
    /// Held in front of the frame before an eye.
    Hand {
        /// The eye.
        eye: Eye,
    },
    /// Nobody knows.
    Lost,
    /// With somebody else.
    Lent {
        /// With whom, if it was said.
        to: Option<String>,
    },
    /// Taken out of the set for good.
    Retired,
}

impl Place {
    /// Whether it is a cell or the hand, which takes one piece only.
    pub fn is_before_an_eye(&self) -> bool {
        matches!(self, Self::Cell { .. } | Self::Hand { .. })
    }

    /// Whether it is a cell of either eye.
    pub fn is_in_a_cell(&self) -> bool {
        matches!(self, Self::Cell { .. })
    }

    /// Whether it is a cell of this eye.
    pub fn is_in_a_cell_of(&self, of: Eye) -> bool {
        matches!(self, Self::Cell { eye, .. } if *eye == of)
    }

    /// Whether a piece there can be held before an eye without taking it out of a cell.
    pub fn is_in_box_or_hand(&self) -> bool {
        matches!(self, Self::Box | Self::Hand { .. })
    }

    /// Whether somebody else has what is there.
    pub fn is_lent(&self) -> bool {
        matches!(self, Self::Lent { .. })
    }

    /// Whether a piece there is within reach: in the box or before an eye.
    pub fn is_at_hand(&self) -> bool {
        *self == Self::Box || self.is_before_an_eye()
    }
}

/// A piece with what is known of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StockedPiece {
    /// Which piece.
    pub piece: Piece,
    /// Where it is.
    pub place: Place,
    /// Whether it is scratched or chipped: usable, but the last to be proposed.
    pub damaged: bool,
    /// Its measured power, when that differs from the mark.
    pub measured: Option<f64>,
}

impl StockedPiece {
    /// The power that the piece contributes to the net: the measured one where there is one. Zero for an accessory.
    pub fn power(&self) -> Dioptres {
        Dioptres(self.measured.unwrap_or_else(|| self.marked_power().0))
    }

    /// The power that its mark says. Zero for an accessory.
    pub fn marked_power(&self) -> Dioptres {
        Dioptres(self.piece.lens.mark().map_or(0.0, super::Mark::dioptres))
    }

    /// Whether a measured power is what the mark says.
    fn confirms_mark(&self, power: f64) -> bool {
        (power - self.marked_power().0).abs() < 1e-9
    }

    /// Whether it is a sphere whose power is more than nothing.
    pub fn is_plus_sphere(&self) -> bool {
        self.piece.lens.is_sphere() && self.power().0 > 0.0
    }

    /// Whether it can be taken now.
    pub fn is_free(&self) -> bool {
        self.place == Place::Box
    }
}

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
        /// Which piece.
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
        /// Which piece.
        piece: Piece,
        /// The measured power in dioptres.
        power: f64,
    },
    /// A further piece came into the box.
    Added(Lens),
    /// A piece was taken out of the set for good.
    Retired(Piece),
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
        /// The place.
        place: Place,
        /// What is there.
        occupant: Piece,
    },
    /// The piece is not where the change needs it to be.
    #[error("{piece} is {place}, so it cannot be {change}")]
    NotThere {
        /// The piece.
        piece: Piece,
        /// Where it is.
        place: Place,
        /// What was to happen.
        change: &'static str,
    },
    /// An accessory was to have a measured power.
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
        /// The lens.
        lens: Lens,
    },
}

/// All pieces of one box.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stock {
    /// The name of the box.
    pub box_name: String,
    /// The `id` of its file, if that has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub box_id: Option<String>,
    /// How its marks were computed.
    pub form: LensForm,
    /// How its rims are marked.
    pub rims: Rims,
    /// Shared between the states of an exam until one of them moves a piece.
    #[serde(serialize_with = "shared::write", deserialize_with = "shared::read")]
    pieces: Arc<Vec<StockedPiece>>,
    #[serde(skip)]
    rising: Rising,
}

/// The places in the list of the spheres and the cylinders with power, in rising order; found once for all states of a box.
///
/// It says nothing that the pieces do not, so it counts in no comparison.
#[derive(Debug, Clone, Default)]
struct Rising(Arc<OnceLock<Vec<usize>>>);

impl PartialEq for Rising {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// A list that is shared in memory is kept as any other.
mod shared {
    use std::sync::Arc;

    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    use super::StockedPiece;

    pub fn write<S: Serializer>(pieces: &Arc<Vec<StockedPiece>>, serializer: S) -> Result<S::Ok, S::Error> {
        pieces.as_slice().serialize(serializer)
    }

    pub fn read<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Arc<Vec<StockedPiece>>, D::Error> {
        Vec::deserialize(deserializer).map(Arc::new)
    }
}

/// How many pieces of one lens are where; the parts add up to `declared`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LensCount {
    /// The lens.
    pub lens: Lens,
    /// Pieces that belong to the set.
    pub declared: u8,
    /// Whole and in the box.
    pub free: u8,
    /// Lost.
    pub lost: u8,
    /// Lent.
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
            pieces: Arc::new(pieces),
            rising: Rising::default(),
        }
    }

    /// Every piece, in the order of the box.
    pub fn pieces(&self) -> &[StockedPiece] {
        &self.pieces
    }

    /// One piece, if the box has it.
    pub fn get(&self, piece: &Piece) -> Option<&StockedPiece> {
        self.pieces.iter().find(|stocked| stocked.piece == *piece)
    }

    /// The spheres with power and then the cylinders, each by rising power; of one lens whole pieces first.
    pub fn rising(&self) -> impl Iterator<Item = &StockedPiece> {
        let order = self.rising.0.get_or_init(|| {
            let mut powered: Vec<(usize, &StockedPiece)> = self
                .pieces
                .iter()
                .enumerate()
                .filter(|(_, of)| of.piece.lens.is_stacked() && of.power().0 != 0.0)
                .collect();
            // of what is stacked, a lens that turns is a cylinder
            let is_cylinder = |stocked: &StockedPiece| stocked.piece.lens.needs_turning_cell();
            powered.sort_by(|(_, a), (_, b)| {
                is_cylinder(a)
                    .cmp(&is_cylinder(b))
                    .then(a.power().0.total_cmp(&b.power().0))
                    .then_with(|| a.piece.lens.cmp(&b.piece.lens))
                    .then(a.damaged.cmp(&b.damaged))
                    .then(a.piece.number.cmp(&b.piece.number))
            });
            powered.into_iter().map(|(at, _)| at).collect()
        });
        order.iter().map(|&at| &self.pieces[at])
    }

    /// All pieces of one lens.
    pub fn of_lens<'a>(&'a self, lens: &Lens) -> impl Iterator<Item = &'a StockedPiece> {
        self.pieces.iter().filter(move |stocked| stocked.piece.lens == *lens)
    }

    /// A free piece of a lens: a whole one before a damaged one.
    pub fn free_piece(&self, lens: &Lens) -> Option<&StockedPiece> {
        self.of_lens(lens).filter(|stocked| stocked.is_free()).min_by_key(|stocked| stocked.damaged)
    }

    /// What stands in a place before an eye.
    pub fn at(&self, place: &Place) -> Option<&StockedPiece> {
        self.pieces.iter().find(|stocked| stocked.place == *place)
    }

    /// Moves a piece between the box, the cells and the hand. What else becomes of a piece is a [`BoxChange`].
    ///
    /// # Errors
    /// When the box has no such piece, the piece is lost, lent or retired or would become so, or another piece is already
    /// in that cell or hand; nothing is changed then.
    pub fn place(&mut self, piece: &Piece, place: Place) -> Result<(), StockError> {
        let occupant = self.at(&place).filter(|_| place.is_before_an_eye()).map(|occupant| occupant.piece.clone());
        let stocked = self.get_mut(piece)?;
        if !(stocked.place.is_at_hand() && place.is_at_hand()) {
            let (piece, place) = (stocked.piece.clone(), stocked.place.clone());
            return Err(StockError::NotThere { piece, place, change: "moved" });
        }
        match occupant {
            Some(occupant) if occupant != *piece => Err(StockError::Occupied { place, occupant }),
            _ => {
                stocked.place = place;
                Ok(())
            }
        }
    }

    fn get_mut(&mut self, piece: &Piece) -> Result<&mut StockedPiece, StockError> {
        Arc::make_mut(&mut self.pieces)
            .iter_mut()
            .find(|stocked| stocked.piece == *piece)
            .ok_or_else(|| StockError::NoSuchPiece { piece: piece.clone() })
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
        self.rising = Rising::default();
        let moved = |stocked: &mut StockedPiece, from: fn(&Place) -> bool, to: Place, what: &'static str| {
            if !from(&stocked.place) {
                let (piece, place) = (stocked.piece.clone(), stocked.place.clone());
                return Err(StockError::NotThere { piece, place, change: what });
            }
            stocked.place = to;
            Ok(())
        };
        let in_box_or_lent = |place: &Place| matches!(place, Place::Box | Place::Lent { .. });
        match change {
            BoxChange::Lost(piece) => moved(self.get_mut(piece)?, in_box_or_lent, Place::Lost, "lost"),
            BoxChange::Found(piece) => moved(self.get_mut(piece)?, |p| *p == Place::Lost, Place::Box, "found"),
            BoxChange::Lent { piece, to } => {
                moved(self.get_mut(piece)?, |p| *p == Place::Box, Place::Lent { to: to.clone() }, "lent")
            }
            BoxChange::Returned(piece) => moved(self.get_mut(piece)?, Place::is_lent, Place::Box, "returned"),
            BoxChange::Retired(piece) => {
                let from = |place: &Place| matches!(place, Place::Box | Place::Lost | Place::Lent { .. });
                moved(self.get_mut(piece)?, from, Place::Retired, "retired")
            }
            BoxChange::Damaged(piece) => {
                self.get_mut(piece)?.damaged = true;
                Ok(())
            }
            BoxChange::Mended(piece) => {
                self.get_mut(piece)?.damaged = false;
                Ok(())
            }
            BoxChange::Measured { piece, power } => {
                let stocked = self.get_mut(piece)?;
                let range = piece.lens.power_range().ok_or_else(|| StockError::NoPower { piece: piece.clone() })?;
                range.check(*power)?;
                stocked.measured = (!stocked.confirms_mark(*power)).then_some(*power);
                Ok(())
            }
            BoxChange::Added(lens) => {
                let last = self.of_lens(lens).map(|stocked| stocked.piece.number).max().unwrap_or(0);
                if last >= 99 {
                    return Err(StockError::TooMany { lens: lens.clone() });
                }
                let piece = Piece { lens: lens.clone(), number: last + 1 };
                Arc::make_mut(&mut self.pieces).push(StockedPiece {
                    piece,
                    place: Place::Box,
                    damaged: false,
                    measured: None,
                });
                Ok(())
            }
        }
    }

    /// How many of each lens are where, in the order of the box.
    pub fn counts(&self) -> Vec<LensCount> {
        let mut counts: Vec<LensCount> = Vec::new();
        let mut line_of: HashMap<&Lens, usize> = HashMap::new();
        for stocked in self.pieces() {
            let lens = &stocked.piece.lens;
            let line = *line_of.entry(lens).or_insert_with(|| {
                let (declared, free, lost, lent, damaged, in_frame) = Default::default();
                counts.push(LensCount { lens: lens.clone(), declared, free, lost, lent, damaged, in_frame });
                counts.len() - 1
            });
            let count = &mut counts[line];
            let part = match &stocked.place {
                Place::Retired => continue,
                Place::Box if stocked.damaged => &mut count.damaged,
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
