//! What it takes to lead the whole exam of one eye, by either way of refracting, from the library without a screen.
//!
//! Full box, four-cell frame, a practice eye without chance. `cargo bench --bench guide` prints the processor time of one exam:
//! the least of many runs, which what else the machine does hardly touches; and of each answer with what is chosen after it.
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot set itself up must stop")]

use std::hint::black_box;
use std::time::{Duration, Instant};

use dioptray::exam::{Answer, Complaint, Detail, Event, Exam, Opening, ProcedureName, Strategy};
use dioptray::frame::FittedFrame;
use dioptray::frame::shipped::demo_frame;
use dioptray::guide::{self, Guide, Question};
use dioptray::kit::shipped::BOXES;
use dioptray::kit::{Stock, parse_box};
use dioptray::optics::{Eye, Eyes, SpheroCylinder};
use dioptray::practice::draws::Draws;
use dioptray::practice::{Examinee, Law, Person, Standing, Traits};

/// Runs of which the least counts.
const RUNS: usize = 40;
/// Exams in one run.
const EXAMS: u32 = 10;

fn main() {
    for strategy in Strategy::ALL {
        for (who, needs, age, complaint) in EYES {
            measure(strategy, who, needs, age, complaint);
        }
    }
}

fn measure(strategy: Strategy, who: &str, [sphere, cylinder, axis]: [f64; 3], age: u8, complaint: Complaint) {
    let need = SpheroCylinder { sphere, cylinder, axis }.power();
    let person = || {
        let person = Person::new(Eyes::both(need), age, Traits::STEADY, Law::Written);
        Examinee::new(Person { complaint, ..person }, Draws::new(1, 0))
    };
    let mut examinee = person();
    let led = set_up(strategy, &mut examinee);
    let answers = lead(led.clone(), &mut examinee).len();
    let mut of_answers = vec![Duration::MAX; answers];
    let mut run = || {
        let exams: Vec<_> = (0..EXAMS).map(|_| (led.clone(), person())).collect();
        let start = Clock::now();
        let took: Vec<_> = exams.into_iter().map(|(led, mut examinee)| black_box(lead(led, &mut examinee))).collect();
        let of_exam = start.elapsed() / EXAMS;
        for (nth, took) in took.into_iter().flat_map(|took| took.into_iter().enumerate()) {
            of_answers[nth] = of_answers[nth].min(took);
        }
        of_exam
    };
    let least = (0..RUNS).map(|_| run()).min().unwrap();
    of_answers.sort();
    let ms = |time: Duration| time.as_secs_f64() * 1e3;
    println!(
        "{:7} {who:18} {answers:2} answers {:6.3} ms of {}; an answer {:6.3} in the median, {:6.3} at most",
        strategy.name(),
        ms(least),
        Clock::now().measures(),
        ms(of_answers[answers / 2]),
        ms(of_answers[answers - 1]),
    );
}

/// The processor time of this thread where the system says it, else the time of day.
enum Clock {
    Processor(Duration),
    Wall(Instant),
}

impl Clock {
    fn now() -> Self {
        // giving way brings the count up to date
        std::thread::yield_now();
        let used = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
        let nanoseconds = used.and_then(|used| used.split(' ').next()?.parse().ok());
        nanoseconds.map_or_else(|| Self::Wall(Instant::now()), |used| Self::Processor(Duration::from_nanos(used)))
    }

    fn elapsed(&self) -> Duration {
        match (self, Self::now()) {
            (Self::Processor(start), Self::Processor(end)) => end.saturating_sub(*start),
            (Self::Wall(start), _) => start.elapsed(),
            (Self::Processor(_), Self::Wall(_)) => unreachable!("the system says it or does not"),
        }
    }

    fn measures(&self) -> &'static str {
        match self {
            Self::Processor(_) => "processor time",
            Self::Wall(_) => "wall time",
        }
    }
}

/// An exam with the guide that is kept beside it.
#[derive(Clone)]
struct Led {
    exam: Exam,
    guide: Guide,
}

impl Led {
    fn answer_of(&self, examinee: &mut Examinee) -> Answer {
        let presentation = self.guide.presentation();
        examinee.answer(presentation, &Standing::of(presentation, &self.exam)).unwrap()
    }

    fn answer(&mut self, answer: Answer) {
        self.exam.accept(guide::answer(&self.guide, &self.exam, answer).unwrap());
        self.guide.follow(&self.exam);
    }
}

/// An exam whose set-up is done.
fn set_up(strategy: Strategy, examinee: &mut Examinee) -> Led {
    let (file, text) = BOXES.iter().find(|(file, _)| file.ends_with("full.yaml")).unwrap();
    let fitted = FittedFrame::new(demo_frame().unwrap(), Stock::of(&parse_box(file, text).unwrap()));
    let mut exam = Exam::open(Opening::of(fitted));
    exam.apply(&[Event::Detail(Detail::Strategy(strategy))]).unwrap();
    exam.accept(guide::begin(&Guide::of(&exam), &exam, ProcedureName::SetUp, None).unwrap());
    let mut led = Led { guide: Guide::of(&exam), exam };
    while led.guide.running().is_some() {
        led.answer(led.answer_of(examinee));
    }
    led
}

/// Follows the proposals while they are about the right eye; how long each answer took, with what was chosen after it.
fn lead(mut led: Led, examinee: &mut Examinee) -> Vec<Duration> {
    let mut took = Vec::new();
    loop {
        let presentation = led.guide.presentation();
        let answer = match &presentation.question {
            Question::Next(choices) => match choices[0] {
                (procedure, eye @ Some(Eye::Right)) => Answer::Go { procedure, eye },
                _ => return took,
            },
            _ => led.answer_of(examinee),
        };
        let start = Instant::now();
        led.answer(answer);
        took.push(start.elapsed());
    }
}

const EYES: [(&str, [f64; 3], u8, Complaint); 4] = [
    ("easy myope", [-1.25, 0.0, 180.0], 25, Complaint::FarBlur),
    ("myopic astigmat", [-4.25, -0.75, 180.0], 31, Complaint::FarBlur),
    ("oblique astigmat", [-1.50, -2.50, 37.0], 45, Complaint::FarBlur),
    ("old hyperope", [2.25, -0.50, 90.0], 62, Complaint::BlurEverywhere),
];
