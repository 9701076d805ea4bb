//! Every procedure, those that no exam needs among them: led, kept, read back; and the version under which they are led.

use std::fmt::Write as _;

use dioptray::exam::{Complaint, Event, Exam, GuideEvent, ProcedureName};
use dioptray::guide::{Guide, PROCEDURES_VERSION};
use dioptray::optics::{Dioptres, Eye, Power};
use sha2::{Digest as _, Sha256};

use super::set::{Walk, outreach};
use crate::steady::{Person, rx};

fn people() -> [Person; 3] {
    [
        Person::new(rx(-1.5, -1.0, 20.0), rx(-2.0, 0.0, 180.0), 30, Complaint::FarBlur),
        Person::new(rx(1.5, 0.0, 180.0), rx(2.25, -0.5, 90.0), 62, Complaint::BlurEverywhere),
        Person::new(rx(0.0, -2.0, 135.0), rx(-6.0, -0.75, 170.0), 14, Complaint::FarBlur),
    ]
}

/// The exam as another program would read it: its steps as text and back.
fn read_back(exam: &Exam) -> Exam {
    let kept = serde_json::to_string(exam.standing_steps()).unwrap();
    let steps: Vec<Vec<Event>> = serde_json::from_str(&kept).unwrap();
    Exam::replay(exam.opening().clone(), steps).unwrap()
}

#[test]
fn every_procedure_is_led_to_its_end_and_reads_back() {
    for &procedure in ProcedureName::ALL {
        let eyes = [None, Some(Eye::Right), Some(Eye::Left)].into_iter().filter(|&eye| procedure.takes(eye));
        for eye in eyes {
            for mut person in people() {
                let mut walk = Walk::new(outreach());
                walk.begin(procedure, eye);
                walk.run(&mut person);
                let began =
                    walk.state().guide.iter().any(
                        |event| matches!(event, GuideEvent::Began { procedure: begun, .. } if *begun == procedure),
                    );
                assert!(began && walk.guide().running().is_none(), "{procedure}, {eye:?}");
                let again = read_back(&walk.exam);
                assert_eq!(again, walk.exam, "{procedure}, {eye:?}");
                assert_eq!(Guide::of(&again), walk.guide(), "{procedure}, {eye:?}");
            }
        }
    }
}

fn quarters(power: Power) -> [i64; 3] {
    [power.m, power.j0, power.j45].map(|part| (part * 4.0).round() as i64)
}

/// What was asked, shown and answered, without words, and what was found.
fn story(walk: &Walk) -> String {
    let mut story = String::new();
    for (presentation, answer) in &walk.asked {
        let question = format!("{:?}", presentation.question);
        let question = question.split(|c: char| !c.is_alphanumeric()).next().unwrap_or_default();
        let shown = presentation.shown.to.map(quarters);
        let answer = format!("{answer:?}");
        let answer = answer.split(|c: char| !c.is_alphanumeric()).next().unwrap_or_default();
        writeln!(story, "{:?} {:?} {question} {shown:?} {answer}", presentation.procedure, presentation.eye).unwrap();
    }
    writeln!(story, "found {:?}", walk.guide().found().map(quarters)).unwrap();
    story
}

/// What is asked for the same answers: a change of it is another version of the procedures. Three exams as they usually go,
/// and every procedure by itself, since an exam by the cross cylinder takes neither the fan nor the slit.
fn asked() -> String {
    let mut stories = String::new();
    for mut person in people() {
        let mut walk = Walk::new(outreach());
        walk.run_to_the_end(&mut person);
        stories.push_str(&story(&walk));
    }
    for &procedure in ProcedureName::ALL {
        for eye in [None, Some(Eye::Right), Some(Eye::Left)].into_iter().filter(|&eye| procedure.takes(eye)) {
            for mut person in people() {
                let mut walk = Walk::new(outreach());
                walk.begin(procedure, eye);
                walk.run(&mut person);
                stories.push_str(&story(&walk));
            }
        }
    }
    stories
}

/// Where a sign is the wrong way round, a procedure leads away from what the eye needs. What shifts the spherical equivalent
/// leaves the sphere to the search after it, and is led with that in `refractions.rs`.
#[test]
fn no_procedure_leads_a_truthful_person_away_from_what_the_eye_needs() {
    let mut away = Vec::new();
    let by_itself =
        |procedure: &&ProcedureName| procedure.takes(Some(Eye::Right)) && !procedure.shifts_the_equivalent();
    for &procedure in ProcedureName::ALL.iter().filter(by_itself) {
        for mut person in people() {
            for changed in [0.75, -0.75] {
                let mut walk = Walk::new(outreach());
                for before in [ProcedureName::SetUp, ProcedureName::FirstLens, ProcedureName::BestSphere] {
                    walk.begin(before, before.eye_of(Eye::Right));
                    walk.run(&mut person);
                }
                let needs = person.needs;
                // the eye has changed since, so that there is something to find
                let now = person.needs.right + Power::sphere(Dioptres(changed));
                person.changes(dioptray::optics::Eyes::new(now, person.needs.left));
                let missed = |walk: &Walk| walk.found(Eye::Right).miss(person.needs.right);
                let before = missed(&walk);
                walk.begin(procedure, Some(Eye::Right));
                walk.run(&mut person);
                let after = walk.found(Eye::Right).miss(person.needs.right);
                if after > before + 0.25 {
                    away.push(format!(
                        "{procedure}, {changed:+}: {before:.2} before, {after:.2} after\n{}",
                        walk.tail()
                    ));
                }
                person.changes(needs);
            }
        }
    }
    assert!(away.is_empty(), "\n{}", away.join("\n"));
}

/// Three exams and every procedure, question by question. Where this fails, a procedure is new or what one asks, shows or accepts has changed: an exam that is
/// open in somebody's logbook must not go on as if it had been begun under the new ones. Raise `PROCEDURES_VERSION`, and put
/// the new digest beside it.
#[test]
fn the_version_of_the_procedures_is_raised_with_them() {
    let digest: String = Sha256::digest(asked().as_bytes()).iter().take(8).fold(String::new(), |mut text, byte| {
        write!(text, "{byte:02x}").unwrap();
        text
    });
    assert_eq!((PROCEDURES_VERSION, digest.as_str()), (5, "9d379f2966d99fe4"));
}
