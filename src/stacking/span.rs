//! What lenses can make of which only the axes are open, or the powers too.

use libm::hypot;

use super::arc::Arc;
use super::meridians::Meridians;
use super::space::{SLACK_D, inward};
use crate::optics::Power;

/// Spherical equivalents and astigmatisms that some lenses can make, however they are turned.
///
/// The two principal meridians, the equivalent with and without the astigmatism, each go through a gap as a vergence does:
/// both sums grow with both, so the ends bound them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Span {
    /// Spherical equivalent, least and most.
    pub m: (f64, f64),
    /// Half the difference of the principal meridians, least and most.
    pub astigmatism: (f64, f64),
}

impl Span {
    /// No vergence at all.
    pub const NOTHING: Self = Self { m: (0.0, 0.0), astigmatism: (0.0, 0.0) };

    /// One power.
    pub fn of(power: Power) -> Self {
        let astigmatism = power.astigmatism();
        Self { m: (power.m, power.m), astigmatism: (astigmatism, astigmatism) }
    }

    /// What of it arrives at a cell that many metres nearer the eye; `None` when it may come to a focus before.
    pub fn inward(self, metres: f64) -> Option<Self> {
        if metres == 0.0 {
            return Some(self);
        }
        let at = |m: f64, astigmatism: f64| {
            let (more, less) = (inward(m + astigmatism, metres), inward(m - astigmatism, metres));
            (f64::midpoint(more, less), (more - less) / 2.0)
        };
        if metres * (self.m.1 + self.astigmatism.1) >= 1.0 {
            return None;
        }
        let (low, high) = (at(self.m.0, self.astigmatism.0), at(self.m.1, self.astigmatism.1));
        Some(Self { m: (low.0, high.0), astigmatism: (low.1, high.1) })
    }

    /// With a lens more, turned in any way.
    pub fn with(self, power: f64, is_cylinder: bool) -> Self {
        if !is_cylinder {
            return Self { m: (self.m.0 + power, self.m.1 + power), ..self };
        }
        let (half, (low, high)) = (power.abs() / 2.0, self.astigmatism);
        Self {
            m: (self.m.0 + power / 2.0, self.m.1 + power / 2.0),
            astigmatism: ((low - half).max(half - high).max(0.0), high + half),
        }
    }

    /// With a lens of a range of powers more, turned in any way.
    pub fn with_any(self, powers: Arc, is_cylinder: bool) -> Self {
        let (low, high) = (self.with(powers.low, is_cylinder), self.with(powers.high, is_cylinder));
        let least = if is_cylinder { 0.0 } else { self.astigmatism.0 };
        Self { m: (low.m.0, high.m.1), astigmatism: (least, low.astigmatism.1.max(high.astigmatism.1)) }
    }

    /// A miss that none of it can better.
    pub fn least_miss(self, wanted: Power) -> f64 {
        let outside = |value: f64, (low, high): (f64, f64)| (low - value).max(value - high).max(0.0);
        hypot(outside(wanted.m, self.m), outside(wanted.astigmatism(), self.astigmatism)) - SLACK_D
    }
}

/// What some lenses can make however they are turned, as far as it can be said: a range of all meridians always, and a span
/// where no light can come to a focus between the cells.
#[derive(Debug, Clone, Copy)]
pub(super) struct Reach {
    meridians: Arc,
    span: Option<Span>,
}

impl Reach {
    /// No vergence at all.
    pub const NOTHING: Self = Self { meridians: Arc::NOTHING, span: Some(Span::NOTHING) };

    /// One power.
    pub fn of(power: Power) -> Self {
        let astigmatism = power.astigmatism();
        let meridians = Arc { low: power.m - astigmatism - SLACK_D, high: power.m + astigmatism + SLACK_D };
        Self { meridians, span: Some(Span::of(power)) }
    }

    /// What of it arrives at a cell that many metres nearer the eye.
    pub fn inward(self, metres: f64) -> Self {
        Self { meridians: self.meridians.inward(metres), span: self.span.and_then(|span| span.inward(metres)) }
    }

    /// With a lens more, turned in any way.
    pub fn with(self, power: f64, is_cylinder: bool) -> Self {
        let powers = Arc::of(power);
        let meridians = self.meridians.plus(if is_cylinder { powers.and_nothing() } else { powers });
        Self { meridians, span: self.span.map(|span| span.with(power, is_cylinder)) }
    }

    /// With a lens of a range of powers more, turned in any way.
    pub fn with_any(self, powers: Arc, is_cylinder: bool) -> Self {
        let meridians = self.meridians.plus(if is_cylinder { powers.and_nothing() } else { powers });
        Self { meridians, span: self.span.map(|span| span.with_any(powers, is_cylinder)) }
    }

    /// Whether some of it may be what is needed.
    pub fn fits(self, needed: Meridians) -> bool {
        let span_fits = |span: Span| {
            let meets = |(low, high): (f64, f64), needed: Arc| low <= needed.high && high >= needed.low;
            meets(span.m, needed.equivalent()) && meets(span.astigmatism, needed.astigmatism())
        };
        needed.meet(self.meridians) && self.span.is_none_or(span_fits)
    }

    /// The powers of lenses that may make what is needed of it; all, where nothing can be said.
    pub fn powers_for(self, needed: Meridians, is_cylinder: bool) -> Arc {
        let Some(span) = self.span else { return Arc::EVERYTHING };
        let equivalent = needed.equivalent();
        let (low, high) = (equivalent.low - span.m.1 - SLACK_D, equivalent.high - span.m.0 + SLACK_D);
        if is_cylinder { Arc { low: 2.0 * low, high: 2.0 * high } } else { Arc { low, high } }
    }

    /// How far each principal meridian, the more and the less, is at the least from that of a power, in dioptres.
    pub fn off(self, wanted: Power) -> (f64, f64) {
        let astigmatism = wanted.astigmatism();
        (self.meridians.distance(wanted.m + astigmatism), self.meridians.distance(wanted.m - astigmatism))
    }

    /// A miss that none of it can better: at least the root of half the sum of the squared errors of the two principal meridians
    /// (Hoffman and Wielandt's inequality).
    pub fn least_miss(self, wanted: Power) -> f64 {
        let (more, less) = self.off(wanted);
        let by_meridians = f64::midpoint(more * more, less * less).sqrt() - SLACK_D;
        self.span.map_or(by_meridians, |span| span.least_miss(wanted).max(by_meridians))
    }
}
