//! Pictures against the optics: how far blur reaches, that the raster teaches no astigmatism, the mirror to the dial, the reflex.
//!
//! The sums are made here again: matrices by nalgebra out of sphere, cylinder and axis (Long, *Am J Optom Physiol Opt*
//! 1976;53:27-33), moments out of the finished picture.

use dioptray::optics::{Power, SpheroCylinder};
use dioptray::practice::Law;
use dioptray::practice::picture::levels::{ASCII, ascii, ascii_level, half_blocks};
use dioptray::practice::picture::patch::Patch;
use dioptray::practice::picture::raster::{Field, Grid, Shown};
use dioptray::practice::picture::readable::{JUST_READ, patch_of_look, patch_with};
use dioptray::practice::picture::reflex::{
    PUPIL_MM, SWEEP_MM, Streak, brightness, missing_at_retinoscope, reflex, swept_by_itself_mm,
};
use dioptray::practice::picture::targets::{FAN_HOURS, Letter, Optotype};
use dioptray::practice::picture::through::{blurred, fan, fan_lines, field_of_fan, optotype};
use dioptray::practice::sight::{Aperture, Condition, PracticeEye};
use nalgebra::{Matrix2, Rotation2, Vector2};

use super::{assert_near, far, rx, sphere};

/// An eye of 60 that reads 6/5 at best.
fn eye(needs: Power) -> PracticeEye {
    let best_log_mar = -0.079_181_246_047_624_83;
    PracticeEye { needs, best_log_mar, pupil: 1.0, accommodation: 1.0, age_years: 60.0, law: Law::Written }
}

/// What an eye sees with this left before it, by the written law, with the MAR in minutes of arc.
fn seen(left: Power) -> (Patch, f64) {
    let eye = eye(left);
    let mar = 10f64.powf(eye.log_mar_with(left, Aperture::Pupil, Condition::default()));
    (patch_with(&eye, left, Aperture::Pupil, Condition::default()), mar)
}

/// The matrix of a power on the dial: S acts along the axis, S + C across it.
fn matrix(form: SpheroCylinder) -> Matrix2<f64> {
    let turn = Rotation2::new(form.axis.to_radians());
    turn * Matrix2::new(form.sphere, 0.0, 0.0, form.sphere + form.cylinder) * turn.inverse()
}

/// What the person sees of it: right and left exchanged.
fn mirrored(matrix: Matrix2<f64>) -> Matrix2<f64> {
    let mirror = Matrix2::new(-1.0, 0.0, 0.0, 1.0);
    mirror * matrix * mirror
}

/// How the levels of a picture lie: their sum, their middle, and their spread about it, in units of the field.
fn moments(grid: &Grid, field: &Field) -> (f64, Vector2<f64>, Matrix2<f64>) {
    let places = || {
        (0..grid.rows()).flat_map(move |row| {
            (0..grid.columns()).map(move |column| {
                let [right, up] = field.place(column, row);
                (Vector2::new(right, up), grid.level(column, row))
            })
        })
    };
    let sum: f64 = places().map(|(_, level)| level).sum();
    let middle = places().map(|(place, level)| place * level).sum::<Vector2<f64>>() / sum;
    let spread = places().map(|(place, level)| (place - middle) * (place - middle).transpose() * level);
    (sum, middle, spread.sum::<Matrix2<f64>>() / sum)
}

