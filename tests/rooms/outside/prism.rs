//! Prism: decentred lenses and combined prisms.

use approx::assert_relative_eq;
use dioptray::optics::centres::{HORIZONTAL, VERTICAL};
use dioptray::optics::decentration::{between_eyes, looked_through_at, split_in_halves};
use dioptray::optics::prism::{are_too_strong_to_add, decentration_to_examiners_right, stack_is_too_strong_to_add};
use dioptray::optics::sheard::prism_wanted;
use dioptray::optics::{Base, Eye, Millimetres, Power, Prism, PrismDioptres};

use super::{cylinder, rx, sphere};

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

/// Flash cards 2261801 and 11666149: how far apart vertically the eyes are drawn so far below the centres.
#[test]
fn published_vertical_prism_between_two_eyes() {
    let cases = [
        (8.0, rx(-3.00, -2.00, 180.0), rx(-2.75, -2.50, 90.0), 1.8),
        (9.0, rx(-4.00, 2.00, 60.0), rx(-3.00, 3.00, 45.0), 1.8),
    ];
    for (below, right, left, apart) in cases {
        let before = |lens: Power| looked_through_at(lens, Millimetres(0.0), Millimetres(-below));
        let (right, left) = (before(right.power()), before(left.power()));
        assert_relative_eq!(between_eyes(right, left).y.abs(), apart, epsilon = 1e-9);
        // below the centre of the stronger minus lens the base is further down
        assert!(between_eyes(right, left).y < 0.0);
        assert_relative_eq!(between_eyes(left, right).y, apart, epsilon = 1e-9);
    }
    // without the power along 90 of its cylinder the first would be 0.2
    let spheres_alone = 0.8 * (3.00 - 2.75);
    assert!((spheres_alone - 1.8f64).abs() > 1.0);
}

/// tionet.in, *Indian Optician* 9-10/2022, p. 112: +3.00/+2.00×60 and a point 3.85 mm to the side and 6.67 mm down give 2 Δ vertically,
/// which holds on the side where the point lies along the axis (x to the examiner's left); on the other it is 2.67.
#[test]
fn published_oblique_lens_off_its_centre() {
    let lens = rx(3.00, 2.00, 60.0).power();
    let centre = Prism::induced(lens, Millimetres(-3.85), Millimetres(-6.67));
    assert_relative_eq!(centre.y, -2.0, epsilon = 0.005);
    // along the axis the sphere acts alone: 3 D and 7.7 mm
    assert_relative_eq!(centre.amount(), 3.0 * 0.77, epsilon = 0.005);
    // looked through there, base and centre are the other way
    let looked_through = looked_through_at(lens, Millimetres(-3.85), Millimetres(-6.67));
    assert_relative_eq!(looked_through.y, 2.0, epsilon = 0.005);
    let other_side = looked_through_at(lens, Millimetres(3.85), Millimetres(-6.67));
    assert_relative_eq!(other_side.y, 2.67, epsilon = 0.005);
    // without the cross term both sides would be alike, 2.33
    assert!((looked_through.y - 3.5 * 0.667).abs() > 0.3);
}

/// nfos.org, answers 13a: 2 mm below the centre of +8.50 is 1.7 base up.
#[test]
fn below_the_centre_of_a_plus_lens_the_base_is_up() {
    let prism = looked_through_at(sphere(8.50), Millimetres(0.0), Millimetres(-2.0));
    assert_relative_eq!(prism.amount(), 1.7, epsilon = 1e-12);
    assert_relative_eq!(prism.base_deg(), Base::Up.degrees(Eye::Left), epsilon = 1e-9);
}

/// Common practice, no source: 6 base out is 3 out before each eye, 4 up is 2 up and 2 down. The halves do together what the
/// whole does.
#[test]
fn a_split_prism_does_what_the_whole_does() {
    for eye in Eye::BOTH {
        let parts = [(6.0, Base::Out), (4.0, Base::Up)].map(|(amount, base)| Prism::polar(amount, base.degrees(eye)));
        let whole: Prism = parts.into_iter().sum();
        let [this, other] = split_in_halves(whole);
        assert_relative_eq!(this.base_in(eye), -3.0, epsilon = 1e-12);
        assert_relative_eq!(other.base_in(eye.other()), -3.0, epsilon = 1e-12);
        assert_relative_eq!(this.y, 2.0, epsilon = 1e-12);
        assert_relative_eq!(other.y, -2.0, epsilon = 1e-12);
        let together = between_eyes(this, other);
        assert!((together - whole).amount() < 1e-12);
    }
}

/// Public teaching pages: exo 9, reserve 12: 2; eso 3, reserve 8: none; phoria 6, reserve 3: 3.
#[test]
fn published_prisms_by_sheard() {
    for (phoria, reserve, prism) in [(9.0, 12.0, 2.0), (3.0, 8.0, 0.0), (6.0, 3.0, 3.0)] {
        assert_relative_eq!(prism_wanted(PrismDioptres(phoria), PrismDioptres(reserve)).0, prism, epsilon = 1e-12);
    }
}

/// ANSI Z80.1-2015, quick reference: 6.7/|F| and at least 2.5 mm to the side, 3.3/|F| and at least 1.0 mm up and down.
#[test]
fn centres_of_made_glasses() {
    let limits = |power: Power| [HORIZONTAL, VERTICAL].map(|of| of.of(power).map(|limit| limit.0));
    assert_eq!(limits(sphere(0.0)), [None, None]);
    assert_eq!(limits(sphere(-1.0)), [Some(6.7), Some(3.3)]);
    assert_eq!(limits(sphere(2.0)), [Some(3.35), Some(1.65)]);
    for strong in [-3.5, 4.0, 12.0] {
        assert_eq!(limits(sphere(strong)), [Some(2.5), Some(1.0)]);
    }
    // a cylinder counts in its own meridian: −2.00×180 has none along the horizontal
    let [horizontal, vertical] = limits(cylinder(-2.0, 180.0));
    assert_eq!(horizontal, None);
    assert_relative_eq!(vertical.unwrap_or_default(), 1.65, epsilon = 1e-12);
}

/// Thompson and Guyton, *Ophthalmology* 1983 (abstract): thick prisms of glass, 40 and 5 stacked, make 59. Their sum, 45, is
/// wrong, and so it is never given without the caution above about 20 Δ.
#[test]
fn strong_prisms_are_never_added_without_a_word() {
    let out = |amount: f64| Prism::polar(amount, 180.0);
    assert!(stack_is_too_strong_to_add(&[out(40.0), out(5.0)]));
    assert!(stack_is_too_strong_to_add(&[out(12.0), Prism::polar(12.0, 0.0)]), "against each other they are as thick");
    assert!(!stack_is_too_strong_to_add(&[out(12.0), out(8.0)]));
    assert!(!stack_is_too_strong_to_add(&[out(40.0)]), "one alone is not added");
    assert!(!stack_is_too_strong_to_add(&[]));
    assert_eq!([20.0, 20.5].map(|in_all| are_too_strong_to_add(PrismDioptres(in_all))), [false, true]);
}
