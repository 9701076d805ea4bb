//! Laws that hold for every lens.

use dioptray::optics::power::fold_axis;
use dioptray::optics::quarter::nearest_quarter;
use dioptray::optics::vergence::{at_vertex, away_from_eye, net, towards_eye};
use dioptray::optics::{Axis, Dioptres, Millimetres, Power, SpheroCylinder};
use proptest::prelude::*;

fn form() -> impl Strategy<Value = SpheroCylinder> {
    (-20.0..20.0, -6.0..6.0, 0.01..180.0).prop_map(|(sphere, cylinder, axis)| SpheroCylinder { sphere, cylinder, axis })
}

fn power() -> impl Strategy<Value = Power> {
    (-20.0..20.0, -3.0..3.0, -3.0..3.0).prop_map(|(m, j0, j45)| Power { m, j0, j45 })
}

fn near(a: Power, b: Power) -> bool {
    a.miss(b) <= 1e-9 * (1.0 + b.blur_strength())
}

/// Seen in a mirror that swaps left and right: every axis A becomes 180 − A.
fn mirrored(power: Power) -> Power {
    Power { j45: -power.j45, ..power }
}

proptest! {
    #[test]
    fn transposing_twice_is_identity(form in form()) {
        let twice = form.transposed().transposed();
        prop_assert!((twice.sphere - form.sphere).abs() < 1e-12);
        prop_assert_eq!(twice.cylinder, form.cylinder);
        let turned = (twice.axis - form.axis).abs();
        prop_assert!(turned.min(180.0 - turned) < 1e-9);
    }

    #[test]
    fn both_forms_have_one_power_vector(form in form()) {
        prop_assert!(near(form.transposed().power(), form.power()));
        prop_assert!(near(form.power().minus_form().power(), form.power()));
        prop_assert!(near(form.power().plus_form().power(), form.power()));
    }

    #[test]
    fn forms_say_what_they_are(power in power()) {
        let (minus, plus) = (power.minus_form(), power.plus_form());
        prop_assert!(minus.cylinder <= 0.0 && plus.cylinder >= 0.0);
        prop_assert!(minus.axis > 0.0 && minus.axis <= 180.0 && plus.axis > 0.0 && plus.axis <= 180.0);
        prop_assert!(minus.sphere >= power.m && plus.sphere <= power.m);
        // the axis is the meridian without the cylinder's power
        prop_assert!((power.along(minus.axis) - minus.sphere).abs() < 1e-9);
        prop_assert!((power.along(plus.axis) - plus.sphere).abs() < 1e-9);
    }

    #[test]
    fn there_and_back_is_identity(power in power(), distance in 0.0..20.0, other in 0.0..20.0) {
        let distance = Millimetres(distance);
        prop_assert!(near(away_from_eye(towards_eye(power, distance), distance), power));
        prop_assert!(near(towards_eye(away_from_eye(power, distance), distance), power));
        let other = Millimetres(other);
        prop_assert!(near(at_vertex(at_vertex(power, distance, other), other, distance), power));
    }

    #[test]
    fn two_steps_are_one(power in power(), first in 0.0..10.0, second in 0.0..10.0) {
        let two = towards_eye(towards_eye(power, Millimetres(first)), Millimetres(second));
        prop_assert!(near(towards_eye(power, Millimetres(first + second)), two));
    }

    #[test]
    fn an_empty_cell_is_only_distance(rear in power(), front in power(), first in 0.0..8.0, second in 0.0..8.0) {
        let with_empty = net(&[rear, Power::ZERO, front], &[Millimetres(first), Millimetres(second)]);
        prop_assert!(near(with_empty, net(&[rear, front], &[Millimetres(first + second)])));
    }

    #[test]
    fn without_gaps_the_net_is_the_sum(lenses in prop::collection::vec(power(), 0..8)) {
        prop_assert!(near(net(&lenses, &[]), lenses.iter().copied().sum()));
        prop_assert!(near(net(&lenses, &[Millimetres(0.0); 7]), lenses.iter().copied().sum()));
    }

    #[test]
    fn turning_commutes_with_stepping(power in power(), degrees in -360.0..360.0, distance in 0.0..20.0) {
        let distance = Millimetres(distance);
        prop_assert!(near(towards_eye(power.turned(degrees), distance), towards_eye(power, distance).turned(degrees)));
    }

    #[test]
    fn turning_adds_to_the_axis(form in form(), degrees in -360.0..360.0) {
        let turned = SpheroCylinder { axis: fold_axis(form.axis + degrees), ..form };
        prop_assert!(near(form.power().turned(degrees), turned.power()));
    }

    #[test]
    fn a_mirrored_stack_has_the_mirrored_net(lenses in prop::collection::vec(power(), 1..6), gap in 0.0..8.0) {
        let gaps = vec![Millimetres(gap); lenses.len() - 1];
        let mirror: Vec<Power> = lenses.iter().copied().map(mirrored).collect();
        prop_assert!(near(net(&mirror, &gaps), mirrored(net(&lenses, &gaps))));
    }

    #[test]
    fn mirroring_an_axis_mirrors_the_power(form in form()) {
        let mirror = SpheroCylinder { axis: fold_axis(180.0 - form.axis), ..form };
        prop_assert!(near(mirror.power(), mirrored(form.power())));
    }

    #[test]
    fn miss_is_a_distance(a in power(), b in power(), c in power()) {
        prop_assert_eq!(a.miss(a), 0.0);
        prop_assert!((a.miss(b) - b.miss(a)).abs() < 1e-12);
        prop_assert!(a.miss(c) <= a.miss(b) + b.miss(c) + 1e-12);
        // and the same however the examiner turns
        prop_assert!((a.turned(33.0).miss(b.turned(33.0)) - a.miss(b)).abs() < 1e-9);
    }

    #[test]
    fn folded_axes_are_directions(degrees in -1000i32..1000) {
        let axis = Axis::folded(degrees);
        prop_assert!((1..=180).contains(&axis.degrees()));
        prop_assert_eq!((i32::from(axis.degrees()) - degrees).rem_euclid(180), 0);
        prop_assert_eq!(Axis::folded(degrees + 180), axis);
        prop_assert_eq!(axis.perpendicular().perpendicular(), axis);
        prop_assert_eq!(Axis::nearest(f64::from(degrees) + 0.3), axis);
        prop_assert_eq!(fold_axis(f64::from(degrees)), f64::from(axis.degrees()));
    }
}

