//! Stacks of cylinders without distance between them.

use approx::assert_relative_eq;
use dioptray::optics::{Axis, Dioptres, Power};

use super::{assert_form, cylinder, rx};

#[test]
fn published_stacks() {
    // The Indian Optician, May-June 2022, p. 105
    let stack = rx(1.75, 0.50, 45.0).power() + rx(-2.25, -1.00, 135.0).power();
    assert_form(stack.minus_form(), rx(0.0, -1.50, 135.0), 1e-12, 1e-9);
    // board-review formula notes, 2026
    let stack = cylinder(-2.50, 155.0) + cylinder(1.50, 65.0);
    assert_form(stack.plus_form(), rx(-2.50, 4.00, 65.0), 1e-12, 1e-9);
}

/// Calculated: powers at right angles stay apart. A public thread's −0.25×30 is wrong.
#[test]
fn unlike_cylinders_at_right_angles() {
    let found = (cylinder(2.00, 120.0) + cylinder(-2.25, 30.0)).minus_form();
    assert_form(found, rx(2.00, -4.25, 30.0), 1e-12, 1e-9);
    assert!((found.cylinder - -0.25).abs() > 1.0);
}

/// Two equal cylinders F with their axes a apart: sphere 2F sin²(a/2), cylinder 2(F − S), axis half-way
/// (The Indian Optician, May-June 2022, p. 105).
///
/// Notes with minus signs under the root describe a difference of lenses and are wrong for a stack.
#[test]
fn two_equal_cylinders() {
    for power in [-3.0, -1.0, 0.5, 2.0] {
        for apart in [5.0, 10.0, 30.0, 45.0, 60.0, 80.0] {
            let sphere = 2.0 * power * f64::to_radians(apart / 2.0).sin().powi(2);
            let expected = rx(sphere, 2.0 * (power - sphere), 20.0 + apart / 2.0);
            let stack = cylinder(power, 20.0) + cylinder(power, 20.0 + apart);
            let found = if power < 0.0 { stack.minus_form() } else { stack.plus_form() };
            assert_form(found, expected, 1e-12, 1e-9);
            let as_a_difference = 2.0 * power.abs() * f64::to_radians(apart).sin();
            assert!((found.cylinder.abs() - as_a_difference).abs() > 0.01 || (apart - 45.0).abs() < 1.0);
        }
    }
}

/// Two equal opposite cylinders 10° apart leave about a third, 2 sin 10° = 0.347 (Felipe, Artigas, Diez-Ajenjo, residual
/// astigmatism).
#[test]
fn equal_opposite_cylinders_ten_degrees_apart_leave_a_third() {
    let left = (cylinder(1.0, 90.0) + cylinder(-1.0, 100.0)).minus_form();
    assert_relative_eq!(left.cylinder, -0.347, epsilon = 0.0005);
}

/// IACLE Contact Lens Course, module 3, lecture 3.3, appendix B, p. 127 (1993): a correcting cylinder turned off its axis
/// by φ leaves +C sin φ / −2C sin φ with its axis 45° − φ/2 beyond.
#[test]
fn whole_table_of_a_rotated_correcting_cylinder() {
    let cylinders = [0.75, 1.00, 2.00, 3.00];
    let table = [
        (5.0, [(0.07, -0.13), (0.09, -0.17), (0.17, -0.35), (0.26, -0.52)]),
        (10.0, [(0.13, -0.26), (0.17, -0.35), (0.35, -0.69), (0.52, -1.04)]),
        (20.0, [(0.26, -0.51), (0.34, -0.68), (0.68, -1.37), (1.03, -2.05)]),
        (30.0, [(0.38, -0.75), (0.50, -1.00), (1.00, -2.00), (1.50, -3.00)]),
    ];
    for (off, row) in table {
        for (power, (sphere, left)) in cylinders.into_iter().zip(row) {
            for axis in [20.0, 90.0, 175.0] {
                let found = (cylinder(power, axis) + cylinder(-power, axis + off)).minus_form();
                // two printed places, rounded
                assert_form(found, rx(sphere, left, axis + off + 45.0 - off / 2.0), 0.0051, 1e-9);
            }
        }
    }
}

/// A cross cylinder of power F: +F and −F at right angles, M = 0, |J| = F; turned by θ its vector turns by 2θ; flipped it
/// reverses (Harris, *S Afr Optom* 2007;66:41-55; StatPearls, "Jackson cross cylinder").
#[test]
fn cross_cylinder() {
    for axis in 1..=180 {
        let minus_axis = Axis::folded(axis);
        let held = Power::cross_cylinder(Dioptres(0.5), minus_axis);
        let degrees = f64::from(axis);
        assert_relative_eq!(held.m, 0.0, epsilon = 1e-12);
        assert_relative_eq!(held.astigmatism(), 0.5, epsilon = 1e-12);
        assert_relative_eq!(held.along(degrees), 0.5, epsilon = 1e-12);
        assert_relative_eq!(held.along(degrees + 90.0), -0.5, epsilon = 1e-12);
        let flipped = Power::cross_cylinder(Dioptres(0.5), minus_axis.perpendicular());
        assert!(flipped.miss(-held) < 1e-12);
        let turned = Power::cross_cylinder(Dioptres(0.5), minus_axis.turned(35));
        assert!(turned.miss(held.turned(35.0)) < 1e-12);
    }
}
