//! What chance does to what is seen and said, by the numbers of the written law.

use dioptray::exam::{Answer, Exam, Opening};
use dioptray::frame::{FittedFrame, shipped::demo_frame};
use dioptray::guide::{Guide, Presentation, Question, Show};
use dioptray::kit::{Stock, shipped::demo_box};
use dioptray::optics::{Eye, Eyes, Power};
use dioptray::practice::examinee::{Compared, FanSeen, ReflexSeen};
use dioptray::practice::sight::FAR_M;
use dioptray::practice::{Examinee, Law, Person, Standing, Traits};

use super::{assert_near, assert_share, examined, far, mean_and_deviation, person, rx, share, sphere, steady};

const TIMES: u32 = 20_000;

/// The law: log MAR with a normal error of SD 0.05, counted in letters of 0.02.
#[test]
fn a_reading_is_right_within_three_standard_deviations() {
    let mut examinee = examined(person(Power::ZERO, 30, Traits::TYPICAL));
    let read: Vec<f64> = (0..TIMES).filter_map(|_| examinee.reads(0.301, FAR_M)).collect();
    assert_eq!(read.len(), TIMES as usize);
    // a reading is in whole letters
    assert!(read.iter().all(|read| ((read / 0.02).round() * 0.02 - read).abs() < 1e-9));
    let (mean, deviation) = mean_and_deviation(read.iter().copied());
    assert_near(mean, 0.301, 0.0015);
    // with what counting in letters adds: √(0.05² + 0.02²/12) = 0.0503
    assert_near(deviation, 0.0503, 0.001);
    let within = |log_mar: f64| {
        let inside = read.iter().filter(|read| (*read - 0.301).abs() <= log_mar).count();
        inside as f64 / f64::from(TIMES)
    };
    assert!(within(0.15) > 0.99, "{}", within(0.15));
    // and not because there is no error: 68 of 100 within one
    assert_near(within(0.05), 0.68, 0.06);
}

/// The law: *clearer* or *worse* beyond 0.02 g, g = 1 + max(0, (MAR of the better − 1)/3).
#[test]
fn a_difference_is_noticed_beyond_a_letter_and_more_where_little_is_seen() {
    let mut examinee = steady(Power::ZERO, 30);
    for (better, coarser) in [(-0.08, 1.0), (0.0, 1.0), (4f64.log10(), 2.0), (1.0, 4.0), (13f64.log10(), 5.0)] {
        let noticed = 0.02 * coarser;
        let mut compares = |gain: f64| {
            let (first, second) = if gain > 0.0 { (better + gain, better) } else { (better, better - gain) };
            examinee.compares(first, second, 0.0)
        };
        assert_eq!(compares(noticed + 1e-6), Compared::Clearer, "{better}");
        assert_eq!(compares(noticed - 1e-6), Compared::Same, "{better}");
        assert_eq!(compares(-noticed + 1e-6), Compared::Same, "{better}");
        assert_eq!(compares(-noticed - 1e-6), Compared::Worse, "{better}");
    }
}

/// The law: the noise is normal, SD s g.
#[test]
fn the_noise_of_a_comparison_grows_with_what_is_noticed() {
    for (traits, s) in [(0.03, 0.03), (0.02, 0.02), (0.06, 0.06)] {
        let traits = Traits { comparison_log_mar: traits, slips: 0.0, ..Traits::TYPICAL };
        let mut examinee = examined(person(Power::ZERO, 30, traits));
        for (log_mar, coarser) in [(0.0, 1.0), (1.0, 4.0)] {
            // a difference of one standard deviation beyond the threshold: 84.13 of 100 notice it
            let gain = (0.02 + s) * coarser;
            let clearer = share(TIMES, || examinee.compares(log_mar + gain, log_mar, 0.0) == Compared::Clearer);
            assert_share(clearer, 0.8413, TIMES);
        }
    }
}

/// The law: a slip, 1 in 100, is any of the three.
#[test]
fn one_answer_in_a_hundred_is_a_slip() {
    let traits = Traits { comparison_log_mar: 0.0, ..Traits::TYPICAL };
    let mut examinee = examined(person(Power::ZERO, 30, traits));
    let times = 60_000;
    let mut said = |wanted: Compared, gain: f64| share(times, || examinee.compares(gain, 0.0, 0.0) == wanted);
    for slip in [Compared::Same, Compared::Worse] {
        assert_share(said(slip, 0.5), 0.01 / 3.0, times);
    }
    assert_share(said(Compared::Clearer, 0.0), 0.01 / 3.0, times);
}

