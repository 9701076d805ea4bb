//! A class code: what twenty machines without a network need to have the same eyes.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

use super::check::{CHECKS, checks};
use super::{fingerprint, symbols};
use crate::frame::DeclaredFrame;
use crate::kit::Stock;
use crate::practice::care::Care;
use crate::practice::drills::Level;
use crate::practice::hidden::Hidden;
use crate::practice::law::Law;

/// The version of who is drawn from a seed, and of how they see and answer. Raise it when either changes: a code of another
/// version is refused, since it would bring other eyes.
pub const VERSION: u8 = 1;

/// The most eyes of one code, each of another person.
pub const MOST_EYES: u16 = 64;

/// Symbols of a code without the check symbols.
const SYMBOLS: usize = 17;

/// Bits of the hash of a box, a frame and what is built in.
const BOX_BITS: u32 = 12;
const FRAME_BITS: u32 = 10;
const BUILT_IN_BITS: u32 = 8;

/// What a code says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClassCode {
    /// How many people there are, each refracted at a station of its own, 1 to [`MOST_EYES`].
    pub of: u16,
    /// From which seed they are drawn.
    pub seed: u32,
    /// How hard they are to refract.
    pub level: Level,
    /// Whether nothing is said of what is right before the end of all of them.
    pub is_exam: bool,
    /// What is hidden.
    pub hidden: Hidden,
    /// With how much care they answer.
    pub care: Care,
    /// By which law.
    pub law: Law,
    /// The hash of the box, cut short.
    box_hash: u16,
    /// The hash of the frame, cut short.
    frame_hash: u16,
}

/// A text that is not a code which this version can use.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CodeError {
    /// A character that no code has.
    #[error(
        "`{symbol}` at character {at} stands in no code: a code has capitals and digits without 0, O, 1 and I; look at it again"
    )]
    Symbol {
        /// The character.
        symbol: char,
        /// Which, from 1.
        at: usize,
    },
    /// Too few or too many symbols.
    #[error("a code has {} letters and digits, and this has {has}: type all of it", SYMBOLS + CHECKS)]
    Length {
        /// How many it has.
        has: usize,
    },
    /// The check symbols do not fit.
    #[error("this code was mistyped: look at each letter and digit again, 5 and S, 2 and Z, 8 and B above all")]
    Mistyped,
    /// Its version is another.
    #[error(
        "this code has version {has} and this program reads version {VERSION}: its eyes would be others. Use the version of the \
         program that the teacher used, or ask for a new code"
    )]
    AnotherVersion {
        /// The version of the code.
        has: u8,
    },
    /// The cases or the counts of the program that made it are others.
    #[error(
        "this code is of a program with other cases or counts built in: its eyes would be others. Use the version of the program \
         that the teacher used, or ask for a new code"
    )]
    OtherBuiltIn,
    /// It says something that this version does not know.
    #[error("this code says something that this program does not know. Ask for a new code")]
    Unknown,
}

/// What lies here and is not what a code was made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum Misfit {
    /// The box.
    #[error(
        "this code was made for another box. Name the teacher's box file with --box, or ask for a code for this box"
    )]
    Box,
    /// The frame.
    #[error(
        "this code was made for another frame. Name the teacher's frame file with --frame, or ask for a code for this frame"
    )]
    Frame,
}

/// How many people, from 1 to [`MOST_EYES`], a code cannot have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("a code is for 1 to {MOST_EYES} eyes, and not for {0}")]
pub struct TooMany(pub u16);

impl ClassCode {
    /// A code for the typical people of the second level, with nothing hidden, for this box as it lies there and this frame.
    ///
    /// # Errors
    /// When there are none or more than [`MOST_EYES`].
    pub fn new(of: u16, seed: u32, stock: &Stock, frame: &DeclaredFrame) -> Result<Self, TooMany> {
        if !(1..=MOST_EYES).contains(&of) {
            return Err(TooMany(of));
        }
        Ok(Self {
            of,
            seed,
            level: Level::Two,
            is_exam: false,
            hidden: Hidden::default(),
            care: Care::default(),
            law: Law::default(),
            box_hash: cut(fingerprint::of_box(stock), BOX_BITS),
            frame_hash: cut(fingerprint::of_frame(frame), FRAME_BITS),
        })
    }

    /// Reads a code: small letters are like capitals, hyphens and spaces say nothing.
    ///
    /// # Errors
    /// When it is no code, was mistyped, or is of a program whose eyes are others.
    pub fn read(text: &str) -> Result<Self, CodeError> {
        let values = symbols::read(text).map_err(|(before, symbol)| CodeError::Symbol { symbol, at: before + 1 })?;
        if values.len() != SYMBOLS + CHECKS {
            return Err(CodeError::Length { has: values.len() });
        }
        let (said, checked) = values.split_at(SYMBOLS);
        if checks(said) != checked {
            return Err(CodeError::Mistyped);
        }
        Self::unpacked(said)
    }

