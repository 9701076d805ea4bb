//! What a box makes as rows of figures: spheres across, cylinders down.

use super::coverage::{Coverage, Made};
use super::wanted::Wanted;

/// How far two places of a map are apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Zoom {
    /// Quarter steps: every prescription of the grid.
    Quarter,
    /// Half steps: a place shows the worst of its four quarter steps, its own and those a quarter more plus, a quarter more
    /// cylinder, and both.
    #[default]
    Half,
}

impl Zoom {
    /// How many quarter steps a place takes.
    fn quarters(self) -> usize {
        match self {
            Self::Quarter => 1,
            Self::Half => 2,
        }
    }

    /// The step in dioptres.
    pub fn step_d(self) -> f64 {
        self.quarters() as f64 / 4.0
    }
}

/// Which figure of a coverage a map shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MapEyes {
    /// Fewest lenses before one eye.
    One,
    /// Fewest lenses an eye with both eyes alike.
    Both,
}

impl MapEyes {
    fn of(self, made: &Made) -> Option<u8> {
        match self {
            Self::One => made.lenses,
            Self::Both => made.both,
        }
    }
}

/// What stands in one place: the fewest lenses, `None` where it is not made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MapFigure {
    /// Of the box.
    pub lenses: Option<u8>,
    /// Of the box that it is compared with, when there is one.
    pub beside: Option<Option<u8>>,
}

impl MapFigure {
    /// As it is written: a digit for each box, and what stands for a prescription that is not made.
    pub fn text(self, not_made: char) -> String {
        let digit = |lenses: Option<u8>| lenses.and_then(|n| char::from_digit(u32::from(n), 10)).unwrap_or(not_made);
        std::iter::once(self.lenses).chain(self.beside).map(digit).collect()
    }
}

/// Rows of figures, one row for each cylinder from none down, in each a figure for each sphere from minus to plus.
#[derive(Debug, Clone, PartialEq)]
pub struct CoverageMap {
    /// How far two places are apart.
    pub zoom: Zoom,
    /// The sphere of each column, in dioptres, rising.
    pub spheres: Vec<f64>,
    /// The cylinder of each row, in dioptres, from none to the strongest.
    pub cylinders: Vec<f64>,
    /// By row and column.
    pub rows: Vec<Vec<MapFigure>>,
}

impl CoverageMap {
    /// The map of a box, beside that of another when there is one.
    pub fn of(coverage: &Coverage, beside: Option<&Coverage>, eyes: MapEyes, zoom: Zoom) -> Self {
        let columns =
            coverage.grid.iter().take_while(|made| made.wanted.sphere == coverage.grid[0].wanted.sphere).count();
        let lines = coverage.grid.len() / columns.max(1);
        // worst: not made, then the most lenses
        let worst = |of: &Coverage, sphere: usize, cylinder: usize| {
            let span = |from: usize, end: usize| from..(from + zoom.quarters()).min(end);
            let figures = span(sphere, lines)
                .flat_map(|sphere| span(cylinder, columns).map(move |cylinder| sphere * columns + cylinder))
                .map(|index| eyes.of(&of.grid[index]));
            figures.collect::<Option<Vec<u8>>>().map(|lenses| lenses.into_iter().fold(0, u8::max))
        };
        let spheres: Vec<usize> = (0..lines).step_by(zoom.quarters()).collect();
        let cylinders: Vec<usize> = (0..columns).step_by(zoom.quarters()).collect();
        let figure = |sphere: usize, cylinder: usize| MapFigure {
            lenses: worst(coverage, sphere, cylinder),
            beside: beside.map(|other| worst(other, sphere, cylinder)),
        };
        let row = |&cylinder: &usize| spheres.iter().map(|&sphere| figure(sphere, cylinder)).collect();
        Self {
            zoom,
            spheres: spheres.iter().map(|index| coverage.grid[index * columns].wanted.sphere).collect(),
            cylinders: cylinders.iter().map(|index| coverage.grid[*index].wanted.cylinder).collect(),
            rows: cylinders.iter().map(row).collect(),
        }
    }

    /// The row and column in which a prescription of the grid is shown.
    pub fn place_of(&self, wanted: Wanted) -> Option<(usize, usize)> {
        wanted.grid_index()?;
        let column = self.spheres.partition_point(|sphere| *sphere <= wanted.sphere).checked_sub(1)?;
        let row = self.cylinders.partition_point(|cylinder| *cylinder >= wanted.cylinder).checked_sub(1)?;
        Some((row, column))
    }
}
