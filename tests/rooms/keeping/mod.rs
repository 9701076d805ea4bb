//! What a box makes, what to buy for it, what to pack of it.
#![expect(clippy::unwrap_used, reason = "a test that cannot set itself up must stop")]

mod coverage;
mod enumeration;
mod people;
