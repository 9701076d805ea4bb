//! The procedures that lead an examiner from unaided acuity to a written prescription.
//!
//! Each procedure is a small state machine: what to present, given what was found so far, and what an answer does. None
//! draws, stores, looks at a clock or throws dice: a [`Guide`] is a fold over the guide's events of an exam, so undo and a
//! crash simply replay them. It is kept beside the exam and follows it ([`Guide::follow`]).
//!
//! One way round: [`Guide::presentation`] is what is asked; [`answer`] (or [`begin`], [`skip`], [`repeat`], [`leave`],
//! [`set_out`]) gives one step, with the moves that set out what comes next, checked as it was made; the exam accepts it.
//!
//! # How an exam is led
//!
//! 1. An exam is opened with an empty frame beside a box ([`Exam::open`](crate::exam::Exam::open)), and its guide is kept beside
//!    it ([`Guide::of`]).
//! 2. [`Guide::presentation`] says what is asked: by which procedure and of which eye, how it is shown
//!    ([`Presentation::show`]), and the answers that have a key ([`Presentation::choices`]); what else can be typed says
//!    [`Question::typed`]. Between procedures it is [`Question::Next`], answered with
//!    [`Answer::Go`](crate::exam::Answer::Go); the first choice is the usual one.
//! 3. What really stands before an eye is read from the frame, never from what was wanted:
//!    [`in_front_of`](crate::frame::FittedFrame::in_front_of) gives the net at cell 1 of what is in the cells (`net`) and with what
//!    the hand holds (`net_with_hand`); of a cross cylinder that is
//!    flipped, [`in_front_of_flipped`](crate::frame::FittedFrame::in_front_of_flipped) gives the second position. What a comparison
//!    is with stands in [`Presentation::shown`] (`from`); where it is made in the cells, that is no longer there.
//! 4. [`answer`] gives the step, or says that it is not an answer to this question; [`skip`] passes the question over. The exam
//!    accepts the step, and the guide follows ([`Guide::follow`]).
//! 5. It is over when [`Findings::written`] says so: [`Prescription::of`](crate::exam::Prescription::of) is what was written.
//!
//! Led to the end, by somebody short-sighted by 2 D who sees only what stands there:
//! ```
//! use dioptray::exam::{Answer, Exam, Opening, Prescription};
//! use dioptray::frame::{FittedFrame, shipped::demo_frame};
//! use dioptray::guide::{self, Guide, Question};
//! use dioptray::kit::{Stock, shipped::demo_box};
//! use dioptray::optics::{Acuity, Eye, Power};
//!
//! let fitted = FittedFrame::new(demo_frame()?, Stock::of(&demo_box()?));
//! let mut exam = Exam::open(Opening::of(fitted));
//! let mut guide = Guide::of(&exam);
//! let blur = |before: Power| (before.m + 2.0).hypot(before.astigmatism());
//!
//! while !guide.findings().written {
//!     let asked = guide.presentation();
//!     let eye = asked.eye.unwrap_or(Eye::Right);
//!     let before = exam.state().fitted.in_front_of(eye).net_with_hand;
//!     let gain = blur(asked.shown.from[eye]) - blur(before);
//!     let answer = match &asked.question {
//!         Question::Next(choices) => Some(Answer::Go { procedure: choices[0].0, eye: choices[0].1 }),
//!         Question::ClearerWith { .. } if gain.abs() < 0.1 => Some(Answer::Same),
//!         Question::ClearerWith { .. } => Some(if gain > 0.0 { Answer::Clearer } else { Answer::Worse }),
//!         Question::MoreLetters { .. } => Some(if gain > 0.1 { Answer::Yes } else { Answer::No }),
//!         Question::LineRead => Some(Answer::Read(Acuity::of_6_m(6.0 * (1.0 + blur(before).powi(2))))),
//!         Question::WhichPosition | Question::ClearerEye => Some(Answer::Same),
//!         Question::Age => Some(Answer::Years(30)),
//!         Question::EyePd(_) => Some(Answer::Millimetres(31.5)),
//!         question => question.choices().first().map(|choice| choice.answer),
//!     };
//!     let step = match answer {
//!         Some(answer) => guide::answer(&guide, &exam, answer)?,
//!         None => guide::skip(&guide, &exam)?,
//!     };
//!     exam.accept(step);
//!     guide.follow(&exam);
//! }
//! let written = Prescription::of(exam.state(), 1).eye(Eye::Right).expect("it was written").written;
//! assert!((written.sphere - -2.0).abs() <= 0.25 && written.cylinder == 0.0, "{written:?}");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! One procedure alone, and one question passed over:
//! ```
//! use dioptray::exam::{Answer, Exam, Opening, ProcedureName};
//! use dioptray::frame::{FittedFrame, shipped::demo_frame};
//! use dioptray::guide::{self, Guide, Question};
//! use dioptray::kit::{Stock, shipped::demo_box};
//! use dioptray::optics::{Acuity, Eye};
//!
//! let fitted = FittedFrame::new(demo_frame()?, Stock::of(&demo_box()?));
//! let mut exam = Exam::open(Opening::of(fitted));
//! let mut guide = Guide::of(&exam);
//!
//! exam.accept(guide::begin(&guide, &exam, ProcedureName::BestSphere, Some(Eye::Right))?);
//! guide.follow(&exam);
//! assert!(matches!(guide.presentation().question, Question::LineRead));
//!
//! exam.accept(guide::answer(&guide, &exam, Answer::Read(Acuity::of_6_m(12.0)))?);
//! guide.follow(&exam);
//! assert_eq!(exam.state().fitted.held(Eye::Right).map(|held| held.stocked.power().0), Some(0.25));
//!
//! exam.accept(guide::skip(&guide, &exam)?);
//! guide.follow(&exam);
//! assert_eq!(guide.running(), Some((ProcedureName::BestSphere, Some(Eye::Right))));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! - [`presentation`], [`question`], [`remark`]: what is shown, asked and said beside it, as data;
//! - `procedure`: what a procedure is; [`ladder`]: the procedures, one file each; `belief`: the second way of refracting, one
//!   procedure; `running`: which one runs;
//! - [`findings`]: what was found; what is accepted of it the exam keeps, and its prescription is written from that;
//! - `shortfall`: what the free lenses do not make, as it is said; [`realise`]: the moves with the lenses that are free;
//! - `given`: what a procedure starts from;
//! - `over`: a lens in a cell of its own over what is worn;
//! - `session`: the fold; `presenting`: what it presents; [`guidance`]: the guide as it is kept; [`steps`]: its steps;
//! - [`mod@retinoscopy_bias`], [`two_meridians`]: what can be computed from retinoscopy.

mod belief;
pub mod findings;
mod given;
pub mod guidance;
pub mod ladder;
mod over;
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

pub use belief::believed_line;
pub use findings::{Findings, Judged, LineAt};
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
pub const PROCEDURES_VERSION: u32 = 5;
