//! The guide against worked cases, against a scripted eye, and for whatever anybody answers.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on should stop where it is")]

mod doors;
mod ends;
mod every_procedure;
mod hand;
mod likelihood;
mod properties;
mod refractions;
mod set;
mod worked;
