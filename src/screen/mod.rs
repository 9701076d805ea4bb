//! The screen: keys in, decisions, panels out. It stands on top of everything and nothing knows it.
//!
//! - [`keys`]: the one key table, key names, and keys as text;
//! - [`settings`], [`theme`]: what a person chooses, colours by meaning;
//! - [`app`]: the whole state and what follows from it; `round`, `box_round`: one input, from the key to
//!   what is kept;
//! - [`ui`]: the part of the state that is not the exam; [`spot`], [`shelf`], [`proposals`]: places and lists; [`guidance`]:
//!   what the guide asks now;
//! - [`page`], [`field`], [`detail_values`]: the details of the exam and earlier exams; [`box_page`], [`box_words`], [`counting`]: a box; [`coverage`], `computed`: what it makes,
//!   what to buy and to pack, beside the screen; [`request`]: what a key asks
//!   beside steps of the exam; [`carried`]: what stays from one person to the next;
//! - [`practice_page`], `practice_round`: practice eyes; [`ended_page`]: how their exam went; [`drill_page`], `drill_round`: drills; [`answer_words`]: what they answer, in words;
//! - [`sight`]: which picture of it is shown; [`pictures`]: what a practice eye sees, computed once; [`ramp`]: the tones in which it is drawn;
//! - `learning`: the first exam, step by step;
//! - [`decide`]: what an input means; it changes nothing;
//! - [`view`]: the panels;
//! - `start`: how the screen begins; `terminal`: the real terminal; [`print()`]: one frame without a terminal, [`printed`] as text, in
//!   colours or as a picture, whose blocks are [`marks`];
//!   `plain_lines`: line by line, for whoever listens.

pub mod answer_words;
pub mod app;
pub mod box_page;
mod box_round;
pub mod box_sheets;
pub mod box_words;
pub mod carried;
mod computed;
pub mod counting;
pub mod coverage;
pub mod day_page;
mod day_round;
pub mod decide;
pub mod detail_values;
pub mod drill_page;
mod drill_round;
pub mod ended_page;
pub mod field;
pub mod glasses_form;
pub mod guidance;
pub mod keys;
mod learning;
pub mod looking;
pub mod marks;
pub mod page;
pub mod pictures;
mod plain_lines;
pub mod practice_page;
mod practice_round;
mod print;
pub mod printed;
pub mod proposals;
pub mod ramp;
pub mod request;
mod round;
pub mod settings;
mod shared;
pub mod shelf;
pub mod sight;
pub mod spot;
mod start;
mod telling;
pub mod terminal;
pub mod theme;
pub mod ui;
pub mod view;
pub mod words;

pub use app::App;
pub use plain_lines::run_lines;
pub use print::{PrintError, PrintForm, Size, print};
pub use settings::{Settings, SettingsError};
pub use start::{AtStart, ScreenStart, Surroundings};
pub use terminal::{RunError, is_there, run};
