//! What it takes to lead the whole ladder exam of one eye, first lens to final sphere, from the library without a screen.
//!
//! Full box, four-cell frame, the scripted eye of the tests. `cargo bench --bench guide` prints the time of one exam.
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot set itself up must stop")]

use dioptray::exam::{Answer, Complaint, Exam, Opening, ProcedureName};
use dioptray::frame::FittedFrame;
use dioptray::frame::shipped::demo_frame;
use dioptray::guide::{self, Guide, Question};
use dioptray::kit::shipped::BOXES;
use dioptray::kit::{Stock, parse_box};
use dioptray::optics::Eye;
use divan::Bencher;
use scripted_eye::{Person, rx};

#[expect(clippy::panic, reason = "shared with the tests of the guide")]
#[path = "../tests/support/scripted_eye.rs"]
mod scripted_eye;

fn main() {
    divan::main();
}

/// An exam with the guide that is kept beside it.
#[derive(Clone)]
struct Led {
    exam: Exam,
    guide: Guide,
}

impl Led {
    fn answer(&mut self, answer: Answer) {
        self.exam.accept(guide::answer(&self.guide, &self.exam, answer).unwrap());
        self.guide.follow(&self.exam);
    }
}

/// An exam whose set-up is done.
fn set_up(person: &mut Person) -> Led {
    let (file, text) = BOXES.iter().find(|(file, _)| file.ends_with("full.yaml")).unwrap();
    let fitted = FittedFrame::new(demo_frame().unwrap(), Stock::of(&parse_box(file, text).unwrap()));
    let mut exam = Exam::open(Opening { fitted });
    exam.accept(guide::begin(&Guide::of(&exam), &exam, ProcedureName::SetUp, None).unwrap());
    let mut led = Led { guide: Guide::of(&exam), exam };
    while led.guide.running().is_some() {
        led.answer(person.answers(led.guide.presentation()));
    }
    led
}

/// Follows the proposals while they are about the right eye; how many answers that took.
fn lead(mut led: Led, person: &mut Person) -> usize {
    let mut answers = 0;
    loop {
        let presentation = led.guide.presentation();
        let answer = match &presentation.question {
            Question::Next(choices) => match choices[0] {
                (procedure, eye @ Some(Eye::Right)) => Answer::Go { procedure, eye },
                _ => return answers,
            },
            _ => person.answers(presentation),
        };
        led.answer(answer);
        answers += 1;
    }
}

const EYES: [(&str, [f64; 3], u8, Complaint); 4] = [
    ("easy myope", [-1.25, 0.0, 180.0], 25, Complaint::FarBlur),
    ("myopic astigmat", [-4.25, -0.75, 180.0], 31, Complaint::FarBlur),
    ("oblique astigmat", [-1.50, -2.50, 37.0], 45, Complaint::FarBlur),
    ("old hyperope", [2.25, -0.50, 90.0], 62, Complaint::BlurEverywhere),
];

#[divan::bench(args = EYES.map(|(who, ..)| who), sample_count = 200)]
fn ladder_exam_of_one_eye(bencher: Bencher, who: &str) {
    let &(_, [sphere, cylinder, axis], age, complaint) = EYES.iter().find(|(name, ..)| *name == who).unwrap();
    let need = rx(sphere, cylinder, axis);
    let mut person = Person::new(need, need, age, complaint);
    let led = set_up(&mut person);
    let answers = lead(led.clone(), &mut person);
    println!("{who}: {answers} answers");
    bencher
        .with_inputs(|| (led.clone(), Person::new(need, need, age, complaint)))
        .bench_local_values(|(led, mut person)| lead(led, &mut person));
}
