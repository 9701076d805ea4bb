//! Practice eyes: simulated people who are examined like any other, and the measure of the guide on many of them.
//!
//! A practice eye enters by the guide's doors and sees only what really stands before it; no room below knows it, and it knows
//! no way in which the guide refracts.
//!
//! - [`law`], [`sight`]: what an eye sees, without chance; the written law and twelve others;
//! - [`care`], [`counts`], [`people`]: who is examined; [`draws`]: chance, the same for a seed on every machine;
//! - [`cases`]: named people, each declared in a file;
//! - [`examinee`]: a person who sees with chance and memory; [`answers`]: what that person answers to the guide;
//! - [`graded`]: people drawn by how hard they are to refract; [`seat`]: the one that a student refracts; [`hidden`]: what the
//!   student is not shown;
//! - [`class`]: a code for the same eyes on every machine, and what is handed in; [`lessons`]: an order of eyes and drills;
//! - [`off`]: by how much what is written is off; [`effort`]: what an exam took; [`feedback`]: what is said of an exam at its end;
//! - [`by_hand`]: what is answered without the guide;
//! - [`picture`]: what such an eye sees, and the light in its pupil, as grey levels;
//! - [`questioning`]: one question put to one person again and again.

pub mod answers;
pub mod by_hand;
pub mod care;
pub mod cases;
pub mod class;
pub mod counts;
pub mod draws;
pub mod drills;
pub mod effort;
pub mod evaluation;
pub mod examination;
pub mod examinee;
pub mod feedback;
pub mod graded;
pub mod hidden;
pub mod law;
pub mod lessons;
pub mod off;
pub mod people;
pub mod picture;
pub mod questioning;
pub mod seat;
pub mod sight;
pub mod slips;

pub use answers::Standing;
pub use care::{Care, Traits};
pub use cases::{Case, read_case};
pub use evaluation::{Evaluated, Evaluation};
pub use examination::{Examined, Way, examine};
pub use examinee::Examinee;
pub use law::Law;
pub use people::{Habit, Person, Room};
pub use questioning::{Asking, Questioning};
