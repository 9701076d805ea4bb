//! Entries of several seats: what was confirmed arrives once, any order gives one state, and a piece is in two places exactly
//! when neither seat knew of the other.
//!
//! `world` has seats that write, carry parcels over links that drop, double, delay and reorder them, and are copied, each by a
//! seed; `reference` says by sets of entries what must come of it, without anything of `src/sharing`; `laws` holds the two
//! against each other; `worked` has cases that are worked by hand.
#![expect(clippy::expect_used, clippy::panic, reason = "a test that cannot go on should stop where it is")]

mod laws;
mod reference;
mod worked;
mod world;