/// The law: while it accommodates, and only then, with a wobble of SD 0.10 D.
#[test]
fn accommodation_wobbles() {
    let traits = Traits { wobble_d: 0.10, ..Traits::STEADY };
    let mut young = examined(person(sphere(2.0), 20, traits));
    let mar = |log_mar: f64| 10f64.powf(log_mar);
    // where astigmatism keeps the blur away from nothing, blur² goes with the wobble: by hand 2 × left × 0.10 and 0.10²
    let (mean, deviation) = mean_and_deviation(
        (0..TIMES).map(|_| ((mar(young.sees(Eye::Right, &far(sphere(-6.0)))) - 5.0 / 6.0) / 1.17).sqrt()),
    );
    let left = 8.0 - 0.8 * (7.33 - 0.0035 * 289.0) * (1.0 - (-8.0_f64 / (0.8 * (7.33 - 0.0035 * 289.0))).exp());
    assert_near(mean, left, 0.003);
    assert_near(deviation, 0.10, 0.002);
    let fogged = (0..50).map(|_| young.sees(Eye::Right, &far(sphere(2.5))));
    let (_, still) = mean_and_deviation(fogged);
    assert!(still < 1e-12);
}

/// The law: the examiner judges with an error of SD 0.10 D, neutral within 0.12 D, dull and slow beyond 2 D.
#[test]
fn the_examiner_misjudges_a_reflex() {
    let mut examinee = examined(person(Power::ZERO, 30, Traits::TYPICAL));
    let mut shows = |off_d: f64, wanted: fn(ReflexSeen) -> bool| {
        share(TIMES, || wanted(examinee.shows_reflex(Eye::Right, sphere(1.0 - off_d), 30.0, 1.0)))
    };
    // the normal curve: within 1.2 standard deviations 76.99 of 100, beyond them on one side 11.51; a skew of 0.30 seen where
    // there is none is three of them: 27 in 10,000, and those break
    let straight = 1.0 - 0.0027;
    assert_share(shows(0.0, |seen| seen == ReflexSeen::Neutral), 0.7699 * straight, TIMES);
    assert_share(shows(0.0, |seen| matches!(seen, ReflexSeen::With { .. })), 0.1151 * straight, TIMES);
    assert_share(shows(0.0, |seen| matches!(seen, ReflexSeen::Against { .. })), 0.1151 * straight, TIMES);
    assert_share(shows(0.12, |seen| matches!(seen, ReflexSeen::With { .. })), 0.5 * straight, TIMES);
    assert_share(shows(2.0, |seen| matches!(seen, ReflexSeen::With { dull: true })), 0.5, TIMES);
    assert_share(shows(-2.0, |seen| matches!(seen, ReflexSeen::Against { dull: true })), 0.5, TIMES);
}

/// The law: each line of the fan with a noise of SD 0.06 D; two neighbours are alike within 0.06 D.
#[test]
fn the_fan_is_seen_with_noise() {
    // half-way between two lines each is named for half of those who name one alone
    let needs = rx(0.0, -1.5, 45.0);
    let mut examinee = examined(person(needs, 50, Traits::TYPICAL));
    let mut named = std::collections::BTreeMap::new();
    for _ in 0..5_000 {
        let seen = format!("{:?}", examinee.looks_at_fan(Eye::Right, &far(sphere(0.75))));
        *named.entry(seen).or_insert(0_u32) += 1;
    }
    let of = |name: &str| named.get(name).copied().unwrap_or(0);
    let (one, two) = (of("Line(1)"), of("Line(2)"));
    assert_near(f64::from(one) / f64::from(one + two), 0.5, 0.04);
    // the difference of two such noises has SD 0.085: within 0.06 for 52 of 100
    assert_near(f64::from(of("Two(1)")) / 5_000.0, 0.52, 0.04);
    assert!(one + two + of("Two(1)") > 4_950, "{named:?}");
}

/// The law: *all alike* when the extents differ by less than 0.30 D, two neighbours when by less than 0.06 D.
#[test]
fn lines_stand_out_by_thirty_hundredths() {
    // fogged by a dioptre, the line along the focus is blurred by it and the line across by the cylinder more
    let seen = |cylinder: f64, axis: f64| {
        let mut examinee = steady(rx(0.0, cylinder, axis), 50);
        examinee.looks_at_fan(Eye::Right, &far(sphere(1.0)))
    };
    for (hour, axis) in (1..).zip([30.0, 60.0, 90.0, 120.0, 150.0, 180.0]) {
        assert_eq!(seen(-0.29, axis), FanSeen::Alike);
        assert_eq!(seen(-0.31, axis), FanSeen::Line(hour));
        assert_eq!(seen(0.29, axis), FanSeen::Alike);
    }
    // 15 degrees between them is too little to tell two lines apart, a few degrees nearer to the one are enough
    assert_eq!(seen(-2.0, 45.0), FanSeen::Two(1));
    assert_eq!(seen(-2.0, 44.0), FanSeen::Two(1));
    assert_eq!(seen(-2.0, 40.0), FanSeen::Line(1));
    assert_eq!(seen(-2.0, 50.0), FanSeen::Line(2));
}

/// While cylinder is added the line still stands out, then none does, then the one across it.
#[test]
fn too_much_cylinder_turns_the_clearer_line_across() {
    let needs = rx(0.0, -1.5, 30.0);
    let mut examinee = steady(needs, 50);
    let mut stands_out =
        |cylinder: f64| examinee.still_stands_out(Eye::Right, &far(rx(1.0 - cylinder / 4.0, cylinder, 30.0)), 120.0);
    assert_eq!(stands_out(0.0), Some(true));
    assert_eq!(stands_out(-1.0), Some(true));
    assert_eq!(stands_out(-1.5), None);
    assert_eq!(stands_out(-2.0), Some(false));
}

