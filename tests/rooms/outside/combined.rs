//! Prescriptions put together and compared, and their optical cross.

use approx::assert_relative_eq;
use dioptray::optics::combination::{mean, residual};
use dioptray::optics::cross::{MeridianPower, of_power, power_of};
use dioptray::optics::{Axis, Dioptres, Power};

use super::{assert_form, rx, sphere};

/// A public teaching question set (flash cards 2261801 and 11666149): the power along 90.
#[test]
fn published_power_along_90() {
    let cases = [
        (rx(2.00, 3.50, 135.0), 3.75),
        (rx(-1.75, 5.00, 45.0), 0.75),
        (rx(1.00, -4.00, 60.0), 0.0),
        (rx(-1.25, -2.00, 180.0), -3.25),
    ];
    for (given, along) in cases {
        assert_relative_eq!(given.power().along(90.0), along, epsilon = 1e-12);
    }
}

/// To a cross and back, and the cross is what the meridians of the written form have: sphere along the axis, sphere and
/// cylinder across it.
#[test]
fn a_cross_and_back() -> Result<(), Box<dyn std::error::Error>> {
    for axis in 1..=180 {
        for (sphere, cylinder) in [(2.0, -1.5), (-3.25, -0.75), (0.0, -4.0)] {
            let given = rx(sphere, cylinder, f64::from(axis));
            let arms = of_power(given.power());
            assert_form(rx(arms[0].1.0, 0.0, 180.0), rx(sphere, 0.0, 180.0), 1e-12, 1e-9);
            assert_relative_eq!(arms[1].1.0, sphere + cylinder, epsilon = 1e-12);
            let arm = |(meridian, power): (f64, Dioptres)| MeridianPower { meridian: Axis::nearest(meridian), power };
            let back = power_of(arm(arms[0]), arm(arms[1]))?;
            assert_form(back.minus_form(), given, 1e-12, 1e-9);
            // the arms may be named in either order
            assert!(power_of(arm(arms[1]), arm(arms[0]))?.miss(back) < 1e-12);
        }
    }
    Ok(())
}

/// Harris, *Optom Vis Sci* 1988;65:794-802: the mean of prescriptions is that of their matrices. Taken one by one, the axes 10
/// and 170 would give 90.
#[test]
fn a_mean_is_of_vectors() {
    let found = mean(&[rx(-2.0, -1.0, 10.0).power(), rx(-2.0, -1.0, 170.0).power()]).map(Power::minus_form);
    let half = 0.5 * 20f64.to_radians().cos();
    assert_form(found.unwrap_or_default(), rx(-2.5 + half, -2.0 * half, 180.0), 1e-12, 1e-9);
    assert_eq!(mean(&[]), None);
}

/// |M| + |C|/2 of the residual, after Taylor and others, *Eye* 2011;25:1333; the figures are calculated.
#[test]
fn residuals_with_their_score() {
    let cases = [
        (rx(-2.00, -1.00, 100.0), rx(-2.00, -1.00, 90.0), rx(0.17, -0.35, 50.0), 0.17),
        (rx(1.25, -0.50, 85.0), rx(1.50, -0.75, 90.0), rx(0.26, -0.27, 99.0), 0.26),
    ];
    for (worn, needed, left, score) in cases {
        let found = residual(worn.power(), needed.power());
        assert_form(found.power.minus_form(), left, 0.005, 0.5);
        assert_relative_eq!(found.score, score, epsilon = 0.005);
        // what is left, worn as well, leaves nothing
        assert!(residual(worn.power() + found.power, needed.power()).score < 1e-12);
    }
    assert_relative_eq!(residual(sphere(-1.0), sphere(-2.0)).score, 1.0, epsilon = 1e-12);
}
