//! The program as its users and its machine meet it: commands, terminals, kills, files that cannot be used.
//!
//! Tests that start other programs, this one again among them, stand here and not with those of the rooms: a program that is
//! being started holds the open files of the one that starts it, locks of boxes among them, for a moment.

mod commands;
mod documents;
mod faults;
mod layout;
mod logbook_kill;
mod pty;
mod records;

#[path = "../support/invented.rs"]
mod invented;
#[path = "../support/pictures.rs"]
mod pictures;
