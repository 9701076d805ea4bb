//! A frame with a box beside it. What is before each eye is always computed from here, never kept: it cannot go stale.

use serde::{Deserialize, Serialize};

use super::declared::{DeclaredFrame, MOST_CELLS};
use super::moves::{Move, MoveError};
use super::sureness::{Limits, SetLens, Sureness, sureness};
use crate::kit::lens::Turning;
use crate::kit::{Direction, Lens, LensForm, Piece, Place, Stock, StockError, StockedPiece};
use crate::optics::prism::{decentration_to_examiners_right, stack_is_too_strong_to_add};
use crate::optics::vergence::{at_vertex, net};
use crate::optics::{Axis, Dioptres, Eye, Eyes, Millimetres, Power, Prism};

/// Distance from the outermost cell to what the hand holds in front of it: common practice, no source.
pub const HAND_GAP: Millimetres = Millimetres(5.0);

/// A lens that stands in a cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InCell<'a> {
    /// The cell's number from 1.
    pub cell: u8,
    /// The piece.
    pub stocked: &'a StockedPiece,
    /// How it is turned.
    pub direction: Direction,
}

/// A lens that is held in front of the frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Held<'a> {
    /// The piece.
    pub stocked: &'a StockedPiece,
    /// How it is turned.
    pub direction: Direction,
}

impl Held<'_> {
    /// The power that is marked on it, as it is turned.
    pub fn marked_power(&self) -> Power {
        power_of(self.stocked, self.stocked.marked_power(), self.direction)
    }
}

/// Everything that can be said of the power before one eye.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EyePower {
    /// What the marks in the cells add up to.
    pub marked: Power,
    /// Back vertex power at cell 1 of what is in the cells.
    pub net: Power,
    /// The net with what the hand holds in front.
    pub net_with_hand: Power,
    /// The net power at the cornea.
    pub cornea: Power,
    /// Net prism of the cells and the hand, with what a wrong pupillary distance induces.
    pub prism: Prism,
    /// The part of it that the lenses in the cells induce because the frame is set to another pupillary distance.
    pub induced: Prism,
    /// More than one prism stands there, and they are too strong to be added: light is turned by more than `prism`.
    pub prisms_do_not_add: bool,
    /// An occluder covers the eye: the powers mean nothing then.
    pub occluded: bool,
}

/// A declared frame, the box beside it, and how the cells are turned.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FittedFrame {
    /// The frame as declared: its cells, which of them turn, and its vertex distance, or that which was measured in place of it.
    pub frame: DeclaredFrame,
    /// The box; it alone knows where each piece is.
    pub stock: Stock,
    /// Pupillary distance of each eye that the frame is set to, right first; `None` when it is set to the eye's own.
    pub frame_pd: Eyes<Option<Millimetres>>,
    /// Pupillary distance of each eye of the person, right first.
    pub eye_pd: Eyes<Option<Millimetres>>,
    directions: Eyes<[u16; MOST_CELLS]>,
    hand_directions: Eyes<u16>,
}

impl FittedFrame {
    /// An empty frame beside a box.
    pub fn new(frame: DeclaredFrame, stock: Stock) -> Self {
        Self {
            frame,
            stock,
            frame_pd: Eyes::both(None),
            eye_pd: Eyes::both(None),
            directions: Eyes::both([180; MOST_CELLS]),
            hand_directions: Eyes::both(180),
        }
    }

