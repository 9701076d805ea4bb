//! Prism: decentred lenses and combined prisms.

use approx::assert_relative_eq;
use dioptray::optics::prism::decentration_to_examiners_right;
use dioptray::optics::{Base, Eye, Millimetres, Prism};

use super::{cylinder, sphere};

/// nfos.org, answers 13a. The centre's place is from the pupil, x to the examiner's right.
#[test]
fn published_decentrations() {
    // looking 2 mm below the centre of +8.50: 1.7 base up
    let prism = Prism::induced(sphere(8.50), Millimetres(0.0), Millimetres(2.0));
    assert_relative_eq!(prism.amount(), 1.7, epsilon = 1e-12);
    assert_relative_eq!(prism.base_deg(), Base::Up.degrees(Eye::Right), epsilon = 1e-9);
    // centre 4 mm below the pupil, +7.75: 3.1 base down
    let prism = Prism::induced(sphere(7.75), Millimetres(0.0), Millimetres(-4.0));
    assert_relative_eq!(prism.amount(), 3.1, epsilon = 1e-12);
    assert_relative_eq!(prism.base_deg(), Base::Down.degrees(Eye::Left), epsilon = 1e-9);
    // centre 5 mm out, −3.25: 1.6 base in, for either eye
    for eye in Eye::BOTH {
        let out = decentration_to_examiners_right(eye, Millimetres(36.0), Millimetres(31.0));
        let prism = Prism::induced(sphere(-3.25), out, Millimetres(0.0));
        assert_relative_eq!(prism.amount(), 1.6, epsilon = 0.05);
        assert_relative_eq!(prism.base_deg(), Base::In.degrees(eye), epsilon = 1e-9);
        assert_relative_eq!(prism.base_in(eye), 1.625, epsilon = 1e-12);
    }
}

/// open-exam-prep.com, 3.1: 3 up with 4 out is 5.0 at 36.9° from out.
#[test]
fn published_combination() {
    for eye in Eye::BOTH {
        let up_and_out =
            [(3.0, Base::Up), (4.0, Base::Out)].map(|(amount, base)| Prism::polar(amount, base.degrees(eye)));
        let prism: Prism = up_and_out.into_iter().sum();
        assert_relative_eq!(prism.amount(), 5.0, epsilon = 1e-12);
        let from_out = (prism.base_deg() - Base::Out.degrees(eye)).abs();
        assert_relative_eq!(from_out, 36.9, epsilon = 0.05);
        assert!(prism.y > 0.0 && prism.base_in(eye) < 0.0);
    }
}

/// Examples that leave the cross term out are wrong: a cylinder at 45° decentred sideways gives prism at right angles too.
#[test]
fn a_cylinder_at_45_decentred_sideways_gives_vertical_prism() {
    // F = [[M + J0, J45], [J45, M − J0]] with M = −1, J45 = +1 for −2.00x45; 10 mm to the right (Long 1976)
    let prism = Prism::induced(cylinder(-2.0, 45.0), Millimetres(10.0), Millimetres(0.0));
    assert_relative_eq!(prism.x, -1.0, epsilon = 1e-12);
    assert_relative_eq!(prism.y, 1.0, epsilon = 1e-12);
}

/// The dial of ISO 8429 goes on to a full circle for bases: 0 at the right as one faces the wearer, anticlockwise.
#[test]
fn bases_on_the_dial() {
    assert_eq!([Eye::Right, Eye::Left].map(|eye| Base::In.degrees(eye)), [0.0, 180.0]);
    assert_eq!([Eye::Right, Eye::Left].map(|eye| Base::Out.degrees(eye)), [180.0, 0.0]);
    assert_eq!([Eye::Right, Eye::Left].map(|eye| Base::Up.degrees(eye)), [90.0, 90.0]);
    assert_eq!([Eye::Right, Eye::Left].map(|eye| Base::Down.degrees(eye)), [270.0, 270.0]);
    assert_eq!([Eye::Right, Eye::Left].map(|eye| Base::Degrees(225).degrees(eye)), [225.0, 225.0]);
}
