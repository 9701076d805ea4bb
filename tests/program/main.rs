//! The program as its users and its machine meet it: commands, terminals, kills, files that cannot be used.
//!
//! Tests that start other programs, this one again among them, stand here and not with those of the rooms: a program that is
//! being started holds the open files of the one that starts it, locks of boxes among them, for a moment.

mod commands;
mod documents;
mod faults;
mod layout;
mod logbook_form2;
mod logbook_kill;
mod other_procedures;
mod pixels_pty;
mod practice;
mod practising_pty;
mod pty;
mod records;
mod records_of_others;
mod soak;
#[cfg(target_os = "linux")]
mod system_calls;
mod terminal;
mod trust_pty;
#[cfg(unix)]
mod twin;

#[path = "../support/invented.rs"]
mod invented;
#[expect(clippy::unwrap_used, reason = "a test stops where something is not as it must be")]
#[path = "../support/kept_exam.rs"]
mod kept_exam;
#[path = "../support/pictures.rs"]
mod pictures;
