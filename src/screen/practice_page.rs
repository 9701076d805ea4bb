//! Practice on the screen: who sits there, and the page on which practice is chosen.

use std::rc::Rc;

use super::drill_page::{Asking, DrillsPage};
use super::ended_page::EndedPage;
use crate::exam::State;
use crate::practice::drills::Level;
use crate::practice::lessons::Lesson;
use crate::practice::seat::{Seat, SeatError};
use crate::practice::{Case, Examinee};

/// The practice eye that is examined on the screen.
#[derive(Debug, Clone)]
pub struct Seated {
    /// The seat.
    pub seat: Rc<Seat>,
    /// The person, who remembers what was asked since the program began.
    pub examinee: Examinee,
}

impl Seated {
    /// Whoever sits there in an exam after so many steps; `None` in the exam of a person.
    ///
    /// # Errors
    /// When this version does not know who it is.
    pub fn of(state: &State, steps: usize) -> Result<Option<Self>, SeatError> {
        let Some(practised) = &state.practised else { return Ok(None) };
        let seat = Seat::again(&practised.sitter)?;
        Ok(Some(Self { examinee: seat.examinee(steps as u64), seat: Rc::new(seat) }))
    }
}

/// The page of practice.
#[derive(Debug, Clone, PartialEq)]
pub struct PracticePage {
    /// The chosen row.
    pub chosen: usize,
    /// What is shown.
    pub shown: PracticeShown,
}

/// What of practice is shown.
#[derive(Debug, Clone, PartialEq)]
pub enum PracticeShown {
    /// What can be done.
    Choices(Rc<[PracticeChoice]>),
    /// The named cases.
    Cases(Rc<[Case]>),
    /// How an exam went.
    Ended(Box<EndedPage>),
    /// Drills.
    Drills(Box<DrillsPage>),
    /// The lessons that come with the program.
    Lessons(Rc<[Lesson]>),
    /// One lesson, part by part.
    Lesson(Rc<Lesson>),
}

/// Something that can be done in practice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PracticeChoice {
    /// Go back to the eye that sits there.
    Back,
    /// Done with this eye: see how it went.
    Done,
    /// Give up, and see what the eye needs.
    GiveUp,
    /// How the exam that ended went.
    HowItWent,
    /// Refract the next one of the same kind.
    Next,
    /// Go on with the practice exam that stands open.
    LastOne,
    /// An eye drawn as hard as this.
    Drawn(Level),
    /// A named case.
    Named,
    /// An eye of a teacher's code.
    Coded,
    /// Short questions, one at a time.
    Drills,
    /// An order of eyes and drills.
    Lessons,
    /// The lesson that was begun.
    LastLesson,
    /// Leave practice.
    Leave,
}

impl PracticeChoice {
    /// What can be done now; `stands_open`: a practice exam that was left can be gone on with; `in_lesson`: a lesson was begun.
    pub fn offered(state: &State, stands_open: bool, in_lesson: bool) -> Rc<[Self]> {
        let lesson = in_lesson.then_some(Self::LastLesson);
        let others = [Self::Drills, Self::Lessons];
        let drawn =
            [Self::Drawn(Level::One), Self::Drawn(Level::Two), Self::Drawn(Level::Three), Self::Named, Self::Coded];
        let choices = match &state.practised {
            None => lesson.into_iter().chain(stands_open.then_some(Self::LastOne)).chain(drawn).chain(others).collect(),
            Some(practised) if practised.ended.is_none() && !state.finished => {
                vec![Self::Back, Self::Done, Self::GiveUp, Self::Leave]
            }
            Some(_) => lesson
                .into_iter()
                .chain([Self::Next, Self::HowItWent])
                .chain(drawn)
                .chain(others)
                .chain([Self::Leave])
                .collect::<Vec<_>>(),
        };
        choices.into()
    }

