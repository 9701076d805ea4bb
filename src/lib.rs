//! Dioptray: refraction with a trial frame and a box of loose lenses, in the terminal.
//!
//! The map of the house. Arrows run down only: a room knows the rooms above it in this list and no others.
//!
//! - [`optics`]: powers, vergence, prism, acuity, notation, quarter steps. Numbers in, numbers out.
//! - [`kit`]: lens, declared box, stock (the box and what happened to it).
//! - [`frame`]: declared frame, cells and what is in them, the hand, moves.
//! - [`stacking`]: the search for stacks and its ranking.
//! - [`keeping`]: what the lenses of a box are worth, what they make, what to buy, what to pack.
//! - [`exam`]: events and the state they add up to.
//! - [`guide`]: the procedures, through one pair of doors: what to present, what was answered.
//! - [`day`]: a day of many people: who waits, who is seen, and what each came to.
//! - [`practice`]: practice eyes that are examined like people, and the measure of the guide on them.
//! - [`sharing`]: entries and their chains, what logbooks of several computers have in common.
//! - [`logbook`]: the SQLite file that keeps exams and what happened to boxes, as events.
//! - [`export`]: the record of an exam, and one file per form in which it leaves the program.
//! - [`sheets`]: the lists that a keeper prints, fills in and signs.
//! - [`import`]: the glasses that a person has, from the file of another system.
//! - [`session`]: the open exam, its claim on the box and its logbook as one value.
//! - [`screen`]: keys in, decisions, panels out; it stands on top and nobody below knows it.
//! - [`room`]: the seats that share one record through PostgreSQL, on a thread of its own; beside the screen (feature `room`).
//! - [`command`]: the command line, one file per subcommand.

pub mod command;
pub mod day;
pub mod exam;
pub mod export;
pub mod frame;
pub mod guide;
pub mod import;
pub mod keeping;
pub mod kit;
pub mod logbook;
pub mod optics;
pub mod practice;
#[cfg(feature = "room")]
pub mod room;
pub mod screen;
pub mod session;
pub mod sharing;
pub mod sheets;
pub mod stacking;
