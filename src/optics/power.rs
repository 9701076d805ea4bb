//! Sphero-cylindrical power as a power vector, and its written forms.

use std::ops::{Add, AddAssign, Neg, Sub};

use libm::{atan2, hypot, sincos};
use serde::{Deserialize, Serialize};

use super::quantity::{Axis, Dioptres};

/// A cylinder weaker than this counts as none: far below any lens, far above rounding.
const NO_CYLINDER_D: f64 = 1e-9;

/// A sphero-cylindrical power or vergence as a power vector, all three parts in dioptres.
///
/// `m` is the spherical equivalent, `j0` the part of the cylinder along 180/90 and `j45` the part along 45/135.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Power {
    /// Spherical equivalent, S + C/2.
    pub m: f64,
    /// −(C/2) cos 2A.
    pub j0: f64,
    /// −(C/2) sin 2A.
    pub j45: f64,
}

/// Sphere, cylinder and axis, in whichever cylinder form the name of the value says; axis 180 when there is no cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct SpheroCylinder {
    /// Sphere in dioptres.
    pub sphere: f64,
    /// Cylinder in dioptres.
    pub cylinder: f64,
    /// Axis in degrees, above 0 and up to 180: the meridian in which the cylinder has no power.
    pub axis: f64,
}

impl SpheroCylinder {
    /// The same power written with the cylinder of the other sign: sphere plus cylinder, cylinder reversed, axis across.
    #[must_use]
    pub fn transposed(self) -> Self {
        if self.cylinder == 0.0 {
            return self;
        }
        Self { sphere: self.sphere + self.cylinder, cylinder: -self.cylinder, axis: fold_axis(self.axis + 90.0) }
    }

    /// The power vector, whichever cylinder form this is.
    pub fn power(self) -> Power {
        Power::sphere(Dioptres(self.sphere)) + Power::cylinder(Dioptres(self.cylinder), self.axis)
    }
}

/// Folds any angle onto above 0 and up to 180 degrees. What is only rounding away from 0 is 180, the same meridian.
pub fn fold_axis(degrees: f64) -> f64 {
    let folded = degrees.rem_euclid(180.0);
    if folded < 1e-9 { 180.0 } else { folded }
}

/// Sine and cosine of an angle in degrees, exact at multiples of a right angle, so that an axis of 180 has no part along
/// 45 at all.
pub(super) fn sin_cos_deg(degrees: f64) -> (f64, f64) {
    let turn = degrees.rem_euclid(360.0);
    let quarters = (turn / 90.0).round();
    let (sin, cos) = sincos((turn - 90.0 * quarters).to_radians());
    match quarters as u8 % 4 {
        0 => (sin, cos),
        1 => (cos, -sin),
        2 => (-sin, -cos),
        _ => (-cos, sin),
    }
}

impl Power {
    /// No power at all.
    pub const ZERO: Self = Self { m: 0.0, j0: 0.0, j45: 0.0 };

    /// The same power in every meridian, without a cylinder.
    pub fn sphere(power: Dioptres) -> Self {
        Self { m: power.0, j0: 0.0, j45: 0.0 }
    }

    /// What has these powers along a meridian (any angle in degrees) and across it.
    pub fn principal(meridian_deg: f64, along: Dioptres, across: Dioptres) -> Self {
        let (sin, cos) = sin_cos_deg(2.0 * meridian_deg);
        let half = (along.0 - across.0) / 2.0;
        Self { m: f64::midpoint(along.0, across.0), j0: half * cos, j45: half * sin }
    }

    /// A plano-cylinder with its axis at any angle in degrees.
    pub fn cylinder(power: Dioptres, axis_deg: f64) -> Self {
        let (sin, cos) = sin_cos_deg(2.0 * axis_deg);
        let half = power.0 / 2.0;
        Self { m: half, j0: -half * cos, j45: -half * sin }
    }

    /// A cross cylinder of power `F`: +F and −F at right angles, its minus axis (the meridian of +F) at `minus_axis`.
    ///
    /// Written out it is +F/−2F × `minus_axis`: no spherical equivalent, |J| = F (Harris, *S Afr Optom* 2007;66:41-55).
    pub fn cross_cylinder(power: Dioptres, minus_axis: Axis) -> Self {
        Self::sphere(power) + Self::cylinder(Dioptres(-2.0 * power.0), f64::from(minus_axis.degrees()))
    }

    /// The length of the astigmatic part: half the cylinder.
    pub fn astigmatism(self) -> f64 {
        hypot(self.j0, self.j45)
    }

    /// Blur strength √(M² + J0² + J45²) (Thibos and Horner, *J Cataract Refract Surg* 2001;27:80-85).
    pub fn blur_strength(self) -> f64 {
        (self.m * self.m + self.j0 * self.j0 + self.j45 * self.j45).sqrt()
    }

    /// How far this power is from another, in dioptres: the blur strength of their difference.
    pub fn miss(self, wanted: Self) -> f64 {
        (self - wanted).blur_strength()
    }

    /// The power along a meridian, in dioptres.
    pub fn along(self, meridian_deg: f64) -> f64 {
        let (sin, cos) = sin_cos_deg(2.0 * meridian_deg);
        self.m + self.j0 * cos + self.j45 * sin
    }

    /// So many times the power.
    #[must_use]
    pub fn scaled(self, times: f64) -> Self {
        Self { m: self.m * times, j0: self.j0 * times, j45: self.j45 * times }
    }

    /// The power turned anticlockwise by an angle in degrees.
    #[must_use]
    pub fn turned(self, degrees: f64) -> Self {
        let (sin, cos) = sin_cos_deg(2.0 * degrees);
        Self { m: self.m, j0: self.j0 * cos - self.j45 * sin, j45: self.j0 * sin + self.j45 * cos }
    }

    /// Written with a minus cylinder.
    pub fn minus_form(self) -> SpheroCylinder {
        let half = self.astigmatism();
        if half < NO_CYLINDER_D {
            return SpheroCylinder { sphere: self.m, cylinder: 0.0, axis: 180.0 };
        }
        // Two arguments: with one, the axis comes out 90 degrees wrong in half the cases.
        let axis = atan2(self.j45, self.j0).to_degrees() / 2.0;
        SpheroCylinder { sphere: self.m + half, cylinder: -2.0 * half, axis: fold_axis(axis) }
    }

    /// Written with a plus cylinder.
    pub fn plus_form(self) -> SpheroCylinder {
        self.minus_form().transposed()
    }

    /// Whether all three parts are finite numbers.
    pub fn is_finite(self) -> bool {
        self.m.is_finite() && self.j0.is_finite() && self.j45.is_finite()
    }
}

impl Add for Power {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { m: self.m + other.m, j0: self.j0 + other.j0, j45: self.j45 + other.j45 }
    }
}

impl AddAssign for Power {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Sub for Power {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Neg for Power {
    type Output = Self;
    fn neg(self) -> Self {
        Self { m: -self.m, j0: -self.j0, j45: -self.j45 }
    }
}

impl std::iter::Sum for Power {
    fn sum<I: Iterator<Item = Self>>(powers: I) -> Self {
        powers.fold(Self::ZERO, Add::add)
    }
}
