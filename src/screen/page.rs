//! Pages that stand in the place of the eyes: the details of an exam, earlier exams, a box.

use std::rc::Rc;

use super::box_page::BoxPage;
use super::day_page::DayPage;
use super::glasses_form::GlassesForm;
use super::practice_page::PracticePage;
use crate::exam::Detail;
use crate::export::glasses_words::CAME_BACK;
use crate::session::{ListedExam, OpenedRecord};

/// What stands in the place of the eyes.
#[derive(Debug, Clone, PartialEq)]
pub enum Page {
    /// The details of this exam; the chosen one of [`rows`](super::field::rows).
    Details(usize),
    /// Earlier exams.
    Records(Records),
    /// A box, and what happens to its pieces.
    Box(BoxPage),
    /// A day of many people.
    Day(DayPage),
    /// Practice.
    Practice(PracticePage),
    /// What a practice eye sees, and the light in its pupil.
    Sight,
}

/// Earlier exams: the list, and the one that is open.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Records {
    /// The exams in the list, latest first, then those of other seats. Their lines are read as they are shown.
    pub list: Rc<[ListedExam]>,
    /// How many of them are of other seats.
    pub of_others: usize,
    /// How many characters the longest name of one of those has; 0 where there is none.
    pub longest_name: u16,
    /// How many exams there are in all.
    pub of: usize,
    /// By what the list was searched; empty when it has all exams.
    pub search: String,
    /// The number of the exam on the screen.
    pub current: u64,
    /// The chosen line of the list.
    pub chosen: usize,
    /// The exam that is open to be read.
    pub open: Option<OpenedRecord>,
    /// The first line of it that is shown, as far as there are lines after it.
    pub top: usize,
    /// What is entered of glasses that came back, until it is noted.
    pub glasses: Option<Box<GlassesForm>>,
}

impl Records {
    /// Goes to the line of the open record where the last of the glasses that came back begin.
    pub fn show_last_came_back(&mut self) {
        let begins = |line: &String| line.contains(CAME_BACK);
        let at = self.open.as_ref().and_then(|open| open.lines.iter().rposition(begins));
        self.top = at.unwrap_or(self.top);
    }

    /// What is entered of glasses that came back, where that is shown.
    pub fn glasses_shown(&self) -> Option<&GlassesForm> {
        let open = self.open.as_ref()?;
        self.glasses.as_deref().filter(|glasses| glasses.shown && ListedExam::Own(glasses.exam) == open.exam)
    }
}

/// A question that a key must answer before anything is done.
#[derive(Debug, Clone, PartialEq)]
pub enum Confirmation {
    /// Go on with the exam that was not closed?
    GoOn,
    /// Close the exam?
    Close,
    /// Take pieces out of the box for good?
    OutForGood,
    /// Give the stock-take up?
    GiveUpCount,
    /// End the day?
    EndDay,
    /// Call somebody in to another exam?
    CallAgain {
        /// The running number.
        number: u32,
    },
    /// Does a setting of the room hold for everybody from now on?
    HoldsForTheDay {
        /// The setting.
        detail: Detail,
    },
    /// End the exam of a practice eye?
    EndPractice {
        /// Whether it is given up.
        gave_up: bool,
    },
    /// Close the exam before another begins?
    CloseBefore {
        /// The label of the other.
        label: String,
    },
}

impl Confirmation {
    /// Whether it is the exam that a yes closes.
    pub fn is_about_the_exam(&self) -> bool {
        match self {
            Self::Close | Self::CloseBefore { .. } => true,
            Self::GoOn
            | Self::OutForGood
            | Self::GiveUpCount
            | Self::EndDay
            | Self::EndPractice { .. }
            | Self::CallAgain { .. }
            | Self::HoldsForTheDay { .. } => false,
        }
    }
}
