//! How well holding lenses together in pairs finds those that are off their mark, and in how many looks.
//!
//! Of every box one lens in twenty is off; the hand's noise is that of the law. `cargo bench --bench held_together [boxes]`.
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot set itself up must stop")]
#![expect(clippy::disallowed_methods, reason = "what is measured draws nothing from here")]

#[path = "../tests/support/keeper.rs"]
mod keeper;

use std::time::Instant;

use dioptray::kit::shipped::BOXES;
use dioptray::kit::{Stock, parse_box};

fn main() {
    let boxes = std::env::args().find_map(|argument| argument.parse().ok()).unwrap_or(40_u64);
    for shipped in ["outreach", "full"] {
        let (name, text) = BOXES.iter().find(|(name, _)| name.contains(shipped)).unwrap();
        let stock = Stock::of(&parse_box(name, text).unwrap());
        for off_by_d in [0.25, 0.50] {
            let begun = Instant::now();
            let held: Vec<_> = (0..boxes).map(|seed| keeper::go_through(&stock, off_by_d, seed)).collect();
            let (mut off, mut found, mut false_alarms, mut boxes_with, mut looks) = (0, 0, 0, 0, 0);
            for one in &held {
                let right = one.named.iter().filter(|suspect| one.off.contains(&suspect.piece)).count();
                off += one.off.len();
                found += right;
                false_alarms += one.named.len() - right;
                boxes_with += usize::from(one.named.len() > right);
                looks += one.looks;
            }
            println!(
                "{name}: off by {off_by_d:.2}: {found} of {off} found ({:.1} %), a false alarm in {boxes_with} of {boxes} boxes ({false_alarms} lenses), {:.0} looks a box; {:.1} s",
                100.0 * found as f64 / off as f64,
                looks as f64 / boxes as f64,
                begun.elapsed().as_secs_f64(),
            );
        }
    }
}
