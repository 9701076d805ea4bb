//! What holds in every procedure of one eye, shown on people who are scripted and on practice eyes.

use approx::assert_abs_diff_eq;
use dioptray::exam::{Answer, Complaint, Detail, ProcedureName};
use dioptray::guide::findings::LineAt;
use dioptray::guide::ladder::first_lens::first_lens_by_line;
use dioptray::guide::ladder::lines_together::owing_by_lines_d;
use dioptray::guide::ladder::told::{greatest_step_d, last_rung_d, owing_d, sphere_told_d};
use dioptray::guide::{Question, Remark};
use dioptray::optics::{Acuity, Dioptres, Eye, Eyes, Power};
use dioptray::practice::draws::Draws;
use dioptray::practice::{self, Examinee, Law, Standing, Traits};
use libm::log10;

use super::set::{Walk, outreach};
use crate::people::{Says, Scripted};
use crate::steady::rx;

const RIGHT: Eye = Eye::Right;

fn line(denominator: f64) -> Acuity {
    Acuity::of_6_m(denominator)
}

/// The right eye of somebody, from the first question to where the left one begins.
fn right_eye(person: &Scripted) -> Walk {
    let mut walk = Walk::new(outreach());
    walk.detail(Detail::AgeYears(person.age));
    goes_on(&mut walk, |walk| person.answers(&walk.present(), &walk.exam));
    walk
}

fn goes_on(walk: &mut Walk, mut answers: impl FnMut(&Walk) -> Answer) {
    loop {
        assert!(walk.asked.len() < 300, "it does not end:\n{}", walk.tail());
        if let Question::Next(choices) = walk.present().question {
            let of_left = choices[0].1 == Some(Eye::Left);
            let both = choices[0].1.is_none() && choices[0].0 != ProcedureName::SetUp;
            if of_left || both {
                return;
            }
        }
        let answer = answers(walk);
        walk.answer(answer);
    }
}

fn remarked(walk: &Walk, wanted: impl Fn(&Remark) -> bool) -> bool {
    let before = walk.asked.iter().flat_map(|(presentation, _)| presentation.remarks.clone());
    before.chain(walk.present().remarks).any(|remark| wanted(&remark))
}

/// An eye of this need that sees by the written law, its best line and its pupil as said.
fn practice_eye(needs: Power, age: u8, traits: Traits, complaint: Complaint) -> Examinee {
    let mut person = practice::Person::new(Eyes::both(needs), age, traits, Law::Written);
    person.complaint = complaint;
    Examinee::new(person, Draws::new(7, 0))
}

fn led(examinee: &mut Examinee) -> Walk {
    let mut walk = Walk::new(outreach());
    goes_on(&mut walk, |walk| {
        let presentation = walk.present();
        if let Question::Next(choices) = &presentation.question {
            return Answer::Go { procedure: choices[0].0, eye: choices[0].1 };
        }
        let standing = Standing::of(&presentation, &walk.exam);
        examinee.answer(&presentation, &standing).unwrap()
    });
    walk
}

// rule: lines set the greatest step and the rung in which a search ends; JND as in the teaching notes
#[test]
fn a_line_sets_the_least_and_the_greatest_step() {
    assert_eq!([6.0, 9.0, 12.0].map(|d| last_rung_d(line(d))), [0.25; 3]);
    assert_eq!([15.0, 24.0, 60.0, 120.0].map(|d| last_rung_d(line(d))), [0.50, 1.00, 2.00, 4.00]);
    assert_eq!([6.0, 9.0, 12.0].map(|d| greatest_step_d(line(d))), [0.25, 0.25, 0.50]);
    assert!(greatest_step_d(line(24.0)).is_infinite());
}

