//! What is asked of glasses that came back, one thing after the other, and how an answer is read: on the screen and as
//! arguments alike. Whatever nobody measured is left out.

use super::found::FoundGlasses;
use crate::optics::bounds::{self, Range};
use crate::optics::notation::{NotationError, parse_figure, parse_prescription};
use crate::optics::{Eye, Eyes, Millimetres};

/// What is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GlassesQuestion {
    /// The power of the lens before an eye.
    Lens(Eye),
    /// The additions.
    Additions,
    /// The centres for far.
    Centres,
    /// The centres for near.
    NearCentres,
    /// How far the centres stand above the pupils.
    Heights,
    /// How far the glasses sit from the cornea.
    Vertex,
    /// What the person complains of.
    Complaint,
    /// The exam in which the person was refracted again.
    Again,
}

impl GlassesQuestion {
    /// All of them, in the order in which they are asked.
    pub const ALL: [Self; 9] = [
        Self::Lens(Eye::Right),
        Self::Lens(Eye::Left),
        Self::Additions,
        Self::Centres,
        Self::NearCentres,
        Self::Heights,
        Self::Vertex,
        Self::Complaint,
        Self::Again,
    ];

    /// What is asked, in a few words.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Lens(Eye::Right) => "right lens",
            Self::Lens(Eye::Left) => "left lens",
            Self::Additions => "addition",
            Self::Centres => "centres for far, mm",
            Self::NearCentres => "centres for near, mm",
            Self::Heights => "centres above pupil, mm",
            Self::Vertex => "vertex distance, mm",
            Self::Complaint => "complaint",
            Self::Again => "refracted again, exam",
        }
    }

    /// How it is answered.
    pub const fn how(self) -> &'static str {
        match self {
            Self::Lens(_) => "its power as it is measured, like -4.25/-0.75x180",
            Self::Additions => "one figure for both lenses, or right and left: 1.75 2",
            Self::Centres => "right and left, from the middle of the nose: 31.5 30; none for one that was not measured",
            Self::NearCentres => {
                "right and left, from the middle of the nose: 29.5 28; none for one that was not measured"
            }
            Self::Heights => {
                "right and left, plus above the pupil, minus below: -2 0; none for one that was not measured"
            }
            Self::Vertex => "from the cornea to the back of the glasses as they sit: 14",
            Self::Complaint => "in the person's words",
            Self::Again => "the number of the later exam of the same person",
        }
    }

    /// What an empty answer says.
    pub const fn when_left_out(self) -> &'static str {
        match self {
            Self::Complaint | Self::Again => "none",
            Self::Lens(_) | Self::Additions | Self::Centres | Self::NearCentres | Self::Heights | Self::Vertex => {
                "not measured"
            }
        }
    }

    /// Whether it is answered in words.
    pub const fn is_in_words(self) -> bool {
        match self {
            Self::Complaint => true,
            Self::Lens(_)
            | Self::Additions
            | Self::Centres
            | Self::NearCentres
            | Self::Heights
            | Self::Vertex
            | Self::Again => false,
        }
    }
}

/// Why an answer is not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{problem}")]
pub struct AnswerFault {
    /// What is wrong and what would be right.
    pub problem: String,
    /// The character at fault, from 0.
    pub place: Option<usize>,
}

impl AnswerFault {
    fn plain(problem: impl Into<String>) -> Self {
        Self { problem: problem.into(), place: None }
    }

    /// Of a part of the line that begins at a character.
    fn of_part(place: usize, error: &NotationError) -> Self {
        let within = error.text()[..error.place().start].chars().count();
        Self { problem: error.problem().to_owned(), place: Some(place + within) }
    }
}

/// What was answered so far.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GlassesDraft {
    /// What was found on the glasses.
    pub found: FoundGlasses,
    /// The number of the exam in which the person was refracted again.
    pub again: Option<u64>,
}

/// Said where one of two was not measured.
const NONE: &str = "none";

impl GlassesDraft {
    /// The same with an answer in place of the one before; an empty one takes that back.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn answer(&self, question: GlassesQuestion, text: &str) -> Result<Self, AnswerFault> {
        let mut draft = self.clone();
        let text = text.trim();
        let lenses = &mut draft.found.lenses;
        let figures = |row: &Range| if text.is_empty() { Ok(Eyes::default()) } else { two(text, row) };
        let millimetres = |row: &Range| figures(row).map(|two| two.map(|figure| figure.map(Millimetres)));
        match question {
            GlassesQuestion::Lens(eye) => {
                let read = || parse_prescription(text).map_err(|error| AnswerFault::of_part(0, &error));
                lenses[eye].power = if text.is_empty() { None } else { Some(read()?) };
            }
            GlassesQuestion::Additions => {
                let row = bounds::ADDITION.measured();
                let both = !text.is_empty() && words(text).len() == 1;
                let read = if both { Eyes::both(Some(figure(text, 0, &row)?)) } else { figures(&row)? };
                for eye in Eye::BOTH {
                    lenses[eye].addition = read[eye];
                }
            }
            GlassesQuestion::Centres => {
                let read = millimetres(&bounds::MONOCULAR_PD_MM)?;
                for eye in Eye::BOTH {
                    lenses[eye].centre = read[eye];
                }
            }
            GlassesQuestion::NearCentres => {
                let read = millimetres(&bounds::MONOCULAR_PD_MM)?;
                for eye in Eye::BOTH {
                    lenses[eye].near_centre = read[eye];
                }
            }
            GlassesQuestion::Heights => {
                let read = millimetres(&bounds::PLACE_MM)?;
                for eye in Eye::BOTH {
                    lenses[eye].above_pupil = read[eye];
                }
            }
            GlassesQuestion::Vertex => {
                let read = || figure(text, 0, &bounds::VERTEX_MM).map(Millimetres);
                draft.found.vertex = if text.is_empty() { None } else { Some(read()?) };
            }
            GlassesQuestion::Complaint => draft.found.complaint = Some(text.to_owned()).filter(|text| !text.is_empty()),
            GlassesQuestion::Again => {
                let read =
                    || text.parse().map_err(|_| AnswerFault::plain(format!("`{text}` is not the number of an exam")));
                draft.again = if text.is_empty() { None } else { Some(read()?) };
            }
        }
        Ok(draft)
    }
}

fn figure(text: &str, place: usize, row: &Range) -> Result<f64, AnswerFault> {
    parse_figure(text, row).map_err(|error| AnswerFault::of_part(place, &error))
}

/// Words of a line, each with the character at which it begins.
fn words(text: &str) -> Vec<(usize, &str)> {
    let mut place = 0;
    let mut words = Vec::new();
    for word in text.split(char::is_whitespace) {
        if !word.is_empty() {
            words.push((place, word));
        }
        place += word.chars().count() + 1;
    }
    words
}

/// The figure of the right eye and that of the left.
fn two(text: &str, row: &Range) -> Result<Eyes<Option<f64>>, AnswerFault> {
    let words = words(text);
    let [right, left] = words.as_slice() else {
        let problem =
            format!("two figures are wanted, right and left with a space between them: {} is {row}", row.name);
        return Err(AnswerFault::plain(problem));
    };
    let read = |(place, word): &(usize, &str)| {
        if *word == NONE { Ok(None) } else { figure(word, *place, row).map(Some) }
    };
    Ok(Eyes::new(read(right)?, read(left)?))
}