/// A point becomes an ellipse of even light whose semi-axes are |E n| times the radius of the pupil: its spread is a quarter of
/// E², mirrored; and it ends where it should.
#[test]
fn a_point_is_drawn_out_by_what_is_missing() {
    const MINUTES_PER_DIOPTRE: f64 = 2.0;
    let field = Field::around(161, 161, 20.0);
    let point = Grid::from_levels(161, 161, |column, row| if (column, row) == (80, 80) { 1.0 } else { 0.0 });
    for (s, c, axis) in
        [(-1.0, 0.0, 180.0), (-2.0, 1.0, 20.0), (0.75, -2.5, 140.0), (0.5, -1.0, 75.0), (-3.0, -1.0, 90.0)]
    {
        let patch = Patch::of_pupil(rx(s, c, axis), MINUTES_PER_DIOPTRE);
        let picture = blurred(&point, &patch, field.pixels_per_unit);
        let matrix = mirrored(matrix(SpheroCylinder { sphere: s, cylinder: c, axis })) * MINUTES_PER_DIOPTRE;
        let pixel = 1.0 / field.pixels_per_unit;
        // the point is a square pixel
        let expected = matrix * matrix / 4.0 + Matrix2::identity() * pixel * pixel / 12.0;
        let (sum, middle, spread) = moments(&picture, &field);
        assert_near(sum, 1.0, 1e-9);
        assert!(middle.norm() < 1e-9, "{middle}");
        assert!((spread - expected).norm() < 0.02 * expected.norm(), "{s} {c} {axis}: {spread} is not {expected}");
        for direction in [0.0_f64, 30.0, 75.0, 90.0, 110.0, 160.0] {
            let along = Vector2::new(direction.to_radians().cos(), direction.to_radians().sin());
            let reach = (matrix * along).norm();
            assert_near(patch.reach_minutes(direction), reach, 1e-9);
            let farthest = (0..161 * 161)
                .filter(|index| picture.level(index % 161, index / 161) > 0.0)
                .map(|index| Vector2::from(field.place(index % 161, index / 161)).dot(&along))
                .fold(0.0, f64::max);
            assert!(
                (farthest - reach).abs() < 1.5 * pixel,
                "{s} {c} {axis} towards {direction}: {farthest}, not {reach}"
            );
        }
    }
}

/// A slit lets through one meridian: a point becomes a stroke along E n, and none where n needs nothing.
#[test]
fn a_slit_draws_a_point_out_along_one_direction() {
    let form = SpheroCylinder { sphere: 0.0, cylinder: -2.0, axis: 30.0 };
    let matrix = mirrored(matrix(form));
    for along in [0.0_f64, 30.0, 45.0, 120.0] {
        let patch = Patch::of_slit(form.power(), along, 1.0);
        // on the dial the slit lies at `along`, for the person at 180 less that
        let slit = Vector2::new(-along.to_radians().cos(), along.to_radians().sin());
        let stroke = matrix * slit;
        for direction in [0.0_f64, 40.0, 90.0, 150.0] {
            let towards = Vector2::new(direction.to_radians().cos(), direction.to_radians().sin());
            assert_near(patch.reach_minutes(direction), stroke.dot(&towards).abs(), 1e-7);
        }
    }
    let eye = eye(form.power());
    let sharp = patch_with(&eye, form.power(), Aperture::Slit { along_deg: 30.0 }, Condition::default());
    assert_near(sharp.reach_minutes(0.0), sharp.reach_minutes(90.0), 1e-9);
}

/// How much ink a line of the fan holds, and how dark it is where it was drawn, in what it is shown in.
fn line_of_fan(pixels: usize, shown: Shown, hour: u8, patch: &Patch) -> (f64, f64) {
    let high = shown.pixels_high();
    let cells = |patch: &Patch| {
        let line = fan_lines(pixels, pixels, shown, &[hour], patch);
        let level = move |column, row| (0..high).map(|part| line.level(column, row * high + part)).sum::<f64>();
        Grid::from_levels(pixels, pixels / high, |column, row| level(column, row) / high as f64)
    };
    let (drawn, seen) = (cells(&Patch::disc(0.01)), cells(patch));
    let (mut ink, mut weight, mut level) = (0.0, 0.0, 0.0);
    for row in 0..seen.rows() {
        for (&here, &now) in drawn.row(row).iter().zip(seen.row(row)) {
            ink += now;
            weight += here;
            level += here * now;
        }
    }
    (ink, level / weight)
}

fn share_between(values: &[f64]) -> f64 {
    let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    (most - least) / most
}

