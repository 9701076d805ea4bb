//! Speed of keeping a box: what it makes, what to buy, what to pack. Times are of the processor, not of the clock.
//!
//! `cargo bench --bench keeping`; a number after `--` is how many seconds a bag is looked for, 30 when not said.
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot set itself up must stop")]

use std::hint::black_box;
use std::time::Instant;

use cpu_time::ProcessTime;
use dioptray::frame::shipped::demo_frame;
use dioptray::keeping::{
    Asked, BagFor, Cells, Coverage, Holdings, Means, People, Wanted, advise, losses, made, offers_of, pack,
};
use dioptray::kit::shipped::{BOXES, full_box};
use dioptray::kit::{Stock, parse_box};

/// Pieces of the bags that are packed.
const PIECES: usize = 40;

fn main() {
    let seconds = std::env::args().skip(1).find_map(|argument| argument.parse().ok()).unwrap_or(30.0_f64);
    let frame = demo_frame().unwrap();
    let (people, grid) = (People::counted(), Wanted::grid());
    for (file, text) in BOXES {
        let stock = Stock::of(&parse_box(file, text).unwrap());
        let holdings = Holdings::of(&stock);
        let cells = Cells::of(&frame, holdings.form);
        println!("{file}, {}: {} prescriptions", frame.name, grid.len());
        let one_eye = timed(|| made(&holdings, &cells, &grid, 4, Asked::OneEye));
        println!("  one eye            {one_eye:6.3} s");
        let both = timed(|| made(&holdings, &cells, &grid, 4, Asked::BothEyes));
        println!("  both eyes alike    {both:6.3} s, one eye among it");
        let all = timed(|| Coverage::of(&holdings, &cells, &people, Asked::BothEyes));
        println!("  and all people     {all:6.3} s");
    }
    for name in ["outreach.yaml", "full.yaml"] {
        let (file, text) = BOXES.iter().find(|(file, _)| *file == name).unwrap();
        let stock = Stock::of(&parse_box(file, text).unwrap());
        let holdings = Holdings::of(&stock);
        let cells = Cells::of(&frame, holdings.form);
        let bag = BagFor { cells: &cells, people: &people, lenses: 2, asked: Asked::BothEyes };
        println!("{name}, both eyes alike, at most 2 lenses");
        let offers = offers_of(&Stock::of(&full_box().unwrap()));
        let means = Means { pieces: 10, budget: None };
        let advice = timed(|| advise(&stock, &offers, means, bag, &mut |_| 1.0));
        println!("  ten pieces advised {advice:6.3} s");
        println!("  what a loss costs  {:6.3} s", timed(|| losses(&holdings, bag)));
        let (began, start) = (Instant::now(), ProcessTime::now());
        let mut spent = |_| began.elapsed().as_secs_f64() / seconds;
        let packed = pack(&holdings, &[], PIECES, bag, &mut spent);
        println!(
            "  {PIECES} pieces packed   {:6.3} s: {:.2} %, bound {:.2} %, {:.2} % above it",
            start.elapsed().as_secs_f64(),
            100.0 * packed.share,
            100.0 * packed.bound,
            100.0 * (packed.bound / packed.share - 1.0),
        );
    }
}

/// Seconds of processor time.
fn timed<T>(work: impl FnOnce() -> T) -> f64 {
    let start = ProcessTime::now();
    black_box(work());
    start.elapsed().as_secs_f64()
}
