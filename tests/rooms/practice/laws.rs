//! The twelve other laws: each changes what it names, and nothing else.

use std::collections::{BTreeMap, BTreeSet};

use dioptray::optics::{Eye, Eyes, Power};
use dioptray::practice::examinee::Compared;
use dioptray::practice::sight::{Aperture, Condition, FAR_M, Look};
use dioptray::practice::{Care, Examinee, Law, Person, Traits};

use super::{assert_near, assert_share, examined, far, mean_and_deviation, rx, share, sphere};

/// What is named by a law or left alone by it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Told {
    Accommodation,
    Acuity,
    WithBoth,
    Line,
    Comparison,
    Colours,
    Fan,
    Slit,
    Reflex,
    Print,
}

/// Tone that is not relaxed, where a law knows it, in dioptres.
const TONE_D: f64 = 0.6;

fn under(law: Law, needs: Power, age_years: u8, traits: Traits) -> Examinee {
    let person = Person::new(Eyes::both(needs), age_years, traits, law);
    let tone_d = if law == Law::Tone && age_years < 40 { TONE_D } else { 0.0 };
    examined(Person { tone_d, ..person })
}

/// What somebody without any chance sees and says under a law, question after question.
fn told(law: Law, needs: Power, age_years: u8) -> BTreeMap<Told, Vec<String>> {
    let mut examinee = under(law, needs, age_years, Traits::STEADY);
    let mut told: BTreeMap<Told, Vec<String>> = BTreeMap::new();
    let eye = Eye::Right;
    let tone = Condition { tone_d: examinee.person().tone_d, ..Condition::default() };
    for off in [-2.0, -1.0, -0.5, -0.25, 0.0, 0.25, 0.5, 1.0, 2.0] {
        examinee.is_asked();
        let mut say = |what: Told, said: String| told.entry(what).or_default().push(said);
        let looks = [far(needs + sphere(off)), far(rx(off, -0.75, 30.0)), Look::at_chart(needs + sphere(off), 3.0)];
        for look in looks {
            let of_person = examinee.person().eyes[eye];
            say(Told::Accommodation, format!("{:?}", of_person.spends_d(of_person.missing(&look).m, tone)));
            for aperture in [Aperture::Pupil, Aperture::Pinhole, Aperture::Slit { along_deg: 60.0 }] {
                say(Told::Acuity, format!("{:?}", examinee.sees(eye, &Look { aperture, ..look })));
            }
            let fellow = far(needs + sphere(off / 2.0));
            say(Told::WithBoth, format!("{:?}", examinee.sees_with_both(&Eyes::new(look, fellow))));
            let black = examinee.blacker(eye, &far(needs), &look);
            say(Told::Comparison, format!("{:?}", examinee.compares(0.10, 0.105, black)));
            say(Told::Colours, format!("{:?}", examinee.looks_at_red_and_green(eye, &look)));
            say(Told::Fan, format!("{:?}", examinee.looks_at_fan(eye, &look)));
            say(Told::Fan, format!("{:?}", examinee.still_stands_out(eye, &look, 120.0)));
            say(Told::Slit, format!("{:?}", examinee.turns_slit(eye, &look)));
            say(Told::Reflex, format!("{:?}", examinee.shows_reflex(eye, look.before, 40.0, 0.5)));
            say(Told::Reflex, format!("{:?}", examinee.shows_meridian(eye, look.before)));
            let before = Eyes::both(look.before + sphere(1.0));
            say(Told::Print, format!("{:?}", examinee.reads_print_between_cm(&before, [10, 200])));
        }
        for log_mar in [-0.2, -0.08, 0.012, 0.3, 0.44, 1.0, 1.3].repeat(5) {
            say(Told::Line, format!("{:?}", examinee.reads(log_mar, FAR_M)));
        }
        for second in [-0.1, -0.03, 0.0, 0.01, 0.03, 0.5] {
            say(Told::Comparison, format!("{:?}", examinee.compares(0.0, second, 0.0)));
        }
    }
    told
}

