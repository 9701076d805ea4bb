//! Rooms on a real PostgreSQL, which these tests start on loopback, in a folder and on a port of their own:
//! `cargo test --features room-server --test room`. Without PostgreSQL they fail.
//!
//! - [`server`]: the server; [`seat`]: a program with its logbook, [`screen`] at a terminal; [`wire`]: what stands between them
//!   and fails;
//! - [`erasing`]: an exam is gone, [`erasing_killed`] whoever is killed meanwhile; [`exchange`]: entries arrive once; [`faults`]: what
//!   breaks; [`hints`]: what is said to others; [`holding`]: lenses; [`parting`]: copies; [`rights`]: who may what;
//!   [`safe`]: TLS and passwords; [`screens`]: two people at two screens; [`calling`]: a seat that only calls in; [`centres`]: lists
//!   and months of many centres.

mod calling;
mod centres;
mod erasing;
mod erasing_killed;
mod exchange;
mod faults;
mod hints;
mod holding;
mod parting;
mod rights;
mod safe;
mod screen;
mod screens;
mod seat;
mod server;
mod wire;

type Failure = Box<dyn std::error::Error>;
type Tested = Result<(), Failure>;
