//! By how much what is written for an eye is off from what it needs.

use crate::optics::{Power, SpheroCylinder};

/// Rounding does not put an eye outside a limit, in dioptres.
pub const ROUNDING_D: f64 = 1e-9;

/// An equivalent that is off by more than this counts as too minus or too plus, in dioptres.
pub const TOO_MUCH_D: f64 = 0.25;

/// A cylinder from this strength on has an axis to count, in dioptres.
pub const AXIS_FROM_D: f64 = 0.50;

/// What an eye needs beside what is written for it, both at the vertex distance of the glasses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Off {
    /// What it needs.
    pub needs: Power,
    /// What is written.
    pub written: SpheroCylinder,
}

impl Off {
    /// What is written less what is needed, as a power vector.
    pub fn vector(&self) -> Power {
        self.written.power() - self.needs
    }

    /// By how much the equivalent is off, in dioptres: below 0 too much minus or too little plus.
    pub fn m_d(&self) -> f64 {
        self.vector().m
    }

    /// The cylinder that is left, in dioptres without a sign.
    pub fn cylinder_d(&self) -> f64 {
        2.0 * self.vector().astigmatism()
    }

    /// The most that is left in any meridian, in dioptres: |M| + |C|/2 of what is left.
    pub fn residual_d(&self) -> f64 {
        self.m_d().abs() + self.vector().astigmatism()
    }

    /// By how much the axis is off, in degrees from 0 to 90; `None` where the eye needs less than half a dioptre of cylinder or
    /// got none.
    pub fn axis_deg(&self) -> Option<f64> {
        let needed = self.needs.minus_form();
        let has_an_axis = needed.cylinder <= -AXIS_FROM_D && self.written.cylinder != 0.0;
        has_an_axis.then(|| between_axes_deg(self.written.axis, needed.axis).abs())
    }

    /// Whether the equivalent is more than a quarter too minus.
    pub fn is_over_minus(&self) -> bool {
        self.m_d() < -TOO_MUCH_D - ROUNDING_D
    }

    /// Whether the equivalent is more than a quarter too plus.
    pub fn is_over_plus(&self) -> bool {
        self.m_d() > TOO_MUCH_D + ROUNDING_D
    }
}

/// From one axis to another the short way round, in degrees, −90 to 90.
pub fn between_axes_deg(one: f64, other: f64) -> f64 {
    (one - other + 90.0).rem_euclid(180.0) - 90.0
}
