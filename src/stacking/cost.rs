//! What a stack costs, counted in lenses, so that a person can follow why one stands before another.
//!
//! The weights were chosen so that what comes first is what a colleague would put in (ours, no source). That the strongest
//! sphere belongs to the rear cell and cylinders into the rearmost cell that turns is common practice.

use libm::sin;
use serde::Serialize;

use super::arc::SLACK_D;
use super::catalogue::{Catalogue, TypeId};
use super::slots::{Slot, Stack};
use crate::frame::DeclaredFrame;
use crate::frame::declared::MOST_CELLS;
use crate::optics::CylinderForm;

/// For each move from what is in the cells now: a lens put in, taken out or turned.
pub(super) const MOVE: f64 = 0.25;
/// Once, when cylinders stand at different axes.
pub(super) const CROSSED: f64 = 2.0;
/// When the strongest sphere, by its mark, does not stand in cell 1.
pub(super) const STRONGEST_NOT_REAR: f64 = 1.5;
/// When a cylinder stands nearer the eye than a sphere.
const CYLINDER_BEFORE_SPHERE: f64 = 0.5;
/// For each lens and each empty cell nearer the eye that could hold it.
const EMPTY_CELL: f64 = 0.05;
/// For each dioptre of the weaker side, by the marks, when both signs are stacked.
const OPPOSED_PER_D: f64 = 0.5;
/// For each cylinder whose sign is not the one in use.
const SIGN: f64 = 0.25;
/// For each damaged lens.
const DAMAGED: f64 = 1.0;
/// For each dioptre of miss: half a lens at the miss that counts as reached when nothing else is asked.
pub(super) const MISS_PER_D: f64 = 0.5 / 0.06;

/// The cost of a stack by its parts, each in lenses.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Cost {
    /// 1 for each sphere or cylinder in the cells.
    pub lenses: f64,
    /// 0.25 for each move from what is in the cells now.
    pub moves: f64,
    /// 2, once, when cylinders stand at different axes.
    pub crossed: f64,
    /// 1.5 when the strongest sphere by its mark does not stand in cell 1; 0.5 when a cylinder stands nearer the eye than a
    /// sphere.
    pub order: f64,
    /// 0.05 for each lens and each empty cell nearer the eye that could hold it.
    pub place: f64,
    /// 0.5 for each dioptre of the weaker side, by the marks, when spheres, or cylinders at one axis, of both signs are
    /// stacked.
    pub opposed: f64,
    /// 0.25 for each cylinder whose sign is not the one in use.
    pub sign: f64,
    /// 1 for each damaged lens.
    pub damaged: f64,
    /// 0.5 for each 0.06 D of miss.
    pub miss: f64,
    /// What setting the axes by hand may spoil of cylinders that are stronger together than what is wanted: 0.5 for each
    /// 0.06 D.
    pub axis_care: f64,
}

impl Cost {
    /// The whole cost, in lenses.
    pub fn total(&self) -> f64 {
        let Self { lenses, moves, crossed, order, place, opposed, sign, damaged, miss, axis_care } = *self;
        lenses + moves + crossed + order + place + opposed + sign + damaged + miss + axis_care
    }
}

impl std::ops::Add for Cost {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            lenses: self.lenses + other.lenses,
            moves: self.moves + other.moves,
            crossed: self.crossed + other.crossed,
            order: self.order + other.order,
            place: self.place + other.place,
            opposed: self.opposed + other.opposed,
            sign: self.sign + other.sign,
            damaged: self.damaged + other.damaged,
            miss: self.miss + other.miss,
            axis_care: self.axis_care + other.axis_care,
        }
    }
}

/// What stands in a cell now, so that moves can be counted.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) enum Now {
    /// Nothing, or something that stays.
    #[default]
    Empty,
    /// A lens of the catalogue at an axis.
    Lens { type_id: TypeId, is_cylinder: bool, axis: u16 },
    /// Something that has to come out.
    Other,
}

