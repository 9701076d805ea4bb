//! What logbooks of several computers have in common: entries, each in the chain of the one who wrote it.
//!
//! Values only: no file, no clock, no random source.
//!
//! - [`writer`]: who wrote an entry, and how far one writer's entries are known;
//! - [`body`]: what an entry is about, as bytes: hashed, deflated and inflated;
//! - [`entry`]: an entry and its hash;
//! - [`chain`]: whether the entries of one writer follow each other; [`arriving`]: which of those that arrive are new;
//! - [`pieces`]: what all entries about a box say of its pieces, in whatever order they came; [`knowledge`]: which entries the
//!   writer of an entry knew;
//! - [`seat`], [`site`]: what people call a logbook among others, and the place it belongs to;
//! - [`signature`]: by what it is known that something comes from a seat; [`sealing`]: what stands behind a parcel;
//! - [`erasure`]: an exam that was erased;
//! - [`news`]: what whoever shares a record is told, and tells.

pub mod arriving;
pub mod body;
pub mod chain;
pub mod entry;
pub mod erasure;
pub mod knowledge;
pub mod news;
pub mod pieces;
pub mod sealing;
pub mod seat;
pub mod signature;
pub mod site;
pub mod writer;

pub use arriving::{Refused, Stretch, new_numbers};
pub use body::{BodyError, Hash};
pub use chain::{BrokenChain, check_chain};
pub use entry::{Entry, EntryKind, Sealed};
pub use erasure::{Erasure, ErasuresKnown};
pub use pieces::{BoxTold, Told};
pub use seat::{NotASeat, SeatName};
pub use signature::{PublicKey, SeatKey};
pub use site::{NotASite, SiteName};
pub use writer::{EntryRef, Heads, WriterId};
