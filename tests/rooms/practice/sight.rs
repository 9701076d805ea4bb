//! What the written law comes to, without any chance: its own numbers, worked out by hand.

use dioptray::exam::Complaint;
use dioptray::optics::{Eye, Eyes, Power};
use dioptray::practice::answers::acuity_of;
use dioptray::practice::examinee::Compared;
use dioptray::practice::people::print_log_mar;
use dioptray::practice::sight::{Aperture, Condition, FAR_M, Look, PracticeEye, vergence_of_chart_d};
use dioptray::practice::{Law, Person, Traits};

use super::{assert_near, examined, far, log_mar, person, rx, sphere, steady};

/// 6/5 as a minimum angle of resolution in minutes of arc.
const BEST_MAR: f64 = 5.0 / 6.0;

fn right(person: &Person) -> PracticeEye {
    person.eyes[Eye::Right]
}

fn mar(person: &Person, look: &Look) -> f64 {
    10f64.powf(right(person).log_mar(look, Condition::default()))
}

/// The law: 6/6.7 at 0.50 D, 6/12 at 1.00, 6/33 at 2.00, 6/68 at 3.00.
#[test]
fn blur_reads_the_lines_of_the_law() {
    let denominator = |blur_d: f64| 6.0 * mar(&person(sphere(-blur_d), 30, Traits::STEADY), &far(Power::ZERO));
    assert_near(denominator(0.0), 5.0, 1e-9);
    // 6/6.755: the law writes 6/6.7 for it
    assert_near(denominator(0.5), 6.755, 1e-9);
    assert_near(denominator(1.0), 12.02, 1e-9);
    assert_near(denominator(2.0), 33.08, 1e-9);
    assert_near(denominator(3.0), 68.18, 1e-9);
    // and blur is the length of the power vector, whichever way it points
    let plain = denominator(1.5);
    for needs in [rx(1.5, -3.0, 20.0), rx(1.5, -3.0, 110.0), rx(-0.9 + 1.2, -2.4, 77.0)] {
        let astigmatic = person(needs, 30, Traits::STEADY);
        assert_near(6.0 * mar(&astigmatic, &far(Power::ZERO)), plain, 1e-9);
    }
    // the pupil's share goes in as a square
    let wide = Traits { pupil: 1.2, ..Traits::STEADY };
    assert_near(mar(&person(sphere(-2.0), 30, wide), &far(Power::ZERO)), BEST_MAR + 1.17 * 1.44 * 4.0, 1e-9);
}

/// The law: no letter of the chart beyond about 3.2 D.
#[test]
fn no_letter_is_read_beyond_about_three_dioptres() {
    let reads = |hundredths: i32| {
        let mut examinee = steady(sphere(-f64::from(hundredths) / 100.0), 30);
        let seen = examinee.sees(Eye::Right, &far(Power::ZERO));
        examinee.reads(seen, FAR_M)
    };
    let last = (0..500).take_while(|hundredths| reads(*hundredths).is_some()).last();
    // 3.13 where the last letter, 1.08, is reached by rounding
    assert_eq!(last, Some(313));
    assert!((314..1_500).all(|hundredths| reads(hundredths).is_none()));
    assert!(reads(313).is_some_and(|read| (read - 1.08).abs() < 1e-9));
}

