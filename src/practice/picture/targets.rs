//! What a person looks at, as shapes: the fan, Landolt rings, letters.
//!
//! Directions are those of the person's view, anticlockwise from 3 o'clock. A shape says how far a place lies outside it.

use libm::{hypot, sincos};

use crate::optics::listed::listed;

/// Clock hours at which a line of the fan ends; its other end lies six hours further on.
pub const FAN_HOURS: [u8; 6] = [1, 2, 3, 4, 5, 6];

/// A line of the fan runs from here to there on both sides of the middle, in minutes of arc: ours, no source.
pub const FAN_FROM_TO_MINUTES: [f64; 2] = [9.0, 30.0];

/// The stroke of the fan, in minutes of arc, that of 6/15 on a chart: ours, no source.
pub const FAN_STROKE_MINUTES: f64 = 2.5;

/// The stroke and the gap of a ring are one fifth of its outer diameter (ISO 8596), and so is the stroke of a letter.
pub const FIFTHS: f64 = 5.0;

/// A bar with square ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    /// Its middle, to the right and upwards.
    pub middle: [f64; 2],
    /// Its direction, of length 1.
    pub along: [f64; 2],
    /// From end to end.
    pub length: f64,
    /// From side to side.
    pub width: f64,
}

impl Bar {
    /// The bar of width 1 between two places.
    fn between(from: [f64; 2], to: [f64; 2]) -> Self {
        let [run, rise] = [to[0] - from[0], to[1] - from[1]];
        let length = hypot(run, rise);
        let middle = [f64::midpoint(from[0], to[0]), f64::midpoint(from[1], to[1])];
        Self { middle, along: [run / length, rise / length], length, width: 1.0 }
    }

    /// How far a place lies outside it; below 0 within.
    pub fn outside_by(&self, place: [f64; 2]) -> f64 {
        let [along, across] = seen_along(self.along, [place[0] - self.middle[0], place[1] - self.middle[1]]);
        box_outside_by([along, across], [self.length / 2.0, self.width / 2.0])
    }

    /// The same of the bar and of one that lies opposite it on the other side of the origin.
    pub fn pair_outside_by(&self, place: [f64; 2]) -> f64 {
        let [along, _] = seen_along(self.along, place);
        self.outside_by(if along < 0.0 { place.map(|part| -part) } else { place })
    }
}

/// The direction in which the person sees a clock hour, in degrees anticlockwise from the right: 3 o'clock is 0, 12 is 90.
pub fn hour_in_the_persons_view_deg(hour: u8) -> f64 {
    (90.0 - 30.0 * f64::from(hour)).rem_euclid(360.0)
}

/// The half of the line of the fan that ends at this hour, in minutes of arc, the other half lying opposite; the stroke is no
/// thinner than given.
pub fn fan_line(hour: u8, thinnest_minutes: f64) -> Bar {
    let [from, to] = FAN_FROM_TO_MINUTES;
    let along = unit(hour_in_the_persons_view_deg(hour));
    Bar {
        middle: along.map(|part| f64::midpoint(from, to) * part),
        along,
        length: to - from,
        width: FAN_STROKE_MINUTES.max(thinnest_minutes),
    }
}

listed! {
    /// Letters whose strokes are one fifth of their height and width.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    #[expect(missing_docs, reason = "each is the letter")]
    pub enum Letter {
        E,
        F,
        H,
        L,
        N,
        O,
        T,
        V,
        Z,
    }
}

/// One sign of a line of the chart, its middle at the origin, in units of its stroke: five high and wide.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Optotype {
    /// A Landolt ring: outer diameter 5, stroke and gap 1 (ISO 8596).
    Ring {
        /// Where the gap lies in the person's view, in degrees anticlockwise from the right.
        gap_deg: f64,
    },
    /// A letter.
    Letter(Letter),
}

impl Optotype {
    /// How far a place lies outside it, in strokes; below 0 within.
    pub fn shape(self) -> Box<dyn Fn([f64; 2]) -> f64> {
        match self {
            Self::Ring { gap_deg } => {
                let gap = unit(gap_deg);
                Box::new(move |place| {
                    let [towards, aside] = seen_along(gap, place);
                    // the gap has parallel sides and runs outwards from the middle
                    closed_ring_outside_by(place).max(towards.min(0.5 - aside.abs()))
                })
            }
            Self::Letter(Letter::O) => Box::new(closed_ring_outside_by),
            Self::Letter(letter) => {
                let strokes = letter.strokes();
                Box::new(move |place| {
                    let of_strokes = strokes.iter().map(|bar| bar.outside_by(place)).fold(f64::INFINITY, f64::min);
                    of_strokes.max(box_outside_by(place, [2.5, 2.5]))
                })
            }
        }
    }
}

impl Letter {
    /// Its straight strokes, cut off where they leave the square of five by five.
    fn strokes(self) -> Vec<Bar> {
        // the middles of the outer strokes lie 2 from the middle, the edges 2.5
        let upright = |right: f64| Bar::between([right, -2.5], [right, 2.5]);
        let level = |up: f64, to: f64| Bar::between([-2.5, up], [to, up]);
        match self {
            Self::E => vec![upright(-2.0), level(2.0, 2.5), level(0.0, 2.5), level(-2.0, 2.5)],
            Self::F => vec![upright(-2.0), level(2.0, 2.5), level(0.0, 1.5)],
            Self::H => vec![upright(-2.0), upright(2.0), level(0.0, 2.5)],
            Self::L => vec![upright(-2.0), level(-2.0, 2.5)],
            Self::N => vec![upright(-2.0), upright(2.0), Bar::between([-2.3, 2.9], [2.3, -2.9])],
            Self::O => Vec::new(),
            Self::T => vec![level(2.0, 2.5), upright(0.0)],
            Self::V => vec![Bar::between([-2.15, 3.0], [0.1, -2.6]), Bar::between([2.15, 3.0], [-0.1, -2.6])],
            Self::Z => vec![level(2.0, 2.5), level(-2.0, 2.5), Bar::between([2.2, 2.6], [-2.2, -2.6])],
        }
    }
}

/// A ring of outer diameter 5 and stroke 1.
fn closed_ring_outside_by(place: [f64; 2]) -> f64 {
    (hypot(place[0], place[1]) - 2.0).abs() - 0.5
}

/// How far a place lies outside a box around the origin that reaches so far to the right and upwards.
fn box_outside_by(place: [f64; 2], reach: [f64; 2]) -> f64 {
    let [right, up] = [place[0].abs() - reach[0], place[1].abs() - reach[1]];
    hypot(right.max(0.0), up.max(0.0)) + right.max(up).min(0.0)
}

/// The direction at an angle in degrees, anticlockwise from the right, of length 1.
fn unit(degrees: f64) -> [f64; 2] {
    let (sin, cos) = sincos(degrees.to_radians());
    [cos, sin]
}

/// How far a place lies along a direction and to its left.
fn seen_along(along: [f64; 2], place: [f64; 2]) -> [f64; 2] {
    [place[0] * along[0] + place[1] * along[1], place[1] * along[0] - place[0] * along[1]]
}
