//! A shape seen through a patch of blur.
//!
//! A grid is taken as squares of even ink, a patch as slices of even light: along a row a slice is summed exactly, across the
//! rows it is cut where the rows meet. What is left of the raster (a slanting edge is drawn softer than a level one) is taken
//! out of each line of the fan by itself, so that the raster teaches no astigmatism.

use libm::{ceil, floor, hypot, sqrt};

use super::patch::Patch;
use super::raster::{Field, Grid, Shown};
use super::targets::{FAN_FROM_TO_MINUTES, FAN_HOURS, FIFTHS, Optotype, fan_line};

/// A picture of the fan leaves so much around it, in minutes of arc.
const FAN_MARGIN_MINUTES: f64 = 4.0;

/// A line of the fan is drawn no thinner than this, in pixels.
const THINNEST_PIXELS: f64 = 2.0;

/// A picture of one sign is so many strokes wide: half a stroke and more is left on each side for its blur.
const OPTOTYPE_SIDE_STROKES: f64 = FIFTHS + 2.5;

/// In the fan each pixel, or character, takes in what lies so near it, in heights of its own: so that less hangs on where a line
/// meets them.
const SOFT_FAN_PIXELS: f64 = 0.7;

/// No patch is thinner than this on each side of its middle, in pixels: a raster shows nothing finer.
const LEAST_PIXELS: f64 = 0.3;

/// Slices to a row of a patch that reaches so many rows up and down; of a higher one, one.
const SLICES_UP_TO: [(f64, f64); 2] = [(6.0, 4.0), (12.0, 2.0)];

/// The fan as the person sees it through this patch: six lines, 12 o'clock upwards.
pub fn fan(columns: usize, rows: usize, shown: Shown, patch: &Patch) -> Grid {
    fan_lines(columns, rows, shown, &FAN_HOURS, patch)
}

/// The lines of the fan alone that end at these hours, each holding as much ink as it is long and wide, wherever it meets the
/// pixels.
pub fn fan_lines(columns: usize, rows: usize, shown: Shown, hours: &[u8], patch: &Patch) -> Grid {
    let field = field_of_fan(columns, rows, shown);
    let mut seen = Grid::empty(columns, rows);
    for &hour in hours {
        let half = fan_line(hour, THINNEST_PIXELS / field.pixels_per_unit);
        // far from a line nothing needs to be measured
        let reach = half.along.map(|part| part.abs() * FAN_FROM_TO_MINUTES[1] + half.width);
        let sharp = field.drawn(|place| {
            let is_near = place[0].abs() < reach[0] && place[1].abs() < reach[1];
            if is_near { half.pair_outside_by(place) } else { half.width }
        });
        let drawn: f64 = (0..rows).flat_map(|row| sharp.row(row)).sum();
        if drawn > 0.0 {
            let pixels = 2.0 * half.length * half.width * field.pixels_per_unit * field.pixels_per_unit;
            let soft = SOFT_FAN_PIXELS * shown.pixels_high() as f64;
            seen.add(&in_pixels(&sharp, patch, field.pixels_per_unit, shown, soft), pixels / drawn);
        }
    }
    within_round_field(&field, &seen)
}

/// How the picture of the fan lies, in minutes of arc.
pub fn field_of_fan(columns: usize, rows: usize, shown: Shown) -> Field {
    Field::around(columns, rows, 2.0 * (FAN_FROM_TO_MINUTES[1] + FAN_MARGIN_MINUTES)).between_pixels(shown)
}

/// One sign of a line as the person sees it through this patch; the line is named by its stroke in minutes of arc, which is
/// its MAR. Signs of all lines are drawn alike large: what differs is how large the patch is to them.
pub fn optotype(columns: usize, rows: usize, shown: Shown, sign: Optotype, stroke_minutes: f64, patch: &Patch) -> Grid {
    let field = Field::around(columns, rows, OPTOTYPE_SIDE_STROKES);
    let sharp = field.drawn(sign.shape());
    in_pixels(&sharp, &patch.enlarged(1.0 / stroke_minutes), field.pixels_per_unit, shown, 0.0)
}

/// What lies within the round field of the fan: so no line loses more of its blur at the edges than another.
fn within_round_field(field: &Field, seen: &Grid) -> Grid {
    let radius = FAN_FROM_TO_MINUTES[1] + FAN_MARGIN_MINUTES - 0.5 / field.pixels_per_unit;
    let round = field.drawn(|[right, up]| hypot(right, up) - radius);
    Grid::from_levels(field.columns, field.rows, |column, row| seen.level(column, row) * round.level(column, row))
}

/// A grid seen through a patch, with the blur of what it is shown in made the same in every direction, and so many
/// pixels more.
fn in_pixels(sharp: &Grid, patch: &Patch, pixels_per_unit: f64, shown: Shown, soft: f64) -> Grid {
    // even light over a side s spreads as an ellipse does that reaches s/√3: what a character is higher than wide is given to
    // its width
    let high = shown.pixels_high() as f64;
    let wider = (high * high - 1.0) / 3.0 + soft * soft;
    let own = Patch::level(sqrt(wider) / pixels_per_unit, soft / pixels_per_unit);
    blurred(sharp, &patch.with(own), pixels_per_unit)
}

