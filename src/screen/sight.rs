//! What is shown of a practice eye: which picture, which line, where the streak is.

use std::time::Duration;

use crate::exam::{AnsweredBy, AskedByHand, ByHand, State};
use crate::optics::{Axis, Eye, Power};
use crate::practice::picture::reflex::{STREAK_WIDTHS_MM, SWEEP_MM, Streak, swept_by_itself_mm};
use crate::practice::picture::targets::{Letter, Optotype};

/// What is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Picture {
    /// The fan, as the person sees it.
    #[default]
    Fan,
    /// Landolt rings.
    Rings,
    /// Letters.
    Letters,
    /// The light in the pupil, as the examiner sees it.
    Streak,
}

impl Picture {
    /// The next of them, in turn.
    #[must_use]
    pub fn next(self) -> Self {
        match self {
            Self::Fan => Self::Rings,
            Self::Rings => Self::Letters,
            Self::Letters => Self::Streak,
            Self::Streak => Self::Fan,
        }
    }

    /// Whether an answer that was asked for by hand is about this picture.
    fn is_about(self, question: ByHand) -> bool {
        match question {
            ByHand::Fan => self == Self::Fan,
            ByHand::Letters | ByHand::WithLens | ByHand::CrossCylinder => matches!(self, Self::Rings | Self::Letters),
            ByHand::Reflex { .. } => self == Self::Streak,
            ByHand::RedGreen | ByHand::ClearerEye | ByHand::Print => false,
        }
    }
}

/// Distances of the retinoscope, in metres: those of the working lenses +1.50, +2.00 and +1.00.
pub const WORKING_M: [f64; 3] = [2.0 / 3.0, 0.5, 1.0];

/// A sweep by key goes so far, in millimetres on the face.
const SWEEP_STEP_MM: f64 = 0.5;
/// A sweep by itself there and back takes so long.
const SWEEP_TAKES: Duration = Duration::from_secs(2);
/// So often the streak moves on by itself.
pub const SWEEP_EVERY: Duration = Duration::from_millis(50);
/// The line that is shown first: the fifth of the usual chart is 6/12.
const FIRST_LINE: usize = 4;
/// Signs to a line.
const SIGNS: usize = 5;

/// What is shown of the eye that the keys work on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight {
    /// Which picture.
    pub picture: Picture,
    /// The line that is asked about, the largest first.
    pub line: usize,
    /// Whether the lens in the hand is flicked away.
    pub is_away: bool,
    /// Whether two neighbours on the fan were named, and which is asked.
    pub names_two: bool,
    /// In which direction the streak lies on the dial.
    pub lies: Axis,
    /// How far the streak has swept, in millimetres.
    pub swept_mm: f64,
    /// Whether it is wide.
    pub is_wide: bool,
    /// How many sweeps it has made by itself, while it does.
    pub by_itself: Option<f64>,
}

impl Default for Sight {
    fn default() -> Self {
        Self {
            picture: Picture::default(),
            line: FIRST_LINE,
            is_away: false,
            names_two: false,
            lies: Axis::folded(90),
            swept_mm: 0.0,
            is_wide: false,
            by_itself: None,
        }
    }
}

impl Sight {
    /// The meridian along which the streak sweeps, across its own direction.
    pub fn sweeps_along(&self) -> Axis {
        self.lies.perpendicular()
    }

    /// What is asked when this picture is shown.
    pub fn question(&self) -> ByHand {
        match self.picture {
            Picture::Fan => ByHand::Fan,
            Picture::Rings | Picture::Letters => ByHand::Letters,
            Picture::Streak => ByHand::Reflex { along: self.sweeps_along().degrees() % 180 },
        }
    }

    /// Where the streak is.
    pub fn streak(&self) -> Streak {
        Streak {
            lies_deg: f64::from(self.lies.degrees()),
            swept_mm: self.swept_mm,
            width_mm: STREAK_WIDTHS_MM[usize::from(self.is_wide)],
        }
    }

    /// Turns the streak, in degrees on the dial anticlockwise.
    pub fn turn(&mut self, degrees: i32) {
        self.lies = Axis::folded(i32::from(self.lies.degrees()) + degrees);
    }

    /// Sweeps by hand, so many steps to the right or upwards.
    pub fn sweep(&mut self, steps: f64) {
        self.by_itself = None;
        self.swept_mm = (self.swept_mm + steps * SWEEP_STEP_MM).clamp(-SWEEP_MM, SWEEP_MM);
    }

    /// Begins to sweep by itself, or stops where it is.
    pub fn begin_or_stop(&mut self) {
        // from the middle on, to the right
        self.by_itself = if self.by_itself.is_some() { None } else { Some(0.25) };
    }

    /// Goes on sweeping by itself, where it does.
    pub fn goes_on(&mut self, elapsed: Duration) {
        if let Some(sweeps) = &mut self.by_itself {
            *sweeps = (*sweeps + elapsed.as_secs_f64() / SWEEP_TAKES.as_secs_f64()).rem_euclid(1.0);
            self.swept_mm = swept_by_itself_mm(*sweeps);
        }
    }

    /// The signs of a line, the same each time it is shown.
    pub fn signs(&self, line: usize) -> [Optotype; SIGNS] {
        // steps that have no divisor in common with the number of signs, so that no two neighbours are alike
        let nth = |place: usize| 3 * line + 5 * place + place / 2;
        std::array::from_fn(|place| match self.picture {
            Picture::Letters => Optotype::Letter(Letter::ALL[nth(place) % Letter::ALL.len()]),
            Picture::Fan | Picture::Rings | Picture::Streak => {
                Optotype::Ring { gap_deg: 45.0 * (nth(place) % 8) as f64 }
            }
        })
    }

    /// The last answers about this picture, the newest last: of the eye, and of the student.
    pub fn answers<'a>(&self, state: &'a State, eye: Eye) -> impl Iterator<Item = &'a AskedByHand> + use<'a> {
        let picture = self.picture;
        let asked = state.practised.iter().flat_map(|practised| &practised.asked);
        asked.filter(move |asked| asked.eye == Some(eye) && picture.is_about(asked.question))
    }
}

/// What was seen along a meridian, with what stood before the eye.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Note {
    /// What was asked and answered.
    pub asked: AskedByHand,
    /// The power before the eye, with what the hand held.
    pub through: Power,
}

/// What the student saw last along each meridian of an eye, the newest last.
pub fn notes(state: &State, eye: Eye) -> Vec<Note> {
    let mut notes: Vec<Note> = Vec::new();
    for (asked, through) in state.practised.iter().flat_map(|practised| practised.asked.iter().zip(&practised.through))
    {
        let is_note = asked.question.along_deg().is_some() && asked.by == AnsweredBy::TheStudent;
        if is_note && asked.eye == Some(eye) {
            notes.retain(|note| note.asked.question != asked.question);
            notes.push(Note { asked: *asked, through: through[eye] });
        }
    }
    notes
}
