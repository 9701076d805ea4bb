//! Exams that practice eyes went through, every step of the guide kept: what benchmarks make many of.

use dioptray::exam::{Detail, Event, Exam, Opening};
use dioptray::frame::FittedFrame;
use dioptray::frame::shipped::demo_frame;
use dioptray::kit::Stock;
use dioptray::kit::shipped::demo_box;
use dioptray::logbook::{BeganWith, Logbook, NamedBox};
use dioptray::practice::draws::Draws;
use dioptray::practice::{Care, Examinee, Law, Person, Way, examine};
use dioptray::sharing::Heads;
use jiff::{SignedDuration, Timestamp};

/// How many are led; the others are rows like theirs.
pub const LED: usize = 10;
/// About as long as a step takes with somebody in the chair.
const STEP_MS: i64 = 7_351;

/// How each began, and its steps.
pub fn led() -> Vec<(Opening, Vec<Vec<Event>>)> {
    let fitted = FittedFrame::new(demo_frame().unwrap(), Stock::of(&demo_box().unwrap()));
    let one = |number: u64| {
        let examinee = Examinee::new(Person::drawn(1, number, Care::Typical, Law::Written), Draws::new(1, number));
        let way = Way { both: true, ..Way::default() };
        let examined = examine(&fitted, examinee, way, None, &mut |_| {}).unwrap();
        (Opening::of(fitted.clone()), examined.exam.standing_steps().to_vec())
    };
    (0..LED as u64).map(one).collect()
}

/// Keeps them in a logbook, each under a label and finished; gives how many steps one has in the mean.
pub fn keep(logbook: &mut Logbook, led: &[(Opening, Vec<Vec<Event>>)]) -> usize {
    let declared = demo_box().unwrap();
    let in_box = NamedBox::new(declared.id.as_deref(), &declared.name);
    let mut at: Timestamp = "2026-03-01T09:30:00Z".parse().unwrap();
    let mut kept = 0;
    for (number, (opening, steps)) in (1..).zip(led) {
        let with = BeganWith { in_box: in_box.clone(), applied: Heads::default(), by: None, procedures_version: 1 };
        let mut open = logbook.begin_exam(opening, &with, at).unwrap();
        let mut exam = Exam::open(opening.clone());
        let label = vec![Event::Detail(Detail::Label(format!("P{number}")))];
        for step in std::iter::once(&label).chain(steps).chain([&vec![Event::Finished]]) {
            at += SignedDuration::from_millis(STEP_MS);
            let checked = exam.check(step.clone()).unwrap();
            logbook.append(&mut open, &checked, None, at).unwrap();
            exam.accept(checked);
            kept += 1;
        }
    }
    kept / led.len()
}
