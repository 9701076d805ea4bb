//! Eyes that read little or nothing: strong cylinders, a chart brought near, a cross cylinder that they notice. And what of the
//! other rules of one eye is kept between procedures.

use approx::assert_abs_diff_eq;
use dioptray::exam::{Answer, Complaint, Detail, Event, NearTask, Prescription, ProcedureName};
use dioptray::frame::Move;
use dioptray::guide::{self, Question, Show};
use dioptray::kit::Lens;
use dioptray::optics::{Acuity, Eye, Eyes, Power};
use dioptray::practice::draws::Draws;
use dioptray::practice::{self, Examinee, Law, Standing, Traits};

use super::set::{Walk, cylinder, exam, outreach, outreach_lines, sphere};
use crate::steady::rx;

const RIGHT: Eye = Eye::Right;

fn line(denominator: f64) -> Acuity {
    Acuity::of_6_m(denominator)
}

/// A box with spheres to 14 and cylinders to 6.
fn full_lines() -> Vec<(Lens, u8)> {
    let mut lines = outreach_lines();
    lines.extend([10.0, 12.0, 14.0].into_iter().flat_map(|power| [(sphere(power), 2), (sphere(-power), 2)]));
    lines.extend((9..=24).map(|n| (cylinder(f64::from(n) * -0.25), 2)));
    lines
}

/// Led to what is written by somebody with these eyes.
fn written(mut examinee: Examinee) -> Walk {
    let mut walk = Walk::new(exam(&full_lines()));
    while !walk.guide().findings().written {
        assert!(walk.asked.len() < 400, "it does not end:\n{}", walk.tail());
        let presentation = walk.present();
        if let Question::Next(choices) = &presentation.question {
            walk.answer(Answer::Go { procedure: choices[0].0, eye: choices[0].1 });
            continue;
        }
        let standing = Standing::of(&presentation, &walk.exam);
        match examinee.answer(&presentation, &standing) {
            Some(answer) => walk.answer(answer),
            None => walk.take(guide::skip),
        }
    }
    walk
}

fn examinee(needs: Eyes<Power>, best_log_mar: f64) -> Examinee {
    let mut person = practice::Person::new(needs, 40, Traits::STEADY, Law::Written);
    person.complaint = Complaint::BlurEverywhere;
    person.eyes.right.best_log_mar = best_log_mar;
    Examinee::new(person, Draws::new(3, 0))
}

// no sphere shows such an eye a letter at 6 m: 4 D of blur are left
#[test]
fn a_strong_cylinder_that_reads_no_letter_is_found_with_the_chart_near() {
    for (sphere, cylinder, axis) in [(2.0, -7.0, 165.0), (-1.0, -6.5, 20.0), (5.0, -7.0, 90.0), (-2.0, -7.0, 45.0)] {
        let needs = rx(sphere, cylinder, axis);
        let walk = written(examinee(Eyes::new(needs, rx(-1.0, 0.0, 180.0)), -0.08));
        assert_eq!(walk.state().results.unrefracted.right, None, "it is refracted\n{}", walk.tail());
        let found = walk.found(RIGHT);
        let off = found - needs;
        assert!(off.m.abs() <= 0.75 && off.astigmatism() <= 0.75, "{needs:?}: {found:?}\n{}", walk.story());
        assert_eq!(walk.state().person.chart_metres, Some(6.0), "the chart hangs where it hung");
        // the other eye has its own distance
        let left = Prescription::of(walk.state(), 1).eye(Eye::Left).unwrap().written;
        assert!((left.power().m + 1.0).abs() <= 0.25, "{left:?}\n{}", walk.tail());
    }
}

// 1/60 at best: the search goes on at 1 m, and what is found there counts less what the near chart adds
#[test]
fn an_eye_that_reads_only_near_is_searched_there() {
    let needs = rx(-9.0, 0.0, 180.0);
    let walk = written(examinee(Eyes::new(needs, rx(-1.0, 0.0, 180.0)), 1.60));
    let of_right = walk.asked.iter().filter(|(asked, _)| asked.eye == Some(RIGHT));
    let procedures: Vec<ProcedureName> = of_right.filter_map(|(asked, _)| asked.procedure).collect();
    let searched = procedures.iter().position(|procedure| *procedure == ProcedureName::BestSphere);
    let back = procedures.iter().rposition(|procedure| *procedure == ProcedureName::FirstLetter);
    assert!(searched.is_some() && searched < back, "it is searched before the chart goes back\n{}", walk.story());
    let found = walk.state().results.refraction.right.unwrap();
    assert!((found.m - needs.m).abs() <= 3.0, "{found:?}\n{}", walk.story());
    assert!(walk.state().notes.iter().any(|note| note.contains("chart at 1 m")), "{:?}", walk.state().notes);
    assert_eq!(walk.state().person.chart_metres, Some(6.0), "the chart hangs where it hung");
    let left = Prescription::of(walk.state(), 1).eye(Eye::Left).unwrap().written;
    assert!((left.power().m + 1.0).abs() <= 0.25, "{left:?}\n{}", walk.tail());
}