/// With the same blur everywhere no line of the fan stands out: ink and darkness are within 2 %, from the picture of 80x24 on;
/// in characters, of which ten levels are told apart, within a quarter of a level.
#[test]
fn the_raster_teaches_no_astigmatism() {
    for blur_d in [0.0, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0] {
        let (patch, _) = seen(sphere(-blur_d));
        for pixels in [26, 27, 30, 41, 48, 60, 97] {
            let lines = FAN_HOURS.map(|hour| line_of_fan(pixels, Shown::Pixels, hour, &patch));
            let (ink, level) = (lines.map(|line| line.0), lines.map(|line| line.1));
            assert!(share_between(&ink) < 0.02, "ink of {blur_d} D in {pixels} pixels: {ink:?}");
            assert!(share_between(&level) < 0.02, "levels of {blur_d} D in {pixels} pixels: {level:?}");
        }
        for pixels in [26, 30, 48, 60] {
            let lines = FAN_HOURS.map(|hour| line_of_fan(pixels, Shown::Characters, hour, &patch));
            let (ink, level) = (lines.map(|line| line.0), lines.map(|line| line.1));
            assert!(share_between(&ink) < 0.02, "ink of {blur_d} D in characters, {pixels}: {ink:?}");
            let most = level.into_iter().fold(0.0, f64::max);
            assert!(share_between(&level) * most < 0.25 / 9.0, "{blur_d} D in characters, {pixels}: {level:?}");
        }
    }
}

/// Rule of 30: the minus axis is 30 times the lower clock hour of the clearest line (clinical procedures manual at eyebk.cn;
/// nbeopart2.com). So −1.00×180 shows 12 to 6 clearest, −1.00×30 shows 1 to 7: mirrored once, neither never nor twice.
#[test]
fn the_clearest_line_of_the_picture_is_that_of_the_rule_of_thirty() {
    for shown in [Shown::Pixels, Shown::Characters] {
        for hour in FAN_HOURS {
            let (patch, _) = seen(rx(0.0, -1.0, 30.0 * f64::from(hour)));
            let levels = FAN_HOURS.map(|line| line_of_fan(48, shown, line, &patch).1);
            let clearest = FAN_HOURS
                .into_iter()
                .max_by(|&a, &b| levels[usize::from(a) - 1].total_cmp(&levels[usize::from(b) - 1]));
            assert_eq!(clearest, Some(hour), "{levels:?}");
            let across = FAN_HOURS[(usize::from(hour) - 1 + 3) % 6];
            let least = levels.iter().copied().fold(f64::INFINITY, f64::min);
            assert_near(levels[usize::from(across) - 1], least, 0.02);
        }
    }
}

/// A clock: 12 is up, 1 to the right of it, 3 to the right.
#[test]
fn the_lines_of_the_fan_lie_as_on_a_clock() {
    let field = field_of_fan(60, 60, Shown::Pixels);
    for hour in FAN_HOURS {
        let line = fan_lines(60, 60, Shown::Pixels, &[hour], &Patch::disc(0.5));
        let (_, middle, spread) = moments(&line, &field);
        // a quarter of a pixel
        assert!(middle.norm() < 0.28, "{middle}");
        let clockwise_from_up = (30.0 * f64::from(hour)).to_radians();
        let towards = Vector2::new(clockwise_from_up.sin(), clockwise_from_up.cos());
        let across = Vector2::new(-towards.y, towards.x);
        let reach = |direction: Vector2<f64>| direction.dot(&(spread * direction)).sqrt();
        // two strokes from 9 to 30 minutes of arc from the middle
        assert_near(reach(towards), ((30f64.powi(3) - 9f64.powi(3)) / 3.0 / 21.0).sqrt(), 0.1);
        assert!(reach(across) < 1.5, "hour {hour}: {}", reach(across));
    }
    let whole = fan(60, 60, Shown::Pixels, &Patch::disc(0.5));
    let (_, _, spread) = moments(&whole, &field);
    assert!((spread.m11 - spread.m22).abs() < 0.01 * spread.m11 && spread.m12.abs() < 0.01 * spread.m11, "{spread}");
}

