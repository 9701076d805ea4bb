//! A room: the seats that share one record through one PostgreSQL database, each with its own logbook first.
//!
//! Nothing waits for the room: what is done is kept in the logbook and on the screen, and a thread of its own sends it after. The
//! thread reads the logbook and never writes it; what it gets of others goes where what parcels bring goes.
//!
//! - [`address`]: where a room is; [`secret`]: the password; [`joined`]: which room a logbook joined; [`joining`]: joining and leaving;
//! - [`error`]: why a room is not reached, or refuses;
//! - [`link`]: one connection, with the limits of how long anything may take; [`tls`]: when it is encrypted;
//! - [`calls`]: what a room can be asked, in values; [`prepare`]: what its owner does once;
//! - [`exchange`]: all that is new there and here, once; [`holding`]: which pieces stand before an eye;
//! - [`erasing`]: exams that two people have erased;
//! - [`listing`]: which exams a room has; [`live`]: exams that are still open; [`watching`]: looking on at them; [`sent`]: how far the room was heard to know this logbook;
//! - [`hint`]: what a room says is new; [`here`]: what is told at this seat; [`times`]: times of its clock; [`sender`]: the thread.

pub mod address;
pub mod calls;
pub mod erasing;
pub mod error;
pub mod exchange;
pub mod here;
pub mod hint;
pub mod holding;
pub mod joined;
pub mod joining;
pub mod link;
pub mod listing;
pub mod live;
pub mod prepare;
pub mod secret;
pub mod sender;
pub mod sent;
pub mod times;
pub mod tls;
pub mod watching;
