//! A lens as the box knows it: its kind, its mark and its number among its equals.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use thiserror::Error;

use super::accessory::Accessory;
use super::direction::Direction;
use super::mark::{Mark, Sign, read_power};
use crate::optics::Axis;
use crate::optics::bounds::{self, Range, SignRule};

/// A kind of lens that is marked with a power.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names of lenses say what they are")]
pub enum PoweredKind {
    Sphere,
    /// A plano-cylinder.
    Cylinder,
    Prism,
    CrossCylinder,
}

impl PoweredKind {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Sphere, Self::Cylinder, Self::Prism, Self::CrossCylinder];

    /// Its word, as a box file writes it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Sphere => "sphere",
            Self::Cylinder => "cylinder",
            Self::Prism => "prism",
            Self::CrossCylinder => "cross cylinder",
        }
    }

    /// The kind that a word names, if it does.
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.word() == word)
    }

    /// The row of its powers in the table of ranges.
    pub fn range(self) -> &'static Range {
        match self {
            Self::Sphere | Self::Cylinder => &bounds::POWER,
            Self::Prism => &bounds::PRISM,
            Self::CrossCylinder => &bounds::CROSS_CYLINDER,
        }
    }

    /// Whether a lens of it may have no power at all.
    pub fn may_be_plano(self) -> bool {
        match self {
            Self::Sphere => true,
            Self::Cylinder | Self::Prism | Self::CrossCylinder => false,
        }
    }

    /// Whether its lenses are plus or minus, and so need a sign.
    pub fn is_signed(self) -> bool {
        match self.range().sign {
            SignRule::Needed => true,
            SignRule::Allowed | SignRule::Unsigned => false,
        }
    }
}

/// A kind of lens with its mark: what a place in the box is labelled with.
///
/// Written and read as `+3.25 sphere`, `-0.75 cylinder`, `3 prism`, `0.25 cross cylinder`, `occluder`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Lens {
    /// A sphere; a mark of zero is a plano lens.
    Sphere(Mark),
    /// A plano-cylinder, turned to any axis.
    Cylinder(Mark),
    /// A prism, its base turned to any direction.
    Prism(Mark),
    /// A cross cylinder: plus and minus of this power at right angles, held by its handle.
    CrossCylinder(Mark),
    /// An occluder, a pinhole, a slit or another piece without power.
    Accessory(Accessory),
}

/// What it means to turn a lens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turning {
    /// It has an axis, the same from either end: 10 and 190 are one.
    Axis,
    /// It has a base, on one side.
    Base,
    /// Nothing: it is alike all round.
    None,
}

/// What a lens is to a stack.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StackedAs {
    /// Power alike in all meridians.
    Sphere,
    /// Power in one meridian, turned to an axis.
    Cylinder,
}

/// A lens label that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "`{text}` is not the name of a lens: write it like `+3.25 sphere`, `-0.75 cylinder`, `3 prism`, `0.25 cross cylinder` or `occluder`"
)]
pub struct LensLabelError {
    text: String,
}

/// Why a lens of a kind cannot have a power.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum KindPowerError {
    /// A sphere or cylinder without a sign.
    #[error("needs its sign: + or -")]
    NoSign,
    /// A sign where there can be none.
    #[error("is written without a sign")]
    Signed,
    /// Both signs where one lens is meant.
    #[error("names two lenses")]
    BothSigns,
    /// No power where there must be one.
    #[error("must have a power; a lens of no power is the sphere plano")]
    Plano,
}

impl Lens {
    /// An accessory by its label, `occluder` or `patch (covers)`: its name has letters, digits, single spaces, hyphens and
    /// apostrophes, a letter first, at most 40.
    ///
    /// # Errors
    /// When the name has other characters, could be taken for a lens with a power or for a count of lenses, or a known
    /// accessory is said to do what another does.
    pub fn accessory(label: &str) -> Result<Self, LensLabelError> {
        let (name, covers, turns) = Accessory::parts_of_label(label);
        let plain = |c: char| c.is_alphanumeric() || matches!(c, ' ' | '-' | '\'');
        let last_word = name.rsplit(' ').next().unwrap_or_default();
        let is_count = last_word.strip_prefix('x').is_some_and(|n| n.starts_with(|c: char| c.is_ascii_digit()));
        let ends_like_a_lens = |kind: PoweredKind| kind.word().rsplit(' ').next() == Some(last_word);
        let taken = matches!(name, "plano" | "pl" | "accessory")
            || PoweredKind::ALL.into_iter().any(ends_like_a_lens)
            || is_count;
        let well_formed = name.starts_with(char::is_alphabetic)
            && name.chars().all(plain)
            && !name.contains("  ")
            && !name.ends_with(' ')
            && name.chars().count() <= 40;
        let accessory = match Accessory::known(name) {
            Some(known) => Some(known).filter(|_| name == label),
            None => Some(Accessory::Other { name: name.into(), covers, turns }),
        };
        match accessory {
            Some(accessory) if well_formed && !taken => Ok(Self::Accessory(accessory)),
            Some(_) | None => Err(LensLabelError { text: label.to_owned() }),
        }
    }

