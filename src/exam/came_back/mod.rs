//! Glasses that come back: what was found on them, and what of it is likeliest to trouble the person.
//!
//! - [`found`]: what is kept;
//! - [`asked`]: what is asked, and how an answer is read;
//! - [`slip`]: slips that explain a whole lens;
//! - [`differences`]: found against ordered, each in its own limit.

pub mod asked;
pub mod differences;
pub mod found;
pub mod slip;

pub use asked::{AnswerFault, GlassesQuestion};
pub use differences::{Difference, Differences, Effect, Measured};
pub use found::{CameBack, CameBackTakenBack, FoundGlasses, FoundLens, RefractedAgain, Returned};
pub use slip::MakingSlip;