/// Anderson, *IOVS* 2008;49:2919: A = 7.33 − 0.0035 (age − 3)²; the law: used = k (1 − exp(−M/k)), k = max(0.95, 0.80 A).
#[test]
fn what_is_missing_is_accommodated_by_age() {
    let spends = |age: u8, missing_d: f64| {
        right(&person(Power::ZERO, age, Traits::STEADY)).spends_d(missing_d, Condition::default())
    };
    // k by hand: 5.7268 at 10, 3.8228 at 30, 0.95 at 50 (0.80 A would be −0.321) and older
    for (age, k) in [(10, 5.7268), (30, 3.8228), (50, 0.95), (75, 0.95)] {
        for missing_d in [0.25, 1.0, 2.5, 6.0] {
            assert_near(spends(age, missing_d), k * (1.0 - (-missing_d / k).exp()), 1e-9);
        }
        assert_eq!(spends(age, 0.0), 0.0);
        assert_eq!(spends(age, -3.0), 0.0);
    }
    // astigmatism is not accommodated: nothing is spent where the equivalent is right
    let mixed = person(rx(1.0, -2.0, 45.0), 20, Traits::STEADY);
    assert!(!right(&mixed).accommodates(&far(Power::ZERO), Condition::default()));
    assert_near(mar(&mixed, &far(Power::ZERO)), BEST_MAR + 1.17, 1e-9);
    // nor too much of it wished away: more is left the more is missing
    let left = |missing_d: f64| missing_d - spends(20, missing_d);
    assert!((1..80).all(|tenths| left(f64::from(tenths) / 10.0) < left(f64::from(tenths + 1) / 10.0)));
}

/// The law: a pinhole leaves 0.3 of the pupil's blur and takes a factor of 1.15 from the best.
#[test]
fn a_pinhole_helps_blur_and_costs_the_best() {
    let through = |needs: Power| {
        let person = person(needs, 30, Traits::STEADY);
        (mar(&person, &Look { aperture: Aperture::Pinhole, ..far(Power::ZERO) }), mar(&person, &far(Power::ZERO)))
    };
    let (with, without) = through(Power::ZERO);
    assert_near(with, 1.15 * BEST_MAR, 1e-9);
    assert!(with > without);
    for blur_d in [1.0, 2.0, 5.0] {
        let (with, without) = through(sphere(-blur_d));
        assert_near(with, 1.15 * BEST_MAR + 1.17 * 0.09 * blur_d * blur_d, 1e-9);
        assert!(with < without);
    }
    // an eye that is poor for other reasons gains nothing by it: refer
    let poor = Traits { best_log_mar: 0.6, ..Traits::STEADY };
    let amblyope = person(Power::ZERO, 30, poor);
    assert!(
        mar(&amblyope, &Look { aperture: Aperture::Pinhole, ..far(Power::ZERO) }) > mar(&amblyope, &far(Power::ZERO))
    );
}

/// The law: behind a slit along t only the power along t blurs.
#[test]
fn a_slit_leaves_the_power_along_it() {
    // the axis of a minus cylinder is the meridian without its power: −1 along 30, −3 across it
    let person = person(rx(-1.0, -2.0, 30.0), 30, Traits::STEADY);
    let through = |along_deg: f64| mar(&person, &Look { aperture: Aperture::Slit { along_deg }, ..far(Power::ZERO) });
    assert_near(through(30.0), 1.15 * BEST_MAR + 1.17, 1e-9);
    assert_near(through(120.0), 1.15 * BEST_MAR + 1.17 * 9.0, 1e-9);
    assert_near(through(75.0), 1.15 * BEST_MAR + 1.17 * 4.0, 1e-9);
    // and turned, it is said to be clearest where least blurs
    assert_eq!(steady(rx(-1.0, -2.0, 30.0), 30).turns_slit(Eye::Right, &far(Power::ZERO)), Some(30));
    assert_eq!(steady(sphere(-2.0), 30).turns_slit(Eye::Right, &far(Power::ZERO)), None);
}

/// The law: red is seen with 0.25 D more than what is missing, green with 0.25 D less.
#[test]
fn red_is_clearer_to_the_short_sighted_and_green_to_the_old_long_sighted() {
    let seen = |needs_d: f64| steady(sphere(needs_d), 70).looks_at_red_and_green(Eye::Right, &far(Power::ZERO));
    assert_eq!(seen(-1.0), Compared::Worse);
    assert_eq!(seen(-0.5), Compared::Worse);
    assert_eq!(seen(1.5), Compared::Clearer);
    // half-way between: as far in front for the one as behind for the other, what is behind being accommodated in part
    let balance = (-100..200).map(|hundredths| f64::from(hundredths) / 100.0).filter(|d| seen(*d) == Compared::Same);
    let balance: Vec<f64> = balance.collect();
    assert!(!balance.is_empty() && balance.iter().all(|d| (0.0..1.0).contains(d)), "{balance:?}");
}

