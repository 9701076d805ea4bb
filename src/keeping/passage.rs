//! One meridian's vergence on its way inward through spheres, turned round: what must arrive for a net to come out.
//!
//! Each gap and each sphere is a fractional linear map, so a whole way is one: needed = (a·net + b)/(c·net + d), its determinant 1.
//! It keeps the order of vergences on the circle that they make with infinity, so nothing is lost behind a focus.

use std::ops::Range;

use super::rising::Rising;

/// A vergence moved towards the eye.
pub(super) fn inward(vergence: f64, metres: f64) -> f64 {
    vergence / (1.0 - metres * vergence)
}

/// From a net at cell 1 to what must leave a place farther out.
#[derive(Debug, Clone, Copy)]
pub(super) struct Passage {
    a: f64,
    b: f64,
    c: f64,
    d: f64,
}

impl Passage {
    /// Nothing between.
    pub const NONE: Self = Self { a: 1.0, b: 0.0, c: 0.0, d: 1.0 };

    /// A distance farther out.
    pub fn outward(self, metres: f64) -> Self {
        Self { c: self.c + metres * self.a, d: self.d + metres * self.b, ..self }
    }

    /// In front of a lens of this power in the meridian.
    pub fn before(self, power: f64) -> Self {
        Self { a: self.a - power * self.c, b: self.b - power * self.d, ..self }
    }

    /// Farther out through another passage.
    pub fn then(self, farther: Self) -> Self {
        Self {
            a: farther.a * self.a + farther.b * self.c,
            b: farther.a * self.b + farther.b * self.d,
            c: farther.c * self.a + farther.d * self.c,
            d: farther.c * self.b + farther.d * self.d,
        }
    }

    /// What must leave the place for this net.
    pub fn needed(self, net: f64) -> f64 {
        (self.a * net + self.b) / (self.c * net + self.d)
    }

    /// The net that comes of what leaves the place.
    pub fn net(self, leaving: f64) -> f64 {
        (self.d * leaving - self.b) / (self.a - self.c * leaving)
    }

    /// What must leave the place for a net within a distance of this one.
    pub fn window(self, net: f64, distance: f64) -> Window {
        Window { low: self.needed(net - distance) - SLACK_D, high: self.needed(net + distance) + SLACK_D }
    }

    /// The passage as it is around a net.
    pub fn near(self, net: f64) -> Near {
        let slope = 1.0 / (self.c * net + self.d);
        Near { passage: self, net, needed: (self.a * net + self.b) * slope, slope }
    }

    /// The nets between which lie those of all that leaves the place in this range; nothing when it comes to a focus on its way.
    pub fn nets(self, low: f64, high: f64) -> Option<(f64, f64)> {
        (!self.has_a_focus_within(low, high)).then(|| (self.net(low), self.net(high)))
    }

    /// Whether what leaves the place somewhere in this range comes to a focus on its way.
    pub fn has_a_focus_within(self, low: f64, high: f64) -> bool {
        let (first, last) = (self.a - self.c * low, self.a - self.c * high);
        first <= 0.0 || last <= 0.0
    }
}

/// How far a passage may bend what is taken for straight, as a part of it.
const BEND: f64 = 0.01;

/// A passage around one net, where no focus is near.
#[derive(Debug, Clone, Copy)]
pub(super) struct Near {
    passage: Passage,
    net: f64,
    needed: f64,
    /// The root of how much what is needed changes with the net.
    slope: f64,
}

impl Near {
    /// Ends between which lies what must leave the place for a net within a distance of this one; a little more, for what hardly
    /// bends is taken for straight.
    pub fn ends(&self, distance: f64) -> (f64, f64) {
        if (self.passage.c * self.slope * distance).abs() < BEND {
            let off = distance * self.slope * self.slope * (1.0 + 2.0 * BEND) + SLACK_D;
            return (self.needed - off, self.needed + off);
        }
        let needed = |net: f64| self.passage.needed(net);
        let (low, high) = (needed(self.net - distance) - SLACK_D, needed(self.net + distance) + SLACK_D);
        if low <= high { (low, high) } else { (f64::NEG_INFINITY, f64::INFINITY) }
    }
}

/// Far below any lens, far above rounding.
pub(super) const SLACK_D: f64 = 1e-9;

/// Vergences from `low` up to `high`; where `low` is above `high`, up through infinity and on from below.
#[derive(Debug, Clone, Copy)]
pub(super) struct Window {
    low: f64,
    high: f64,
}

impl Window {
    /// What is left to find when something else makes this much.
    pub fn less(self, power: f64) -> Self {
        Self { low: self.low - power, high: self.high - power }
    }

    /// It as ranges that each go up from one end to the other.
    pub fn ends(self) -> impl Iterator<Item = (f64, f64)> {
        let is_whole = self.low <= self.high;
        let whole = is_whole.then_some([(self.low, self.high)]).into_iter().flatten();
        let parts = (!is_whole).then_some([(f64::NEG_INFINITY, self.high), (self.low, f64::INFINITY)]);
        whole.chain(parts.into_iter().flatten())
    }

    /// Where the values in it stand.
    pub fn of<T>(self, values: &Rising<T>) -> [Range<usize>; 2] {
        if self.low <= self.high {
            [values.within(self.low, self.high), 0..0]
        } else {
            [values.within(f64::NEG_INFINITY, self.high), values.within(self.low, f64::INFINITY)]
        }
    }
}