/// An eye that reads this, before a search by the cross cylinder.
fn searched(lines: &[(Lens, u8)], reads: f64) -> Walk {
    let mut walk = Walk::new(exam(lines));
    walk.begin(ProcedureName::OverMinusCheck, Some(RIGHT));
    walk.answer(Answer::Read(line(reads)));
    if walk.guide().running().is_some() {
        walk.take(guide::leave);
    }
    walk.begin(ProcedureName::CrossCylinderSearch, Some(RIGHT));
    walk
}

/// What the two looks differ by, where they are made in the frame.
fn made(walk: &Walk) -> Option<Power> {
    let presentation = walk.present();
    let shown = presentation.shown;
    (presentation.show == Show::Compare).then_some(shown.to.right - shown.from.right)
}

fn flipped(walk: &Walk) -> Option<f64> {
    match walk.present().show {
        Show::CrossCylinder { power, .. } => Some(power.0),
        _ => None,
    }
}

#[test]
fn at_6_60_a_cross_cylinder_is_made_of_two_lenses() {
    let mut walk = searched(&outreach_lines(), 60.0);
    let differs = made(&walk).unwrap();
    // ±1.00 one way and the other
    assert_abs_diff_eq!(differs.astigmatism(), 2.0, epsilon = 0.1);
    assert_abs_diff_eq!(differs.m, 0.0, epsilon = 0.1);
    // the first is better, twice: its minus axis stands at 90
    walk.answers(&[Answer::Worse, Answer::Worse]);
    let found = walk.found(RIGHT).minus_form();
    assert!(found.cylinder < -0.4 && (found.axis - 90.0).abs() < 2.0, "{found:?}");
    let mut walk = searched(&outreach_lines(), 60.0);
    walk.answers(&[Answer::Clearer, Answer::Clearer]);
    let found = walk.found(RIGHT).minus_form();
    assert!(found.cylinder < -0.4 && (found.axis - 180.0).abs() < 2.0, "{found:?}");
}

#[test]
fn the_same_asks_for_a_stronger_one_before_it_counts() {
    let mut walk = searched(&outreach_lines(), 24.0);
    assert_eq!(flipped(&walk), Some(0.50));
    walk.answer(Answer::Same);
    assert!(made(&walk).is_some(), "{:?}", walk.present());
    walk.answer(Answer::Same);
    // that was the strongest: the other pair of positions
    let cells = walk.present().shown.from.right.minus_form();
    assert!((cells.axis - 45.0).abs() < 3.0, "{cells:?}");
    walk.answer(Answer::Same);
    assert!(walk.guide().running().is_none(), "then the same counts");
    // axis and power too
    for procedure in [ProcedureName::CrossCylinderAxis, ProcedureName::CrossCylinderPower] {
        let mut walk = Walk::new(exam(&full_lines()));
        walk.detail(Detail::OldGlasses(RIGHT, rx(-1.0, -1.5, 30.0).minus_form()));
        walk.begin(ProcedureName::FirstLens, Some(RIGHT));
        walk.answer(Answer::Second);
        walk.begin(ProcedureName::OverMinusCheck, Some(RIGHT));
        walk.answer(Answer::Read(line(24.0)));
        walk.begin(procedure, Some(RIGHT));
        assert_eq!(flipped(&walk), Some(0.50), "{procedure}");
        walk.answer(Answer::Same);
        assert!(made(&walk).is_some(), "{procedure}: {:?}", walk.present());
        walk.answer(Answer::Same);
        assert!(walk.guide().running().is_none(), "{procedure}");
    }
    // an eye that sees well is not asked again
    let mut walk = searched(&outreach_lines(), 6.0);
    walk.answers(&[Answer::Same, Answer::Same]);
    assert!(walk.guide().running().is_none());
}

#[test]
fn a_box_without_a_cross_cylinder_makes_one_and_one_without_cylinders_flips() {
    let mut none = outreach_lines();
    none.retain(|(lens, _)| !lens.is_cross_cylinder());
    let walk = searched(&none, 6.0);
    assert_abs_diff_eq!(made(&walk).unwrap().astigmatism(), 1.0, epsilon = 0.1);
    let mut spheres = outreach_lines();
    spheres.retain(|(lens, _)| !lens.is_cylinder());
    assert_eq!(flipped(&searched(&spheres, 60.0)), Some(0.50));
}

