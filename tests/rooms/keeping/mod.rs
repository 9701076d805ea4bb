//! What a box makes, what to buy for it, what to pack of it.
#![expect(clippy::unwrap_used, reason = "a test that cannot set itself up must stop")]

use dioptray::kit::shipped::BOXES;
use dioptray::kit::{Stock, parse_box};

mod advice;
mod coverage;
mod enumeration;
mod held_together;
mod packing;
mod people;
mod unknown_lens;

/// A shipped box with everything in it but what its file lists as missing.
fn shipped(name: &str) -> Stock {
    let (file, text) = BOXES.iter().find(|(file, _)| *file == name).unwrap();
    Stock::of(&parse_box(file, text).unwrap())
}
