//! Every permitted range in one table: what the quantity is called, its limits and its unit.
//!
//! The doors (notation, box and frame files, settings, command arguments) check against these and phrase their refusals
//! with [`Range::check`]; the property tests draw from the same limits.

use thiserror::Error;

/// A permitted range of one quantity, both limits included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// What people call the quantity.
    pub name: &'static str,
    /// The least permitted value.
    pub least: f64,
    /// The greatest permitted value.
    pub most: f64,
    /// The unit written behind a value, `""` for a plain number.
    pub unit: &'static str,
}

/// A value outside its range, or not a number at all.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("{name} {value}{unit} is outside {least}{unit} to {most}{unit}")]
pub struct OutOfRange {
    name: &'static str,
    value: f64,
    least: f64,
    most: f64,
    unit: &'static str,
}

impl Range {
    const fn new(name: &'static str, least: f64, most: f64, unit: &'static str) -> Self {
        Self { name, least, most, unit }
    }

    /// Whether a value lies in the range; NaN and infinities never do.
    pub fn contains(&self, value: f64) -> bool {
        value >= self.least && value <= self.most
    }

    /// The value itself when it lies in the range.
    ///
    /// # Errors
    /// [`OutOfRange`], naming the quantity, the value and both limits.
    pub fn check(&self, value: f64) -> Result<f64, OutOfRange> {
        if self.contains(value) {
            Ok(value)
        } else {
            Err(OutOfRange { name: self.name, value, least: self.least, most: self.most, unit: self.unit })
        }
    }
}

/// Power of a lens or of one meridian of a prescription. The strongest trial lenses are about 20 D.
pub const POWER: Range = Range::new("power", -40.0, 40.0, " D");
/// Power of a cross cylinder, which has both signs.
pub const CROSS_CYLINDER: Range = Range::new("power", 0.0, 40.0, " D");
/// Amount of a prism.
pub const PRISM: Range = Range::new("prism", 0.0, 40.0, " Δ");
/// Axis as written; 0 is accepted and means 180.
pub const AXIS: Range = Range::new("axis", 0.0, 180.0, "°");
/// Addition for near, of both eyes. The most that is prescribed for low vision, from memory.
pub const ADDITION: Range = Range::new("addition", 0.0, 20.0, " D");
/// What is taken off the spheres for a near chart: 1/d − 1/6 of the nearest chart, 0.5 m, is 1.83.
pub const CHART_ALLOWANCE: Range = Range::new("allowance for the chart", 0.0, 2.0, " D");
/// Base direction of a prism on the dial.
pub const BASE: Range = Range::new("base", 0.0, 359.0, "°");
/// Distance from the cornea to the back vertex of the lens in cell 1.
pub const VERTEX_MM: Range = Range::new("vertex distance", 0.0, 40.0, " mm");
/// Distance from one cell to the next.
pub const GAP_MM: Range = Range::new("gap", 0.0, 40.0, " mm");
/// Pupillary distance of both eyes together.
pub const PD_MM: Range = Range::new("pupillary distance", 30.0, 90.0, " mm");
/// Pupillary distance of one eye, from the middle of the nose.
pub const MONOCULAR_PD_MM: Range = Range::new("pupillary distance of one eye", 15.0, 45.0, " mm");
/// Chart distance.
pub const CHART_M: Range = Range::new("chart distance", 0.5, 10.0, " m");
/// Working distance of retinoscopy, and the near distance.
pub const NEAR_M: Range = Range::new("distance", 0.1, 2.0, " m");
/// Distance at which print is just clear.
pub const CLEAR_CM: Range = Range::new("distance of clear print", 10.0, 200.0, " cm");
/// Acuity as it is read off a chart: 6/1.9 to 6/600.
pub const LOG_MAR: Range = Range::new("acuity", -0.5, 2.0, " logMAR");
/// The greatest miss that counts as reached.
pub const WITHIN_D: Range = Range::new("miss", 0.0, 40.0, " D");
/// Letters missed or gained on a line.
pub const LETTERS: Range = Range::new("number of letters", 1.0, 9.0, "");
/// Pieces of one kind and power in a box.
pub const EACH: Range = Range::new("count", 1.0, 99.0, "");
/// Powers in one series.
pub const SERIES: Range = Range::new("number of powers in a series", 1.0, 400.0, "");
/// Cells before one eye.
pub const CELLS: Range = Range::new("number of cells", 1.0, 8.0, "");
/// Degrees between two marks of a frame's dial.
pub const AXIS_MARKS: Range = Range::new("distance of axis marks", 1.0, 45.0, "°");
/// Lower hour of a line of the fan, half hours between two lines.
pub const CLOCK_HOURS: Range = Range::new("hour of the clock", 1.0, 6.5, "");
/// Age of a person.
pub const AGE_YEARS: Range = Range::new("age", 1.0, 120.0, " years");
