//! The guide against worked cases, against a scripted eye, and for whatever anybody answers.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on should stop where it is")]

mod both_eyes;
mod doors;
mod ends;
mod every_procedure;
mod hand;
mod likelihood;
mod neutralisation;
mod poor_eyes;
mod properties;
mod refractions;
mod retinoscopy;
mod rules_of_one_eye;
mod set;
mod stays_on;
mod vertex;
mod worked;
