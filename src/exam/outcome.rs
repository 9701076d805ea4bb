//! What an exam comes to, as the examiner chooses it: the program never chooses.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::ready_made::{GivenPair, OffTheShelf};
use crate::kit::shelf::ShelfPair;

/// What an exam comes to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Nobody needs to be given glasses.
    NoGlasses,
    /// Glasses are made to the prescription.
    Glasses,
    /// A pair with the same sphere for both eyes is given from the shelf.
    ReadyMade {
        /// The sphere of both eyes in dioptres.
        sphere: f64,
        /// Whether it is for near.
        near: bool,
        /// What is known of it where it is counted off a shelf.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        given: Option<GivenPair>,
    },
    /// Somebody else has to see the person.
    Refer {
        /// Why.
        why: String,
        /// How soon.
        soon: HowSoon,
    },
    /// The person comes back.
    ComeBack(ComeBack),
    /// The person was not refracted.
    NotRefracted {
        /// Why.
        why: String,
    },
}

/// How soon somebody else has to see a person (common practice, no source: local rules decide).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HowSoon {
    /// On the same day.
    Today,
    /// Within a week.
    WithinAWeek,
    /// When it suits.
    NoHurry,
}

impl HowSoon {
    /// All of them, the soonest first.
    pub const ALL: [Self; 3] = [Self::Today, Self::WithinAWeek, Self::NoHurry];

    /// What it is called.
    pub const fn shown(self) -> &'static str {
        match self {
            Self::Today => "today",
            Self::WithinAWeek => "within a week",
            Self::NoHurry => "no hurry",
        }
    }
}

/// For what a person comes back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ComeBack {
    /// To be refracted under drops.
    WithDrops,
    /// With a parent.
    WithParent,
    /// At another time.
    Later,
}

impl ComeBack {
    /// All of them, in the order in which they are offered.
    pub const ALL: [Self; 3] = [Self::WithDrops, Self::WithParent, Self::Later];

    /// What it is called.
    pub const fn shown(self) -> &'static str {
        match self {
            Self::WithDrops => "with drops",
            Self::WithParent => "with a parent",
            Self::Later => "later",
        }
    }
}

/// The kinds of outcomes, by which a day counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum OutcomeKind {
    /// [`Outcome::NoGlasses`].
    NoGlasses,
    /// [`Outcome::Glasses`].
    Glasses,
    /// [`Outcome::ReadyMade`].
    ReadyMade,
    /// [`Outcome::Refer`].
    Refer,
    /// [`Outcome::ComeBack`].
    ComeBack,
    /// [`Outcome::NotRefracted`].
    NotRefracted,
}

impl OutcomeKind {
    /// All of them, in the order in which they are offered.
    pub const ALL: [Self; 6] =
        [Self::NoGlasses, Self::Glasses, Self::ReadyMade, Self::Refer, Self::ComeBack, Self::NotRefracted];

    /// What it is called.
    pub const fn shown(self) -> &'static str {
        match self {
            Self::NoGlasses => "no glasses needed",
            Self::Glasses => "glasses",
            Self::ReadyMade => "ready-made pair",
            Self::Refer => "refer",
            Self::ComeBack => "come back",
            Self::NotRefracted => "not refracted",
        }
    }
}

impl Outcome {
    /// Of which kind it is.
    pub fn kind(&self) -> OutcomeKind {
        match self {
            Self::NoGlasses => OutcomeKind::NoGlasses,
            Self::Glasses => OutcomeKind::Glasses,
            Self::ReadyMade { .. } => OutcomeKind::ReadyMade,
            Self::Refer { .. } => OutcomeKind::Refer,
            Self::ComeBack(_) => OutcomeKind::ComeBack,
            Self::NotRefracted { .. } => OutcomeKind::NotRefracted,
        }
    }

    /// Whether glasses are made.
    pub fn makes_glasses(&self) -> bool {
        match self {
            Self::Glasses => true,
            Self::NoGlasses
            | Self::ReadyMade { .. }
            | Self::Refer { .. }
            | Self::ComeBack(_)
            | Self::NotRefracted { .. } => false,
        }
    }

    /// Why and how soon somebody else has to see the person, where that is so.
    pub fn referred(&self) -> Option<(&str, HowSoon)> {
        match self {
            Self::Refer { why, soon } => Some((why, *soon)),
            Self::NoGlasses
            | Self::Glasses
            | Self::ReadyMade { .. }
            | Self::ComeBack(_)
            | Self::NotRefracted { .. } => None,
        }
    }

    /// The sphere of the pair that is given from the shelf, in dioptres, and whether it is for near.
    pub fn ready_made(&self) -> Option<(f64, bool)> {
        match self {
            Self::ReadyMade { sphere, near, .. } => Some((*sphere, *near)),
            Self::NoGlasses | Self::Glasses | Self::Refer { .. } | Self::ComeBack(_) | Self::NotRefracted { .. } => {
                None
            }
        }
    }

    /// What is known of the pair that is counted off a shelf.
    pub fn given(&self) -> Option<&GivenPair> {
        match self {
            Self::ReadyMade { given, .. } => given.as_ref(),
            Self::NoGlasses | Self::Glasses | Self::Refer { .. } | Self::ComeBack(_) | Self::NotRefracted { .. } => {
                None
            }
        }
    }

    /// The pair that is counted off a shelf.
    pub fn off_the_shelf(&self) -> Option<OffTheShelf> {
        let ((sphere, near), given) = (self.ready_made()?, self.given()?);
        let pair = ShelfPair { sphere, near, centres_mm: given.centres_mm };
        Some(OffTheShelf { shelf: given.shelf.clone(), pair })
    }
}

/// In words, with what belongs to it: `refer (cataract?), within a week`.
impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let kind = self.kind().shown();
        match self {
            Self::NoGlasses | Self::Glasses => f.write_str(kind),
            Self::ReadyMade { sphere, near, given } => {
                write!(f, "{kind} {sphere:+.2}{}", if *near { " for near" } else { "" })?;
                let Some(GivenPair { shelf, centres_mm, limits, meets }) = given else { return Ok(()) };
                let against = if *meets { "" } else { ", given although something speaks against it" };
                write!(f, ", centres {centres_mm} mm, off the shelf {shelf} ({limits}{against})")
            }
            Self::Refer { why, soon } => write!(f, "{kind} ({why}), {}", soon.shown()),
            Self::ComeBack(back) => write!(f, "{kind} {}", back.shown()),
            Self::NotRefracted { why } => write!(f, "{kind} ({why})"),
        }
    }
}
