//! A class: its code, what is handed in, and what that comes to.

mod code;
mod hand_in;
mod marks;

use dioptray::exam::{Event, Exam, Opening, PracticeEvent};
use dioptray::frame::FittedFrame;
use dioptray::frame::shipped::demo_frame;
use dioptray::kit::Stock;
use dioptray::kit::shipped::full_box;
use dioptray::practice::class::ClassCode;
use dioptray::practice::class::hand_in::{KeptExam, KeptStep};
use dioptray::practice::seat::Seat;
use dioptray::practice::{Way, examine};
use jiff::{SignedDuration, Timestamp};

type Failure = Box<dyn std::error::Error>;
type Tested = Result<(), Failure>;

fn fitted() -> Result<FittedFrame, Failure> {
    Ok(FittedFrame::new(demo_frame()?, Stock::of(&full_box()?)))
}

fn code(of: u16, seed: u32) -> Result<ClassCode, Failure> {
    let fitted = fitted()?;
    Ok(ClassCode::new(of, seed, &fitted.stock, &fitted.frame)?)
}

/// A step every ten seconds, from a moment on.
fn timed(began: Timestamp, opening: Opening, steps: Vec<Vec<Event>>) -> KeptExam {
    let steps = (1..).zip(steps);
    let steps = steps.map(|(nth, events)| KeptStep { at: began + SignedDuration::from_secs(10 * nth), events });
    KeptExam { began, opening, steps: steps.collect() }
}

fn end(gave_up: bool) -> Vec<Event> {
    vec![Event::Practice(PracticeEvent::Ended { gave_up }), Event::Finished]
}

/// A station that the guide led to its end, as it is kept.
fn led(code: ClassCode, station: u16, began: Timestamp, gave_up: bool) -> Result<(KeptExam, Exam), Failure> {
    let seat = Seat::coded(code, station)?;
    let way = Way { both: true, ..Way::default() };
    let exam = examine(&fitted()?, seat.examinee(0), way, None, &mut |_| {})?.exam;
    let opening = Opening { fitted: fitted()?, sitter: Some(seat.sitter()) };
    let steps = exam.standing_steps().iter().cloned().chain([end(gave_up)]).collect();
    Ok((timed(began, opening, steps), exam))
}

/// A station at which nothing was done but to end it.
fn left_alone(code: ClassCode, station: u16, began: Timestamp) -> Result<KeptExam, Failure> {
    let opening = Opening { fitted: fitted()?, sitter: Some(Seat::coded(code, station)?.sitter()) };
    Ok(timed(began, opening, vec![end(false)]))
}

fn morning() -> Timestamp {
    Timestamp::UNIX_EPOCH + SignedDuration::from_hours(20_000 * 24 + 9)
}
