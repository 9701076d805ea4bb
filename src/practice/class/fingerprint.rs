//! Short hashes by which a code knows its box, its frame and what is built in: the same on any machine.
//!
//! Of what is declared and matters before an eye, not of the bytes of a file: comments, names, notes and the order of lines
//! change nothing.

use std::fmt::Write as _;

use sha2::{Digest as _, Sha256};

use crate::frame::DeclaredFrame;
use crate::kit::{LensForm, Stock};
use crate::optics::refraction_counts;
use crate::practice::cases::shipped::CASES;

/// The first eight bytes of the SHA-256 of a text, as a number.
pub fn number(text: &str) -> u64 {
    Sha256::digest(text.as_bytes()).iter().take(8).fold(0, |number, byte| number << 8 | u64::from(*byte))
}

/// That of a box: how its marks were computed, and each lens that is there with its power.
pub fn of_box(stock: &Stock) -> u64 {
    let form = match stock.form {
        LensForm::Thin => "thin",
        LensForm::Additive => "additive",
    };
    let mut lenses: Vec<String> = Vec::new();
    for stocked in stock.pieces().iter().filter(|stocked| stocked.is_free()) {
        // which of its equals a lens is matters only where it was measured
        let measured = stocked.measured.map(|power| format!(" #{} measures {power}", stocked.piece.number));
        lenses.push(format!("{}{}", stocked.piece.lens, measured.unwrap_or_default()));
    }
    lenses.sort();
    number(&format!("box {form}\n{}", lenses.join("\n")))
}

/// That of a frame: where its cells lie, which of them turn together, how finely its dial is marked, how wide it can be set.
pub fn of_frame(frame: &DeclaredFrame) -> u64 {
    let mut text = format!("frame vertex {} marks {}\n", frame.vertex.0, frame.axis_marks_deg);
    if let Some(pd) = &frame.pd {
        // writing to a text does not fail
        let _ = writeln!(text, "pd {} to {}", pd.least.0, pd.most.0);
    }
    for (cell, number) in frame.cells.iter().zip(1..) {
        let _ = writeln!(text, "cell gap {} turns with {:?}", cell.gap.0, frame.turning_with(number));
    }
    number(&text)
}

/// That of what is built in and decides who is drawn or named: the counts of refractions and the cases.
pub fn of_what_is_built_in() -> u64 {
    let mut text = String::new();
    for row in refraction_counts::counted() {
        let _ = writeln!(text, "{} {} {:?} {}", row.sphere, row.cylinder, row.axis_class, row.eyes);
    }
    for (name, case) in CASES {
        let _ = writeln!(text, "case {name}");
        // line ends may be other ones where the program was built
        for line in case.lines().filter(|line| !line.trim_start().starts_with('#')) {
            let _ = writeln!(text, "{}", line.trim_end());
        }
    }
    number(&text)
}