/// ISO 8596: outer diameter 5, stroke and gap 1; measured along lines through the picture.
#[test]
fn a_ring_has_its_proportions() {
    for (gap_deg, right, up) in [(0.0, 1.0, 0.0), (90.0, 0.0, 1.0), (180.0, -1.0, 0.0), (270.0, 0.0, -1.0)] {
        let side = 300;
        let field = Field::around(side, side, 7.5);
        let ring = field.drawn(Optotype::Ring { gap_deg }.shape());
        let at = |x: f64, y: f64| {
            let (column, row) = (x * field.pixels_per_unit + 150.0, 150.0 - y * field.pixels_per_unit);
            ring.level(column as usize, row as usize)
        };
        let measured = |from: (f64, f64), step: (f64, f64)| {
            let steps = (0..700).map(|step| f64::from(step) * 0.01);
            steps.map(|s| at(from.0 + s * step.0, from.1 + s * step.1)).sum::<f64>() * 0.01
        };
        // through the middle, across the gap: two strokes; towards it: one
        assert_near(measured((-3.5 * up, -3.5 * right), (up, right)), 2.0, 0.04);
        assert_near(measured((-3.5 * right, -3.5 * up), (right, up)), 1.0, 0.04);
        // along the gap's own circle the empty part is 1 wide
        let empty = (-100..100)
            .map(|hundredth| f64::from(hundredth) * 0.01)
            .filter(|aside| at(2.0 * right - aside * up, 2.0 * up + aside * right) < 0.5);
        assert_near(empty.count() as f64 * 0.01, 1.0, 0.06);
        let (sum, ..) = moments(&ring, &field);
        let area = sum / field.pixels_per_unit.powi(2);
        // a ring of 4π less a gap of about 1 by 1
        assert_near(area, 4.0 * std::f64::consts::PI - 1.0, 0.03);
    }
}

/// Letters are five strokes high and wide, and no two of them alike.
#[test]
fn letters_fill_their_square() {
    let field = Field::around(150, 150, 7.5);
    let drawn: Vec<Grid> = Letter::ALL.iter().map(|&letter| field.drawn(Optotype::Letter(letter).shape())).collect();
    for (letter, grid) in Letter::ALL.iter().zip(&drawn) {
        let inked = |index: &usize| grid.level(index % 150, index / 150) > 0.5;
        let places: Vec<[f64; 2]> =
            (0..150 * 150).filter(inked).map(|index| field.place(index % 150, index / 150)).collect();
        for axis in [0, 1] {
            let most = places.iter().map(|place| place[axis]).fold(f64::NEG_INFINITY, f64::max);
            let least = places.iter().map(|place| place[axis]).fold(f64::INFINITY, f64::min);
            assert_near(most, 2.5, 0.06);
            assert_near(least, -2.5, 0.06);
        }
        assert_eq!(drawn.iter().filter(|other| *other == grid).count(), 1, "{letter:?}");
    }
}

/// By how much the gap of a ring is lighter than the place across from it in the finished picture, in the mean of eight.
fn gap_in_picture(patch: &Patch, stroke_minutes: f64) -> f64 {
    const SIDE: usize = 150;
    let field = Field::around(SIDE, SIDE, 7.5);
    let differences = (0..8).map(|eighth| {
        let gap_deg = 45.0 * f64::from(eighth);
        let ring = optotype(SIDE, SIDE, Shown::Pixels, Optotype::Ring { gap_deg }, stroke_minutes, patch);
        let at = |side: f64| {
            let (sin, cos) = gap_deg.to_radians().sin_cos();
            let place = [side * 2.0 * cos, side * 2.0 * sin].map(|part| part * field.pixels_per_unit);
            ring.level((75.0 + place[0]) as usize, (75.0 - place[1]) as usize)
        };
        at(-1.0) - at(1.0)
    });
    differences.sum::<f64>() / 8.0
}

