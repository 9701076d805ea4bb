//! Boxes and frames for the tests, and a driver that goes through the guide's own doors.

use std::cell::RefCell;

use dioptray::exam::{Answer, CheckedStep, Detail, Event, Exam, Opening, ProcedureName, State};
use dioptray::frame::{DeclaredFrame, FittedFrame};
use dioptray::guide::{self, Guide, GuideError, Presentation, Question};
use dioptray::kit::{Lens, LensLine, Mark, Stock};
use dioptray::optics::{Eye, Eyes, Power};

use crate::plain::{box_of, four_cells};
use crate::steady::Person;

pub fn boxed(lines: &[(Lens, u8)]) -> Stock {
    let lines = lines.iter().map(|(lens, declared)| LensLine { lens: lens.clone(), declared: *declared, missing: 0 });
    Stock::of(&box_of("Test box", lines.collect()))
}

pub fn sphere(power: f64) -> Lens {
    Lens::Sphere(Mark::nearest(power))
}

pub fn cylinder(power: f64) -> Lens {
    Lens::Cylinder(Mark::nearest(power))
}

/// A small travelling box: quarters to 4, halves to 8, pairs, with +3.25 and one −1.50 gone; minus cylinders to 2.
pub fn outreach_lines() -> Vec<(Lens, u8)> {
    let mut lines = vec![(sphere(0.12), 2), (sphere(-0.12), 2)];
    let quarters = (1..=16).map(|n| f64::from(n) * 0.25);
    let halves = (9..=16).map(|n| f64::from(n) * 0.5);
    for power in quarters.chain(halves).flat_map(|power| [power, -power]) {
        let count = match power {
            3.25 => 0,
            -1.50 => 1,
            _ => 2,
        };
        if count > 0 {
            lines.push((sphere(power), count));
        }
    }
    lines.extend((1..=8).map(|n| (cylinder(f64::from(n) * -0.25), 2)));
    lines.push((Lens::CrossCylinder(Mark::nearest(0.25)), 1));
    lines.push((Lens::CrossCylinder(Mark::nearest(0.50)), 1));
    for accessory in ["occluder", "pinhole", "slit"] {
        lines.push((Lens::Accessory(accessory.into()), 1));
    }
    lines
}

pub fn outreach() -> Exam {
    exam(&outreach_lines())
}

pub fn exam(lines: &[(Lens, u8)]) -> Exam {
    exam_in(four_cells(), lines)
}

pub fn exam_in(frame: DeclaredFrame, lines: &[(Lens, u8)]) -> Exam {
    Exam::open(Opening::of(FittedFrame::new(frame, boxed(lines))))
}

/// What was asked and answered, and the exam it led to.
pub struct Walk {
    pub exam: Exam,
    kept: RefCell<Guide>,
    pub asked: Vec<(Presentation, Answer)>,
}

impl Walk {
    pub fn new(exam: Exam) -> Self {
        Self { kept: RefCell::new(Guide::of(&exam)), exam, asked: Vec::new() }
    }

    pub fn state(&self) -> &State {
        self.exam.state()
    }

    /// The kept guide, as it follows the exam.
    pub fn guide(&self) -> Guide {
        let mut guide = self.kept.borrow_mut();
        guide.follow(&self.exam);
        guide.clone()
    }

    pub fn present(&self) -> Presentation {
        self.guide().presentation().clone()
    }

    pub fn found(&self, eye: Eye) -> Power {
        self.guide().found()[eye]
    }

    /// Takes a step that a door of the guide gave.
    pub fn take(&mut self, door: impl FnOnce(&Guide, &Exam) -> Result<CheckedStep, GuideError>) {
        let step = door(&self.guide(), &self.exam).unwrap();
        self.exam.accept(step);
    }

    pub fn detail(&mut self, detail: Detail) {
        self.exam.apply(&[Event::Detail(detail)]).unwrap();
    }

    pub fn begin(&mut self, procedure: ProcedureName, eye: Option<Eye>) {
        self.take(|guide, exam| guide::begin(guide, exam, procedure, eye));
    }

    /// Begins a search and passes the line over, so that it compares in steps.
    pub fn begin_comparing(&mut self, procedure: ProcedureName, eye: Option<Eye>) {
        self.begin(procedure, eye);
        assert_eq!(self.present().question, Question::LineRead);
        self.take(guide::skip);
    }

    pub fn answer(&mut self, answer: Answer) {
        let presentation = self.present();
        self.take(|guide, exam| guide::answer(guide, exam, answer));
        self.asked.push((presentation, answer));
    }

    pub fn answers(&mut self, answers: &[Answer]) {
        for &answer in answers {
            self.answer(answer);
        }
    }

    /// Answers until the procedure that runs ends.
    pub fn run(&mut self, person: &mut Person) {
        while self.guide().running().is_some() {
            let answer = person.answers(&self.present(), &self.exam);
            self.answer(answer);
        }
    }

    /// Follows the guide's proposals until the prescription is written.
    pub fn run_to_the_end(&mut self, person: &mut Person) {
        while !self.guide().findings().written {
            let presentation = self.present();
            let answer = person.answers(&presentation, &self.exam);
            self.answer(answer);
            assert!(self.asked.len() < 400, "the exam does not end");
        }
    }

    /// What was asked and answered, one line each, for a failure to be read.
    pub fn story(&self) -> String {
        let line = |(p, answer): &(Presentation, Answer)| {
            let powers = |powers: Eyes<Power>| {
                powers.map(|p| {
                    let form = p.minus_form();
                    format!("{:+.2}/{:+.2}x{:.0}", form.sphere, form.cylinder, form.axis)
                })
            };
            let eye = p.eye.map_or("both".to_owned(), |eye| eye.to_string());
            let (from, to) = (powers(p.shown.from), powers(p.shown.to));
            let side = p.eye.unwrap_or(Eye::Right);
            format!("{:?} {eye}: {:?} {} -> {} | {answer:?} {:?}", p.procedure, p.show, from[side], to[side], p.remarks)
        };
        self.asked.iter().map(line).collect::<Vec<_>>().join("\n")
    }

    /// The end of the story.
    pub fn tail(&self) -> String {
        let story = self.story();
        let lines: Vec<&str> = story.lines().collect();
        lines[lines.len().saturating_sub(45)..].join("\n")
    }

    pub fn count_in(&self, procedure: ProcedureName) -> usize {
        self.asked.iter().filter(|(presentation, _)| presentation.procedure == Some(procedure)).count()
    }
}
