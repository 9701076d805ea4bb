//! Prism as a base vector, and the prism that a decentred lens induces.

use libm::{atan2, hypot};
use serde::{Deserialize, Serialize};

use super::power::{Power, sin_cos_deg};
use super::quantity::{Eye, Millimetres, PrismDioptres};

/// The direction of a prism's base as it is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Base {
    /// Towards the brow.
    Up,
    /// Towards the cheek.
    Down,
    /// Towards the nose.
    In,
    /// Towards the temple.
    Out,
    /// Whole degrees on the dial, 0 to 359, 0 at the examiner's right, anticlockwise.
    #[serde(untagged)]
    Degrees(u16),
}

impl Base {
    /// The base at whole degrees on the dial, by its name where it has one for this eye.
    pub fn at(degrees: u16, eye: Eye) -> Self {
        let degrees = degrees % 360;
        [Self::Up, Self::Down, Self::In, Self::Out]
            .into_iter()
            .find(|base| base.degrees(eye).round() as u16 == degrees)
            .unwrap_or(Self::Degrees(degrees))
    }

    /// The direction in degrees on the dial, as the examiner sees it: in is 0° for the right eye and 180° for the left.
    pub fn degrees(self, eye: Eye) -> f64 {
        match (self, eye) {
            (Self::Up, _) => 90.0,
            (Self::Down, _) => 270.0,
            (Self::In, Eye::Right) | (Self::Out, Eye::Left) => 0.0,
            (Self::Out, Eye::Right) | (Self::In, Eye::Left) => 180.0,
            (Self::Degrees(degrees), _) => f64::from(degrees),
        }
    }
}

/// A prism as its base vector in prism dioptres: x to the examiner's right, y up.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Prism {
    /// Part with its base to the examiner's right (negative: left).
    pub x: f64,
    /// Part with its base up (negative: down).
    pub y: f64,
}

impl Prism {
    /// No prism.
    pub const NONE: Self = Self { x: 0.0, y: 0.0 };

    /// An amount in prism dioptres with its base at an angle in degrees on the dial.
    pub fn polar(amount: f64, base_deg: f64) -> Self {
        let (sin, cos) = sin_cos_deg(base_deg);
        Self { x: amount * cos, y: amount * sin }
    }

    /// What a lens induces whose optical centre stands at (`x`, `y`) from the pupil's centre (Prentice's rule, P = F c).
    ///
    /// x to the examiner's right, y up. A cylinder's cross term is part of it: decentred sideways, a cylinder at 45°
    /// also gives vertical prism.
    pub fn induced(lens: Power, x: Millimetres, y: Millimetres) -> Self {
        let (x_cm, y_cm) = (x.0 / 10.0, y.0 / 10.0);
        Self { x: (lens.m + lens.j0) * x_cm + lens.j45 * y_cm, y: lens.j45 * x_cm + (lens.m - lens.j0) * y_cm }
    }

    /// The amount in prism dioptres.
    pub fn amount(self) -> f64 {
        hypot(self.x, self.y)
    }

    /// The direction of the base in degrees, 0 up to 360; 0 when there is no prism.
    pub fn base_deg(self) -> f64 {
        if self.amount() < 1e-9 {
            return 0.0;
        }
        let degrees = atan2(self.y, self.x).to_degrees().rem_euclid(360.0);
        // what is only rounding below 0 would come out as the full circle, and a negative zero as one
        if degrees > 360.0 - 1e-9 { 0.0 } else { degrees + 0.0 }
    }

    /// The part with its base towards the nose of this eye; negative is out.
    pub fn base_in(self, eye: Eye) -> f64 {
        match eye {
            Eye::Right => self.x,
            Eye::Left => -self.x,
        }
    }
}

/// Up to this many prism dioptres in all, prisms one behind the other are near enough to their sum.
const STACKED_ADD_UP_TO_PDPT: f64 = 20.0;

/// What is said where prisms are added beyond that. Prism dioptres are the tangent of an angle, and thick prisms of glass
/// are held at angles of their own: 40 and 5 one behind the other make 59 (Thompson and Guyton, *Ophthalmology* 1983).
pub const STRONG_PRISMS_DO_NOT_ADD: &str = "Strong prisms do not add: above about 20 prism dioptres in all, prisms one \
     behind the other turn light by more than their sum (40 and 5 make 59; Thompson and Guyton 1983).";

/// Whether prisms of so many prism dioptres in all, whatever their bases, are too strong to be added.
pub fn are_too_strong_to_add(in_all: PrismDioptres) -> bool {
    in_all.0 > STACKED_ADD_UP_TO_PDPT
}

/// The same of prisms that stand one behind the other: one alone is what it is, however strong.
pub fn stack_is_too_strong_to_add(prisms: &[Prism]) -> bool {
    let in_all: f64 = prisms.iter().map(|prism| prism.amount()).sum();
    prisms.len() > 1 && are_too_strong_to_add(PrismDioptres(in_all))
}

/// How far the centres of an eye's lenses stand towards the examiner's right of the pupil, when the frame is set to one
/// monocular pupillary distance and the eye has another.
pub fn decentration_to_examiners_right(eye: Eye, frame_pd: Millimetres, eye_pd: Millimetres) -> Millimetres {
    let outward = frame_pd.0 - eye_pd.0;
    // The right eye stands on the examiner's left, so outward is leftward there.
    Millimetres(match eye {
        Eye::Right => -outward,
        Eye::Left => outward,
    })
}

impl std::ops::Add for Prism {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { x: self.x + other.x, y: self.y + other.y }
    }
}

impl std::ops::Neg for Prism {
    type Output = Self;
    fn neg(self) -> Self {
        Self { x: -self.x, y: -self.y }
    }
}

impl std::ops::Sub for Prism {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl std::iter::Sum for Prism {
    fn sum<I: Iterator<Item = Self>>(prisms: I) -> Self {
        prisms.fold(Self::NONE, std::ops::Add::add)
    }
}
