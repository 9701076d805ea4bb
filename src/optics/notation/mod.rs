//! Reading and writing lenses and prescriptions the way people write them.
//!
//! | thing | read | written |
//! | --- | --- | --- |
//! | sphere | `-4.25` `−4.25` `+1` `-.50` `-4.25DS` `-4.25 D` `-4.25 SPH` `plano` `pl` `∞` `0` | `-4.25`, `plano` |
//! | cylinder lens | `-0.75x180` `-0.75 x 180` `−0.75×180` | `-0.75x180` |
//! | prescription | `-4.25/-0.75x180` `-4.25 -0.75 x 180` `-4.25-0.75x180` `-4.25 / -0.75 × 180°` `-4.25DS/-0.75DCx180` `-4.25 -.75 @ 180` `plano/-1.00x90` | `-4.25/-0.75x180` |
//! | prism lens | `3BU` `3BD` `3BI` `3BO` `3b225` | the same |
//! | accessory | its name: `occluder`, `pinhole` … | the same |
//! | empty cell | `.` | `.` |
//!
//! Nothing is guessed at: a power other than 0 needs its sign, a cylinder its axis, an axis its cylinder. What cannot be
//! read is a [`NotationError`] that shows the text and points at the place.

mod cursor;
mod eighths;
mod error;
mod figure;
mod lens;
mod prescription;
mod style;
mod worn;

pub(crate) use cursor::{Cursor, Number, Sign};
pub use eighths::{eighth_of_mark, write_power, write_signed};
pub use error::NotationError;
pub use figure::{parse_figure, parse_power};
pub use lens::{LensToken, parse_lens, write_lens};
pub use prescription::{parse_prescription, write_prescription};
pub use style::Style;
pub use worn::{parse_worn, write_worn};