    /// What stands in a cell.
    pub fn in_cell(&self, eye: Eye, cell: u8) -> Option<InCell<'_>> {
        let stocked = self.stock.at(&Place::Cell { eye, cell })?;
        Some(InCell { cell, stocked, direction: stocked.piece.lens.directed(self.direction(eye, cell)) })
    }

    /// What stands in all cells of an eye, from cell 1 outward.
    pub fn in_cells(&self, eye: Eye) -> impl Iterator<Item = InCell<'_>> {
        self.frame.cell_numbers().filter_map(move |cell| self.in_cell(eye, cell))
    }

    /// What the hand holds before an eye.
    pub fn held(&self, eye: Eye) -> Option<Held<'_>> {
        let stocked = self.stock.at(&Place::Hand { eye })?;
        Some(Held { stocked, direction: stocked.piece.lens.directed(self.hand_directions[eye]) })
    }

    /// What stands in the cells of an eye, from cell 1 outward, and what the hand holds before it.
    fn before(&self, eye: Eye) -> ([Option<InCell<'_>>; MOST_CELLS], Option<Held<'_>>) {
        let (mut in_cells, mut held) = ([None; MOST_CELLS], None);
        for stocked in self.stock.before_eyes() {
            match stocked.place {
                Place::Cell { eye: of, cell } if of == eye && self.frame.cell(cell).is_some() => {
                    let direction = stocked.piece.lens.directed(self.direction(eye, cell));
                    in_cells[usize::from(cell) - 1] = Some(InCell { cell, stocked, direction });
                }
                Place::Hand { eye: of } if of == eye => {
                    let direction = stocked.piece.lens.directed(self.hand_directions[eye]);
                    held = Some(Held { stocked, direction });
                }
                Place::Box
                | Place::Cell { .. }
                | Place::Hand { .. }
                | Place::Lost
                | Place::Lent { .. }
                | Place::Retired
                | Place::Moved { .. }
                | Place::InTwoPlaces => {}
            }
        }
        (in_cells, held)
    }

    /// The direction to which a cell is turned, in degrees.
    pub fn direction(&self, eye: Eye, cell: u8) -> u16 {
        self.directions[eye].get(usize::from(cell).wrapping_sub(1)).copied().unwrap_or(180)
    }

    /// The distances that the light of this box's lenses is stepped along: none for a box whose marks add up.
    pub fn gaps(&self) -> Vec<Millimetres> {
        match self.stock.form {
            LensForm::Thin => self.frame.gaps(),
            LensForm::Additive => Vec::new(),
        }
    }

    /// All that can be said of the power before an eye, computed from what is there now.
    pub fn in_front_of(&self, eye: Eye) -> EyePower {
        self.in_front_of_with(eye, None)
    }

    /// The same with what the hand holds turned or flipped to another direction, in degrees on the dial.
    pub fn in_front_of_flipped(&self, eye: Eye, direction: u16) -> EyePower {
        self.in_front_of_with(eye, Some(direction))
    }

    fn in_front_of_with(&self, eye: Eye, hand_direction: Option<u16>) -> EyePower {
        let gaps = self.gaps();
        let mut true_powers = [Power::ZERO; MOST_CELLS + 1];
        let mut marked = Power::ZERO;
        let mut prisms: Vec<Prism> = Vec::new();
        let mut induced = Prism::NONE;
        let mut occluded = false;
        let decentred = self.decentration(eye);
        let (in_cells, held) = self.before(eye);
        for lens in in_cells.into_iter().flatten() {
            let power = power_of(lens.stocked, lens.stocked.power(), lens.direction);
            true_powers[usize::from(lens.cell) - 1] = power;
            marked += power_of(lens.stocked, lens.stocked.marked_power(), lens.direction);
            prisms.extend(prism_of(lens.stocked, lens.direction));
            induced = induced + Prism::induced(power, decentred, Millimetres(0.0));
            occluded |= lens.stocked.piece.lens.occludes();
        }
        let cells = usize::from(self.frame.cell_numbers().next_back().unwrap_or(0));
        let net_power = net(&true_powers[..cells], &gaps);
        let mut net_with_hand = net_power;
        if let Some(held) = held {
            let direction = hand_direction.map_or(held.direction, |degrees| held.stocked.piece.lens.directed(degrees));
            true_powers[cells] = power_of(held.stocked, held.stocked.power(), direction);
            occluded |= held.stocked.piece.lens.occludes();
            prisms.extend(prism_of(held.stocked, direction));
            let mut gaps_to_hand = gaps;
            if self.stock.form == LensForm::Thin {
                gaps_to_hand.push(HAND_GAP);
            }
            net_with_hand = net(&true_powers[..=cells], &gaps_to_hand);
        }
        let cornea = at_vertex(net_power, self.frame.vertex, Millimetres(0.0));
        let prism = prisms.iter().copied().sum::<Prism>() + induced;
        let prisms_do_not_add = stack_is_too_strong_to_add(&prisms);
        EyePower { marked, net: net_power, net_with_hand, cornea, prism, induced, prisms_do_not_add, occluded }
    }

    /// What a person's hand may spoil of what stands in the cells of an eye; `mark_tolerance` is how far a lens may be off its
    /// mark, where that is known. `None` when there is no power to spoil.
    pub fn sureness(&self, eye: Eye, mark_tolerance: Option<Dioptres>) -> Option<Sureness> {
        let (in_cells, _) = self.before(eye);
        self.sureness_of(in_cells.into_iter().flatten(), mark_tolerance)
    }

    /// The same of lenses that could stand in the cells of this frame. A lens that was measured is not off its mark.
    pub fn sureness_of<'a>(
        &self,
        lenses: impl IntoIterator<Item = InCell<'a>>,
        mark_tolerance: Option<Dioptres>,
    ) -> Option<Sureness> {
        let set = |lens: InCell<'_>| SetLens {
            cell: lens.cell,
            power: power_of(lens.stocked, lens.stocked.power(), lens.direction),
            mark: lens.stocked.measured.is_none().then(|| power_of(lens.stocked, Dioptres(1.0), lens.direction)),
        };
        let powered = lenses.into_iter().filter(|lens| lens.stocked.piece.lens.makes_power());
        let lenses: Vec<SetLens> = powered.map(set).collect();
        sureness(&lenses, &self.frame, &self.gaps(), &Limits::of(&self.frame, mark_tolerance))
    }

    /// How far the centres of an eye's lenses stand to the examiner's right of its pupil.
    pub fn decentration(&self, eye: Eye) -> Millimetres {
        match (self.frame_pd[eye], self.eye_pd[eye]) {
            (Some(frame), Some(person)) => decentration_to_examiners_right(eye, frame, person),
            _ => Millimetres(0.0),
        }
    }

    /// Whether a move can be made now.
    ///
    /// # Errors
    /// A [`MoveError`] that says why not and what to do instead.
    pub fn check(&self, step: &Move) -> Result<(), MoveError> {
        self.clone().apply(step)
    }

    /// Makes a move.
    ///
    /// # Errors
    /// A [`MoveError`] when it cannot be made; nothing is changed then.
    pub fn apply(&mut self, step: &Move) -> Result<(), MoveError> {
        match step {
            Move::Put { piece, eye, cell, direction } => {
                self.check_cell(*cell)?;
                self.check_takeable(piece)?;
                check_direction(&piece.lens, piece, *direction)?;
                if let Some(occupant) = self.in_cell(*eye, *cell) {
                    let occupant = occupant.stocked.piece.clone();
                    return Err(MoveError::CellTaken { eye: *eye, cell: *cell, occupant });
                }
                if let Some(direction) = direction {
                    self.check_turn(*eye, *cell, *direction, piece)?;
                }
                self.stock.place(piece, Place::Cell { eye: *eye, cell: *cell })?;
                if let Some(direction) = direction {
                    self.turn(*eye, *cell, *direction);
                }
            }
            Move::Take { piece, eye, cell } => {
                self.check_at(piece, &Place::Cell { eye: *eye, cell: *cell })?;
                self.stock.place(piece, Place::Box)?;
            }
            Move::Turn { eye, cell, direction } => {
                self.check_cell(*cell)?;
                self.check_turnable(*eye, *cell, *direction)?;
                self.turn(*eye, *cell, *direction);
            }
            Move::Hold { piece, eye, direction } => {
                self.check_takeable(piece)?;
                check_direction(&piece.lens, piece, *direction)?;
                self.stock.place(piece, Place::Hand { eye: *eye })?;
                if let Some(direction) = direction {
                    self.hand_directions[*eye] = *direction;
                }
            }
            Move::Lay { piece, eye } => {
                self.check_at(piece, &Place::Hand { eye: *eye })?;
                self.stock.place(piece, Place::Box)?;
            }
        }
        Ok(())
    }

    fn check_cell(&self, cell: u8) -> Result<(), MoveError> {
        match self.frame.cell(cell) {
            Some(_) => Ok(()),
            None => Err(MoveError::NoSuchCell { cell, cells: self.frame.cells.len() }),
        }
    }

    fn check_at(&self, piece: &Piece, place: &Place) -> Result<(), MoveError> {
        match self.stock.get(piece) {
            Some(stocked) if stocked.place == *place => Ok(()),
            _ => Err(MoveError::NotThere { piece: piece.clone() }),
        }
    }

    fn check_takeable(&self, piece: &Piece) -> Result<(), MoveError> {
        let stocked = self.stock.get(piece).ok_or_else(|| StockError::NoSuchPiece { piece: piece.clone() })?;
        match stocked.place.why_not_free().filter(|why| !why.is_in_hand()) {
            None => Ok(()),
            Some(why) => Err(MoveError::NotFree { piece: piece.clone(), why }),
        }
    }

    fn check_turns(&self, cell: u8, piece: &Piece) -> Result<(), MoveError> {
        if !piece.lens.needs_turning_cell() || self.frame.cell(cell).is_some_and(|spec| spec.turns) {
            return Ok(());
        }
        Err(MoveError::DoesNotTurn { cell, piece: piece.clone(), turning: self.turning_cells() })
    }

    /// A cell that does not turn holds still, but a prism or a slit can be turned in it by hand.
    fn check_turnable(&self, eye: Eye, cell: u8, direction: u16) -> Result<(), MoveError> {
        if direction >= 360 {
            return Err(MoveError::NoDirection { direction });
        }
        let turns = self.frame.cell(cell).is_some_and(|spec| spec.turns);
        match self.in_cell(eye, cell) {
            _ if turns => Ok(()),
            Some(lens) if lens.stocked.piece.lens.has_direction() => self.check_turns(cell, &lens.stocked.piece),
            _ => Err(MoveError::NothingToTurn { cell, turning: self.turning_cells() }),
        }
    }

    /// Which cells turn, in words.
    fn turning_cells(&self) -> String {
        let turns = |&cell: &u8| self.frame.cell(cell).is_some_and(|spec| spec.turns);
        let turning: Vec<String> = self.frame.cell_numbers().filter(turns).map(|cell| cell.to_string()).collect();
        if turning.is_empty() {
            "no cell of this frame turns".to_owned()
        } else {
            format!("use cell {}", turning.join(" or "))
        }
    }

    /// A cylinder needs a cell that turns, and a ring that holds another at another axis refuses it.
    fn check_turn(&self, eye: Eye, cell: u8, direction: u16, piece: &Piece) -> Result<(), MoveError> {
        self.check_turns(cell, piece)?;
        for other in self.frame.turning_with(cell) {
            if other == cell {
                continue;
            }
            if let Some(held) = self.in_cell(eye, other)
                && let Some(stands_at) = held.direction.degrees()
                && !same_direction(&held.stocked.piece.lens, stands_at, &piece.lens, direction)
            {
                let (other, direction) = (held.stocked.piece.clone(), stands_at);
                return Err(MoveError::RingHeld { cell, other, direction });
            }
        }
        Ok(())
    }

    fn turn(&mut self, eye: Eye, cell: u8, direction: u16) {
        let mut turning = self.frame.turning_with(cell);
        if turning.is_empty() {
            turning.push(cell);
        }
        for number in turning {
            self.directions[eye][usize::from(number) - 1] = direction % 360;
        }
    }
}