    /// A lens of a kind with a power as it was written.
    ///
    /// # Errors
    /// When a sphere or cylinder has no sign or both, a prism or cross cylinder has one, or no power is left.
    pub fn with_power(kind: PoweredKind, sign: Sign, amount: Mark) -> Result<Self, KindPowerError> {
        if amount.is_plano() && !kind.may_be_plano() {
            return Err(KindPowerError::Plano);
        }
        let mark = match sign {
            Sign::Unsigned if kind.is_signed() && !amount.is_plano() => return Err(KindPowerError::NoSign),
            Sign::Plus | Sign::Minus | Sign::Both if !kind.is_signed() => return Err(KindPowerError::Signed),
            Sign::Both => return Err(KindPowerError::BothSigns),
            Sign::Minus => amount.negated(),
            Sign::Unsigned | Sign::Plus => amount,
        };
        Ok(match kind {
            PoweredKind::Sphere => Self::Sphere(mark),
            PoweredKind::Cylinder => Self::Cylinder(mark),
            PoweredKind::Prism => Self::Prism(mark),
            PoweredKind::CrossCylinder => Self::CrossCylinder(mark),
        })
    }

    /// The kind, when it is marked with a power.
    pub fn powered_kind(&self) -> Option<PoweredKind> {
        match self {
            Self::Sphere(_) => Some(PoweredKind::Sphere),
            Self::Cylinder(_) => Some(PoweredKind::Cylinder),
            Self::Prism(_) => Some(PoweredKind::Prism),
            Self::CrossCylinder(_) => Some(PoweredKind::CrossCylinder),
            Self::Accessory(_) => None,
        }
    }