/// What differs from the written law, over eyes young and old.
fn differs(law: Law) -> BTreeSet<Told> {
    let mut differs = BTreeSet::new();
    for (needs, age) in
        [(Power::ZERO, 20), (rx(2.5, -1.5, 75.0), 33), (rx(-3.0, -0.5, 160.0), 45), (rx(1.0, 0.0, 180.0), 68)]
    {
        let written = told(Law::Written, needs, age);
        for (what, said) in told(law, needs, age) {
            if written[&what] != said {
                differs.insert(what);
            }
        }
    }
    differs
}

/// What a law may change for somebody without any chance. Blur changes everything that is seen, but not what is read or
/// compared where the same is seen; accommodation what is seen and where lines are drawn out; nothing changes retinoscopy.
#[test]
fn each_law_changes_what_it_names_and_nothing_else() {
    use Told::{Accommodation, Acuity, Colours, Comparison, Fan, Line, Print, Slit, WithBoth};
    for law in Law::ALL {
        let named: &[Told] = match law {
            // only noise is changed, and here is none
            Law::Written | Law::HeavyTails => &[],
            Law::Linear | Law::DeadZone => &[Acuity, WithBoth, Colours, Print],
            // the acuity falls with the questions, and what is compared with it
            Law::Tired => &[Acuity, WithBoth, Print],
            Law::Amplitude | Law::Tone => &[Accommodation, Acuity, WithBoth, Colours, Fan, Slit, Print],
            Law::Runs | Law::LearnsChart | Law::WholeLines => &[Line],
            Law::NeverSame => &[Comparison, Colours],
            Law::Eager | Law::Blacker => &[Comparison],
        };
        assert_eq!(differs(*law), named.iter().copied().collect(), "{}", law.name());
    }
}

/// The other laws leave people alone: traits, tone and complaint are the written law's but where they are named.
#[test]
fn laws_change_traits_only_where_they_name_them() {
    for law in Law::ALL {
        for number in 0..100 {
            let written = Person::drawn(4, number, Care::Typical, Law::Written);
            let other = Person::drawn(4, number, Care::Typical, *law);
            let traits = if *law == Law::Runs { Traits { slips: 0.03, ..written.traits } } else { written.traits };
            assert_eq!(other.traits, traits);
            assert!(other.tone_d == 0.0 || *law == Law::Tone);
            assert_eq!(
                (other.eye_pd_mm, other.frame_pd_mm, other.room),
                (written.eye_pd_mm, written.frame_pd_mm, written.room)
            );
        }
    }
}

fn mar(examinee: &mut Examinee, before: Power) -> f64 {
    10f64.powf(examinee.sees(Eye::Right, &far(before)))
}

/// `linear`: MAR² = MAR0² + 3.306 q² u².
#[test]
fn linear_adds_as_squares() {
    let mut examinee = under(Law::Linear, Power::ZERO, 50, Traits { pupil: 1.1, ..Traits::STEADY });
    for blur_d in [0.0, 0.25, 0.5, 1.0, 2.0, 3.0] {
        let best: f64 = 5.0 / 6.0;
        let square = best * best + 3.306 * 1.21 * blur_d * blur_d;
        assert_near(mar(&mut examinee, sphere(blur_d)), square.sqrt(), 1e-9);
    }
    // at one dioptre it agrees with the written law: 6/12
    let mut usual = under(Law::Linear, Power::ZERO, 50, Traits::STEADY);
    assert_near(mar(&mut usual, sphere(1.0)), 2.0, 0.001);
}

/// `dead-zone`: v = max(0, u − 0.25)/0.75; MAR = MAR0 + 1.167 q² v².
#[test]
fn dead_zone_does_not_see_a_quarter() {
    let mut examinee = under(Law::DeadZone, Power::ZERO, 50, Traits { pupil: 1.1, ..Traits::STEADY });
    for (blur_d, v) in [(0.0, 0.0), (0.2, 0.0), (0.25, 0.0), (0.625, 0.5), (1.0, 1.0), (1.75, 2.0)] {
        assert_near(mar(&mut examinee, sphere(blur_d)), 5.0 / 6.0 + 1.167 * 1.21 * v * v, 1e-9);
    }
}