/// Whether two lenses of one ring can stand as they are: an axis is the same from either end, a base is not.
fn same_direction(lens: &Lens, direction: u16, other: &Lens, other_direction: u16) -> bool {
    let circle = match (lens.turning(), other.turning()) {
        (Turning::Base, _) | (_, Turning::Base) => 360,
        (Turning::Axis | Turning::None, Turning::Axis | Turning::None) => 180,
    };
    direction % circle == other_direction % circle
}

fn check_direction(lens: &Lens, piece: &Piece, direction: Option<u16>) -> Result<(), MoveError> {
    match (lens.has_direction(), direction) {
        (true, None) => Err(MoveError::Direction { piece: piece.clone(), problem: "needs an axis or a base" }),
        (false, Some(_)) => Err(MoveError::Direction { piece: piece.clone(), problem: "has no axis to set" }),
        (_, Some(d)) if d >= 360 => {
            Err(MoveError::Direction { piece: piece.clone(), problem: "can be turned to 0 to 359" })
        }
        _ => Ok(()),
    }
}

/// The refractive power of a piece with a given scalar power, turned to a direction; none where it makes no power.
pub fn power_of(stocked: &StockedPiece, power: Dioptres, direction: Direction) -> Power {
    let axis = match direction {
        Direction::Axis(axis) => axis,
        Direction::Base(_) | Direction::None => Axis::HORIZONTAL,
    };
    match stocked.piece.lens {
        Lens::Sphere(_) => Power::sphere(power),
        Lens::Cylinder(_) => Power::cylinder(power, f64::from(axis.degrees())),
        Lens::CrossCylinder(_) => Power::cross_cylinder(power, axis),
        Lens::Prism(_) | Lens::Accessory(_) => Power::ZERO,
    }
}

/// The prism of a piece turned to a direction, where it is a prism.
fn prism_of(stocked: &StockedPiece, direction: Direction) -> Option<Prism> {
    match (&stocked.piece.lens, direction) {
        (Lens::Prism(_), Direction::Base(degrees)) => Some(Prism::polar(stocked.power().0, f64::from(degrees))),
        (Lens::Prism(_), Direction::Axis(_) | Direction::None)
        | (Lens::Sphere(_) | Lens::Cylinder(_) | Lens::CrossCylinder(_) | Lens::Accessory(_), _) => None,
    }
}