// MAR ∝ 1 + b² (Blendowske 2015), 6/5 to 6/12 through +1.00: an eye that lacks 1.5 D reads 6/20.75, with −1.00 6/6.75
#[test]
fn two_lines_tell_the_sphere_whatever_astigmatism_there_is() {
    for (needs, astigmatism) in [(-1.5, 0.0), (-1.5, 0.5), (0.25, 0.3), (2.0, 0.0)] {
        let read = |with: f64| {
            let square: f64 = (needs - with) * (needs - with) + astigmatism * astigmatism;
            log10(5.0 / 6.0 * (1.0 + 1.4 * square))
        };
        for with in [needs + 0.5, needs + 1.0, needs + 2.5] {
            assert_abs_diff_eq!(
                sphere_told_d((needs + 3.0, read(needs + 3.0)), (with, read(with))),
                needs,
                epsilon = 1e-9
            );
        }
    }
    let fogged = log10(5.0 / 6.0 * 2.4);
    assert_abs_diff_eq!(owing_d(log10(5.0 / 6.0), fogged, 1.0), 0.0, epsilon = 1e-9);
    assert_abs_diff_eq!(owing_d(log10(5.0 / 6.0), log10(5.0 / 6.0), 1.0), 1.0, epsilon = 1e-9);
}

#[test]
fn the_first_lens_is_read_through_and_never_tells_too_much() {
    let far = Some(Complaint::FarBlur);
    assert_eq!(first_lens_by_line(line(6.0), far, false), 1.00);
    assert_eq!(first_lens_by_line(Acuity::NoLetter, far, true), -8.00);
    assert_eq!(first_lens_by_line(Acuity::NoLetter, far, false), -3.00);
    for needs in [-1.25, -1.5, -2.0, -2.5, -3.0] {
        let unaided = Acuity::of_log_mar(log10(5.0 / 6.0 * (1.0 + 1.4 * needs * needs)));
        let lens = first_lens_by_line(unaided, far, false);
        assert!(lens >= needs - 1e-9 && lens - needs <= 0.51, "{needs}: {lens}");
    }
}

// today's +20.50: the same to everything, 6/24 whatever is shown
#[test]
fn the_same_to_everything_does_not_walk_an_eye_away() {
    for age in [16, 30, 50, 70] {
        for denominator in [6.0, 12.0, 24.0] {
            let walk = right_eye(&Scripted::new(Says::Same, age, move |_| line(denominator)));
            assert!(walk.found(RIGHT).blur_strength() < 6.5, "{age}, 6/{denominator}:\n{}", walk.tail());
        }
        // who reads by what stands there, and only compares badly, is not led beyond what lines allow
        let truthful = Scripted::new(Says::Same, age, |before: Power| {
            Acuity::of_log_mar(log10(5.0 / 6.0 + 1.17 * (before.m - 0.5).max(0.0).powi(2)))
        });
        let walk = right_eye(&truthful);
        assert!((walk.found(RIGHT).m - 0.5).abs() <= 0.76, "{age}: {:?}\n{}", walk.found(RIGHT), walk.tail());
    }
}

#[test]
fn an_eye_that_reads_nothing_is_not_walked_by_the_same() {
    for says in [Says::Same, Says::Clearer, Says::Worse] {
        for age in [16, 50] {
            let walk = right_eye(&Scripted::new(says, age, |_| Acuity::NoLetter));
            assert!(walk.found(RIGHT).blur_strength() < 1e-9, "{says:?}, {age}:\n{}", walk.tail());
            let compared = walk.asked.iter().filter(|(presentation, _)| {
                matches!(presentation.question, Question::ClearerWith { .. } | Question::WhichPosition)
            });
            assert_eq!(compared.count(), 0, "nothing is compared that cannot be seen");
        }
    }
}

// clearer to everything: more than 1.50 D towards minus without a line gained goes back to the best line
#[test]
fn clearer_to_everything_is_stopped_and_goes_back_to_the_best_line() {
    for age in [16, 30, 50, 70] {
        let walk = right_eye(&Scripted::new(Says::Clearer, age, |before: Power| {
            // sees 6/6 with nothing and with any minus, worse with plus
            Acuity::of_log_mar(log10(1.0 + 1.17 * before.m.max(0.0).powi(2)))
        }));
        assert!(walk.found(RIGHT).m > -1.01, "{age}: {:?}\n{}", walk.found(RIGHT), walk.tail());
    }
}

