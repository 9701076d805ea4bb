//! A seat: the practice eye that a student refracts, named by a text that shows nothing of what it needs.

use std::fmt;
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::care::Care;
use super::cases::read_case;
use super::class::ClassCode;
use super::draws::Draws;
use super::drills::Level;
use super::examinee::Examinee;
use super::graded::graded;
pub use super::hidden::Hidden;
use super::law::Law;
use super::people::Person;
use crate::exam::Sitter;
use crate::kit::document::Faults;

/// Streams of chance for the answers of one person: a resumed exam goes on with another.
const ANSWERS_STREAM: u64 = 7_000;

/// Who sits there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Who {
    /// Somebody drawn.
    Drawn {
        /// How hard to refract.
        level: Level,
        /// With how much care answers are given.
        care: Care,
        /// By which law.
        law: Law,
        /// From which seed.
        seed: u64,
    },
    /// A named case, by the name it ships under or its file.
    Case {
        /// The name or the file.
        name: PathBuf,
        /// The seed of the answers.
        seed: u64,
    },
    /// Somebody of a class.
    Coded(ClassCode),
}

/// A practice eye that waits for a student.
#[derive(Debug, Clone, PartialEq)]
pub struct Seat {
    /// Who sits there.
    pub who: Who,
    /// Which of several, from 1.
    pub number: u16,
    /// How many there are.
    pub of: u16,
    /// The person.
    pub person: Person,
    /// What is hidden.
    pub hidden: Hidden,
    /// Whether nothing is said of what is right before the end of all of them.
    pub is_exam: bool,
}

/// Why nobody sits there.
#[derive(Debug, Error)]
pub enum SeatError {
    /// The text names nobody.
    #[error("`{0}` names no practice eye that this version knows")]
    Unknown(String),
    /// The class has fewer stations.
    #[error("this class has stations 1 to {of}, and no station {station}")]
    NoStation {
        /// The one that was asked for.
        station: u16,
        /// How many there are.
        of: u16,
    },
    /// The case has faults, or its file is gone.
    #[error(transparent)]
    Case(#[from] Faults),
}

impl fmt::Display for Who {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Drawn { level, care, law, seed } => {
                write!(f, "level {} {} {} {seed:x}", level.number(), care.name(), law.name())
            }
            Self::Case { name, seed } => write!(f, "case {seed:x} {}", name.display()),
            Self::Coded(code) => write!(f, "code {code}"),
        }
    }
}

impl Who {
    /// Reads what [`Display`](fmt::Display) wrote.
    fn read(text: &str) -> Option<Self> {
        let seed = |text: &str| u64::from_str_radix(text, 16).ok();
        match text.split_once(' ')? {
            ("level", rest) => {
                let mut parts = rest.split(' ');
                let mut next = || parts.next();
                Some(Self::Drawn {
                    level: Level::numbered(next()?.parse().ok()?)?,
                    care: Care::named(next()?)?,
                    law: Law::named(next()?)?,
                    seed: seed(next()?)?,
                })
            }
            ("case", rest) => {
                let (of_answers, name) = rest.split_once(' ')?;
                Some(Self::Case { name: PathBuf::from(name), seed: seed(of_answers)? })
            }
            ("code", code) => ClassCode::read(code).ok().map(Self::Coded),
            _ => None,
        }
    }

    /// Whether a teacher's code says who.
    pub fn is_coded(&self) -> bool {
        match self {
            Self::Coded(_) => true,
            Self::Drawn { .. } | Self::Case { .. } => false,
        }
    }

    fn seed(&self) -> u64 {
        match self {
            Self::Drawn { seed, .. } | Self::Case { seed, .. } => *seed,
            Self::Coded(code) => code.seed_of_people(),
        }
    }
}

impl Seat {
    /// The first of one.
    ///
    /// # Errors
    /// When the file of a case has faults or is gone.
    pub fn of(who: Who) -> Result<Self, SeatError> {
        Self::numbered(who, 1, 1)
    }

    /// One of several.
    ///
    /// # Errors
    /// When the file of a case has faults or is gone.
    pub fn numbered(who: Who, number: u16, of: u16) -> Result<Self, SeatError> {
        let person = match &who {
            Who::Drawn { level, care, law, seed } => graded(*level, *seed, u64::from(number), *care, *law),
            Who::Case { name, .. } => case(name)?,
            Who::Coded(code) => graded(code.level, who.seed(), u64::from(number), code.care, code.law),
        };
        let (hidden, is_exam) = match &who {
            Who::Drawn { .. } | Who::Case { .. } => (Hidden::default(), false),
            Who::Coded(code) => (code.hidden, code.is_exam),
        };
        Ok(Self { who, number, of, person, hidden, is_exam })
    }

    /// One station of a class, from 1.
    ///
    /// # Errors
    /// When the class has no station of this number.
    pub fn coded(code: ClassCode, station: u16) -> Result<Self, SeatError> {
        if !(1..=code.of).contains(&station) {
            return Err(SeatError::NoStation { station, of: code.of });
        }
        Self::numbered(Who::Coded(code), station, code.of)
    }

    /// The seat that an exam began with.
    ///
    /// # Errors
    /// When the text names nobody, or the file of a case has faults or is gone.
    pub fn again(sitter: &Sitter) -> Result<Self, SeatError> {
        let who = Who::read(&sitter.who).ok_or_else(|| SeatError::Unknown(sitter.who.clone()))?;
        match who {
            Who::Drawn { .. } | Who::Case { .. } => Self::numbered(who, sitter.number, sitter.of),
            Who::Coded(code) => Self::coded(code, sitter.number),
        }
    }

    /// How an exam keeps who sits there.
    pub fn sitter(&self) -> Sitter {
        Sitter { who: self.who.to_string(), number: self.number, of: self.of }
    }

    /// The person, who answers by chance that goes on after so many questions.
    pub fn examinee(&self, asked_before: u64) -> Examinee {
        let stream = ANSWERS_STREAM + (u64::from(self.number) << 32) + asked_before;
        Examinee::new(self.person.clone(), Draws::new(self.who.seed(), stream))
    }
}

/// The person of a case: one that comes with the program by its name, else by its file.
fn case(name: &Path) -> Result<Person, Faults> {
    Ok(read_case(name)?.person)
}
