//! A lesson as its file declares it.

use std::path::PathBuf;

use crate::practice::drills::{Level, Skill};

/// An order of eyes and drills.
#[derive(Debug, Clone, PartialEq)]
pub struct Lesson {
    /// What it is called.
    pub name: String,
    /// What it teaches.
    pub note: Option<String>,
    /// The teacher's pass line of its eyes: the most that may be left in any meridian, in dioptres.
    pub pass_d: Option<f64>,
    /// How long an eye may take, in minutes.
    pub minutes: Option<f64>,
    /// What comes after what.
    pub steps: Vec<LessonStep>,
}

/// One part of a lesson.
#[derive(Debug, Clone, PartialEq)]
pub enum LessonStep {
    /// A few sentences.
    Say(String),
    /// Items of a drill.
    Drill {
        /// Which drill, how hard.
        skill: Skill,
        /// How many items.
        items: u32,
    },
    /// Somebody to refract.
    Eye {
        /// Who.
        who: LessonEye,
        /// How long it may take, in minutes, where that is another time than for the others.
        minutes: Option<f64>,
    },
}

/// Somebody who is refracted in a lesson.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LessonEye {
    /// A case that comes with the program, by its name.
    Shipped(&'static str),
    /// A case of the teacher's own, by its file as it lies from the lesson.
    File(PathBuf),
    /// Somebody drawn as hard as this; by this seed the same for everybody.
    Drawn {
        /// How hard.
        level: Level,
        /// The seed; another person each time where there is none.
        seed: Option<u32>,
    },
}

impl Lesson {
    /// The case files of the teacher's own that it names.
    pub fn files(&self) -> impl Iterator<Item = &PathBuf> {
        self.steps.iter().filter_map(|step| match step {
            LessonStep::Eye { who: LessonEye::File(file), .. } => Some(file),
            LessonStep::Eye { who: LessonEye::Shipped(_) | LessonEye::Drawn { .. }, .. }
            | LessonStep::Say(_)
            | LessonStep::Drill { .. } => None,
        })
    }
}