#[test]
fn worse_to_everything_changes_nothing() {
    for age in [16, 50] {
        let walk = right_eye(&Scripted::new(Says::Worse, age, |before: Power| {
            Acuity::of_log_mar(log10(1.0 + 1.17 * before.blur_strength().powi(2)))
        }));
        assert!(walk.found(RIGHT).m.abs() < 0.3, "{:?}\n{}", walk.found(RIGHT), walk.tail());
    }
}

// a random answer half of the time: never far, since lines are what counts
#[test]
fn who_answers_at_random_half_of_the_time_is_not_led_far_astray() {
    for seed in 0..24 {
        let needs = rx(f64::from(seed as i32 % 7 - 4) * 0.75, -0.50, 90.0);
        let traits = Traits { slips: 0.5, ..Traits::TYPICAL };
        let mut person = practice::Person::new(Eyes::both(needs), 20 + 2 * seed as u8, traits, Law::Written);
        person.complaint = if needs.m < -0.5 { Complaint::FarBlur } else { Complaint::Nothing };
        let mut examinee = Examinee::new(person, Draws::new(11, seed));
        let walk = led(&mut examinee);
        let off = walk.found(RIGHT).m - needs.m;
        assert!(off.abs() <= 1.26, "{seed}: off by {off:+.2}\n{}", walk.tail());
    }
}

// −9.00 that reads nothing unaided is found by lines alone
#[test]
fn a_strong_eye_that_reads_nothing_unaided_is_found() {
    for (needs, complaint) in [
        (-5.0, Complaint::FarBlur),
        (-9.0, Complaint::FarBlur),
        (-13.5, Complaint::FarBlur),
        (7.0, Complaint::BlurEverywhere),
    ] {
        let mut examinee = practice_eye(rx(needs, 0.0, 180.0), 60, Traits::STEADY, complaint);
        let walk = led(&mut examinee);
        assert!((walk.found(RIGHT).m - needs).abs() <= 0.375, "{needs}: {:?}\n{}", walk.found(RIGHT), walk.tail());
    }
}

/// The check begun by itself on an eye with these glasses, read so without and through the fog.
fn checked(age: u8, without: f64, fogged: f64) -> Walk {
    let mut walk = Walk::new(outreach());
    walk.detail(Detail::AgeYears(age));
    walk.detail(Detail::OldGlasses(RIGHT, rx(-3.0, 0.0, 180.0).minus_form()));
    walk.begin(ProcedureName::FirstLens, Some(RIGHT));
    walk.answer(Answer::Second);
    walk.begin(ProcedureName::OverMinusCheck, Some(RIGHT));
    walk.answers(&[Answer::Read(line(without)), Answer::Read(line(fogged))]);
    walk
}

#[test]
fn two_lines_lost_pass_and_it_is_said() {
    for (without, fogged) in [(6.0, 9.6), (5.0, 12.0), (12.0, 24.0), (9.0, 60.0)] {
        let walk = checked(30, without, fogged);
        assert!(walk.guide().running().is_none(), "6/{without} to 6/{fogged}");
        assert!(remarked(&walk, |remark| matches!(remark, Remark::FogPassed { .. })), "it ends in silence");
        assert_abs_diff_eq!(walk.found(RIGHT).m, -3.0, epsilon = 0.06);
    }
}

#[test]
fn fewer_lost_shows_at_once_as_much_as_the_two_lines_tell() {
    let walk = checked(30, 6.0, 6.0);
    let shown = walk.present();
    assert_abs_diff_eq!(shown.to.right.unwrap().m - shown.from.right.unwrap().m, 1.0, epsilon = 0.01);
    let walk = checked(30, 6.0, 7.5);
    let shown = walk.present();
    assert_abs_diff_eq!(shown.to.right.unwrap().m - shown.from.right.unwrap().m, 0.5, epsilon = 0.13);
}

#[test]
fn plus_that_costs_a_line_is_taken_back() {
    let mut walk = checked(30, 6.0, 7.5);
    let shown = walk.present();
    let plus = shown.to.right.unwrap().m - shown.from.right.unwrap().m;
    walk.answers(&[Answer::Same, Answer::Read(line(9.0))]);
    assert!(walk.found(RIGHT).m < -3.0 + plus - 0.2);
}

