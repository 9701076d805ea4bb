//! The pictures of what an eye sees, computed once: a frame that shows the same again, or what was shown just before, is only
//! drawn.

use std::cell::RefCell;
use std::rc::Rc;

use ratatui::layout::Rect;

use super::ramp::Ramp;
use crate::optics::Power;
use crate::practice::picture::patch::Patch;
use crate::practice::picture::raster::{Grid, Shown};
use crate::practice::picture::readable::patch_of_look;
use crate::practice::picture::reflex::{Streak, reflex};
use crate::practice::picture::targets::Optotype;
use crate::practice::picture::through::{fan, optotype};
use crate::practice::sight::{Condition, Look, PracticeEye};

/// Three lines of five signs, with a lens and without it, and the fan.
const MOST_PICTURES: usize = 40;
/// Looks with a lens, without it, and those before.
const MOST_PATCHES: usize = 8;

/// What is pictured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Subject {
    /// The fan through a patch.
    Fan(Patch),
    /// One sign of a line through a patch.
    Sign {
        /// Which.
        sign: Optotype,
        /// Its stroke, in minutes of arc.
        stroke_minutes: f64,
        /// The blur.
        patch: Patch,
    },
    /// A pupil with the light of the retinoscope in it.
    Pupil {
        /// What is missing at the retinoscope.
        missing: Power,
        /// Where the streak is.
        streak: Streak,
        /// How far away the examiner sits, in metres.
        metres: f64,
    },
}

/// A picture: of what, of how many pixels, and in what it is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// Of what.
    pub subject: Subject,
    /// Pixels from left to right.
    pub columns: usize,
    /// Pixels from top to bottom.
    pub rows: usize,
    /// In what it is shown.
    pub shown: Shown,
}

/// A picture where the terminal draws it in pixels of its own: its cells are left empty, in the colour of its ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// The cells that it fills.
    pub area: Rect,
    /// Of what.
    pub subject: Subject,
    /// Its tones.
    pub ramp: Ramp,
}

impl Subject {
    /// More pixels on a side than these are not computed but enlarged, so that a frame stays within its time with all the
    /// signs of three lines in it.
    pub fn most_pixels_on_a_side(&self) -> usize {
        match self {
            Self::Fan(_) => 150,
            Self::Sign { .. } => 60,
            Self::Pupil { .. } => 200,
        }
    }
}

impl Wanted {
    fn computed(&self) -> Grid {
        let Self { subject, columns, rows, shown } = *self;
        match subject {
            Subject::Fan(patch) => fan(columns, rows, shown, &patch),
            Subject::Sign { sign, stroke_minutes, patch } => {
                optotype(columns, rows, shown, sign, stroke_minutes, &patch)
            }
            Subject::Pupil { missing, streak, metres } => reflex(columns, rows, missing, streak, metres),
        }
    }
}

/// One look of an eye just as it is.
type Looked = (PracticeEye, Look, Condition);

/// What was computed last.
#[derive(Debug, Default)]
pub struct Pictures {
    pictures: RefCell<Kept<Wanted, Rc<Grid>>>,
    patches: RefCell<Kept<Looked, Patch>>,
}

impl Pictures {
    /// A picture.
    pub fn of(&self, wanted: Wanted) -> Rc<Grid> {
        self.pictures.borrow_mut().of(wanted, MOST_PICTURES, |wanted| Rc::new(wanted.computed()))
    }

    /// The blur of a look.
    pub fn patch(&self, eye: PracticeEye, look: Look, condition: Condition) -> Patch {
        let computed = |(eye, look, condition): &Looked| patch_of_look(eye, look, *condition);
        self.patches.borrow_mut().of((eye, look, condition), MOST_PATCHES, computed)
    }
}

/// What was asked for last, the newest at the end.
#[derive(Debug)]
struct Kept<Asked, Answer>(Vec<(Asked, Answer)>);

impl<Asked, Answer> Default for Kept<Asked, Answer> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<Asked: PartialEq, Answer: Clone> Kept<Asked, Answer> {
    fn of(&mut self, asked: Asked, most: usize, compute: impl FnOnce(&Asked) -> Answer) -> Answer {
        let before = self.0.iter().position(|(of, _)| *of == asked).map(|at| self.0.remove(at));
        let (asked, answer) = before.unwrap_or_else(|| {
            let answer = compute(&asked);
            (asked, answer)
        });
        self.0.push((asked, answer.clone()));
        let spare = self.0.len().saturating_sub(most);
        self.0.drain(..spare);
        answer
    }
}
