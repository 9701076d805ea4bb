//! Retinoscopy: working distance and two meridians.

use approx::assert_relative_eq;
use dioptray::optics::cross::{MeridianPower, power_of};
use dioptray::optics::retinoscopy::{less_working_lens, working_lens};
use dioptray::optics::{Axis, Dioptres};

use super::{assert_form, rx, sphere};

const TWO_THIRDS_M: f64 = 2.0 / 3.0;

fn reversal(meridian: i32, gross: f64) -> MeridianPower {
    MeridianPower { meridian: Axis::folded(meridian), power: Dioptres(gross) }
}

/// 67 cm 1.50 D, 50 cm 2.00 D, 1 m 1.00 D (optometryzone.com 2016; for 2/3 m common practice, no source).
#[test]
fn working_lenses() {
    for (metres, lens) in [(TWO_THIRDS_M, 1.50), (0.67, 1.50), (0.5, 2.0), (1.0, 1.0)] {
        assert_relative_eq!(working_lens(metres).0, lens, epsilon = 0.01);
    }
}

/// Flash cards: 5 cm of working distance near 67 cm cost 0.12 D.
#[test]
fn five_centimetres_of_working_distance() {
    let nearer = working_lens(0.62).0 - working_lens(0.67).0;
    assert_relative_eq!(nearer, 0.12, epsilon = 0.005);
}

/// optometryzone.com 2016.
#[test]
fn working_lens_in_the_head_or_in_the_frame() {
    // no working lens in the frame, reversal with −3.50, 1.50 allowed
    assert_relative_eq!(less_working_lens(sphere(-3.50), TWO_THIRDS_M).m, -5.0, epsilon = 1e-12);
    // working lens +1.50 left in, a further −3.00 reverses
    assert_relative_eq!(less_working_lens(sphere(1.50) + sphere(-3.00), TWO_THIRDS_M).m, -3.0, epsilon = 1e-12);
}

/// Question from mrcophth, mock 8, station 5; calculated: 2/3 m, meridian 180 reverses at +2.25, meridian 90 at +3.00.
#[test]
fn two_meridians() -> Result<(), Box<dyn std::error::Error>> {
    for (first, second) in [(reversal(180, 2.25), reversal(90, 3.0)), (reversal(90, 3.0), reversal(0, 2.25))] {
        let net = less_working_lens(power_of(first, second)?, TWO_THIRDS_M);
        assert_form(net.minus_form(), rx(1.50, -0.75, 90.0), 1e-12, 1e-9);
    }
    Ok(())
}

#[test]
fn each_meridian_keeps_its_own_power() -> Result<(), Box<dyn std::error::Error>> {
    for meridian in 1..=180 {
        let gross = power_of(reversal(meridian, -1.25), reversal(meridian + 90, 2.5))?;
        assert_relative_eq!(gross.along(f64::from(meridian)), -1.25, epsilon = 1e-12);
        assert_relative_eq!(gross.along(f64::from(meridian) + 90.0), 2.5, epsilon = 1e-12);
    }
    Ok(())
}

#[test]
fn meridians_that_are_not_at_right_angles_are_refused() {
    let refusal = power_of(reversal(180, 1.0), reversal(80, 2.0)).map_err(|refusal| refusal.to_string());
    assert_eq!(refusal, Err("meridians 180 and 80 are not at right angles: with 180 goes 90".to_owned()));
}
