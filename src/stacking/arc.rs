//! A range of one meridian's vergence that knows of foci.
//!
//! Light that comes to a focus between two cells converges before it and diverges behind it: its vergence goes through
//! infinity. On the circle that the vergences make with infinity, a gap maps a range to a range, and so nothing is lost.

use std::ops::Range;

use super::rising::Rising;

/// Slack for comparing sums of floating-point powers: far below any lens, far above rounding.
pub(super) const SLACK_D: f64 = 1e-9;

/// One meridian's vergence moved towards the eye.
pub(super) fn inward(vergence: f64, metres: f64) -> f64 {
    vergence / (1.0 - metres * vergence)
}

/// The values from `low` up to `high`; where `low` is above `high`, up through infinity and on from below.
#[derive(Debug, Clone, Copy)]
pub(super) struct Arc {
    pub low: f64,
    pub high: f64,
}

impl Arc {
    /// Any value.
    pub const EVERYTHING: Self = Self { low: f64::NEG_INFINITY, high: f64::INFINITY };
    /// No vergence at all.
    pub const NOTHING: Self = Self { low: 0.0, high: 0.0 };

    /// All values within a distance of a value.
    pub fn around(value: f64, distance: f64) -> Self {
        Self { low: value - distance - SLACK_D, high: value + distance + SLACK_D }
    }

    /// One value.
    pub fn of(value: f64) -> Self {
        Self { low: value, high: value }
    }

    /// The powers that meridians of a cylinder of this range can have.
    pub fn and_nothing(self) -> Self {
        Self { low: self.low.min(0.0), high: self.high.max(0.0) }
    }

    fn is_everything(self) -> bool {
        self.low.is_infinite() || self.high.is_infinite()
    }

    /// Whether it goes up through infinity and on from below.
    pub fn is_through_infinity(self) -> bool {
        self.low > self.high
    }

    fn mapped(self, metres: f64, map: impl Fn(f64) -> f64) -> Self {
        if metres == 0.0 || self.is_everything() {
            return self;
        }
        let (low, high) = (map(self.low) - SLACK_D, map(self.high) + SLACK_D);
        // an end that lies at infinity says nothing more
        if low.is_finite() && high.is_finite() { Self { low, high } } else { Self::EVERYTHING }
    }

    /// What of it arrives at a cell that many metres nearer the eye.
    pub fn inward(self, metres: f64) -> Self {
        self.mapped(metres, |value| inward(value, metres))
    }

    /// What must leave a cell that many metres farther out for it to arrive.
    pub fn outward(self, metres: f64) -> Self {
        self.mapped(metres, |value| value / (1.0 + metres * value))
    }

    /// What is left to find when a lens adds this much.
    pub fn less(self, power: f64) -> Self {
        Self { low: self.low - power, high: self.high - power }
    }

    /// The sums of its values and another's.
    pub fn plus(self, other: Self) -> Self {
        self.combined(other, self.low + other.low, self.high + other.high)
    }

    /// What must be added to one of another's values to make one of its own.
    pub fn minus(self, other: Self) -> Self {
        self.combined(other, self.low - other.high, self.high - other.low)
    }

    fn combined(self, other: Self, low: f64, high: f64) -> Self {
        if self.is_everything() || other.is_everything() {
            return Self::EVERYTHING;
        }
        match (self.is_through_infinity(), other.is_through_infinity()) {
            (false, false) => Self { low, high },
            // the two ends may have passed each other: then nothing is left out
            (true, false) | (false, true) if low > high => Self { low, high },
            (true, _) | (_, true) => Self::EVERYTHING,
        }
    }

    /// Whether a value lies in it.
    pub fn contains(self, value: f64) -> bool {
        if self.is_through_infinity() {
            value >= self.low || value <= self.high
        } else {
            value >= self.low && value <= self.high
        }
    }

    /// Whether a value lies in both.
    pub fn meets(self, other: Self) -> bool {
        match (self.is_through_infinity(), other.is_through_infinity()) {
            (false, false) => self.low <= other.high && other.low <= self.high,
            (true, false) => other.high >= self.low || other.low <= self.high,
            (false, true) => other.meets(self),
            (true, true) => true,
        }
    }

    /// How far a value is from it.
    pub fn distance(self, value: f64) -> f64 {
        if self.contains(value) {
            return 0.0;
        }
        (self.low - value).abs().min((value - self.high).abs())
    }

    /// The least that a value of it and one of another are apart.
    pub fn least_apart(self, other: Self) -> f64 {
        if self.is_through_infinity() || other.is_through_infinity() {
            return 0.0;
        }
        (self.low - other.high).max(other.low - self.high)
    }

    /// The most that a value of it and one of another are apart.
    pub fn most_apart(self, other: Self) -> f64 {
        if self.is_through_infinity() || other.is_through_infinity() {
            return f64::INFINITY;
        }
        (self.high - other.low).max(other.high - self.low)
    }

    /// It as ranges that each go up from one end to the other.
    pub fn ends(self) -> impl Iterator<Item = (f64, f64)> {
        let whole = (!self.is_through_infinity()).then_some((self.low, self.high));
        let parts = self.is_through_infinity().then_some([(f64::NEG_INFINITY, self.high), (self.low, f64::INFINITY)]);
        whole.into_iter().chain(parts.into_iter().flatten())
    }

    /// Indices of the powers that lie in it.
    pub fn of_rising(self, powers: &Rising) -> [Range<usize>; 2] {
        if self.is_through_infinity() {
            [powers.within(f64::NEG_INFINITY, self.high), powers.within(self.low, f64::INFINITY)]
        } else {
            [powers.within(self.low, self.high), 0..0]
        }
    }
}
