//! What must leave a cell in the two principal meridians, so that the net comes near enough to the wanted power.

use super::arc::Arc;
use crate::optics::Power;

/// Where the two principal meridians must lie, one in each range.
///
/// Each goes through a gap alone, and a lens moves each by no less than its weakest meridian and no more than its strongest
/// (Weyl's inequality). Behind a focus the lesser may have become the greater; nothing here depends on which is which.
#[derive(Debug, Clone, Copy)]
pub(super) struct Meridians {
    more: Arc,
    less: Arc,
}

impl Meridians {
    /// At cell 1, for a net whose principal meridians, the more and the less, are so far from the wanted ones at the most.
    pub fn around(wanted: Power, (more, less): (f64, f64)) -> Self {
        let astigmatism = wanted.astigmatism();
        Self { more: Arc::around(wanted.m + astigmatism, more), less: Arc::around(wanted.m - astigmatism, less) }
    }

    /// Whether a meridian may be anything that some of it comes to through a focus and some does not.
    pub fn is_open(self) -> bool {
        self.more.is_through_infinity() || self.less.is_through_infinity()
    }

    /// What must leave a cell that many metres farther out.
    pub fn outward(self, metres: f64) -> Self {
        Self { more: self.more.outward(metres), less: self.less.outward(metres) }
    }

    /// What is left to find when a sphere adds this much.
    pub fn less(self, power: f64) -> Self {
        Self { more: self.more.less(power), less: self.less.less(power) }
    }

    /// What must arrive at a cell in which any lens of these powers stands, turned in any way.
    pub fn before_any(self, powers: Arc, is_cylinder: bool) -> Self {
        let powers = if is_cylinder { powers.and_nothing() } else { powers };
        Self { more: self.more.minus(powers), less: self.less.minus(powers) }
    }

    /// Whether both of some meridians may be what is needed.
    pub fn meet(self, meridians: Arc) -> bool {
        self.more.meets(meridians) && self.less.meets(meridians)
    }

    /// The spherical equivalent.
    pub fn equivalent(self) -> Arc {
        if self.is_open() {
            return Arc::EVERYTHING;
        }
        Arc { low: f64::midpoint(self.more.low, self.less.low), high: f64::midpoint(self.more.high, self.less.high) }
    }

    /// The astigmatism, half of what the meridians are apart.
    pub fn astigmatism(self) -> Arc {
        if self.is_open() {
            return Arc { low: 0.0, high: f64::INFINITY };
        }
        Arc { low: (self.more.least_apart(self.less) / 2.0).max(0.0), high: self.more.most_apart(self.less) / 2.0 }
    }
}
