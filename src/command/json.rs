//! The shapes of JSON that several commands share. Numbers are not rounded; there is no minus zero.

use std::io::{self, Write};

use serde::Serialize;

use crate::frame::sureness::Sureness;
use crate::optics::decentration::split_in_halves;
use crate::optics::{Eye, Power, Prism, SpheroCylinder};

/// Writes one JSON value on one line.
///
/// # Errors
/// When it cannot be written.
pub fn write_line(out: &mut dyn Write, value: &impl Serialize) -> io::Result<()> {
    serde_json::to_writer(&mut *out, value)?;
    out.write_all(b"\n")
}

/// A power in minus-cylinder form and as a power vector; the axis is 180 without a cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PowerJson {
    sphere: f64,
    cylinder: f64,
    axis: f64,
    m: f64,
    j0: f64,
    j45: f64,
}

impl From<Power> for PowerJson {
    fn from(power: Power) -> Self {
        let FormJson { sphere, cylinder, axis } = power.minus_form().into();
        Self {
            sphere,
            cylinder,
            axis,
            m: no_minus_zero(power.m),
            j0: no_minus_zero(power.j0),
            j45: no_minus_zero(power.j45),
        }
    }
}

/// What a person's hand may spoil of a stack, each part in dioptres of miss.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SureJson {
    axis: f64,
    gaps: f64,
    /// Null where no tolerance of the marks is set.
    marks: Option<f64>,
    together: f64,
    /// Of the power at the cornea, a millimetre of vertex distance.
    vertex: f64,
}

impl From<&Sureness> for SureJson {
    fn from(sure: &Sureness) -> Self {
        Self {
            axis: sure.axis_d,
            gaps: sure.gaps_d,
            marks: sure.marks_d,
            together: sure.together_d,
            vertex: sure.vertex_d,
        }
    }
}

/// Sphere, cylinder and axis.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FormJson {
    sphere: f64,
    cylinder: f64,
    axis: f64,
}

impl From<SpheroCylinder> for FormJson {
    fn from(form: SpheroCylinder) -> Self {
        Self { sphere: no_minus_zero(form.sphere), cylinder: no_minus_zero(form.cylinder), axis: form.axis }
    }
}

/// A prism: amount in prism dioptres, base in degrees on the dial.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PrismJson {
    amount: f64,
    base: f64,
}

impl From<Prism> for PrismJson {
    fn from(prism: Prism) -> Self {
        Self { amount: no_minus_zero(prism.amount()), base: no_minus_zero(prism.base_deg()) }
    }
}

/// A prism split in halves, before each eye.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SplitJson {
    right: PrismJson,
    left: PrismJson,
}

impl SplitJson {
    /// The halves of a prism before one eye.
    pub fn of(prism: Prism, eye: Eye) -> Self {
        let [this, other] = split_in_halves(prism).map(PrismJson::from);
        match eye {
            Eye::Right => Self { right: this, left: other },
            Eye::Left => Self { right: other, left: this },
        }
    }
}

pub(super) fn no_minus_zero(value: f64) -> f64 {
    value + 0.0
}