    /// The row of its power in the table of ranges; none for what is not marked with a power.
    pub fn power_range(&self) -> Option<&'static Range> {
        self.powered_kind().map(PoweredKind::range)
    }

    /// What it is called by, and typed, where that is a name and not a power.
    pub fn name(&self) -> Option<&str> {
        match self {
            Self::Accessory(accessory) => Some(accessory.name()),
            Self::Sphere(_) | Self::Cylinder(_) | Self::Prism(_) | Self::CrossCylinder(_) => None,
        }
    }

    /// Every lens that its name alone says all of, whatever the box.
    pub fn known_by_name() -> impl Iterator<Item = Self> {
        Accessory::KNOWN.iter().cloned().map(Self::Accessory)
    }

    /// The mark, for the kinds that have one.
    pub fn mark(&self) -> Option<Mark> {
        match self {
            Self::Sphere(mark) | Self::Cylinder(mark) | Self::Prism(mark) | Self::CrossCylinder(mark) => Some(*mark),
            Self::Accessory(_) => None,
        }
    }

    /// Whether both are of one kind, so that one goes where the other was.
    pub fn is_of_the_kind_of(&self, other: &Self) -> bool {
        std::mem::discriminant(self) == std::mem::discriminant(other)
    }

    /// What it is to a stack; nothing for what is not stacked. A cross cylinder is held, not stacked.
    pub fn stacked_as(&self) -> Option<StackedAs> {
        match self {
            Self::Sphere(_) => Some(StackedAs::Sphere),
            Self::Cylinder(_) => Some(StackedAs::Cylinder),
            Self::Prism(_) | Self::CrossCylinder(_) | Self::Accessory(_) => None,
        }
    }

    /// Whether stacks are proposed of it.
    pub fn is_stacked(&self) -> bool {
        self.stacked_as().is_some()
    }

    /// Whether it is stacked as a sphere; a plano lens is one.
    pub fn is_sphere(&self) -> bool {
        self.stacked_as() == Some(StackedAs::Sphere)
    }

    /// Whether it is stacked as a cylinder.
    pub fn is_cylinder(&self) -> bool {
        self.stacked_as() == Some(StackedAs::Cylinder)
    }

    /// Whether it asks about a cylinder as a cross cylinder does: held, and flipped about its handle.
    pub fn is_cross_cylinder(&self) -> bool {
        match self {
            Self::CrossCylinder(_) => true,
            Self::Sphere(_) | Self::Cylinder(_) | Self::Prism(_) | Self::Accessory(_) => false,
        }
    }

    /// Whether it has a handle, so that it is taken from the box into the hand whatever cell is in focus.
    pub fn has_a_handle(&self) -> bool {
        match self {
            Self::CrossCylinder(_) => true,
            Self::Sphere(_) | Self::Cylinder(_) | Self::Prism(_) | Self::Accessory(_) => false,
        }
    }

    /// Whether it changes the power before the eye.
    pub fn makes_power(&self) -> bool {
        match self {
            Self::Sphere(_) | Self::Cylinder(_) | Self::CrossCylinder(_) => true,
            Self::Prism(_) | Self::Accessory(_) => false,
        }
    }

    /// Whether it stays in its cell when a stack is put before the eye: it is there for something else than power.
    pub fn stays_in_its_cell(&self) -> bool {
        match self {
            Self::Prism(_) | Self::Accessory(_) => true,
            Self::Sphere(_) | Self::Cylinder(_) | Self::CrossCylinder(_) => false,
        }
    }

    /// Whether it covers the eye, so that there is no power to speak of.
    pub fn occludes(&self) -> bool {
        match self {
            Self::Accessory(accessory) => accessory.covers(),
            Self::Sphere(_) | Self::Cylinder(_) | Self::Prism(_) | Self::CrossCylinder(_) => false,
        }
    }

    /// Whether the lens only works in a cell that turns, where its axis can be set and read.
    pub fn needs_turning_cell(&self) -> bool {
        match self {
            Self::Cylinder(_) | Self::CrossCylinder(_) => true,
            Self::Sphere(_) | Self::Prism(_) | Self::Accessory(_) => false,
        }
    }

    /// What a direction means for it: an axis, a base or nothing.
    pub fn turning(&self) -> Turning {
        match self {
            Self::Cylinder(_) | Self::CrossCylinder(_) => Turning::Axis,
            Self::Prism(_) => Turning::Base,
            Self::Accessory(accessory) if accessory.turns() => Turning::Axis,
            Self::Sphere(_) | Self::Accessory(_) => Turning::None,
        }
    }

    /// Its direction when it, or its cell, is turned to an angle in degrees.
    pub fn directed(&self, degrees: u16) -> Direction {
        match self.turning() {
            Turning::Axis => Direction::Axis(Axis::folded(i32::from(degrees))),
            Turning::Base => Direction::Base(degrees % 360),
            Turning::None => Direction::None,
        }
    }

    /// Whether the lens has a direction that a turning cell sets: an axis, a base or a slit.
    pub fn has_direction(&self) -> bool {
        self.turning() != Turning::None
    }
}

impl fmt::Display for Lens {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = match self {
            Self::Sphere(mark) => format!("{mark} sphere"),
            Self::Cylinder(mark) => format!("{mark} cylinder"),
            Self::Prism(mark) => format!("{} prism", mark.dioptres()),
            Self::CrossCylinder(mark) => format!("{} cross cylinder", mark.unsigned()),
            Self::Accessory(accessory) => accessory.to_string(),
        };
        f.pad(&text)
    }
}

impl FromStr for Lens {
    type Err = LensLabelError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let refused = || LensLabelError { text: text.to_owned() };
        let text = text.trim();
        let Some((power, kind)) = text.split_once(char::is_whitespace) else {
            return Self::accessory(text);
        };
        let kind = kind.trim();
        let Some(kind) = PoweredKind::named(kind) else {
            return Self::accessory(text);
        };
        let (sign, mark) = read_power(power, kind.range()).map_err(|_| refused())?;
        Self::with_power(kind, sign, mark).map_err(|_| refused())
    }
}

/// One physical lens: a lens and its number among those that are marked alike, counted from 1.
///
/// Written and read as `-6.00 sphere #1`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Piece {
    /// The lens that its label names.
    pub lens: Lens,
    /// Which of its equals, from 1.
    pub number: u8,
}

impl fmt::Display for Piece {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} #{}", self.lens, self.number)
    }
}

impl FromStr for Piece {
    type Err = LensLabelError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let refused = || LensLabelError { text: text.to_owned() };
        let (lens, number) = text.rsplit_once('#').ok_or_else(refused)?;
        let number = number.trim();
        if !number.starts_with(|c: char| c.is_ascii_digit()) {
            return Err(refused());
        }
        let number = number.parse().ok().filter(|n| (1..=99).contains(n)).ok_or_else(refused)?;
        Ok(Self { lens: lens.trim().parse()?, number })
    }
}

macro_rules! serde_as_text {
    ($($name:ty),*) => {$(
        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }
        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
            }
        }
    )*};
}
serde_as_text!(Lens, Piece);