// 62 years with a small pupil: +1.00 leaves 6/9; nothing is added
#[test]
fn from_55_years_the_check_only_reports() {
    let walk = checked(62, 6.0, 9.0);
    assert!(walk.guide().running().is_none());
    assert!(remarked(&walk, |remark| matches!(remark, Remark::FogReported { .. })));
    assert_abs_diff_eq!(walk.found(RIGHT).m, -3.0, epsilon = 0.06);
}

// an amblyope who reads 6/24 with and without +1.00
#[test]
fn at_6_18_and_worse_the_check_says_that_it_cannot_be_trusted() {
    let mut walk = Walk::new(outreach());
    walk.detail(Detail::AgeYears(20));
    walk.begin(ProcedureName::OverMinusCheck, Some(RIGHT));
    walk.answer(Answer::Read(line(24.0)));
    assert!(walk.guide().running().is_none());
    assert!(remarked(&walk, |remark| matches!(remark, Remark::FogUntrusted(RIGHT))));
    let Question::Next(choices) = walk.present().question else { panic!("something runs") };
    assert!(choices.iter().any(|(procedure, _)| *procedure == ProcedureName::Retinoscopy));
    // in a whole exam too, and no plus is added for it
    let amblyope = Traits { best_log_mar: log10(4.0), ..Traits::STEADY };
    let mut examinee = practice_eye(rx(0.0, 0.0, 180.0), 20, amblyope, Complaint::Nothing);
    let walk = led(&mut examinee);
    assert!(walk.found(RIGHT).m.abs() <= 1.01, "{:?}\n{}", walk.found(RIGHT), walk.tail());
}

// 16 years, long-sighted by 3 D, accommodation in play: reads 6/5 through +1.00 again and again
#[test]
fn plus_that_costs_nothing_goes_on_at_16_years() {
    for needs in [1.5, 2.5, 3.0] {
        let mut examinee = practice_eye(rx(needs, 0.0, 180.0), 16, Traits::STEADY, Complaint::Nothing);
        let walk = led(&mut examinee);
        assert!((walk.found(RIGHT).m - needs).abs() <= 0.375, "{needs}: {:?}\n{}", walk.found(RIGHT), walk.tail());
        assert!(remarked(&walk, |remark| matches!(remark, Remark::FogPassed { .. })), "{needs}: it ends in silence");
    }
}

// 65 years, 6/60 unaided, −2.00 reads 6/9 (an earlier guide never showed ±0.25)
#[test]
fn quarters_are_shown_both_ways_before_an_exam_ends() {
    for (needs, cylinder, age) in [(-2.25, 0.0, 65), (-1.0, -0.75, 30), (0.0, 0.0, 40), (2.0, 0.0, 50)] {
        let complaint = if needs < 0.0 { Complaint::FarBlur } else { Complaint::BlurEverywhere };
        let mut examinee = practice_eye(rx(needs, cylinder, 90.0), age, Traits::STEADY, complaint);
        let walk = led(&mut examinee);
        let found = walk.found(RIGHT);
        let judged = walk.guide().findings().judged.right.clone();
        let at = |power: Power, m: f64| (power - found).astigmatism() < 0.06 && (power.m - found.m - m).abs() < 0.1;
        for quarter in [0.25, -0.25] {
            let shown = judged.iter().any(|judged| {
                (at(judged.to, quarter) && at(judged.from, 0.0)) || (at(judged.from, quarter) && at(judged.to, 0.0))
            });
            assert!(shown, "{needs}: {quarter:+} was not shown:\n{}", walk.story());
        }
    }
}

#[test]
fn the_final_round_and_the_check_are_always_held() {
    let mut examinee = practice_eye(Power::ZERO, 30, Traits::STEADY, Complaint::Nothing);
    let walk = led(&mut examinee);
    for procedure in [ProcedureName::FinalSphere, ProcedureName::OverMinusCheck] {
        assert_eq!(walk.guide().findings().times(procedure, RIGHT), 1, "{procedure}");
    }
}

