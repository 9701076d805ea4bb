//! How common which prescription is: right eyes of a public survey, counted on the quarter grid (NHANES 1999-2008, US
//! CDC/NCHS public-use vision examination: objective, no cycloplegia, age 12 and over, unweighted).

use std::sync::LazyLock;

use csv::ReaderBuilder;
use serde::Deserialize;

/// The table, with its source in its first lines.
const TABLE: &str = include_str!("refraction-counts.csv");

/// Where the axis of a minus cylinder lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum AxisClass {
    /// 151 to 180 and 1 to 30.
    With,
    /// 61 to 120.
    Against,
    /// 31 to 60 and 121 to 150.
    Oblique,
    /// There is no cylinder.
    None,
}

impl AxisClass {
    /// The stretches of axes that it is made of, from and to in degrees, each with half of its eyes: half a degree over, since
    /// 151 to 180 and 1 to 30 are what rounds to them.
    pub fn stretches_deg(self) -> [[f64; 2]; 2] {
        match self {
            Self::With => [[150.5, 180.5], [180.5, 210.5]],
            Self::Against => [[60.5, 90.5], [90.5, 120.5]],
            Self::Oblique => [[30.5, 60.5], [120.5, 150.5]],
            Self::None => [[0.0, 90.0], [90.0, 180.0]],
        }
    }
}

/// One row of the table: a prescription in minus-cylinder form on the quarter grid.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
pub struct Counted {
    /// Sphere in dioptres.
    pub sphere: f64,
    /// Cylinder in dioptres, 0 or below.
    pub cylinder: f64,
    /// Where its axis lies.
    pub axis_class: AxisClass,
    /// How many eyes needed it.
    pub eyes: u32,
}

/// The rows.
static ROWS: LazyLock<Vec<Counted>> = LazyLock::new(|| {
    let mut reader = ReaderBuilder::new().comment(Some(b'#')).from_reader(TABLE.as_bytes());
    reader.deserialize().filter_map(|row: Result<Counted, _>| row.ok()).collect()
});

/// Every row of the table.
pub fn counted() -> &'static [Counted] {
    &ROWS
}
