//! The rooms of the library, each by its public face, in one process: no test here starts another program.
#![expect(clippy::disallowed_methods, reason = "checks share nothing with what they check, its functions neither")]

mod acuities;
mod arrows;
mod day;
mod exam_laws;
mod export;
mod frame_draft;
mod glasses;
mod guide;
mod import;
mod keeping;
mod kept;
mod kit_files;
mod kit_lenses;
mod kit_stock;
mod kit_stock_take;
mod kit_written;
mod logbook;
mod matches;
mod notation;
mod outside;
mod practice;
mod printed;
mod ready_made;
mod session;
mod sharing;
mod sheets;
mod stacking;
mod sureness;
mod walks;

#[path = "../support/invented.rs"]
mod invented;
#[path = "../support/keeper.rs"]
mod keeper;
#[expect(clippy::unwrap_used, reason = "a test stops where something is not as it must be")]
#[path = "../support/kept_exam.rs"]
mod kept_exam;
#[path = "../support/people.rs"]
mod people;
#[path = "../support/pictures.rs"]
mod pictures;
#[path = "../support/plain.rs"]
mod plain;
#[expect(clippy::panic, reason = "a test that cannot go on should stop where it is")]
#[path = "../support/steady.rs"]
mod steady;
