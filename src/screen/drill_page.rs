//! Drills on the screen: which are due, and one item at a time, marked at once with the working shown.

use std::rc::Rc;

use jiff::ZonedDateTime;

use crate::export::wrapping::wrapped_to_columns;
use crate::practice::drills::{Answered, Drill, Item, Level, Mark, Progress, Skill, items};
use crate::session::{DrillSitting, DrilledSoFar};

/// Items of a sitting, as many as the command asks too.
const ITEMS: usize = 10;
/// Cells of a bar.
pub const BAR: u32 = 10;
/// No run of text is wider, whatever the screen.
const COLUMNS: usize = 70;

/// What of drills is shown.
#[derive(Debug, Clone, PartialEq)]
pub enum DrillsPage {
    /// All of them, what is due first.
    List(Rc<[DrillRow]>),
    /// One after the other.
    Asking(Asking),
}

/// One drill in the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DrillRow {
    /// The drill, at the level that is due, or else at the hardest that is open.
    pub skill: Skill,
    /// So many cells of [`BAR`] were right in its last sitting; `None` where there was none.
    pub right: Option<u32>,
    /// When it is due: `now`, `new`, or the day.
    pub due: String,
}

/// A sitting at a drill.
#[derive(Debug, Clone, PartialEq)]
pub struct Asking {
    /// The drill and its level.
    pub skill: Skill,
    /// The seed of the items.
    pub seed: u64,
    /// Under what its answers are kept.
    pub sitting: DrillSitting,
    /// The items.
    pub items: Rc<[Item]>,
    /// How each that was answered was marked.
    pub marks: Vec<Mark>,
    /// What was typed for the item that is shown, once it was marked.
    pub typed: Option<String>,
    /// The first line that is shown.
    pub top: usize,
}

/// A line of an item.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DrillLine {
    /// What is asked, or worked out.
    Plain(String),
    /// That it is right.
    Right(String),
    /// What is wrong.
    Wrong(String),
    /// Nothing.
    Gap,
}

/// The list: what is due in its order, then the others by their day.
pub fn rows(so_far: &DrilledSoFar) -> Rc<[DrillRow]> {
    let DrilledSoFar { progress, now, .. } = so_far;
    let due = progress.due(now);
    let mut skills: Vec<Skill> = Vec::new();
    for skill in due.iter().copied().chain(not_due(progress)) {
        if !skills.iter().any(|listed| listed.drill == skill.drill) {
            skills.push(skill);
        }
    }
    let row = |skill: Skill| DrillRow {
        skill,
        right: progress.right_cells(skill, BAR),
        due: when(progress, skill, due.contains(&skill), now),
    };
    skills.into_iter().map(row).collect()
}

/// Each drill at the hardest level that is open, the one first that is due first.
fn not_due(progress: &Progress) -> Vec<Skill> {
    let hardest = |drill: Drill| {
        let levels = Level::ALL.iter().rev().map(|&level| Skill { drill, level });
        levels.into_iter().find(|&skill| progress.is_open(skill))
    };
    let mut skills: Vec<Skill> = Drill::ALL.iter().filter_map(|&drill| hardest(drill)).collect();
    skills.sort_by_key(|&skill| progress.skill(skill).map(|known| known.due));
    skills
}

fn when(progress: &Progress, skill: Skill, is_due: bool, now: &ZonedDateTime) -> String {
    match progress.skill(skill) {
        None => "new".to_owned(),
        Some(_) if is_due => "now".to_owned(),
        Some(known) => known.due.to_zoned_datetime(now.time_zone().clone()).date().to_string(),
    }
}

impl Asking {
    /// A sitting that begins.
    pub fn begin(skill: Skill, seed: u64, sitting: DrillSitting) -> Self {
        let items = items(skill, seed, ITEMS).into();
        Self { skill, seed, sitting, items, marks: Vec::new(), typed: None, top: 0 }
    }

    /// Which item is shown, from 0.
    fn place(&self) -> usize {
        self.marks.len() - usize::from(self.typed.is_some())
    }

    /// The item that is shown.
    pub fn item(&self) -> &Item {
        &self.items[self.place()]
    }

    /// Whether all were answered.
    pub fn is_over(&self) -> bool {
        self.marks.len() == self.items.len()
    }

    /// What is kept of an answer to the item that is shown.
    pub fn answered(&self, typed: &str, mark: Mark) -> Answered {
        Answered::new(self.skill, self.seed, self.place() as u32 + 1, typed, mark)
    }

    /// Takes in an answer that was marked and kept.
    pub fn take(&mut self, typed: &str, mark: Mark) {
        self.marks.push(mark);
        self.typed = Some(typed.to_owned());
        self.top = 0;
    }

    /// Goes on to the next item.
    pub fn go_on(&mut self) {
        if !self.is_over() {
            self.typed = None;
            self.top = 0;
        }
    }

    /// The heading: the drill, its level, and which item.
    pub fn heading(&self) -> String {
        let (drill, level) = (self.skill.drill.name(), self.skill.level.number());
        format!("drill {drill}, level {level}: {} of {}", self.place() + 1, self.items.len())
    }

    /// How the items went so far: right, wrong, or to come.
    pub fn marks(&self) -> String {
        let mark = |place: usize| match self.marks.get(place) {
            Some(Mark::Right) => "+",
            Some(Mark::Wrong(_)) => "x",
            None => ".",
        };
        (0..self.items.len()).map(mark).collect::<Vec<_>>().join(" ")
    }

    /// What is said of the item that is shown.
    pub fn lines(&self) -> Vec<DrillLine> {
        let wrapped = |text: &str| wrapped_to_columns(text, COLUMNS);
        let item = self.item();
        let mut lines: Vec<DrillLine> = wrapped(&item.ask).into_iter().map(DrillLine::Plain).collect();
        let (Some(typed), Some(mark)) = (&self.typed, self.marks.last()) else { return lines };
        lines.push(DrillLine::Gap);
        let told = item.answer.told();
        match mark {
            Mark::Right => {
                lines.extend(wrapped(&format!("{typed}: right, {told}.")).into_iter().map(DrillLine::Right));
            }
            Mark::Wrong(slip) => {
                let said = format!("{typed}: wrong, {}. It is {told}.", slip.said());
                lines.extend(wrapped(&said).into_iter().map(DrillLine::Wrong));
            }
        }
        lines.extend(item.working.iter().flat_map(|step| wrapped(step)).map(DrillLine::Plain));
        if self.is_over() {
            let right = self.marks.iter().filter(|mark| **mark == Mark::Right).count();
            lines.extend([DrillLine::Gap, DrillLine::Plain(format!("{right} of {} right.", self.marks.len()))]);
        }
        lines
    }

    /// Goes some lines on or back; `shown` are the rows of the page.
    pub fn scroll(&mut self, step: isize, shown: usize) {
        let last = self.lines().len().saturating_sub(shown.max(1));
        self.top = self.top.saturating_add_signed(step).min(last);
    }
}
