//! What the guide comes to on a few practice eyes, within wide limits.
//!
//! The limits are of today's ladder, which writes too much plus for one eye in fifty and too much minus for one in two hundred:
//! they hold that it grows no worse unnoticed, and are to be tightened as it improves. Each lies several standard
//! errors of such a sample from what comes out: of 300 eyes, a share of nine tenths has one of 0.017.

use std::sync::atomic::AtomicBool;

use dioptray::frame::FittedFrame;
use dioptray::frame::shipped::demo_frame;
use dioptray::kit::Stock;
use dioptray::kit::shipped::full_box;
use dioptray::optics::{Eye, Power};
use dioptray::practice::evaluation::Outcome;
use dioptray::practice::{Care, Evaluated, Evaluation, Law, Way};

type Failure = Box<dyn std::error::Error>;

/// The seeds of which every limit has to hold.
const SEEDS: [u64; 2] = [1, 20_260];

fn evaluation(eyes: usize, seed: u64) -> Result<Evaluation, Failure> {
    Ok(Evaluation {
        fitted: FittedFrame::new(demo_frame()?, Stock::of(&full_box()?)),
        eyes,
        seed,
        care: Care::Typical,
        law: Law::Written,
        way: Way::default(),
        retest: false,
        slips: 0.0,
    })
}

fn run(evaluation: &Evaluation) -> Result<Evaluated, Failure> {
    let evaluated = evaluation.run(&AtomicBool::new(false), &|| {})?;
    assert_eq!(evaluated.outcomes.len(), evaluation.eyes, "every eye is counted");
    assert_eq!(evaluated.figures.eyes, evaluation.eyes);
    Ok(evaluated)
}

#[track_caller]
fn assert_between(what: &str, figure: impl Into<Option<f64>>, least: f64, most: f64) {
    let figure = figure.into();
    assert!(
        figure.is_some_and(|figure| (least..=most).contains(&figure)),
        "{what}: {figure:?} is not {least} to {most}"
    );
}

fn share(outcomes: &[Outcome], counts: impl Fn(&Outcome) -> bool) -> f64 {
    outcomes.iter().filter(|outcome| counts(outcome)).count() as f64 / outcomes.len() as f64
}

/// How far what was written is off, too much minus below 0; infinite where nothing was.
fn off(outcome: &Outcome) -> f64 {
    outcome.written.map_or(f64::INFINITY, |written| written.sphere + written.cylinder / 2.0 - outcome.needs.m)
}

#[test]
fn right_eyes_alone_twice_over() -> Result<(), Failure> {
    for seed in SEEDS {
        let evaluated = run(&Evaluation { retest: true, ..evaluation(300, seed)? })?;
        let (figures, outcomes) = (&evaluated.figures, &evaluated.outcomes);
        assert_between("M within a quarter", figures.m_within_quarter, 0.94, 1.0);
        assert_between("M within a half", figures.m_within_half, 0.98, 1.0);
        assert_between("vector within a half", figures.vector_within_half, 0.97, 1.0);
        assert_between("over-minus", figures.over_minus, 0.0, 0.025);
        assert_between("over-plus", figures.over_plus, 0.0, 0.05);
        // 2 in 1,000: of 300 eyes none
        assert_eq!((figures.not_refracted, figures.unfinished), (0, 0));
        assert!(figures.beyond_one <= 2 && figures.beyond_two <= figures.beyond_one, "{figures:?}");
        assert_between("looks", figures.presentations.median, 14.0, 20.0);
        assert_between("looks of nine in ten", figures.presentations.p90, 20.0, 29.0);
        assert_between("moves", figures.moves.median, 17.0, 27.0);
        assert_between("cylinder left", figures.cylinder_vector_error.median, 0.05, 0.25);
        assert_between("axis", figures.axis_error.median, 0.5, 5.0);
        // people, 1,000 eyes at two visits: 0.16 D, 95 % within 0.50 D, 10° (J Cataract Refract Surg 2020;46:1659)
        assert_between("retest, mean", figures.retest.mean, 0.05, 0.50);
        assert_between("retest within a half", figures.retest.within_half, 0.90, 1.0);
        assert_between("retest, axis", figures.retest.axis_sd, 1.0, 15.0);

        // counted a second time, from what was needed and written
        let near = |one: f64, other: f64| assert!((one - other).abs() < 1e-9, "{one} is not {other}");
        near(figures.m_within_quarter, share(outcomes, |of| off(of).abs() <= 0.25 + 1e-9));
        near(figures.over_plus, share(outcomes, |of| off(of) > 0.25 + 1e-9));
        near(figures.over_minus, share(outcomes, |of| off(of) < -0.25 - 1e-9));
        near(figures.m_within_quarter + figures.over_plus + figures.over_minus, 1.0);
        near(figures.m_within_half + figures.over_plus_half + figures.over_minus_half, 1.0);
        assert_eq!(figures.worst_m, outcomes.iter().map(|of| off(of).abs()).max_by(f64::total_cmp));
    }
    Ok(())
}

/// Whether the astigmatism that is needed is half a dioptre or more and lies obliquely: 31 to 60 or 121 to 150.
fn is_oblique(needs: Power) -> bool {
    let needs = needs.minus_form();
    needs.cylinder <= -0.50 && (30.5..60.5).contains(&(needs.axis % 90.0))
}