/// The line that the eye answers is just readable in the picture: the next larger one clearly, the next smaller one not.
#[test]
fn the_line_that_the_eye_answers_is_just_readable() {
    let lefts = [
        sphere(0.0),
        sphere(-0.5),
        sphere(1.0),
        sphere(-2.5),
        rx(0.25, -1.5, 30.0),
        rx(0.0, -1.0, 180.0),
        rx(0.5, -1.0, 75.0),
        rx(0.0, -2.5, 45.0),
    ];
    for left in lefts {
        let (patch, mar) = seen(left);
        let line = 10f64.powf(0.1);
        assert_near(gap_in_picture(&patch, mar), JUST_READ, 0.03);
        let (larger, smaller) = (gap_in_picture(&patch, mar * line), gap_in_picture(&patch, mar / line));
        assert!(larger > JUST_READ + 0.025 && smaller < JUST_READ - 0.025, "{left:?}: {larger} {smaller}");
    }
}

/// The axis makes no difference to how large the blur is (Hoshikawa, *Sci Rep* 2021;11:6958), and a lens takes it away.
#[test]
fn the_size_of_the_blur_hangs_on_what_is_left_alone() {
    let size = |left: Power| {
        let (patch, _) = seen(left);
        // the squares of two reaches at right angles add up to the same in every direction
        patch.reach_minutes(20.0).hypot(patch.reach_minutes(110.0))
    };
    for cylinder in [-0.5, -1.5, -3.0] {
        let level = size(rx(0.0, cylinder, 180.0));
        for axis in [10.0, 22.5, 45.0, 77.0, 120.0] {
            assert!((size(rx(0.0, cylinder, axis)) / level - 1.0).abs() < 0.05, "{cylinder} at {axis}");
        }
    }
    let needs = rx(-1.0, -1.5, 30.0);
    let through = |before: Power| patch_of_look(&eye(needs), &far(before), Condition::default());
    let best = through(needs);
    assert_near(best.reach_minutes(0.0), best.reach_minutes(90.0), 1e-9);
    assert!(best.reach_minutes(0.0) < 0.5 * through(Power::ZERO).reach_minutes(0.0));
}

fn pupil(missing: Power, streak: Streak) -> (Grid, Field) {
    const SIDE: usize = 200;
    // the picture is 1.7 pupils wide; what lies outside the pupil is cut off, the rim with it
    let field = Field::around(SIDE, SIDE, 1.7 * PUPIL_MM);
    let whole = reflex(SIDE, SIDE, missing, streak, 0.5);
    let within = Grid::from_levels(SIDE, SIDE, |column, row| {
        let [right, up] = field.place(column, row);
        if right.hypot(up) < PUPIL_MM / 2.0 - 0.15 { whole.level(column, row) } else { 0.0 }
    });
    (within, field)
}

fn streak(lies_deg: f64, swept_mm: f64) -> Streak {
    Streak { lies_deg, swept_mm, width_mm: 2.0 }
}

/// W = R + I/d − N: with too little plus before the eye the reflex goes with the streak, with too much against it; the nearer
/// to reversal, the faster and the brighter; at reversal the whole pupil is lit at once.
#[test]
fn the_reflex_goes_with_against_and_fills() {
    let eye = eye(sphere(1.0));
    // from 50 cm the working lens is +2.00: reversal with +3.00
    let place = |before: f64| {
        let missing = missing_at_retinoscope(&eye, sphere(before), 0.5);
        // the streak lies at 90 and sweeps to the right, by 0.5 mm
        let (grid, field) = pupil(missing, Streak { width_mm: 0.4, ..streak(90.0, 0.5) });
        let (_, middle, _) = moments(&grid, &field);
        let most = (0..200).flat_map(|row| grid.row(row).to_vec()).fold(0.0, f64::max);
        (middle.x, most)
    };
    let (with_far, with_near) = (place(0.0), place(2.0));
    let (against_far, against_near) = (place(6.0), place(4.0));
    // 0.5 mm at 0.5 m is 1 mrad: 1 mm of the pupil for a dioptre, a third of it for three
    assert_near(with_near.0, 1.0, 0.1);
    assert_near(with_far.0, 1.0 / 3.0, 0.03);
    assert_near(against_near.0, -1.0, 0.1);
    assert_near(against_far.0, -1.0 / 3.0, 0.03);
    assert!(with_near.1 > with_far.1 && against_near.1 > against_far.1);
    assert_near(with_near.1, against_near.1, 1e-9);

    // a level streak sweeps upwards
    let (level, field) = pupil(missing_at_retinoscope(&eye, sphere(2.0), 0.5), streak(180.0, 0.5));
    let (_, middle, _) = moments(&level, &field);
    assert!(middle.y > 0.3 && middle.x.abs() < 0.05, "{middle}");

    let at_reversal = missing_at_retinoscope(&eye, sphere(3.0), 0.5);
    let (full, field) = pupil(at_reversal, streak(90.0, 0.5));
    let (sum, ..) = moments(&full, &field);
    let area = std::f64::consts::PI * (PUPIL_MM / 2.0 - 0.15).powi(2) * field.pixels_per_unit.powi(2);
    assert_near(sum / area, 1.0, 0.01);
    let (dark, _) = pupil(at_reversal, streak(90.0, 3.0));
    assert!((0..200).all(|row| dark.row(row).iter().all(|&level| level == 0.0)));
    // dull beyond 2 D, hardly anything beyond 6 (the law of the practice eye)
    assert_near(brightness(0.0), 1.0, 1e-12);
    assert!(brightness(2.0) <= 0.5 && brightness(-6.0) <= 0.1 && brightness(6.0) > 0.0);
}

