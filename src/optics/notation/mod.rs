//! Reading and writing lenses and prescriptions the way people write them.
//!
//! | thing | read | written |
//! | --- | --- | --- |
//! | sphere | `-4.25` `−4.25` `+1` `-4.25DS` `plano` `pl` `0` | `-4.25`, `plano` |
//! | cylinder lens | `-0.75x180` `-0.75 x 180` `−0.75×180` | `-0.75x180` |
//! | prescription | `-4.25/-0.75x180` `-4.25 -0.75 x 180` `plano/-1.00x90` | `-4.25/-0.75x180` |
//! | prism lens | `3BU` `3BD` `3BI` `3BO` `3b225` | the same |
//! | accessory | its name: `occluder`, `pinhole` … | the same |
//! | empty cell | `.` | `.` |
//!
//! Nothing is guessed at: a power other than 0 needs its sign, a cylinder its axis, an axis its cylinder. What cannot be
//! read is a [`NotationError`] that shows the text and points at the place.

mod error;
mod lens;
mod power;
mod prescription;
mod reader;

pub use error::NotationError;
pub use lens::{LensToken, parse_lens, write_lens};
pub use power::{eighth_of_mark, parse_power, write_power};
pub use prescription::{parse_prescription, write_prescription};
pub(crate) use reader::Reader;

/// With which characters powers are written; both are read everywhere.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Style {
    /// `-` and `x`: for files, commands and terminals without other characters.
    #[default]
    Ascii,
    /// The minus sign `−` and the multiplication sign `×`.
    Typographic,
}

impl Style {
    /// The sign of minus.
    pub fn minus(self) -> char {
        match self {
            Self::Ascii => '-',
            Self::Typographic => '\u{2212}',
        }
    }

    /// What stands between a cylinder and its axis.
    pub fn times(self) -> char {
        match self {
            Self::Ascii => 'x',
            Self::Typographic => '\u{d7}',
        }
    }
}
