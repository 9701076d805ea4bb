//! The axes that cylinders may share, and what must be made along such an axis and across it.

use libm::sincos;

use super::arc::Arc;
use super::cost::Now;
use super::patterns::Pattern;
use super::space::{SLACK_D, Space};
use crate::optics::{Axis, Power};

/// An axis that the cylinders may share, with the wanted power as it is seen from there.
#[derive(Debug, Clone, Copy)]
pub(super) struct CommonAxis {
    /// In degrees, 1 to 180.
    pub axis: u8,
    /// Unit vector of the axis at doubled angle.
    pub cos: f64,
    pub sin: f64,
    /// Wanted power along the axis and across it.
    pub along: f64,
    pub across: f64,
    /// Wanted astigmatism that no cylinder at this axis can make.
    pub off_axis: f64,
}

impl CommonAxis {
    fn of(wanted: Power, axis: u8) -> Self {
        let (sin, cos) = sincos((2.0 * f64::from(axis)).to_radians());
        let astigmatism = wanted.j0 * cos + wanted.j45 * sin;
        Self {
            axis,
            cos,
            sin,
            along: wanted.m + astigmatism,
            across: wanted.m - astigmatism,
            off_axis: wanted.j45 * cos - wanted.j0 * sin,
        }
    }
}

/// How near to half-way between two whole degrees a wanted axis is as near to the one as to the other.
const HALF_WAY_DEG: f64 = 1e-6;

/// The axes at which cylinders that share one can be best: the whole degree nearest to the wanted axis for minus cylinders,
/// the one across it for plus cylinders, and where a cylinder stands now, for it need not be turned.
pub(super) fn axes(space: &Space<'_>) -> Vec<CommonAxis> {
    let wanted = space.wanted.minus_form().axis;
    let mut degrees = vec![Axis::nearest(wanted).degrees()];
    if (wanted - wanted.floor() - 0.5).abs() < HALF_WAY_DEG {
        degrees = vec![Axis::folded(wanted.floor() as i32).degrees(), Axis::folded(wanted.ceil() as i32).degrees()];
    }
    degrees.extend(degrees.clone().into_iter().map(|axis| Axis::folded(i32::from(axis) + 90).degrees()));
    for now in &space.costing.now {
        if let Now::Lens { is_cylinder: true, axis, .. } = now {
            degrees.push(Axis::folded(i32::from(*axis)).degrees());
        }
    }
    let mut axes: Vec<CommonAxis> = Vec::with_capacity(degrees.len());
    for axis in degrees {
        if axes.iter().all(|known| known.axis != axis) {
            axes.push(CommonAxis::of(space.wanted, axis));
        }
    }
    axes
}

/// What must leave a cell, or may arrive there, along the common axis and across it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Needed {
    pub along: Arc,
    pub across: Arc,
}

impl Needed {
    /// What must arrive at cell 1 for a stack of a pattern to miss by at most this; `None` when none of its lenses come so near.
    pub fn within(space: &Space<'_>, pattern: &Pattern, at: &CommonAxis, miss: f64) -> Option<Self> {
        let spheres_only = pattern.has_spheres_only();
        let missing = if spheres_only { space.wanted.astigmatism() } else { at.off_axis.abs() };
        if miss < 0.0 || missing > miss + SLACK_D {
            return None;
        }
        let made = made(space, pattern);
        if spheres_only {
            // spheres leave all the wanted astigmatism missing, and the rest of the miss is for the equivalent sphere
            let left = (miss * miss - missing * missing).max(0.0).sqrt();
            let sphere = Arc::around(space.wanted.m, left);
            return (made.along.distance(space.wanted.m) <= left + SLACK_D)
                .then_some(Self { along: sphere, across: sphere });
        }
        // miss² is half the sum of both meridians' squared errors, plus what is off the axis; what the one must miss by,
        // whichever lenses are used, is not left for the other
        let squares = 2.0 * (miss * miss - at.off_axis * at.off_axis);
        let (along, across) = (made.along.distance(at.along).powi(2), made.across.distance(at.across).powi(2));
        let spread = |left: f64| left.max(0.0).sqrt();
        (along + across <= squares + SLACK_D).then(|| Self {
            along: Arc::around(at.along, spread(squares - across)),
            across: Arc::around(at.across, spread(squares - along)),
        })
    }

    /// What must leave a cell that many metres farther out.
    pub fn outward(self, metres: f64) -> Self {
        Self { along: self.along.outward(metres), across: self.across.outward(metres) }
    }

    /// What must arrive at a cell in which any lens of these powers stands.
    pub fn before_any(self, powers: Arc, is_cylinder: bool) -> Self {
        Self {
            along: if is_cylinder { self.along } else { self.along.minus(powers) },
            across: self.across.minus(powers),
        }
    }

    /// Whether something of both may be the same.
    pub fn meets(self, other: Self) -> bool {
        self.along.meets(other.along) && self.across.meets(other.across)
    }

    /// What arrives at a cell that many metres nearer the eye.
    pub fn inward(self, metres: f64) -> Self {
        Self { along: self.along.inward(metres), across: self.across.inward(metres) }
    }

    /// What leaves a cell in which any lens of these powers stands.
    pub fn behind_any(self, powers: Arc, is_cylinder: bool) -> Self {
        Self { along: if is_cylinder { self.along } else { self.along.plus(powers) }, across: self.across.plus(powers) }
    }

    /// Whether these vergences are what must leave.
    pub fn contains(self, along: f64, across: f64) -> bool {
        self.along.contains(along) && self.across.contains(across)
    }

    /// Farther out than a cylinder that is not chosen yet: across the axis nothing is known there.
    pub fn beyond_a_cylinder(self, metres: f64) -> Self {
        Self { along: self.along.outward(metres), across: Arc::EVERYTHING }
    }

    /// What is left to find when a sphere adds this much.
    pub fn less(self, power: f64) -> Self {
        Self { along: self.along.less(power), across: self.across.less(power) }
    }

    /// What of it is left when the meridians are apart by at least and at most so much, across less along; `None` when
    /// nothing is.
    pub fn with_meridians_apart(self, (least, most): (f64, f64)) -> Option<Self> {
        let Self { along, across } = self;
        if along.is_through_infinity() || across.is_through_infinity() {
            return Some(self);
        }
        let (least, most) = (least - SLACK_D, most + SLACK_D);
        let left = Self {
            along: Arc { low: along.low.max(across.low - most), high: along.high.min(across.high - least) },
            across: Arc { low: across.low.max(along.low + least), high: across.high.min(along.high + most) },
        };
        (left.along.low <= left.along.high && left.across.low <= left.across.high).then_some(left)
    }

    /// The most that the meridians may be apart.
    pub fn most_difference(self) -> f64 {
        self.across.most_apart(self.along)
    }

    /// The least that the meridians must be apart.
    pub fn least_difference(self) -> f64 {
        self.across.least_apart(self.along)
    }
}

/// What the lenses of a pattern can send to cell 1, along a common axis and across it.
fn made(space: &Space<'_>, pattern: &Pattern) -> Needed {
    let (spheres, cylinders) = (space.catalogue.range_of_spheres(), space.catalogue.range_of_cylinders());
    let mut made = Needed { along: Arc::NOTHING, across: Arc::NOTHING };
    let mut at = pattern.places().next_back().map_or(0, |(cell, _)| cell);
    for (cell, cylinder) in pattern.places().rev() {
        let powers = if cylinder { cylinders } else { spheres };
        made = made.inward(space.between_m(cell, at)).behind_any(powers, cylinder);
        at = cell;
    }
    made.inward(space.between_m(0, at))
}