/// What the cost of a stack depends on beside the stack: the frame and what is in it.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Costing {
    /// What stands in each cell.
    pub now: [Now; MOST_CELLS],
    /// A bit for each cell that may be filled.
    pub open: u8,
    /// A bit for each cell that a cylinder can be put into.
    pub turning: u8,
    /// Cost of each dioptre of cylinder beyond what is wanted.
    pub care_per_d: f64,
    /// The cylinder form in use.
    pub form: CylinderForm,
    /// Strength of the wanted cylinder, in dioptres.
    pub wanted_cylinder: f64,
}

/// The cost of what each dioptre of cylinder too much spoils when its axis is set by the marks of a frame: half a mark off.
pub(super) fn care_per_d(frame: &DeclaredFrame) -> f64 {
    MISS_PER_D * sin((f64::from(frame.axis_marks_deg) / 2.0).to_radians())
}

/// How many dioptres of marks stand against others.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Opposed {
    plus: f64,
    minus: f64,
}

impl Opposed {
    /// With one more mark.
    pub fn with(self, mark: f64) -> Self {
        if mark > 0.0 { Self { plus: self.plus + mark, ..self } } else { Self { minus: self.minus - mark, ..self } }
    }

    /// With what stands on the other side of it.
    pub fn and(self, other: Self) -> Self {
        Self { plus: self.plus + other.plus, minus: self.minus + other.minus }
    }

    /// What it costs.
    pub fn cost(self) -> f64 {
        OPPOSED_PER_D * self.plus.min(self.minus)
    }
}

impl Costing {
    /// What every stack of these places costs at the least: each place is a cell and whether a cylinder stands in it, from
    /// the eye outward.
    pub fn least(&self, places: &(impl Iterator<Item = (u8, bool)> + Clone)) -> f64 {
        let used: u8 = places.clone().fold(0, |used, (cell, _)| used | 1 << cell);
        let mut cost = EMPTY_CELL * f64::from(self.empty_before(used, places.clone()));
        let (mut cylinder_inside, mut cylinder_before_sphere, mut spheres, mut rear_sphere) = (false, false, 0, false);
        for (cell, cylinder) in places.clone() {
            cost += 1.0;
            cylinder_inside |= cylinder;
            if !cylinder {
                cylinder_before_sphere |= cylinder_inside;
                spheres += 1;
                rear_sphere |= cell == 0;
            }
        }
        if cylinder_before_sphere {
            cost += CYLINDER_BEFORE_SPHERE;
        }
        if spheres > 0 && !rear_sphere {
            cost += STRONGEST_NOT_REAR;
        }
        let mut moves = 0;
        for (cell, now) in (0..).zip(&self.now) {
            let place = places.clone().find(|&(of, _)| of == cell);
            moves += match (now, place) {
                (Now::Empty, None) => 0,
                (Now::Empty, Some(_)) | (_, None) => 1,
                (Now::Lens { is_cylinder, .. }, Some((_, cylinder))) if *is_cylinder == cylinder => 0,
                (Now::Lens { .. } | Now::Other, Some(_)) => 2,
            };
        }
        cost + MOVE * f64::from(moves)
    }

    /// Empty cells nearer the eye that could hold a lens, counted for each lens.
    fn empty_before(&self, used: u8, places: impl Iterator<Item = (u8, bool)>) -> u32 {
        let before = |(cell, cylinder): (u8, bool)| {
            let could_hold = if cylinder { self.turning } else { self.open };
            (could_hold & !used & ((1 << cell) - 1)).count_ones()
        };
        places.map(before).sum()
    }

    /// What a lens in a cell costs beyond [`Self::least`], at any axis.
    pub fn extra(&self, catalogue: &Catalogue<'_>, cell: u8, type_id: TypeId) -> f64 {
        let moved = match self.now[usize::from(cell)] {
            Now::Lens { type_id: there, is_cylinder, .. }
                if there != type_id && is_cylinder == catalogue.is_cylinder(type_id) =>
            {
                2.0 * MOVE
            }
            _ => 0.0,
        };
        moved + self.dearer(catalogue, type_id)
    }

    /// What a lens costs beyond its place: damage, and the sign of a cylinder.
    fn dearer(&self, catalogue: &Catalogue<'_>, type_id: TypeId) -> f64 {
        let lens_type = &catalogue.types[usize::from(type_id)];
        let damaged = if lens_type.damaged { DAMAGED } else { 0.0 };
        if catalogue.is_cylinder(type_id) { damaged + self.sign_cost(lens_type.mark) } else { damaged }
    }

