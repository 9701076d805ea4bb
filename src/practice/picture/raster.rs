//! A grid of levels, how it lies before whoever looks at it, and shapes drawn into it with soft edges.

/// Levels of square pixels from 0 (nothing) to 1 (full): ink where a chart is drawn, light where a pupil is.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    columns: usize,
    rows: usize,
    levels: Vec<f64>,
}

impl Grid {
    /// A grid with nothing in it.
    pub fn empty(columns: usize, rows: usize) -> Self {
        Self { columns, rows, levels: vec![0.0; columns * rows] }
    }

    /// A grid whose levels are told for each column and row, brought within 0 to 1.
    pub fn from_levels(columns: usize, rows: usize, level: impl Fn(usize, usize) -> f64) -> Self {
        let mut grid = Self::empty(columns, rows);
        for row in 0..rows {
            for column in 0..columns {
                grid.levels[row * columns + column] = level(column, row).clamp(0.0, 1.0);
            }
        }
        grid
    }

    /// Pixels from left to right.
    pub fn columns(&self) -> usize {
        self.columns
    }

    /// Pixels from top to bottom.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// The level of a pixel, counted from the upper left corner; nothing beyond the edges.
    pub fn level(&self, column: usize, row: usize) -> f64 {
        if column < self.columns && row < self.rows { self.levels[row * self.columns + column] } else { 0.0 }
    }

    /// The levels of one row, from left to right; none beyond the edges.
    pub fn row(&self, row: usize) -> &[f64] {
        if row < self.rows { &self.levels[row * self.columns..(row + 1) * self.columns] } else { &[] }
    }

    /// Adds so many times what another grid of the same size holds; no level goes beyond 1.
    pub(super) fn add(&mut self, other: &Self, times: f64) {
        for (level, more) in self.levels.iter_mut().zip(&other.levels) {
            *level = (*level + times * more).min(1.0);
        }
    }
}

/// In what a picture is shown: which decides how its pixels are put together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// Every pixel by itself: half blocks, or the pixels of a terminal that has them.
    Pixels,
    /// Two pixels, one above the other, as one character.
    Characters,
}

impl Shown {
    /// How many pixels high is what is shown at once; all are one pixel wide.
    pub fn pixels_high(self) -> usize {
        match self {
            Self::Pixels => 1,
            Self::Characters => 2,
        }
    }
}

/// How a picture lies: x runs to the right, y upwards, from its middle.
///
/// The unit is the minute of arc or the stroke for what a person looks at, the millimetre for a pupil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Field {
    /// Pixels from left to right.
    pub columns: usize,
    /// Pixels from top to bottom.
    pub rows: usize,
    /// Pixels to a unit.
    pub pixels_per_unit: f64,
    /// Where its middle lies from the upper left corner, in pixels.
    middle: [f64; 2],
}

impl Field {
    /// The largest field of so many pixels in which a square of this side, in units, fits.
    pub fn around(columns: usize, rows: usize, side: f64) -> Self {
        Self {
            columns,
            rows,
            pixels_per_unit: columns.min(rows) as f64 / side,
            middle: [columns as f64 / 2.0, rows as f64 / 2.0],
        }
    }

    /// The same with its middle a quarter of a pixel, or of a character, from the middle of one: there a level line meets them as
    /// a slanting one does in the mean, and looks neither sharper nor paler for it.
    #[must_use]
    pub fn between_pixels(self, shown: Shown) -> Self {
        let high = shown.pixels_high();
        let quarter = |pixels: usize, size: usize| ((pixels / size / 2) as f64 + 0.25) * size as f64;
        Self { middle: [quarter(self.columns, 1), quarter(self.rows, high)], ..self }
    }

    /// Where the middle of a pixel lies: to the right and upwards, in units.
    pub fn place(&self, column: usize, row: usize) -> [f64; 2] {
        [
            (column as f64 + 0.5 - self.middle[0]) / self.pixels_per_unit,
            (self.middle[1] - row as f64 - 0.5) / self.pixels_per_unit,
        ]
    }

    /// A shape in this field, told by how far a place lies outside it in units (below 0: inside). An edge that goes through a
    /// pixel fills the share of it that lies within.
    pub fn drawn(&self, outside_by: impl Fn([f64; 2]) -> f64) -> Grid {
        Grid::from_levels(self.columns, self.rows, |column, row| {
            0.5 - outside_by(self.place(column, row)) * self.pixels_per_unit
        })
    }
}