/// The band lies across W n: straight on the principal meridians, tilted off them; as the examiner sees it, unmirrored.
#[test]
fn the_band_tilts_off_the_principal_meridians() {
    let form = SpheroCylinder { sphere: 2.0, cylinder: -1.0, axis: 30.0 };
    for lies in [30.0, 120.0, 90.0, 180.0, 60.0] {
        let (grid, field) = pupil(form.power(), streak(lies, 0.0));
        let (_, middle, spread) = moments(&grid, &field);
        assert!(middle.norm() < 0.05);
        // the long way of the band is where its spread is greatest
        let eigen = spread.symmetric_eigen();
        let long = eigen.eigenvectors.column(eigen.eigenvalues.imax()).into_owned();
        let normal = (lies + 90.0_f64).to_radians();
        let moved = matrix(form) * Vector2::new(normal.cos(), normal.sin());
        assert!(long.dot(&moved.normalize()).abs() < 0.03, "streak at {lies}: {long}");
        let along_streak = long.dot(&Vector2::new(lies.to_radians().cos(), lies.to_radians().sin())).abs();
        let principal = lies == 30.0 || lies == 120.0;
        assert_eq!(along_streak > 0.999, principal, "streak at {lies}: {along_streak}");
    }
}

/// A sweep by itself goes from one side to the other and back, and repeats.
#[test]
fn a_sweep_by_itself_goes_there_and_back() {
    assert_near(swept_by_itself_mm(0.0), -SWEEP_MM, 1e-12);
    assert_near(swept_by_itself_mm(0.25), 0.0, 1e-12);
    assert_near(swept_by_itself_mm(0.5), SWEEP_MM, 1e-12);
    assert_near(swept_by_itself_mm(0.75), 0.0, 1e-12);
    assert_near(swept_by_itself_mm(7.1), swept_by_itself_mm(0.1), 1e-9);
}

/// Ten levels in even steps; a character holds the mean of two pixels, a half block both of them.
#[test]
fn levels_are_those_of_a_terminal() {
    let told: String = (0..10).map(|tenth| ascii_level(f64::from(tenth) / 9.0)).collect();
    assert_eq!(told, ASCII.iter().collect::<String>());
    assert_eq!((ascii_level(-1.0), ascii_level(2.0), ascii_level(0.05), ascii_level(0.06)), (' ', '@', ' ', '.'));
    let grid = Grid::from_levels(2, 3, |column, row| [[0.0, 1.0], [1.0, 1.0], [1.0, 0.0]][row][column]);
    assert_eq!(ascii(&grid), ["+@", "+ "]);
    let halves = half_blocks(&grid);
    assert_eq!((halves.len(), halves[0].len()), (2, 2));
    assert_eq!((halves[0][0].upper, halves[0][0].lower), (0.0, 1.0));
    assert_eq!((halves[1][0].upper, halves[1][0].lower), (1.0, 0.0));
}
