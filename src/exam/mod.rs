//! An exam: the events that make it up and the state they add up to.
//!
//! - [`person`]: the person and the room; [`procedures`]: the table of what the guide leads;
//! - [`sentence`]: sentences that carry values;
//! - [`answer`]: what can be answered to the guide; [`chosen`]: in which way an eye is refracted, and what that chose to show;
//!   [`event`]: what can happen in an exam;
//! - [`state`]: what the events add up to; [`steps`]: the exam, with undo and redo over whole steps;
//! - [`trail`]: everything tried so far;
//! - [`poor_acuity`]: when an acuity is poor, and what a pinhole says of it;
//! - [`observed`]: what an eye answered, in order; [`expected`]: the line that is expected of it; [`plausibility`]: whether the two can
//!   belong together, and the likeliest slip; [`certainty`]: how sure the result is; [`doubts`]: what it is held against;
//! - [`prescription`]: what is written down, and how it compares with retinoscopy and the old glasses;
//! - [`deviation`]: what prisms neutralised, and the prism chosen from it;
//! - [`screening`], [`screening_pass`]: who needs no refraction; [`drops`]: what was put in, and when it is ready;
//! - [`order`]: what the glasses are ordered with; [`came_back`]: glasses that came back, found against ordered;
//! - [`outcome`]: what an exam comes to, and [`weighing`]: what the figures say to it; [`ready_made`]: which pair is given off a
//!   shelf, and by which limits;
//! - [`practised`]: what only an exam of a practice eye has;
//! - [`cautions`]: what every print and export says, and what the findings of one exam call for.

pub mod answer;
pub mod came_back;
pub mod cautions;
pub mod certainty;
pub mod chosen;
pub mod deviation;
pub mod doubts;
pub mod drops;
pub mod event;
pub mod expected;
pub mod observed;
pub mod order;
pub mod outcome;
pub mod person;
pub mod plausibility;
pub mod poor_acuity;
pub mod practised;
pub mod prescription;
pub mod procedures;
pub mod ready_made;
pub mod repeats;
pub mod screening;
pub mod screening_pass;
pub mod sentence;
pub mod state;
pub mod steps;
pub mod trail;
pub mod weighing;

pub use answer::{Answer, Ending, Given, GuideEvent, Movement, Shown, UNLIKE_ITS_MARK_D};
pub use came_back::{CameBack, CameBackTakenBack, FoundGlasses};
pub use chosen::{Believed, Chosen, Shows, Strategy};
pub use deviation::{Deviation, DeviationAt, SeenBy};
pub use drops::DropsPut;
pub use event::{Accepted, AcuityNote, Detail, Event, Opening, Through, Unrefracted};
pub use order::Order;
pub use outcome::{ComeBack, HowSoon, Outcome, OutcomeKind};
pub use person::{Complaint, EarlierExams, EarlierRetinoscopy, NearTask, Person, PresentGlasses, RedFlag, Repeats};
pub use practised::{AnsweredBy, AskedByHand, ByHand, PracticeEvent, Practised, Sitter};
pub use prescription::{EyePrescription, Prescription};
pub use procedures::{About, ProcedureName};
pub use ready_made::{GivenPair, OffTheShelf, ReadyMadeLimits};
pub use repeats::repeats_of;
pub use screening::{Screened, Screening};
pub use sentence::{Part, Sentence};
pub use state::{ExamError, Reading, Results, State};
pub use steps::{CheckedStep, Exam};
pub use trail::{Judgement, Tried};
pub use weighing::Weighed;
