//! Prescriptions that are asked for, and the grid of them.

use serde::Serialize;

/// The spheres of the grid in quarters of a dioptre, from and to.
const GRID_SPHERES: (i32, i32) = (-80, 80);
/// The cylinders of the grid in quarters of a dioptre, from and to.
const GRID_CYLINDERS: (i32, i32) = (0, -24);

/// A prescription in minus-cylinder form. Its axis does not matter: 180.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Wanted {
    /// Sphere in dioptres.
    pub sphere: f64,
    /// Cylinder in dioptres, 0 or below.
    pub cylinder: f64,
}

impl Wanted {
    /// In minus-cylinder form, whichever form the figures are of.
    pub fn of(sphere: f64, cylinder: f64) -> Self {
        if cylinder > 0.0 { Self { sphere: sphere + cylinder, cylinder: -cylinder } } else { Self { sphere, cylinder } }
    }

    /// Every prescription from −20 to +20 D of sphere and 0 to −6 D of cylinder in quarters: by rising sphere, of each from no
    /// cylinder to the strongest.
    pub fn grid() -> Vec<Self> {
        let quarter = |quarters: i32| f64::from(quarters) / 4.0;
        let cylinders = move || (GRID_CYLINDERS.1..=GRID_CYLINDERS.0).rev();
        let of_sphere = move |sphere| {
            cylinders().map(move |cylinder| Self { sphere: quarter(sphere), cylinder: quarter(cylinder) })
        };
        (GRID_SPHERES.0..=GRID_SPHERES.1).flat_map(of_sphere).collect()
    }

    /// Where a prescription stands on the grid, if it is one of the grid's.
    pub fn grid_index(self) -> Option<usize> {
        let (sphere, cylinder) = (self.sphere * 4.0, self.cylinder * 4.0);
        let is_whole = sphere.fract() == 0.0 && cylinder.fract() == 0.0;
        let (sphere, cylinder) = (sphere as i32, cylinder as i32);
        let is_on = is_whole
            && (GRID_SPHERES.0..=GRID_SPHERES.1).contains(&sphere)
            && (GRID_CYLINDERS.1..=GRID_CYLINDERS.0).contains(&cylinder);
        let columns = GRID_CYLINDERS.0 - GRID_CYLINDERS.1 + 1;
        is_on.then(|| ((sphere - GRID_SPHERES.0) * columns + (GRID_CYLINDERS.0 - cylinder)) as usize)
    }

    /// The power across the axis.
    pub(super) fn across(self) -> f64 {
        self.sphere + self.cylinder
    }
}

/// Prescriptions that want the same power in one respect, so that the same spheres serve them.
#[derive(Debug)]
pub(super) struct Row {
    /// The power that they share, in dioptres.
    pub shared: f64,
    /// Each with what else it wants, and its number.
    pub wants: Vec<(f64, usize)>,
}

/// By what prescriptions are put into rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum RowsBy {
    /// The power along their axis, where minus cylinders stand; what else they want is the power across it.
    Axis,
    /// The power across their axis, where plus cylinders stand; what else they want is the power along it.
    Across,
    /// The spherical equivalent, which spheres alone can make; what else they want is half their cylinder.
    Equivalent,
}

impl RowsBy {
    /// What a prescription shares with others, and what else it wants.
    fn parts(self, of: &Wanted) -> (f64, f64) {
        match self {
            Self::Axis => (of.sphere, of.across()),
            Self::Across => (of.across(), of.sphere),
            Self::Equivalent => (of.sphere + of.cylinder / 2.0, of.cylinder / 2.0),
        }
    }
}

/// The rows of some prescriptions.
pub(super) fn rows(wanted: &[Wanted], by: RowsBy) -> Vec<Row> {
    let shared = |number: usize| by.parts(&wanted[number]).0;
    let mut numbers: Vec<usize> = (0..wanted.len()).collect();
    numbers.sort_by(|&one, &other| shared(one).total_cmp(&shared(other)));
    let row = |numbers: &[usize]| Row {
        shared: shared(numbers[0]),
        wants: numbers.iter().map(|&number| (by.parts(&wanted[number]).1, number)).collect(),
    };
    numbers.chunk_by(|&one, &other| shared(one) == shared(other)).map(row).collect()
}
