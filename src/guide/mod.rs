//! The procedures that lead an examiner from unaided acuity to a written prescription.
//!
//! Each procedure is a small state machine: what to present, given what was found so far, and what an answer does. None
//! draws, stores, looks at a clock or throws dice: a [`Guide`] is a fold over the guide's events of an exam, so undo and a
//! crash simply replay them. It is kept beside the exam and follows it ([`Guide::follow`]).
//!
//! One way round: [`Guide::presentation`] is what is asked; [`answer`] (or [`begin`], [`skip`], [`repeat`], [`leave`],
//! [`set_out`]) gives one step, with the moves that set out what comes next, checked as it was made; the exam accepts it.
//!
//! # Example
//! ```
//! use dioptray::exam::{Answer, Exam, Opening, ProcedureName};
//! use dioptray::frame::{FittedFrame, shipped::demo_frame};
//! use dioptray::guide::{self, Guide, Question};
//! use dioptray::kit::{Stock, shipped::demo_box};
//! use dioptray::optics::Eye;
//!
//! let fitted = FittedFrame::new(demo_frame()?, Stock::of(&demo_box()?));
//! let mut exam = Exam::open(Opening { fitted });
//! let mut guide = Guide::of(&exam);
//!
//! exam.accept(guide::begin(&guide, &exam, ProcedureName::BestSphere, Some(Eye::Right))?);
//! guide.follow(&exam);
//! assert!(matches!(guide.presentation().question, Question::ClearerWith { .. }));
//! assert_eq!(exam.state().fitted.held(Eye::Right).map(|held| held.stocked.power().0), Some(1.00));
//!
//! exam.accept(guide::answer(&guide, &exam, Answer::Clearer)?);
//! guide.follow(&exam);
//! assert!((guide.found().right.m - 1.00).abs() < 0.06);
//!
//! exam.accept(guide::skip(&guide, &exam)?);
//! guide.follow(&exam);
//! assert_eq!(guide.running(), Some((ProcedureName::BestSphere, Some(Eye::Right))));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! - [`presentation`], [`question`], [`remark`]: what is shown, asked and said beside it, as data;
//! - `procedure`: what a procedure is; [`ladder`]: the procedures, one file each; `running`: which one runs;
//! - [`findings`]: what was found; what is accepted of it the exam keeps, and its prescription is written from that;
//! - `shortfall`: what the free lenses do not make, as it is said; [`realise`]: the moves with the lenses that are free;
//! - `session`: the fold; `presenting`: what it presents; [`guidance`]: the guide as it is kept; [`steps`]: its steps;
//! - [`mod@retinoscopy_bias`], [`two_meridians`]: what can be computed from retinoscopy.

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

/// The version of the procedures, noted in each exam when it begins. Raise it whenever a change makes any procedure ask,
/// accept or show anything else for the same answers, so that an exam begun before is not led as if it had been begun now:
/// it goes on with [`ProceduresChanged`](crate::exam::GuideEvent::ProceduresChanged), and what came before that is not read again.
pub const PROCEDURES_VERSION: u32 = 2;