/// All powers on the quarter grid that could be nearest to one with a sphere of ±2 and a cylinder to −2, with their misses.
fn whole_grid(found: Power, axis_step: i32) -> impl Iterator<Item = (f64, SpheroCylinder)> {
    let quarter = |steps: i32| f64::from(steps) / 4.0;
    let forms = (-13..=13).flat_map(move |sphere| {
        (-12..=0).flat_map(move |cylinder| {
            let axes = if cylinder == 0 { 180..=180 } else { axis_step..=180 };
            axes.step_by(axis_step as usize).map(move |axis| SpheroCylinder {
                sphere: quarter(sphere),
                cylinder: quarter(cylinder),
                axis: f64::from(axis),
            })
        })
    });
    forms.map(move |form| (form.power().miss(found), form))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn nearest_quarter_is_the_nearest_on_the_whole_grid(
        sphere in -2.0..2.0, cylinder in -2.0..0.0, axis in 0.01..180.0, coarse: bool,
    ) {
        let found = SpheroCylinder { sphere, cylinder, axis }.power();
        check_nearest(found, if coarse { 5 } else { 1 })?;
    }

    /// Eighths lie half-way between quarters, so that these are full of ties.
    #[test]
    fn a_tie_goes_to_the_cylinder_that_was_found(sphere in -16i32..=16, cylinder in -16i32..=0, axis in 1i32..=36) {
        let form = SpheroCylinder {
            sphere: f64::from(sphere) / 8.0,
            cylinder: f64::from(cylinder) / 8.0,
            axis: f64::from(axis) * 5.0,
        };
        check_nearest(form.power(), 5)?;
    }
}

/// Of all with the least miss: first the cylinder nearest to the one found, then the weaker, then the more plus sphere.
fn check_nearest(found: Power, axis_step: i32) -> Result<(), TestCaseError> {
    let written = nearest_quarter(found, axis_step as u8);
    let exact = found.minus_form().cylinder;
    let least_of = |forms: &[SpheroCylinder], cost: &dyn Fn(&SpheroCylinder) -> f64| {
        let least = forms.iter().map(cost).fold(f64::INFINITY, f64::min);
        forms.iter().copied().filter(|form| cost(form) < least + 1e-9).collect::<Vec<_>>()
    };
    let all: Vec<SpheroCylinder> = whole_grid(found, axis_step).map(|(_, form)| form).collect();
    let nearest = least_of(&all, &|form| form.power().miss(found));
    prop_assert!(nearest.contains(&written), "{written:?} misses {found:?} by more than {nearest:?}");
    let nearest = least_of(&nearest, &|form| (form.cylinder - exact).abs());
    let nearest = least_of(&nearest, &|form| -form.cylinder);
    let nearest = least_of(&nearest, &|form| -form.sphere);
    prop_assert!(nearest.contains(&written), "{written:?} for {found:?} where {nearest:?} goes first");
    prop_assert!(written.axis % f64::from(axis_step) == 0.0 && written.cylinder <= 0.0);
    Ok(())
}

#[test]
fn a_sphere_stays_a_sphere() {
    for thousandths in -6_000..=6_000 {
        let found = Power::sphere(Dioptres(f64::from(thousandths) / 1_000.0));
        for axis_step in [1, 5] {
            let written = nearest_quarter(found, axis_step);
            assert_eq!((written.cylinder, written.axis), (0.0, 180.0), "{found:?}");
            assert!((written.sphere - found.m).abs() <= 0.125 + 1e-9, "{found:?}: {written:?}");
        }
    }
    let half_way = nearest_quarter(Power::sphere(Dioptres(-0.375)), 1);
    assert_eq!(half_way.sphere, -0.25, "the more plus of two that are as near");
}

#[test]
fn a_power_on_the_grid_is_its_own_nearest() {
    for sphere in -8..=8 {
        for cylinder in -8..=0 {
            for axis in 1..=180 {
                let axis = if cylinder == 0 { 180 } else { axis };
                let form = SpheroCylinder {
                    sphere: f64::from(sphere) / 4.0,
                    cylinder: f64::from(cylinder) / 4.0,
                    axis: f64::from(axis),
                };
                assert_eq!(nearest_quarter(form.power(), 1), form);
            }
        }
    }
}

#[test]
fn what_has_no_nearest_comes_back_as_it_is() {
    let focus = Power { m: f64::INFINITY, ..Power::ZERO };
    assert!(!nearest_quarter(focus, 1).sphere.is_finite());
    let huge = Power { m: -3e12, j0: 4e12, j45: 0.0 };
    assert!((nearest_quarter(huge, 1).sphere - 1e12).abs() < 1.0);
}
