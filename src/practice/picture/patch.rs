//! What blur makes of a point: an ellipse, as the person sees it.
//!
//! A ray through the pupil at x arrives off its place by E x, E being the power that is missing. A round pupil so makes an
//! ellipse whose semi-axes are |E n| along the principal meridians times the radius of the pupil (the matrix of the power: Long
//! 1976). The eye's own sharpness adds to it in every direction alike, as squares.

use libm::{sincos, sqrt};

use crate::optics::Power;

/// A patch of even light: the places x with xᵀ Q⁻¹ x ≤ 1, Q in square minutes of arc, in the person's view.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    /// Q to the right.
    pub(super) xx: f64,
    /// Q between right and up.
    pub(super) xy: f64,
    /// Q upwards.
    pub(super) yy: f64,
}

impl Patch {
    /// A disc of this radius in minutes of arc.
    pub fn disc(radius_minutes: f64) -> Self {
        Self::level(radius_minutes, radius_minutes)
    }

    /// An ellipse that lies level: how far it reaches to the right and upwards.
    pub fn level(right_minutes: f64, up_minutes: f64) -> Self {
        Self { xx: right_minutes * right_minutes, xy: 0.0, yy: up_minutes * up_minutes }
    }

    /// What a round pupil makes of a power that is missing, given on the dial; so many minutes of arc for a dioptre.
    pub fn of_pupil(missing: Power, minutes_per_dioptre: f64) -> Self {
        let [xx, xy, yy] = in_the_persons_view(missing);
        let times = minutes_per_dioptre * minutes_per_dioptre;
        Self { xx: times * (xx * xx + xy * xy), xy: times * xy * (xx + yy), yy: times * (xy * xy + yy * yy) }
    }

    /// What a slit along a direction on the dial, in degrees, makes of it.
    pub fn of_slit(missing: Power, along_deg: f64, minutes_per_dioptre: f64) -> Self {
        let [xx, xy, yy] = in_the_persons_view(missing);
        // the direction is mirrored like the power
        let (up, right) = sincos((180.0 - along_deg).to_radians());
        let [x, y] = [xx * right + xy * up, xy * right + yy * up].map(|part| part * minutes_per_dioptre);
        Self { xx: x * x, xy: x * y, yy: y * y }
    }

    /// Both one after the other, as squares.
    #[must_use]
    pub fn with(self, other: Self) -> Self {
        Self { xx: self.xx + other.xx, xy: self.xy + other.xy, yy: self.yy + other.yy }
    }

    /// The same so many times as large.
    #[must_use]
    pub fn enlarged(self, times: f64) -> Self {
        let square = times * times;
        Self { xx: square * self.xx, xy: square * self.xy, yy: square * self.yy }
    }

    /// How far it reaches from its middle in a direction of the person's view, in degrees anticlockwise from the right; in minutes
    /// of arc.
    pub fn reach_minutes(&self, direction_deg: f64) -> f64 {
        let (sin, cos) = sincos(direction_deg.to_radians());
        sqrt((self.xx * cos * cos + 2.0 * self.xy * sin * cos + self.yy * sin * sin).max(0.0))
    }

    /// The places at which a point of the unit disc falls, one for each: right and up, in minutes of arc.
    pub(super) fn spread<'a>(&self, disc: &'a [[f64; 2]]) -> impl Iterator<Item = [f64; 2]> + use<'a> {
        // the lower triangle of Q = L Lᵀ takes the disc to the ellipse
        let right = sqrt(self.xx);
        let both = if right > 0.0 { self.xy / right } else { 0.0 };
        let up = sqrt((self.yy - both * both).max(0.0));
        disc.iter().map(move |&[one, two]| [right * one, both * one + up * two])
    }
}

/// Points spread evenly over the unit disc.
pub(super) fn even_disc(points: u32) -> Vec<[f64; 2]> {
    // turned by the golden angle from one to the next, no direction is preferred
    let golden = std::f64::consts::PI * (3.0 - sqrt(5.0));
    (0..points)
        .map(|point| {
            let (sin, cos) = sincos(golden * f64::from(point));
            let radius = sqrt((f64::from(point) + 0.5) / f64::from(points));
            [radius * cos, radius * sin]
        })
        .collect()
}

/// The matrix of a power that is given on the dial, in the person's view: to the right, between, upwards. The one place where
/// a picture is mirrored.
fn in_the_persons_view(power: Power) -> [f64; 3] {
    [power.m + power.j0, -power.j45, power.m - power.j0]
}