/// `amplitude`: 90 % of what is missing, up to 18.5 − 0.30 age (Hofstetter's mean).
#[test]
fn amplitude_spends_nine_tenths() {
    let left = |missing_d: f64, age: u8| {
        let seen = mar(&mut under(Law::Amplitude, sphere(missing_d), age, Traits::STEADY), Power::ZERO);
        ((seen - 5.0 / 6.0) / 1.17).sqrt()
    };
    assert_near(left(2.0, 20), 0.2, 1e-6);
    assert_near(left(5.0, 20), 0.5, 1e-6);
    // Hofstetter: 6.5 at 40, 0.5 at 60, none at 70
    assert_near(left(8.0, 40), 1.5, 1e-6);
    assert_near(left(2.0, 60), 1.5, 1e-6);
    assert_near(left(2.0, 70), 2.0, 1e-6);
}

/// `heavy-tails`: the noise of a comparison × 4 in one answer of ten.
#[test]
fn heavy_tails_are_heavy() {
    let times = 20_000;
    let no_slips = Traits { slips: 0.0, ..Traits::TYPICAL };
    // 0.1 worse is missed beyond 0.08: 2.667 standard deviations, 0.00383, or two thirds of one, 0.25249
    for (law, missed) in [(Law::Written, 0.00383), (Law::HeavyTails, 0.9 * 0.00383 + 0.1 * 0.25249)] {
        let mut examinee = under(law, Power::ZERO, 50, no_slips);
        let measured = share(times, || examinee.compares(0.0, 0.1, 0.0) != Compared::Worse);
        assert_share(measured, missed, times);
    }
}

/// `runs`: slips 3 in 100, after a slip one in two; a reading off by 0.2 either way in 4 of 100.
#[test]
fn slips_come_in_runs() {
    let times = 40_000;
    let silent = Traits { comparison_log_mar: 0.0, ..Traits::TYPICAL }.under(Law::Runs);
    let mut examinee = under(Law::Runs, Power::ZERO, 50, silent);
    let wrong: Vec<bool> = (0..times).map(|_| examinee.compares(0.0, 0.5, 0.0) != Compared::Worse).collect();
    let count = |found: &mut dyn Iterator<Item = bool>| found.filter(|wrong| *wrong).count() as f64;
    // in the long run p = 0.03 (1 − p) + 0.5 p, of which two thirds show; runs make chance about twice as wide
    let all = 0.03 / 0.53 * 2.0 / 3.0;
    let measured = count(&mut wrong.iter().copied()) / f64::from(times);
    assert_near(measured, all, 8.0 * (all / f64::from(times)).sqrt());
    // after one that shows the next shows in a third
    let after = wrong.windows(2).filter(|pair| pair[0]).map(|pair| pair[1]);
    let followers = count(&mut wrong.iter().copied()) as u32;
    assert_share(count(&mut { after }) / f64::from(followers), 1.0 / 3.0, followers);

    let exact = Traits { reading_log_mar: 0.0, ..Traits::TYPICAL };
    let mut examinee = under(Law::Runs, Power::ZERO, 50, exact);
    let read: Vec<f64> = (0..times).filter_map(|_| examinee.reads(0.30, FAR_M)).collect();
    let at = |log_mar: f64| read.iter().filter(|read| (*read - log_mar).abs() < 1e-9).count() as f64 / f64::from(times);
    assert_share(at(0.30), 0.96, times);
    assert_share(at(0.50), 0.02, times);
    assert_share(at(0.10), 0.02, times);
}

