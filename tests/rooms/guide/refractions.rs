//! Known eyes are refracted through the guide's own doors, with a small box, by every way.

use dioptray::exam::{Answer, Complaint, Detail, Exam, Opening, Prescription, ProcedureName};
use dioptray::frame::shipped::FRAMES;
use dioptray::frame::{FittedFrame, parse_frame};
use dioptray::kit::shipped::BOXES;
use dioptray::kit::{Lens, Stock, parse_box};
use dioptray::optics::{Eye, Power};

use super::set::{Walk, exam, outreach, outreach_lines};
use crate::steady::{Person, rx};

/// By the cross cylinder, the slit and retinoscopy.
const CYLINDER_WITHIN_D: f64 = 0.25;
/// The fan keeps the lesser cylinder at the overshoot, and its lines stand 30 degrees apart.
const FAN_CYLINDER_WITHIN_D: f64 = 0.375;

/// A band that is turned off by less than 0.30 D is not seen to break away: of a cylinder of 1 D that is 10 degrees, 0.35 D.
const RETINOSCOPY_CYLINDER_WITHIN_D: f64 = 0.375;

/// A quarter in front of strong lenses is less or more than a quarter, and balancing strong unequal eyes may leave another.
const STRONG_WITHIN_D: f64 = 0.375;

fn assert_within(found: Power, needed: Power, cylinder_within: f64, who: &str) {
    let off = found - needed;
    assert!(off.m.abs() <= 0.25 + 1e-9, "{who}: M off by {:+.3}: {found:?} for {needed:?}", off.m);
    let cylinder = 2.0 * off.astigmatism();
    assert!(cylinder <= cylinder_within + 1e-9, "{who}: cylinder off by {cylinder:.3}");
}

fn refract(mut walk: Walk, mut person: Person, cylinder_within: f64, who: &str) -> Walk {
    walk.run_to_the_end(&mut person);
    let findings = walk.guide().findings().clone();
    for eye in Eye::BOTH {
        let found = findings.subjective[eye].unwrap();
        assert_within(found, person.needs[eye], cylinder_within, &format!("{who}, {eye} eye\n{}", walk.story()));
    }
    walk
}

fn people() -> Vec<(&'static str, Person)> {
    let person = Person::new;
    vec![
        ("emmetrope", person(rx(0.0, 0.0, 180.0), rx(0.0, 0.0, 180.0), 28, Complaint::Nothing)),
        ("easy myope", person(rx(-1.25, 0.0, 180.0), rx(-1.0, 0.0, 180.0), 25, Complaint::FarBlur)),
        ("myopic astigmat", person(rx(-4.25, -0.75, 180.0), rx(-2.75, -1.25, 95.0), 31, Complaint::FarBlur)),
        ("young hyperope", person(rx(2.50, 0.0, 180.0), rx(3.25, 0.0, 180.0), 12, Complaint::Nothing)),
        ("old hyperope", person(rx(2.25, -0.50, 90.0), rx(1.75, 0.0, 180.0), 62, Complaint::BlurEverywhere)),
        ("high myope", person(rx(-10.50, 0.0, 180.0), rx(-11.25, -1.00, 10.0), 35, Complaint::FarBlur)),
        ("oblique astigmat", person(rx(-1.50, -2.50, 37.0), rx(-1.00, -1.75, 142.0), 45, Complaint::FarBlur)),
        ("mixed astigmat", person(rx(1.00, -2.25, 170.0), rx(0.75, -1.50, 12.0), 40, Complaint::BlurEverywhere)),
    ]
}

#[test]
fn known_eyes_are_refracted_within_a_quarter_by_the_cross_cylinder() {
    for (who, person) in people() {
        refract(Walk::new(outreach()), person, CYLINDER_WITHIN_D, who);
    }
}

#[test]
fn known_eyes_are_refracted_on_the_fan_without_a_cross_cylinder() {
    let lines: Vec<_> =
        outreach_lines().into_iter().filter(|(lens, _)| !matches!(lens, Lens::CrossCylinder(_))).collect();
    for (who, person) in people() {
        let walk = refract(Walk::new(exam(&lines)), person, FAN_CYLINDER_WITHIN_D, who);
        assert!(walk.count_in(ProcedureName::Fan) >= 2, "{who}: the fan was not used");
        assert_eq!(walk.count_in(ProcedureName::CrossCylinderAxis), 0);
    }
}

#[test]
fn known_eyes_are_refracted_within_a_quarter_by_the_slit() {
    for (who, mut person) in people() {
        let mut walk = Walk::new(outreach());
        walk.begin(ProcedureName::SetUp, None);
        walk.run(&mut person);
        for eye in Eye::BOTH {
            for procedure in [ProcedureName::FirstLens, ProcedureName::BestSphere, ProcedureName::Slit] {
                walk.begin(procedure, Some(eye));
                walk.run(&mut person);
            }
        }
        let walk = refract(walk, person, CYLINDER_WITHIN_D, who);
        assert_eq!(walk.count_in(ProcedureName::CrossCylinderSearch), 0, "{who}");
    }
}

