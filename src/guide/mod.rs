//! The procedures that lead an examiner from unaided acuity to a written prescription.
//!
//! Each procedure is a small state machine behind the same two doors: what to present, given what was found so far, and what
//! the answer was. None draws, stores, looks at a clock or throws dice: [`Guide`] is a fold over the guide's events of an
//! exam, so undo and a crash simply replay it.
//!
//! One way round: [`Guide::present`] says what is asked; [`answer`] (or [`begin`], [`skip`], [`repeat`], [`leave`],
//! [`set_out`]) gives the events of one step, with the moves that set out what comes next; the exam applies them.
//!
//! - [`presentation`], [`question`], [`remark`]: what is shown, asked and said beside it, as data;
//! - [`session`]: the fold; `procedure`: the two doors of a procedure; [`door`]: the guide's own; `order`: what comes next;
//! - [`realise`]: the moves with the lenses that are free;
//! - [`findings`]: what was found; what is accepted of it the exam keeps, and its prescription is written from that;
//! - `ladder`, `sphere_search`, `reversal`: searches that procedures share;
//! - one file for each procedure; [`mod@retinoscopy_bias`], [`two_meridians`]: what can be reckoned from retinoscopy.

pub mod findings;
pub mod guidance;
pub mod ladder;
pub mod presentation;
mod presenting;
mod procedure;
pub mod question;
pub mod realise;
pub mod remark;
pub mod retinoscopy_bias;
mod running;
mod session;
mod shortfall;
pub mod steps;
pub mod two_meridians;

pub use findings::{Findings, Judged};
pub use guidance::Guide;
pub use ladder::cross_cylinder_axis::first_turn_deg;
pub use presentation::{Bracket, Presentation, Progress, Show};
pub use question::{Choice, Question, Reads, Typed};
pub use remark::Remark;
pub use retinoscopy_bias::{RetinoscopyBias, retinoscopy_bias};
pub use steps::{GuideError, answer, begin, begin_knowing, leave, repeat, set_out, skip};
pub use two_meridians::{MeridianError, Reversed, net_of_two_meridians};
