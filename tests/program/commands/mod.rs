//! The commands as others call them: exit codes, what stands where, and the fields of the JSON.

mod answers;
mod beginning;
mod boxes;
mod class;
mod day;
mod day_kill;
mod drills;
mod exams;
mod faults;
mod glasses;
mod identity;
mod kits;
mod looking;
mod makes;
mod pages;
mod parcels;
mod practice_cases;
mod practising;
mod refusals;
pub mod room;
mod seats_of_a_box;
mod sheets;
mod small_answers;
mod stack;
mod start;