    /// Whether this box, as it lies there when an exam begins, and this frame are those that the code was made for.
    ///
    /// # Errors
    /// Which of them is another.
    pub fn fits(&self, stock: &Stock, frame: &DeclaredFrame) -> Result<(), Misfit> {
        if cut(fingerprint::of_box(stock), BOX_BITS) != self.box_hash {
            return Err(Misfit::Box);
        }
        if cut(fingerprint::of_frame(frame), FRAME_BITS) != self.frame_hash {
            return Err(Misfit::Frame);
        }
        Ok(())
    }

    /// The seed of its people and their answers: another one than any that is typed, so that no command draws the same people.
    pub fn seed_of_people(&self) -> u64 {
        fingerprint::number(&format!("the people of a class, version {VERSION}, seed {}", self.seed))
    }

    fn packed(&self) -> Vec<u8> {
        let mut bits = Bits::default();
        bits.push(VERSION, 4);
        bits.push(self.of - 1, 6);
        bits.push(self.seed, 32);
        bits.push(self.level.number(), 2);
        bits.push(self.is_exam, 1);
        for hidden in self.hidden.each() {
            bits.push(hidden, 1);
        }
        bits.push(care_number(self.care), 2);
        bits.push(law_number(self.law), 4);
        bits.push(self.box_hash, BOX_BITS);
        bits.push(self.frame_hash, FRAME_BITS);
        bits.push(cut(fingerprint::of_what_is_built_in(), BUILT_IN_BITS), BUILT_IN_BITS);
        bits.symbols()
    }

    fn unpacked(symbols: &[u8]) -> Result<Self, CodeError> {
        let mut bits = Bits::of(symbols);
        let version = bits.take(4) as u8;
        // no version was 0: the same key held down is no code
        if version == 0 {
            return Err(CodeError::Mistyped);
        }
        if version != VERSION {
            return Err(CodeError::AnotherVersion { has: version });
        }
        let of = bits.take(6) as u16 + 1;
        let seed = bits.take(32) as u32;
        let level = Level::numbered(bits.take(2) as u8).ok_or(CodeError::Unknown)?;
        let is_exam = bits.take(1) == 1;
        let hidden = Hidden::of(std::array::from_fn(|_| bits.take(1) == 1));
        let care = bits.take(2) as u8;
        let care = Care::ALL.iter().copied().find(|of| care_number(*of) == care).ok_or(CodeError::Unknown)?;
        let law = bits.take(4) as u8;
        let law = Law::ALL.iter().copied().find(|of| law_number(*of) == law).ok_or(CodeError::Unknown)?;
        let (box_hash, frame_hash) = (bits.take(BOX_BITS) as u16, bits.take(FRAME_BITS) as u16);
        if bits.take(BUILT_IN_BITS) as u16 != cut(fingerprint::of_what_is_built_in(), BUILT_IN_BITS) {
            return Err(CodeError::OtherBuiltIn);
        }
        Ok(Self { of, seed, level, is_exam, hidden, care, law, box_hash, frame_hash })
    }
}

impl fmt::Display for ClassCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut values = self.packed();
        values.extend(checks(&values));
        f.write_str(&symbols::write(&values))
    }
}

impl FromStr for ClassCode {
    type Err = CodeError;

    fn from_str(text: &str) -> Result<Self, CodeError> {
        Self::read(text)
    }
}

/// The lowest bits of a hash.
fn cut(hash: u64, bits: u32) -> u16 {
    (hash & ((1 << bits) - 1)) as u16
}

/// The number of a care in a code, for ever.
fn care_number(care: Care) -> u8 {
    match care {
        Care::Typical => 0,
        Care::Careful => 1,
        Care::Vague => 2,
        Care::Varied => 3,
    }
}

/// The number of a law in a code, for ever.
fn law_number(law: Law) -> u8 {
    match law {
        Law::Written => 0,
        Law::Linear => 1,
        Law::DeadZone => 2,
        Law::Amplitude => 3,
        Law::HeavyTails => 4,
        Law::Runs => 5,
        Law::Tired => 6,
        Law::LearnsChart => 7,
        Law::WholeLines => 8,
        Law::Eager => 9,
        Law::NeverSame => 10,
        Law::Blacker => 11,
        Law::Tone => 12,
    }
}

/// Numbers of some bits each, one after the other; the first one is the highest.
#[derive(Default)]
struct Bits {
    number: u128,
    count: u32,
}

impl Bits {
    fn push(&mut self, value: impl Into<u128>, bits: u32) {
        self.number = self.number << bits | value.into();
        self.count += bits;
    }

    /// Five bits a symbol.
    fn symbols(&self) -> Vec<u8> {
        let places = (0..self.count / 5).rev();
        places.map(|place| (self.number >> (5 * place) & 31) as u8).collect()
    }

    fn of(symbols: &[u8]) -> Self {
        let mut bits = Self::default();
        for symbol in symbols {
            bits.push(*symbol, 5);
        }
        bits
    }

    fn take(&mut self, bits: u32) -> u128 {
        self.count -= bits;
        self.number >> self.count & ((1 << bits) - 1)
    }
}
