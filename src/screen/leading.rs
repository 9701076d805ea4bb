//! What the guide asks now and what the hands did for it, ready to be shown.

use crate::exam::{Event, Exam, GuideEvent, State};
use crate::frame::Move;
use crate::guide::{Guide, Presentation, Question};
use crate::optics::Eye;

/// The guide and what it presents.
#[derive(Debug, Clone, PartialEq)]
pub struct Leading {
    /// The guide as the exam's events leave it.
    pub guide: Guide,
    /// What it presents.
    pub presentation: Presentation,
}

/// Before which eye something is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meant {
    /// One eye; the other is covered.
    Alone(Eye),
    /// One eye; the other is not covered.
    One(Eye),
    /// Both eyes.
    Both,
    /// No eye: the person or the room.
    Neither,
}

impl Leading {
    /// The guide of an exam as it stands.
    pub fn of(state: &State) -> Self {
        let guide = Guide::replay(state);
        let presentation = guide.present(state);
        Self { guide, presentation }
    }

    /// Before which eye the present step is.
    pub fn meant(&self) -> Meant {
        let presentation = &self.presentation;
        match (presentation.eye, &presentation.question) {
            (
                Some(eye),
                Question::ClearerWith { .. }
                | Question::MoreLetters { .. }
                | Question::WhichPosition
                | Question::LineRead
                | Question::FanLine
                | Question::FanFirstOfTwo
                | Question::FanEqual
                | Question::SlitMeridian
                | Question::YesOrNo,
            ) => Meant::Alone(eye),
            (Some(eye), _) => Meant::One(eye),
            (None, _) if presentation.from.iter().any(Option::is_some) => Meant::Both,
            (None, _) => Meant::Neither,
        }
    }
}

/// The moves that set out what is asked now, in order; none when the examiner has moved lenses by hand since.
pub fn moves_made(exam: &Exam) -> Vec<&Move> {
    let moved = |event: &Event| matches!(event, Event::Moved(_));
    let set_out = |event: &Event| matches!(event, Event::Guide(GuideEvent::SetOut(_)));
    let touches = |step: &&Vec<Event>| step.iter().any(|event| moved(event) || set_out(event));
    let last = exam.standing_steps().iter().rev().find(touches).filter(|step| step.iter().any(set_out));
    let events = last.map(Vec::as_slice).unwrap_or_default();
    events.iter().filter_map(|event| if let Event::Moved(step) = event { Some(step) } else { None }).collect()
}
