//! Parcels: what a logbook wrote, in a file that is carried to others, and what was read of theirs.
//!
//! - `write`: what is sent, `key`: by which it is signed; `read`: a parcel as it is read, and whether it is what was written;
//! - `others`: what was read, in a file of its own beside the logbook, so that nothing of one's own rests on it;
//!   `signers`: whether it comes from whom it says; `taking`: what of a parcel is new, all of it or nothing; `arrived`: an exam as it comes out of its entry;
//! - `again`: what is written again after a copy of the logbook went on too;
//! - `let_go`: what is kept no longer;
//! - `error`: why not, in words.

mod again;
mod arrived;
pub mod error;
pub mod exchange;
pub mod key;
pub mod let_go;
pub mod live;
pub mod others;
pub mod read;
pub mod signers;
pub mod taking;
pub mod write;
