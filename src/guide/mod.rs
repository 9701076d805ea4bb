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

mod balance;
mod best_sphere;
mod cross_cylinder_axis;
mod cross_cylinder_power;
mod cross_cylinder_search;
pub mod door;
pub mod fan;
mod final_sphere;
pub mod findings;
pub mod first_lens;
pub mod ladder;
pub mod near;
mod order;
pub mod over_minus;
pub mod presentation;
mod procedure;
pub mod question;
pub mod realise;
pub mod remark;
pub mod retinoscopy;
pub mod retinoscopy_bias;
mod reversal;
pub mod session;
pub mod set_up;
pub mod slit;
mod sphere_search;
pub mod two_meridians;
mod words;
mod writing;

pub use cross_cylinder_axis::first_turn_deg;
pub use door::{GuideError, answer, begin, leave, repeat, set_out, skip};
pub use findings::{Findings, Judged};
pub use presentation::{Bracket, Presentation, Progress, Show};
pub use question::{Choice, Question};
pub use remark::Remark;
pub use retinoscopy_bias::{RetinoscopyBias, retinoscopy_bias};
pub use session::Guide;
pub use two_meridians::{MeridianError, Reversed, net_of_two_meridians};

/// The version of the procedures, noted in each exam when it begins. Raise it whenever a change makes any procedure ask,
/// accept or show anything else for the same answers, so that an exam begun before is not led as if it had been begun now.
pub const PROCEDURES_VERSION: u32 = 2;