#[test]
fn known_eyes_are_refracted_within_a_quarter_from_retinoscopy() {
    for in_frame in [true, false] {
        for (who, mut person) in people() {
            let mut walk = Walk::new(outreach());
            walk.begin(ProcedureName::SetUp, None);
            walk.run(&mut person);
            walk.begin(ProcedureName::Retinoscopy, None);
            let way = if in_frame { Answer::First } else { Answer::Second };
            walk.answers(&[Answer::Metres(2.0 / 3.0), way]);
            walk.run(&mut person);
            for eye in Eye::BOTH {
                let found = walk.guide().findings().retinoscopy[eye].unwrap();
                assert_within(
                    found,
                    person.needs[eye],
                    RETINOSCOPY_CYLINDER_WITHIN_D,
                    &format!("{who}, {eye} eye, retinoscopy\n{}", walk.story()),
                );
                // The working lens came out again: what stands in the cells is the result.
                let stands = walk.state().fitted.in_front_of(eye).net;
                assert!(stands.miss(found) < 0.13, "{who}: {stands:?} stands for {found:?}");
            }
            refract(walk, person, CYLINDER_WITHIN_D, who);
        }
    }
}

#[test]
fn an_easy_eye_takes_fewer_than_120_answers_to_a_written_prescription() {
    let (who, person) = people().remove(1);
    let walk = refract(Walk::new(outreach()), person, CYLINDER_WITHIN_D, who);
    assert!(walk.asked.len() < 120, "{} answers", walk.asked.len());
    let prescription = Prescription::of(walk.state(), 1);
    for (eye, sphere) in [(Eye::Right, -1.25), (Eye::Left, -1.0)] {
        let of_eye = prescription.eye(eye).unwrap();
        assert!((of_eye.written.sphere - sphere).abs() <= 0.25, "{eye}: {of_eye:?}");
        assert!(of_eye.acuity.is_some(), "{eye}: no acuity with what is written");
    }
    assert!(prescription.acuity_of_both.is_some());
}

#[test]
fn a_near_chart_is_taken_off_the_sphere() {
    let (right, left) = (rx(-1.25, 0.0, 180.0), rx(-1.0, 0.0, 180.0));
    let mut person = Person::before_a_chart_at(2.0, right, left, 25, Complaint::FarBlur);
    let needed = person.needs;
    let mut walk = Walk::new(outreach());
    walk.run_to_the_end(&mut person);
    let allowance = walk.state().results.chart_allowance.unwrap();
    assert!((allowance - (0.5 - 1.0 / 6.0)).abs() < 1e-12);
    let prescription = Prescription::of(walk.state(), 1);
    for eye in Eye::BOTH {
        let far = prescription.eye(eye).unwrap().far;
        assert!((far.m - needed[eye].m).abs() <= 0.25, "{eye}: {far:?}");
    }
}

#[test]
fn a_presbyope_gets_an_addition() {
    let (who, person) = people().remove(4);
    let walk = refract(Walk::new(outreach()), person, CYLINDER_WITHIN_D, who);
    let addition = walk.guide().findings().addition.unwrap();
    assert!((2.0..=2.5).contains(&addition), "{addition}");
    let range = walk.guide().findings().near_range;
    let (near, far) = (range.nearest_cm.unwrap(), range.farthest_cm.unwrap());
    assert!(near <= 41.0 && far >= 38.0, "clear from {near} to {far} cm");
}

#[test]
fn details_known_beforehand_are_not_asked_again() {
    let mut walk = Walk::new(outreach());
    walk.detail(Detail::AgeYears(25));
    walk.begin(ProcedureName::SetUp, None);
    assert!(!matches!(walk.present().question, dioptray::guide::Question::Age));
}

// Strong eyes, where the order of the lenses tells: the person answers from the true net power, not from the marks.
#[test]
fn strong_eyes_are_refracted_with_the_full_box_in_every_shipped_frame_with_cells_enough() {
    let (file, text) = BOXES.iter().find(|(file, _)| *file == "full.yaml").unwrap();
    let stock = Stock::of(&parse_box(file, text).unwrap());
    for (file, text) in FRAMES.iter().filter(|(file, _)| *file != "half-eye.yaml") {
        let frame = parse_frame(file, text).unwrap();
        let strong = [
            (rx(3.75, -2.00, 170.0), rx(-8.50, -2.50, 5.0), Complaint::BlurEverywhere),
            (rx(-12.00, -3.00, 95.0), rx(-9.75, -1.25, 150.0), Complaint::FarBlur),
            (rx(9.50, -1.50, 80.0), rx(11.00, -0.75, 20.0), Complaint::BlurEverywhere),
        ];
        for (right, left, complaint) in strong {
            let fitted = FittedFrame::new(frame.clone(), stock.clone());
            let person = Person::new(right, left, 34, complaint);
            let who = format!("{file}, {right:?} and {left:?}");
            let (mut walk, mut person) = (Walk::new(Exam::open(Opening::of(fitted))), person);
            // an eye that reads no letter is not found by asking: retinoscopy comes first
            walk.begin(ProcedureName::SetUp, None);
            walk.run(&mut person);
            walk.begin(ProcedureName::Retinoscopy, None);
            walk.run(&mut person);
            walk.run_to_the_end(&mut person);
            for eye in Eye::BOTH {
                let off = walk.guide().findings().subjective[eye].unwrap() - person.needs[eye];
                let (m, cylinder) = (off.m, 2.0 * off.astigmatism());
                let near = m.abs() <= STRONG_WITHIN_D && cylinder <= STRONG_WITHIN_D;
                assert!(near, "{who}, {eye} eye: M off by {m:+.3}, cylinder by {cylinder:.3}\n{}", walk.story());
            }
        }
    }
}