#[test]
fn retinoscopy_from_three_distances() -> Result<(), Failure> {
    for working_m in [0.5, 2.0 / 3.0, 1.0] {
        let way = Way { retinoscopy_m: Some(working_m), ..Way::default() };
        let evaluated = run(&Evaluation { way, ..evaluation(200, 1)? })?;
        let figures = evaluated.figures.retinoscopy.ok_or("no retinoscopy was counted")?;
        let at = |what: &str| format!("{what} at {working_m:.2} m");
        assert_between(&at("both meridians"), figures.both_meridians_within_quarter, 0.80, 1.0);
        assert_between(&at("lenses"), figures.lenses.median, 5.0, 20.0);
        assert_between(&at("lenses of nine in ten"), figures.lenses.p90, 10.0, 35.0);
        // a working distance that is left in or taken off twice would be seen in the mean: 0.10 D is the law's own error of judgement
        let found: Vec<f64> = evaluated.outcomes.iter().filter_map(|of| Some(of.retinoscopy?.m - of.needs.m)).collect();
        assert_eq!(found.len(), 200, "something was found in every eye");
        assert_between(&at("mean"), found.iter().sum::<f64>() / 200.0, -0.15, 0.15);
    }
    Ok(())
}

#[test]
fn retinoscopy_of_oblique_eyes_from_three_distances() -> Result<(), Failure> {
    for working_m in [0.5, 2.0 / 3.0, 1.0] {
        let way = Way { retinoscopy_m: Some(working_m), ..Way::default() };
        let evaluation = Evaluation { way, ..evaluation(1, 1)? };
        let oblique = (0..).filter(|&number| is_oblique(evaluation.person(number).eyes.right.needs)).take(150);
        let outcomes = oblique
            .map(|number| {
                let examined = evaluation.exam_of(number, &mut |_| {})?;
                Ok(Outcome::of(number, &evaluation.person(number), Eye::Right, &examined, None, false))
            })
            .collect::<Result<Vec<_>, Failure>>()?;
        // of 150 a share of 0.97 has a standard error of 0.014
        let right = share(&outcomes, Outcome::retinoscopy_is_right);
        assert_between(&format!("both meridians at {working_m:.2} m"), right, 0.91, 1.0);
    }
    Ok(())
}

#[test]
fn slips_of_the_examiner_do_harm_and_are_counted() -> Result<(), Failure> {
    let mut far = Vec::new();
    for seed in SEEDS {
        let evaluated = run(&Evaluation { slips: 0.5, ..evaluation(300, seed)? })?;
        let (slipped, clean): (Vec<Outcome>, Vec<Outcome>) =
            evaluated.outcomes.iter().partition(|of| of.slip.is_some());
        // half of the exams have a slip in store, and not each comes to it: there may be no cylinder to turn
        assert_between("with a slip", slipped.len() as f64 / 300.0, 0.15, 0.50);
        let figures = evaluated.figures.slips;
        assert_between("false alarms", figures.false_alarms, 0.0, 0.06);
        far.extend(slipped.iter().copied().filter(|of| off(of).abs() >= 0.75));
        let large: Vec<Outcome> =
            slipped.iter().copied().filter(|of| of.slip.is_some_and(|slip| slip.changes_m_d >= 1.5)).collect();
        assert_eq!(figures.caught_of_lenses, Some(share(&large, |of| of.doubted)));
        assert_eq!(figures.by_size.iter().map(|size| size.slips).sum::<usize>(), slipped.len());
        assert_eq!(figures.false_alarms, Some(share(&clean, |of| of.doubted)));
        let right = |outcomes: &[Outcome]| share(outcomes, |of| off(of).abs() <= 0.25 + 1e-9);
        assert!(right(&slipped) < right(&clean) - 0.05, "{} with a slip, {} without", right(&slipped), right(&clean));
    }
    // of those that change much of what is written, or leave nothing to write, there are some dozen
    assert_between("noticed of those far off", share(&far, |of| of.doubted), 0.75, 1.0);
    Ok(())
}

#[test]
fn both_eyes_with_balance_and_near() -> Result<(), Failure> {
    for seed in SEEDS {
        let way = Way { both: true, ..Way::default() };
        let evaluated = run(&Evaluation { way, ..evaluation(300, seed)? })?;
        let figures = &evaluated.figures;
        // the balance of today takes one in ten a quarter too far
        assert_between("M within a quarter", figures.m_within_quarter, 0.92, 1.0);
        assert_between("M within a half", figures.m_within_half, 0.85, 1.0);
        assert_eq!((figures.not_refracted, figures.unfinished), (0, 0));
        assert_between("moved by the balance", figures.balance.moved_over_quarter.map(|eyes| eyes as f64), 0.0, 60.0);
        assert_between("near", figures.near_read, 0.85, 1.0);
        // an exam, not an eye
        assert_between("looks", figures.presentations.median, 35.0, 80.0);
        // the left eye is its own, and examined: what is written for both is hardly ever the same power
        let same = evaluated.outcomes.chunks(2).filter(|of| of[0].needs == of[1].needs || of[0].person != of[1].person);
        assert_eq!(same.count(), 0);
    }
    Ok(())
}