// a quarter towards minus: below 45 only for a letter; else clearer twice
#[test]
fn a_quarter_towards_minus_needs_a_letter_or_to_be_clearer_twice() {
    for (age, letters) in [(44, true), (45, false)] {
        let mut walk = Walk::new(outreach());
        walk.detail(Detail::AgeYears(age));
        walk.begin(ProcedureName::FinalSphere, Some(RIGHT));
        walk.answers(&[Answer::Read(line(6.0)), Answer::Worse]);
        let asked = walk.present();
        assert_eq!(matches!(asked.question, Question::MoreLetters { .. }), letters, "{age} years");
        walk.answer(if letters { Answer::Yes } else { Answer::Clearer });
        // asked again before it is kept
        assert_eq!((walk.present().question.clone(), walk.present().to), (asked.question, asked.to));
        assert!(walk.found(RIGHT).m.abs() < 0.06);
        walk.answer(if letters { Answer::Yes } else { Answer::Clearer });
        assert_abs_diff_eq!(walk.found(RIGHT).m, -0.25, epsilon = 0.06);
    }
}

// of 30 eyes without astigmatism 24 were given a cylinder: one preference is not enough
#[test]
fn a_preference_of_the_cross_cylinder_counts_when_it_comes_twice() {
    let begun = || {
        let mut walk = Walk::new(outreach());
        walk.begin(ProcedureName::CrossCylinderSearch, Some(RIGHT));
        walk
    };
    for (answers, cylinder) in [
        (vec![Answer::First, Answer::Second, Answer::Same], false),
        (vec![Answer::First, Answer::Same, Answer::Second, Answer::First], false),
        (vec![Answer::First, Answer::First], true),
        (vec![Answer::Same, Answer::Second, Answer::Second], true),
    ] {
        let mut walk = begun();
        walk.answers(&answers);
        assert!(walk.guide().running().is_none(), "{answers:?}");
        assert_eq!(walk.found(RIGHT).astigmatism() > 0.1, cylinder, "{answers:?}");
        assert_abs_diff_eq!(walk.found(RIGHT).m, 0.0, epsilon = 0.06);
    }
}

// put in by hand: the search goes on from there
#[test]
fn what_stands_in_the_frame_is_where_a_procedure_begins() {
    use dioptray::exam::Event;
    use dioptray::frame::Move;
    let mut walk = Walk::new(outreach());
    let piece = walk.state().fitted.stock.free_piece(&super::set::sphere(-4.0)).unwrap().piece.clone();
    walk.exam.apply(&[Event::Moved(Move::Put { piece, eye: RIGHT, cell: 1, direction: None })]).unwrap();
    for procedure in [ProcedureName::BestSphere, ProcedureName::FinalSphere, ProcedureName::OverMinusCheck] {
        let mut walk = walk_copy(&walk);
        walk.begin(procedure, Some(RIGHT));
        assert_abs_diff_eq!(walk.found(RIGHT).m, -4.0, epsilon = 0.06);
        let stands = walk.state().fitted.in_front_of(RIGHT).net;
        assert_abs_diff_eq!(stands.m, -4.0, epsilon = 0.06);
    }
    walk.begin(ProcedureName::FirstLens, Some(RIGHT));
    let Question::StartFrom { so_far, .. } = walk.present().question else { panic!("it is thrown out unasked") };
    assert!(so_far.is_some());
}

fn walk_copy(walk: &Walk) -> Walk {
    Walk::new(walk.exam.clone())
}

// what is needed again is not laid down between
#[test]
fn the_cross_cylinder_stays_in_the_hand_while_it_is_needed() {
    use dioptray::exam::Event;
    use dioptray::frame::Move;
    let mut examinee = practice_eye(rx(-1.0, -1.5, 30.0), 30, Traits::STEADY, Complaint::FarBlur);
    let walk = led(&mut examinee);
    let asked = walk.asked.iter().filter(|(presentation, _)| presentation.question == Question::WhichPosition).count();
    let laid = walk
        .exam
        .standing_steps()
        .iter()
        .flatten()
        .filter(|event| matches!(event, Event::Moved(Move::Lay { piece, .. }) if piece.lens.is_cross_cylinder()));
    let laid = laid.count();
    // it is laid down where a procedure ends: once each for the search, the axis, the power, and the axis again
    assert!(asked >= 6 && laid <= 4, "{asked} positions, laid down {laid} times");
}