/// A presentation of the guide with another question.
fn presented(question: Question, show: Show) -> Result<Presentation, Box<dyn std::error::Error>> {
    let fitted = FittedFrame::new(demo_frame()?, Stock::of(&demo_box()?));
    let exam = Exam::open(Opening::of(fitted));
    let first = Guide::of(&exam).presentation().clone();
    Ok(Presentation { procedure: None, eye: Some(Eye::Right), question, show, ..first })
}

fn standing(from: Power, to: Power) -> Standing {
    Standing { from: Eyes::both(from), to: Eyes::both(to), flipped: Eyes::both(to), chart_m: None }
}

/// The law: another letter is read where the comparison, without what only looks blacker, is *clearer*.
#[test]
fn blackness_is_not_a_letter() -> Result<(), Box<dyn std::error::Error>> {
    let clearer = presented(Question::ClearerWith { before: None }, Show::Compare)?;
    let letters = presented(Question::MoreLetters { before: None }, Show::Compare)?;
    let too_minus = standing(Power::ZERO, sphere(-0.5));
    let gains = standing(sphere(1.0), sphere(0.5));
    let says = |law: Law, presentation: &Presentation, standing: &Standing| {
        let person = Person::new(Eyes::both(Power::ZERO), 20, Traits::STEADY, law);
        examined(person).answer(presentation, standing)
    };
    assert_eq!(says(Law::Blacker, &clearer, &too_minus), Some(Answer::Clearer));
    assert_eq!(says(Law::Blacker, &letters, &too_minus), Some(Answer::No));
    assert_eq!(says(Law::Written, &clearer, &too_minus), Some(Answer::Same));
    assert_eq!(says(Law::Written, &letters, &too_minus), Some(Answer::No));
    for law in [Law::Blacker, Law::Written] {
        assert_eq!(says(law, &clearer, &gains), Some(Answer::Clearer));
        assert_eq!(says(law, &letters, &gains), Some(Answer::Yes));
    }
    Ok(())
}

/// The eye sees only what really stands before it, through what is held there.
#[test]
fn what_is_asked_is_answered_by_what_stands_there() -> Result<(), Box<dyn std::error::Error>> {
    let line = |show: Show, before: Power| -> Result<Option<f64>, Box<dyn std::error::Error>> {
        let presentation = presented(Question::LineRead, show)?;
        let answer = steady(rx(-2.0, -1.0, 40.0), 30).answer(&presentation, &standing(before, before));
        Ok(match answer {
            Some(Answer::Read(acuity)) => acuity.log_mar(),
            other => return Err(format!("{other:?} is not a reading").into()),
        })
    };
    let log_mar = |best: f64, blur_square: f64| Some((best * 5.0 / 6.0 + 1.17 * blur_square).log10());
    let near = |one: Option<f64>, other: Option<f64>| {
        assert_near(one.unwrap_or(f64::NAN), other.unwrap_or(f64::NAN), 0.0101);
    };
    near(line(Show::AsItIs, Power::ZERO)?, log_mar(1.0, 6.25 + 0.25));
    near(line(Show::AsItIs, rx(-2.0, -1.0, 40.0))?, log_mar(1.0, 0.0));
    near(line(Show::Pinhole { eye: Eye::Right }, Power::ZERO)?, log_mar(1.15, 0.09 * 6.5));
    Ok(())
}

/// A question to both eyes is answered with both; which eye is clearer, by comparing them: the left one is the second.
#[test]
fn the_clearer_eye_is_named() -> Result<(), Box<dyn std::error::Error>> {
    let presentation = presented(Question::ClearerEye, Show::AsItIs)?;
    let says = |right: f64, left: f64| {
        let person = Person::new(Eyes::new(sphere(right), sphere(left)), 50, Traits::STEADY, Law::Written);
        examined(person).answer(&presentation, &standing(Power::ZERO, Power::ZERO))
    };
    assert_eq!(says(-1.0, -0.5), Some(Answer::Second));
    assert_eq!(says(-0.5, -1.0), Some(Answer::First));
    assert_eq!(says(-0.75, -0.75), Some(Answer::Same));
    Ok(())
}

/// Nothing of an exam is left over in the next one by the same chance.
#[test]
fn the_same_chance_gives_the_same_answers() {
    let answers = |mut examinee: Examinee| -> Vec<Option<f64>> {
        (0..100)
            .map(|hundredths| {
                let seen = examinee.sees(Eye::Left, &far(sphere(-f64::from(hundredths) / 100.0)));
                examinee.reads(seen, FAR_M)
            })
            .collect()
    };
    let of = || examined(person(rx(1.0, -0.5, 10.0), 25, Traits::TYPICAL));
    assert_eq!(answers(of()), answers(of()));
}