/// A grid seen through a patch of which a minute of arc (or whatever its unit is) takes so many pixels.
pub fn blurred(sharp: &Grid, patch: &Patch, pixels_per_unit: f64) -> Grid {
    let slices = slices(&patch.enlarged(pixels_per_unit));
    let reach = slices.iter().map(|slice| slice.right.abs() + slice.half).fold(0.0, f64::max);
    let sums: Vec<Option<Sums>> = (0..sharp.rows()).map(|row| Sums::of(sharp.row(row), reach)).collect();
    let mut levels = vec![0.0; sharp.columns() * sharp.rows()];
    for (row, levels) in levels.chunks_mut(sharp.columns().max(1)).enumerate() {
        for slice in &slices {
            let of_row = row.checked_add_signed(slice.rows_down).and_then(|row| sums.get(row)?.as_ref());
            if let Some(sums) = of_row {
                sums.add_to(levels, slice);
            }
        }
    }
    Grid::from_levels(sharp.columns(), sharp.rows(), |column, row| levels[row * sharp.columns() + column])
}

/// A level slice of a patch, in pixels.
struct Slice {
    /// In which row below the middle it lies.
    rows_down: isize,
    /// Where its middle lies, to the right.
    right: f64,
    /// How far it reaches on both sides of that.
    half: f64,
    /// Its share of the patch.
    weight: f64,
}

/// A patch, in pixels, cut where the rows of a grid meet and further.
fn slices(patch: &Patch) -> Vec<Slice> {
    let least = LEAST_PIXELS * LEAST_PIXELS;
    let height = sqrt(patch.yy.max(least));
    let lean = if patch.yy > 0.0 { patch.xy / patch.yy } else { 0.0 };
    let half_at_middle = sqrt((patch.xx - lean * patch.xy).max(least));
    let to_a_row = SLICES_UP_TO.iter().find(|&&(rows, _)| height <= rows).map_or(1.0, |&(_, slices)| slices);
    let mut cut = Vec::new();
    let last_row = ceil(height - 0.5) as isize;
    for rows_up in -last_row..=last_row {
        let (from, to) = ((rows_up as f64 - 0.5).max(-height), (rows_up as f64 + 0.5).min(height));
        let thick = (to - from) / to_a_row;
        for number in 0..to_a_row as usize {
            let up = from + thick * (number as f64 + 0.5);
            let half = half_at_middle * sqrt((1.0 - up * up / (height * height)).max(0.0));
            cut.push(Slice { rows_down: -rows_up, right: lean * up, half, weight: half * thick });
        }
    }
    let whole: f64 = cut.iter().map(|slice| slice.weight).sum();
    for slice in &mut cut {
        slice.weight /= whole;
    }
    cut
}

/// What stands in a row left of each of its edges, from as far before its first column as a patch reaches to as far beyond its
/// last.
struct Sums {
    left_of: Vec<f64>,
    /// Edges before that of the first column.
    before: usize,
    /// The columns between which there is ink.
    ink: [f64; 2],
}

impl Sums {
    /// Those of a row, for patches that reach so many pixels to each side; none where nothing stands in it.
    fn of(levels: &[f64], reach: f64) -> Option<Self> {
        let first = levels.iter().position(|&level| level > 0.0)?;
        let last = levels.iter().rposition(|&level| level > 0.0)?;
        let before = ceil(reach) as usize + 2;
        let mut left_of = vec![0.0; before + 1];
        let mut sum = 0.0;
        left_of.extend(levels.iter().map(|level| {
            sum += level;
            sum
        }));
        left_of.resize(left_of.len() + before, sum);
        Some(Self { left_of, before, ink: [first as f64, last as f64 + 1.0] })
    }

    /// Adds what a slice lets through to the row that is seen.
    fn add_to(&self, seen: &mut [f64], slice: &Slice) {
        // the slice around the middle of a pixel meets the ink from here to there
        let least = floor(self.ink[0] - 0.5 - slice.right - slice.half).max(0.0) as usize;
        let most = ceil(self.ink[1] + 0.5 - slice.right + slice.half).clamp(0.0, seen.len() as f64) as usize;
        if least >= most || slice.half <= 0.0 {
            return;
        }
        let middle = (self.before + least) as f64 + 0.5 + slice.right;
        let times = slice.weight / (2.0 * slice.half);
        let ends = self.left_of_places(middle + slice.half).zip(self.left_of_places(middle - slice.half));
        for (level, (right, left)) in seen[least..most].iter_mut().zip(ends) {
            *level += times * (right - left);
        }
    }

    /// What stands left of a place, told in edges, and of each place a column further on.
    fn left_of_places(&self, place: f64) -> impl Iterator<Item = f64> {
        let edge = floor(place);
        let beyond = place - edge;
        let edges = &self.left_of[edge as usize..];
        edges.iter().zip(&edges[1..]).map(move |(left, right)| left + beyond * (right - left))
    }
}