/// Shares within a quarter, within a half, too minus and too plus, of 300 eyes by a law.
fn figures_of_300(law: Law) -> [f64; 4] {
    let mut counts = [0_usize; 4];
    let many = 300;
    for number in 0..many {
        let person = practice::Person::drawn(2, number, practice::Care::Typical, law);
        let needs = person.needs().right;
        let mut examinee = Examinee::new(person, Draws::new(2, 1_000 + number));
        let walk = led(&mut examinee);
        let off = dioptray::optics::quarter::nearest_quarter(walk.found(RIGHT), 1).power().m - needs.m;
        counts[0] += usize::from(off.abs() <= 0.25 + 1e-9);
        counts[1] += usize::from(off.abs() <= 0.50 + 1e-9);
        counts[2] += usize::from(off < -0.25 - 1e-9);
        counts[3] += usize::from(off > 0.25 + 1e-9);
    }
    counts.map(|count| count as f64 / many as f64)
}

/// The figures of the ladder, one eye, on a few eyes: with three standard deviations of chance as its margin.
#[test]
fn most_eyes_are_refracted_within_a_quarter() {
    let [quarter, half, minus, plus] = figures_of_300(Law::Written);
    assert!(quarter >= 0.945 && half >= 0.985, "{quarter} within a quarter, {half} within a half");
    assert!(minus <= 0.025 && plus <= 0.045, "{minus} too minus, {plus} too plus");
}

/// Who finds less plus blacker, or never says *the same*, is shown by the line that plus costs nothing.
#[test]
fn plus_that_is_only_less_black_is_kept() {
    for law in [Law::Blacker, Law::NeverSame] {
        let [quarter, _, minus, _] = figures_of_300(law);
        assert!(quarter >= 0.94 && minus <= 0.03, "{law:?}: {quarter} within a quarter, {minus} too minus");
    }
}

/// Lines as an eye reads them without chance, so much plus owing to it before what stands there.
fn lines_of(owing_d: f64, base: Power, over_d: &[f64]) -> Vec<LineAt> {
    let read = |over: f64| {
        let blur = (over - owing_d).max(0.0);
        let best = 10_f64.powf(-0.079);
        LineAt {
            power: base + Power::sphere(Dioptres(over)),
            acuity: Acuity::of_log_mar(log10(best * 1.4_f64.mul_add(blur * blur, 1.0))),
        }
    };
    over_d.iter().map(|&over| read(over)).collect()
}

#[test]
fn all_lines_together_tell_what_is_owing() {
    let base = rx(-1.00, -0.75, 20.0);
    let told = |owing: f64| owing_by_lines_d(&lines_of(owing, base, &[0.0, 1.00, 0.75]), base);
    assert_abs_diff_eq!(told(0.0), 0.0, epsilon = 0.10);
    assert!(told(0.50) > 0.30 && told(-0.25) < -0.10, "{} and {}", told(0.50), told(-0.25));
    let rising: Vec<f64> = [-0.50, -0.25, 0.0, 0.25, 0.50, 0.75].map(told).to_vec();
    assert!(rising.is_sorted(), "{rising:?}");
    // a line read on the way, with no cylinder yet, counts by the astigmatism that it was read with
    let mut on_the_way = lines_of(0.50, base, &[0.0]);
    let without_cylinder = Power::sphere(Dioptres(base.m + 1.50));
    let blur2 = 1.0_f64 + (without_cylinder - base).astigmatism().powi(2);
    let acuity = Acuity::of_log_mar(log10(10_f64.powf(-0.079) * 1.4_f64.mul_add(blur2, 1.0)));
    on_the_way.push(LineAt { power: without_cylinder, acuity });
    assert!(owing_by_lines_d(&on_the_way, base) > 0.25, "{}", owing_by_lines_d(&on_the_way, base));
    // nothing read, nothing told but that more plus may be hidden than minus
    assert!(owing_by_lines_d(&[], base) >= 0.0);
}