    /// What the sign of a cylinder costs.
    fn sign_cost(&self, mark: f64) -> f64 {
        if self.form.has_sign_of(mark) { 0.0 } else { SIGN }
    }

    /// What turning the lens that stays in a cell to an axis costs.
    pub fn turning(&self, slot: Slot) -> f64 {
        match self.now[usize::from(slot.cell)] {
            Now::Lens { type_id, is_cylinder: true, axis }
                if type_id == slot.type_id && axis != u16::from(slot.axis) =>
            {
                MOVE
            }
            _ => 0.0,
        }
    }

    /// Movements of the hand from what is in the cells to a stack: a lens out, a lens in, an axis turned.
    pub fn count_moves(&self, stack: &Stack) -> u32 {
        let mut moves = 0;
        let mut slots = stack.slots().iter().peekable();
        for (cell, now) in self.now.iter().enumerate() {
            let new = slots.next_if(|slot| usize::from(slot.cell) == cell);
            moves += match (now, new) {
                (Now::Empty, None) => 0,
                (Now::Empty, Some(_)) | (_, None) => 1,
                (Now::Lens { type_id, is_cylinder, axis }, Some(slot)) if *type_id == slot.type_id => {
                    u32::from(*is_cylinder && *axis != u16::from(slot.axis))
                }
                (_, Some(_)) => 2,
            };
        }
        moves
    }

    /// The cost of a whole stack.
    pub fn of(&self, catalogue: &Catalogue<'_>, stack: &Stack, miss: f64) -> Cost {
        let mut cost = Cost {
            lenses: stack.len() as f64,
            moves: MOVE * f64::from(self.count_moves(stack)),
            miss: MISS_PER_D * miss,
            ..Cost::default()
        };
        let used = stack.slots().iter().fold(0, |used: u8, slot| used | 1 << slot.cell);
        let places = stack.slots().iter().map(|slot| (slot.cell, catalogue.is_cylinder(slot.type_id)));
        cost.place = EMPTY_CELL * f64::from(self.empty_before(used, places));
        let (mut spheres, mut cylinder_strength) = (Opposed::default(), 0.0);
        let (mut strongest, mut rear, mut cylinder_before_sphere) = (0.0_f64, 0.0, false);
        let mut first_axis = None;
        for (index, slot) in stack.slots().iter().enumerate() {
            let lens_type = &catalogue.types[usize::from(slot.type_id)];
            if lens_type.damaged {
                cost.damaged += DAMAGED;
            }
            if !catalogue.is_cylinder(slot.type_id) {
                spheres = spheres.with(lens_type.mark);
                strongest = strongest.max(lens_type.mark.abs());
                if slot.cell == 0 {
                    rear = lens_type.mark.abs();
                }
                cylinder_before_sphere |= first_axis.is_some();
                continue;
            }
            cost.sign += self.sign_cost(lens_type.mark);
            cylinder_strength += lens_type.mark.abs();
            if *first_axis.get_or_insert(slot.axis) != slot.axis {
                cost.crossed = CROSSED;
            }
            let at_its_axis = |other: &&Slot| catalogue.is_cylinder(other.type_id) && other.axis == slot.axis;
            // each axis is counted once, with its first cylinder
            if !stack.slots()[..index].iter().any(|other| at_its_axis(&other)) {
                let marks =
                    stack.slots()[index..].iter().filter(at_its_axis).map(|other| catalogue.mark(other.type_id));
                cost.opposed += marks.fold(Opposed::default(), Opposed::with).cost();
            }
        }
        cost.opposed += spheres.cost();
        if strongest > rear + SLACK_D {
            cost.order += STRONGEST_NOT_REAR;
        }
        if cylinder_before_sphere {
            cost.order += CYLINDER_BEFORE_SPHERE;
        }
        cost.axis_care = self.care(cylinder_strength);
        cost
    }

    /// The cost of setting the axes of cylinders of this strength together.
    pub fn care(&self, cylinder_strength: f64) -> f64 {
        self.care_per_d * (cylinder_strength - self.wanted_cylinder).max(0.0)
    }
}