// rule: what is needed again is not laid down between
#[test]
fn the_cross_cylinder_is_laid_down_once_the_cylinder_is_found() {
    let mut person = practice::Person::new(Eyes::both(rx(-1.0, -1.5, 30.0)), 30, Traits::STEADY, Law::Written);
    person.complaint = Complaint::FarBlur;
    let walk = written(Examinee::new(person, Draws::new(7, 0)));
    let laid = walk
        .exam
        .standing_steps()
        .iter()
        .flatten()
        .filter(
            |event| matches!(event, Event::Moved(Move::Lay { piece, eye: RIGHT }) if piece.lens.is_cross_cylinder()),
        )
        .count();
    let procedures =
        walk.asked.iter().filter(|(asked, _)| asked.eye == Some(RIGHT)).filter_map(|(asked, _)| asked.procedure);
    let with_it: Vec<ProcedureName> = procedures.filter(|procedure| procedure.asks_with_a_cross_cylinder()).collect();
    let mut changes = with_it.clone();
    changes.dedup();
    assert!(changes.len() >= 3, "{changes:?}");
    assert_eq!(laid, 1, "{changes:?}\n{}", walk.story());
}

fn checked(age: u8, without: f64, fogged: f64) -> Walk {
    let mut walk = Walk::new(outreach());
    walk.detail(Detail::AgeYears(age));
    walk.begin(ProcedureName::OverMinusCheck, Some(RIGHT));
    walk.answers(&[Answer::Read(line(without)), Answer::Read(line(fogged))]);
    walk
}

// a small pupil loses few lines through fog, and gains none
#[test]
fn from_55_years_plus_is_shown_where_the_fog_gains_a_line() {
    let gained = checked(62, 9.5, 6.0);
    assert!(matches!(gained.present().question, Question::ClearerWith { .. }), "{:?}", gained.present());
    assert!(checked(62, 9.5, 9.5).guide().running().is_none());
}

#[test]
fn a_corrected_age_reaches_the_search_that_runs() {
    for procedure in [ProcedureName::BestSphere, ProcedureName::FinalSphere] {
        let mut walk = Walk::new(outreach());
        walk.detail(Detail::AgeYears(30));
        walk.begin(procedure, Some(RIGHT));
        walk.answers(&[Answer::Read(line(6.0)), Answer::Worse]);
        assert!(matches!(walk.present().question, Question::MoreLetters { .. }), "{procedure}: {:?}", walk.present());
        walk.detail(Detail::AgeYears(50));
        assert!(matches!(walk.present().question, Question::ClearerWith { .. }), "{procedure}: {:?}", walk.present());
    }
    // what was to be shown for an age is not shown for another
    let mut walk = checked(30, 6.0, 6.0);
    assert!(walk.guide().running().is_some());
    walk.detail(Detail::AgeYears(62));
    walk.take(guide::set_out);
    assert!(walk.guide().running().is_none(), "{:?}", walk.present());
}

#[test]
fn an_addition_for_a_distance_between_stands_beside_the_near_one() {
    let mut walk = Walk::new(outreach());
    walk.detail(Detail::AgeYears(62));
    walk.begin(ProcedureName::Near, None);
    let tried = |walk: &mut Walk| {
        while walk.guide().running().is_some() {
            let answer = match walk.present().question {
                Question::ClearerWith { .. } => Answer::Same,
                Question::PrintRead => Answer::Print(6.0),
                Question::NearestClear => Answer::Centimetres(30.0),
                Question::FarthestClear => Answer::Centimetres(50.0),
                question => panic!("{question:?}"),
            };
            walk.answer(answer);
        }
    };
    tried(&mut walk);
    let near = walk.guide().findings().addition.unwrap();
    walk.begin(ProcedureName::Near, None);
    assert_eq!(walk.present().question, Question::NearTask);
    walk.answer(Answer::Task(NearTask::Screen));
    assert!(walk.present().instruction.to_string().contains("60 cm"), "{}", walk.present().instruction);
    tried(&mut walk);
    assert_eq!(walk.guide().findings().addition, Some(near), "the near addition stays");
    let notes = &walk.state().notes;
    assert!(notes.iter().any(|note| note.contains("Between near and far, at 60 cm with +1.")), "{notes:?}");
    // for the same distance it is found again
    walk.begin(ProcedureName::Near, None);
    walk.answer(Answer::Task(NearTask::Reading));
    assert!(walk.present().instruction.to_string().contains("40 cm"), "{}", walk.present().instruction);
}

#[test]
fn the_person_walks_about_before_it_is_written_down() {
    let mut walk = Walk::new(outreach());
    walk.begin(ProcedureName::Writing, None);
    assert!(walk.present().instruction.to_string().contains("walk about"), "{}", walk.present().instruction);
}