/// `tired`: noise × (1 + 0.04 n), MAR0 worse by 0.003 log a question, at most 0.10; n questions before this one.
#[test]
fn the_tired_see_worse_with_every_question() {
    let mut examinee = under(Law::Tired, Power::ZERO, 50, Traits::STEADY);
    let best = (5.0_f64 / 6.0).log10();
    for before in 0..60 {
        examinee.is_asked();
        let worse = (0.003 * f64::from(before)).min(0.10);
        assert_near(examinee.sees(Eye::Right, &far(Power::ZERO)), best + worse, 1e-9);
    }
    for before in [0, 10, 25] {
        let mut examinee = under(Law::Tired, Power::ZERO, 50, Traits { slips: 0.0, ..Traits::TYPICAL });
        (0..=before).for_each(|_| examinee.is_asked());
        let noise = 1.0 + 0.04 * f64::from(before);
        let (_, deviation) = mean_and_deviation((0..10_000).filter_map(|_| examinee.reads(0.301, FAR_M)));
        assert_near(deviation, 0.0503 * noise, 0.03 * 0.05 * noise + 0.0005);
        // one standard deviation of the comparison beyond the threshold
        let gain = 0.02 + 0.03 * noise;
        let clearer = share(10_000, || examinee.compares(gain, 0.0, 0.0) == Compared::Clearer);
        assert_share(clearer, 0.8413, 10_000);
    }
}

/// `learns-chart`: readings better by 0.015 × readings so far, at most 0.09.
#[test]
fn a_chart_is_learnt() {
    let mut examinee = under(Law::LearnsChart, Power::ZERO, 50, Traits::STEADY);
    let read: Vec<f64> = (0..9).filter_map(|_| examinee.reads(0.312, FAR_M)).collect();
    // 0.312, 0.297, 0.282, 0.267, 0.252, 0.237, 0.222 and no further, in letters
    let expected = [0.32, 0.30, 0.28, 0.26, 0.26, 0.24, 0.22, 0.22, 0.22];
    assert_eq!(read.len(), expected.len());
    read.iter().zip(expected).for_each(|(read, expected)| assert_near(*read, expected, 1e-9));
}

/// `whole-lines`: standard lines only, 6/5 at best.
#[test]
fn only_whole_lines_are_said() {
    let mut examinee = under(Law::WholeLines, Power::ZERO, 50, Traits::STEADY);
    let mut said = BTreeSet::new();
    for hundredths in -40..140 {
        let log_mar = f64::from(hundredths) / 100.0;
        let Some(read) = examinee.reads(log_mar, FAR_M) else {
            // fewer than three letters of the top line
            assert!(log_mar > 1.04, "{log_mar}");
            continue;
        };
        let line = 6.0 * 10f64.powf(read);
        assert_near(line, line.round(), 1e-6);
        said.insert(line.round() as u32);
        // never better than what is seen by more than what three letters of five leave out
        assert!(read >= log_mar - 0.0501, "{log_mar}: 6/{line}");
    }
    assert_eq!(said.into_iter().collect::<Vec<_>>(), [5, 6, 9, 12, 18, 24, 36, 60]);
    assert_near(examinee.reads(-0.3, FAR_M).unwrap_or(f64::NAN), (5.0_f64 / 6.0).log10(), 1e-9);
}

/// `eager`: 0.02 in favour of the lens shown second.
#[test]
fn the_eager_favour_the_second() {
    let mut examinee = under(Law::Eager, Power::ZERO, 50, Traits::STEADY);
    let mut compares = |gain: f64| examinee.compares(0.0, -gain, 0.0);
    assert_eq!(compares(0.001), Compared::Clearer);
    assert_eq!(compares(-0.001), Compared::Same);
    assert_eq!(compares(-0.039), Compared::Same);
    assert_eq!(compares(-0.041), Compared::Worse);
}

/// `never-same`: the sign of d + noise, never *the same*.
#[test]
fn one_is_always_clearer() {
    let mut examinee = under(Law::NeverSame, Power::ZERO, 50, Traits::STEADY);
    for log_mar in [0.0, 1.0] {
        assert_eq!(examinee.compares(log_mar + 0.001, log_mar, 0.0), Compared::Clearer);
        assert_eq!(examinee.compares(log_mar, log_mar + 0.001, 0.0), Compared::Worse);
    }
    let times = 20_000;
    let mut typical = under(Law::NeverSame, Power::ZERO, 50, Traits { slips: 0.05, ..Traits::TYPICAL });
    let said: Vec<Compared> = (0..times).map(|_| typical.compares(0.0, 0.0, 0.0)).collect();
    assert!(said.iter().all(|said| *said != Compared::Same));
    let clearer = said.iter().filter(|said| **said == Compared::Clearer).count();
    assert_share(clearer as f64 / f64::from(times), 0.5, times);
}