/// The law: both eyes spend what makes the clearer image clearest; the acuity is the better eye's.
#[test]
fn with_both_open_the_better_eye_is_read_with() {
    let both = |right: Power, left: Power, age: u8| {
        let person = Person::new(Eyes::new(right, left), age, Traits::STEADY, Law::Written);
        let alone = person.eyes.map(|eye| eye.log_mar(&far(Power::ZERO), Condition::default()));
        (alone, examined(person).sees_with_both(&Eyes::both(far(Power::ZERO))))
    };
    for (right, left) in [(-2.0, 0.0), (0.0, -2.0), (-1.0, -0.5), (0.0, 3.0), (1.0, 3.0)] {
        let (alone, open) = both(sphere(right), sphere(left), 30);
        assert_near(open, alone.right.min(alone.left), 1e-12);
    }
    // at 60 k is 0.95: the right eye spends 0.6184 of its 1.00; so much makes a left one, that alone spends less of what it
    // needs, clearer than either alone
    let left = rx(0.62 + 0.36, -0.72, 180.0);
    let (alone, open) = both(sphere(1.0), left, 60);
    let spent = 0.95 * (1.0 - (-1.0_f64 / 0.95).exp());
    assert!(alone.right < alone.left && open < alone.right);
    assert_near(open, (BEST_MAR + 1.17 * ((0.62 - spent).powi(2) + 0.36 * 0.36)).log10(), 1e-9);
}

/// The law: a chart at d metres adds 1/d − 1/6 to what is needed, one at 6 m or farther nothing; its lines are 6/d times the
/// angle, its top letter 1.08 + log10(6/d).
#[test]
fn a_nearer_chart_has_its_vergence_and_its_lines() {
    assert_near(vergence_of_chart_d(3.0), 1.0 / 6.0, 1e-12);
    assert_near(vergence_of_chart_d(4.0), 1.0 / 12.0, 1e-12);
    assert_eq!(vergence_of_chart_d(6.0), 0.0);
    assert_eq!(vergence_of_chart_d(8.0), 0.0);
    // who is right for 6 m lacks a sixth at 3 m, and reads best through it
    let eye = right(&person(rx(-2.0, -1.0, 20.0), 70, Traits::STEADY));
    let with = |add_d: f64| Look::at_chart(eye.needs + sphere(add_d), 3.0);
    assert_near(eye.missing(&with(0.0)).m, 1.0 / 6.0, 1e-12);
    assert_near(eye.missing(&with(1.0 / 6.0)).blur_strength(), 0.0, 1e-12);
    for (metres, top, bottom) in [(6.0, 1.08, -0.30), (3.0, 1.381, 0.001), (4.0, 1.256, -0.124)] {
        let mut examinee = steady(Power::ZERO, 30);
        let read: Vec<Option<f64>> =
            (-40..160).map(|hundredths| examinee.reads(f64::from(hundredths) / 100.0, metres)).collect();
        let lines = || read.iter().flatten();
        assert_near(lines().copied().fold(f64::NEG_INFINITY, f64::max), top, 0.0005);
        assert_near(lines().copied().fold(f64::INFINITY, f64::min), bottom, 0.0005);
        assert!(read.iter().rev().take_while(|read| read.is_none()).count() > 10);
        // said as a line of that chart, with at most two letters missed or gained below the top line
        for &log_mar in lines() {
            let said = acuity_of(log_mar, metres);
            let (mar, letters) = said.line().unwrap_or((f64::NAN, 0));
            assert_near(said.log_mar().unwrap_or(f64::NAN), log_mar, 1e-6);
            let line = (mar.log10() - (FAR_M / metres).log10()) * 10.0;
            assert_near(line, line.round(), 1e-6);
            assert!((-2..=2).contains(&letters) || (line.round() == 10.0 && letters < 0), "{said:?}");
        }
    }
}