    /// What it is called, and what it does.
    pub fn said(self) -> [String; 2] {
        let [name, does] = match self {
            Self::Back => ["back to this eye", ""],
            Self::Done => ["done", "the exam ends with what is accepted, and you see how it went"],
            Self::GiveUp => ["give up", "the exam ends, and you see what the eye needs"],
            Self::HowItWent => ["how it went", "what this eye needs beside what is written, and what it cost"],
            Self::Next => ["the next eye", "another one as hard, or the next of the code"],
            Self::LastOne => ["the eye that was left", "goes on where it stood"],
            Self::Drawn(Level::One) => ["an easy eye", "spheres, both eyes alike, hardly any cylinder"],
            Self::Drawn(Level::Two) => ["an eye as they come", "drawn as prescriptions are distributed among people"],
            Self::Drawn(Level::Three) => {
                ["a hard eye", "oblique or unequal, with an addition, or one that sees poorly"]
            }
            Self::Named => ["a named case", "invented people, each with something to learn"],
            Self::Coded => ["a teacher's code", "the same eyes for everybody who types it"],
            Self::Drills => ["drills", "short questions, marked at once with the working; what is due comes first"],
            Self::Lessons => ["lessons", "an order of eyes and drills with a few sentences between"],
            Self::LastLesson => ["the lesson", "back to the part where you were"],
            Self::Leave => ["leave practice", "an exam that has not ended can be gone on with"],
        };
        [name.to_owned(), does.to_owned()]
    }
}

impl PracticePage {
    /// The page with its choices.
    pub fn choices(state: &State, stands_open: bool, in_lesson: bool) -> Self {
        Self { chosen: 0, shown: PracticeShown::Choices(PracticeChoice::offered(state, stands_open, in_lesson)) }
    }

    /// Whether what is shown lies below the choices, so that back leads to them.
    pub fn is_below_the_choices(&self) -> bool {
        match self.shown {
            PracticeShown::Cases(_)
            | PracticeShown::Ended(_)
            | PracticeShown::Drills(_)
            | PracticeShown::Lessons(_)
            | PracticeShown::Lesson(_) => true,
            PracticeShown::Choices(_) => false,
        }
    }

    /// How an exam went, where that is shown.
    pub fn ended(&self) -> Option<&EndedPage> {
        match &self.shown {
            PracticeShown::Ended(ended) => Some(ended),
            PracticeShown::Choices(_)
            | PracticeShown::Cases(_)
            | PracticeShown::Drills(_)
            | PracticeShown::Lessons(_)
            | PracticeShown::Lesson(_) => None,
        }
    }

    /// The same, to be changed.
    pub fn ended_mut(&mut self) -> Option<&mut EndedPage> {
        match &mut self.shown {
            PracticeShown::Ended(ended) => Some(ended),
            PracticeShown::Choices(_)
            | PracticeShown::Cases(_)
            | PracticeShown::Drills(_)
            | PracticeShown::Lessons(_)
            | PracticeShown::Lesson(_) => None,
        }
    }

    /// The drills, where they are shown.
    pub fn drills(&self) -> Option<&DrillsPage> {
        match &self.shown {
            PracticeShown::Drills(drills) => Some(drills),
            PracticeShown::Choices(_)
            | PracticeShown::Cases(_)
            | PracticeShown::Ended(_)
            | PracticeShown::Lessons(_)
            | PracticeShown::Lesson(_) => None,
        }
    }

    /// The sitting at a drill, where one is shown.
    pub fn asking(&self) -> Option<&Asking> {
        match self.drills()? {
            DrillsPage::Asking(asking) => Some(asking),
            DrillsPage::List(_) => None,
        }
    }

    /// The same, to be changed.
    pub fn asking_mut(&mut self) -> Option<&mut Asking> {
        match &mut self.shown {
            PracticeShown::Drills(drills) => match &mut **drills {
                DrillsPage::Asking(asking) => Some(asking),
                DrillsPage::List(_) => None,
            },
            PracticeShown::Choices(_)
            | PracticeShown::Cases(_)
            | PracticeShown::Ended(_)
            | PracticeShown::Lessons(_)
            | PracticeShown::Lesson(_) => None,
        }
    }

    /// How many rows it has to choose from.
    pub fn rows(&self) -> usize {
        match &self.shown {
            PracticeShown::Choices(choices) => choices.len(),
            PracticeShown::Cases(cases) => cases.len(),
            PracticeShown::Drills(drills) => match &**drills {
                DrillsPage::List(rows) => rows.len(),
                DrillsPage::Asking(_) => 0,
            },
            PracticeShown::Lessons(lessons) => lessons.len() + 1,
            PracticeShown::Lesson(lesson) => lesson.steps.len(),
            PracticeShown::Ended(_) => 0,
        }
    }
}