/// `blacker`: below 40 years d gains 0.12 a dioptre of more minus, to 1 D beyond the right one.
#[test]
fn more_minus_looks_blacker_to_the_young() {
    let needs = rx(-2.0, -0.5, 10.0);
    let gain = |age: u8, first: f64, second: f64| {
        let examinee = under(Law::Blacker, needs, age, Traits::STEADY);
        examinee.blacker(Eye::Right, &far(needs + sphere(first)), &far(needs + sphere(second)))
    };
    for (first, second, dioptres) in
        [(0.0, -0.5, 0.5), (-0.5, 0.0, -0.5), (0.5, 0.0, 0.5), (-0.5, -1.5, 0.5), (-1.0, -2.0, 0.0), (-2.0, -1.0, 0.0)]
    {
        assert_near(gain(39, first, second), 0.12 * dioptres, 1e-9);
        assert_eq!(gain(40, first, second), 0.0);
    }
    let mut examinee = under(Law::Blacker, needs, 20, Traits::STEADY);
    assert_eq!(examinee.compares(0.0, 0.0, gain(20, 0.0, -0.25)), Compared::Clearer);
}

/// `tone`: below 40 years a half-normal of SD 0.5 D, at most 1, is not relaxed.
#[test]
fn the_young_have_tone() {
    let tones = |least: u8, most: u8| -> Vec<f64> {
        let drawn = (0..3_000).map(|number| Person::drawn(9, number, Care::Typical, Law::Tone));
        drawn.filter(|person| (least..=most).contains(&person.age_years)).map(|person| person.tone_d).collect()
    };
    assert!(tones(40, 75).iter().all(|tone| *tone == 0.0));
    let young = tones(15, 39);
    let times = young.len() as u32;
    assert!(times > 1_000 && young.iter().all(|tone| (0.0..=1.0).contains(tone)));
    let below = |tone_d: f64| young.iter().filter(|tone| **tone < tone_d).count() as f64 / f64::from(times);
    // the normal curve: within 0.5, 1 and 2 standard deviations 38.29, 68.27 and 95.45 of 100, the rest at 1
    for (tone_d, share) in [(0.25, 0.3829), (0.5, 0.6827), (1.0, 0.9545)] {
        assert_share(below(tone_d), share, times);
    }
}

/// `tone`: 30 % less after every two looks fogged by 0.7 D.
#[test]
fn tone_relaxes_behind_fog() {
    let mut examinee = under(Law::Tone, Power::ZERO, 20, Traits::STEADY);
    let blur = |examinee: &mut Examinee| ((mar(examinee, sphere(0.25)) - 5.0 / 6.0) / 1.17).sqrt();
    // with what is fogged by less than 0.7 nothing is relaxed: the tone adds to the fog
    for _ in 0..5 {
        assert_near(blur(&mut examinee), 0.25 + TONE_D, 1e-6);
    }
    let mut tone = TONE_D;
    for _ in 0..6 {
        mar(&mut examinee, sphere(0.75));
        assert_near(blur(&mut examinee), 0.25 + tone, 1e-6);
        mar(&mut examinee, sphere(0.75));
        tone *= 0.7;
        assert_near(blur(&mut examinee), 0.25 + tone, 1e-6);
    }
    // a long-sighted eye spends the rest at will
    let mut long_sighted = under(Law::Tone, sphere(1.5), 20, Traits::STEADY);
    let k: f64 = 0.8 * (7.33 - 0.0035 * 289.0);
    let rest = 1.5 - TONE_D;
    let left = rest - k * (1.0 - (-rest / k).exp());
    assert_near(mar(&mut long_sighted, Power::ZERO), 5.0 / 6.0 + 1.17 * left * left, 1e-9);
}