/// The law: the size of print is 0.35 log MAR at 40 cm and grows as it comes nearer.
#[test]
fn print_is_clear_where_its_size_says() {
    assert_near(print_log_mar(0.40), 0.35, 1e-12);
    assert_near(print_log_mar(0.20), 0.651, 0.001);
    // −2.50 at 70 years: best at 40 cm; clear while blur leaves it: by hand at 80 cm, 1.25 D too near: 2.661 against 1.119
    let mut short_sighted = steady(sphere(-2.5), 70);
    let clear = short_sighted.reads_print_between_cm(&Eyes::both(Power::ZERO), [10, 200]);
    let [nearest, farthest] = clear.unwrap_or([0, 0]);
    let readable = |cm: u16| {
        let metres = f64::from(cm) / 100.0;
        let missing = 1.0 / metres - 2.5;
        let left = if missing > 0.0 { missing - 0.95 * (1.0 - (-missing / 0.95).exp()) } else { missing };
        (BEST_MAR + 1.17 * left * left).log10() <= 0.35 + (0.40 / metres).log10()
    };
    assert!(readable(nearest) && readable(farthest) && !readable(nearest - 1) && !readable(farthest + 1));
    assert!(nearest < 40 && farthest > 40);
    // no lens, no short sight, no accommodation: nowhere within reach but close by, where print is large
    let reach = steady(Power::ZERO, 75).reads_print_between_cm(&Eyes::both(Power::ZERO), [25, 45]);
    assert_eq!(reach, None);
    assert!(steady(Power::ZERO, 75).reads_print_between_cm(&Eyes::both(sphere(2.5)), [33, 45]).is_some());
}

/// The law: held at the nose when the equivalent is below −6.67.
#[test]
fn print_is_held_at_the_nose_beyond_six_and_two_thirds() {
    for (needs, at_the_nose) in
        [(sphere(-6.66), false), (sphere(-6.68), true), (rx(-6.5, -0.5, 90.0), true), (sphere(6.7), false)]
    {
        let person = person(needs, 30, Traits::STEADY);
        assert_eq!(person.holds_print_at_the_nose(Eye::Right), at_the_nose, "{needs:?}");
    }
}

/// The law: far where the better eye's unaided log MAR is above 0.12; near where print cannot be read anywhere from 5 to 40 cm.
#[test]
fn people_complain_of_what_they_do_not_see() {
    let says = |right: f64, left: f64, age: u8| {
        Person::new(Eyes::new(sphere(right), sphere(left)), age, Traits::STEADY, Law::Written).complaint
    };
    assert_eq!(says(0.0, 0.0, 25), Complaint::Nothing);
    assert_eq!(says(-2.0, -2.0, 25), Complaint::FarBlur);
    // the better eye decides
    assert_eq!(says(-2.0, 0.0, 25), Complaint::Nothing);
    assert_eq!(says(0.0, -2.0, 25), Complaint::Nothing);
    assert_eq!(says(0.0, 0.0, 60), Complaint::NearOnly);
    assert_eq!(says(-2.5, -2.5, 60), Complaint::FarBlur);
    assert_eq!(says(-2.5, 0.0, 60), Complaint::Nothing);
    assert_eq!(says(3.0, 3.0, 60), Complaint::BlurEverywhere);
    // the young make up for some of it: for far sooner than for near
    assert_eq!(says(1.0, 1.0, 15), Complaint::Nothing);
    assert_eq!(says(2.0, 2.0, 15), Complaint::NearOnly);
    // 0.12 is passed at √((10^0.12 − 5/6)/1.17) = 0.643 D
    assert_eq!(says(-0.64, -0.64, 25), Complaint::Nothing);
    assert_eq!(says(-0.65, -0.65, 25), Complaint::FarBlur);
    // who sees far well asks for help with print from the early forties on: measured 41
    let first = (15..=75).find(|age| says(0.0, 0.0, *age) == Complaint::NearOnly);
    assert_eq!(first, Some(41));
    assert!((41..=75).all(|age| says(0.0, 0.0, age) == Complaint::NearOnly));
    // print at the nose is print read
    assert_eq!(says(-9.0, -9.0, 60), Complaint::FarBlur);
    assert!(log_mar(&person(sphere(-9.0), 60, Traits::STEADY), Power::ZERO) > 1.08);
}
