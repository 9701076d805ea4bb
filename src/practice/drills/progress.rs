//! What was answered, and which skill is due when: spaced by how well it went, and of those due on one day the one first in
//! which a slip hurts most.

use std::collections::BTreeMap;

use chrono::DateTime;
use jiff::civil::Date;
use jiff::{Timestamp, ZonedDateTime};
use rs_fsrs::{Card, FSRS, Parameters, Rating, State};
use serde::{Deserialize, Serialize};

use super::item::Slip;
use super::marking::Mark;
use super::table::Skill;

/// One answer to an item, as it is kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answered {
    /// The drill and the level.
    pub skill: Skill,
    /// The seed of the items.
    pub seed: u64,
    /// Which of them, from 1.
    pub item: u32,
    /// What was typed.
    pub typed: String,
    /// What was wrong with it; nothing where it was right.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slip: Option<Slip>,
}

/// The answers of one sitting: one skill, one after the other.
#[derive(Debug, Clone, PartialEq)]
pub struct Sitting {
    /// The skill.
    pub skill: Skill,
    /// When its last answer was given.
    pub at: Timestamp,
    /// How many were right.
    pub right: u32,
    /// How many there were.
    pub of: u32,
    /// The slips, in the order in which they were made.
    pub slips: Vec<Slip>,
}

/// How a sitting went, for the spacing.
///
/// A slip that would do harm has the skill come again soon, whatever else was right (ours, no source).
fn rating(sitting: &Sitting) -> Rating {
    if sitting.slips.iter().any(|slip| slip.harms()) || 4 * sitting.right < 3 * sitting.of {
        Rating::Again
    } else if sitting.right < sitting.of {
        Rating::Hard
    } else {
        Rating::Good
    }
}

/// What is known of one skill.
#[derive(Debug, Clone, PartialEq)]
pub struct SkillProgress {
    /// The skill.
    pub skill: Skill,
    /// How many sittings there were.
    pub sittings: u32,
    /// Of how many answers.
    pub answered: u32,
    /// How many were right.
    pub right: u32,
    /// How many of the last sitting were right, and of how many.
    pub last: (u32, u32),
    /// How many slips of the last sitting would do harm.
    pub harms: u32,
    /// When it is due again.
    pub due: Timestamp,
}

/// What was drilled so far.
#[derive(Debug, Clone, Default)]
pub struct Progress {
    skills: BTreeMap<Skill, (Card, SkillProgress)>,
}

impl Progress {
    /// Of sittings in the order in which they were held.
    pub fn of<'a>(sittings: impl IntoIterator<Item = &'a Sitting>) -> Self {
        let scheduler = FSRS::new(Parameters {
            // spaced by days: a sitting is not split into minutes, and chance has no part in it
            enable_short_term: false,
            enable_fuzz: false,
            ..Parameters::default()
        });
        let mut progress = Self::default();
        for sitting in sittings {
            progress.add(sitting, &scheduler);
        }
        progress
    }

    fn add(&mut self, sitting: &Sitting, scheduler: &FSRS) {
        let Some(now) = DateTime::from_timestamp(sitting.at.as_second(), 0) else { return };
        let known = self.skills.remove(&sitting.skill);
        let new = Card { due: now, last_review: now, state: State::New, ..Card::default() };
        let (before, so_far) = known.map_or((new, None), |(card, known)| (card, Some(known)));
        let card = scheduler.next(before, now, rating(sitting)).card;
        let due = Timestamp::from_second(card.due.timestamp()).unwrap_or(sitting.at);
        let skill = SkillProgress {
            skill: sitting.skill,
            sittings: so_far.as_ref().map_or(0, |known| known.sittings) + 1,
            answered: so_far.as_ref().map_or(0, |known| known.answered) + sitting.of,
            right: so_far.as_ref().map_or(0, |known| known.right) + sitting.right,
            last: (sitting.right, sitting.of),
            harms: sitting.slips.iter().filter(|slip| slip.harms()).count() as u32,
            due,
        };
        self.skills.insert(sitting.skill, (card, skill));
    }

    /// What is known of a skill; `None` while it was never drilled.
    pub fn skill(&self, skill: Skill) -> Option<&SkillProgress> {
        self.skills.get(&skill).map(|(_, known)| known)
    }

    /// How many of so many cells of a bar the last sitting of a skill fills by what was right; `None` while it was never drilled. A
    /// part of it is never shown as all of it, nor as nothing.
    pub fn right_cells(&self, skill: Skill, cells: u32) -> Option<u32> {
        let (right, of) = self.skill(skill)?.last;
        Some(if right == of { cells } else { (cells * right).div_ceil(of.max(1)).min(cells - 1) })
    }

    /// Whether a skill is open: the first level always, another once the one below went well to the last item.
    pub fn is_open(&self, skill: Skill) -> bool {
        let below = Skill::all().take_while(|other| *other != skill).last().filter(|other| other.drill == skill.drill);
        below.is_none_or(|below| self.skill(below).is_some_and(|known| known.last.0 == known.last.1))
    }

    /// What is due on the day of a moment where it is that day: the longest overdue day first, and of one day what hurts most; what
    /// was never drilled is due on that day.
    pub fn due(&self, now: &ZonedDateTime) -> Vec<Skill> {
        let day = |at: Timestamp| at.to_zoned_datetime(now.time_zone().clone()).date();
        let mut due: Vec<(Date, Skill)> = Skill::all()
            .filter(|&skill| self.is_open(skill))
            .map(|skill| (self.skill(skill).map_or(now.date(), |known| day(known.due)), skill))
            .filter(|(on, _)| *on <= now.date())
            .collect();
        due.sort_by_key(|(on, skill)| (*on, skill.drill.hurts(), *skill));
        due.into_iter().map(|(_, skill)| skill).collect()
    }

    /// When the next one is due, where none is.
    pub fn next_due(&self) -> Option<Timestamp> {
        self.skills.values().map(|(_, known)| known.due).min()
    }

    /// Every skill that was drilled, drill by drill.
    pub fn skills(&self) -> impl Iterator<Item = &SkillProgress> {
        self.skills.values().map(|(_, known)| known)
    }
}

impl Sitting {
    /// One that begins with an answer.
    pub fn begin(first: &Answered, at: Timestamp) -> Self {
        let mut sitting = Self { skill: first.skill, at, right: 0, of: 0, slips: Vec::new() };
        sitting.add(first, at);
        sitting
    }

    /// Another answer of it.
    pub fn add(&mut self, answered: &Answered, at: Timestamp) {
        self.at = at;
        self.of += 1;
        match answered.slip {
            None => self.right += 1,
            Some(slip) => self.slips.push(slip),
        }
    }
}

impl Answered {
    /// What was typed for an item, and how it was marked.
    pub fn new(skill: Skill, seed: u64, item: u32, typed: &str, mark: Mark) -> Self {
        Self { skill, seed, item, typed: typed.to_owned(), slip: mark.slip() }
    }
}
