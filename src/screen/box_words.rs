//! What is said of the pieces of a box: where they are, what happened to them, on which day.

use jiff::civil::Date;

use crate::kit::{Lens, StockedPiece};
use crate::session::Happened;

/// A day as it is said in another: without its year where that is the same.
pub fn day(day: Date, today: Date) -> String {
    let form = if day.year() == today.year() { "%-d %b" } else { "%-d %b %Y" };
    day.strftime(form).to_string()
}

/// The label of a place among those of its kind.
pub fn label(lens: &Lens) -> String {
    match lens {
        Lens::Sphere(mark) => mark.to_string(),
        Lens::Cylinder(mark) => format!("{mark}x"),
        Lens::Prism(mark) => format!("{}Δ", mark.dioptres()),
        Lens::CrossCylinder(mark) => format!("±{} cross", mark.unsigned()),
        Lens::Accessory(_) => lens.to_string(),
    }
}

/// How a piece is: where, damaged, off its mark.
pub fn state(stocked: &StockedPiece) -> String {
    // taken apart, so that whatever else is known of a piece is said here or left out on purpose
    let StockedPiece { piece: _, place, damaged, measured } = stocked;
    let mut said = vec![place.why_not_free().map_or_else(|| "here".to_owned(), |why| why.to_string())];
    said.extend(damaged.then(|| "damaged".to_owned()));
    said.extend(measured.map(|power| format!("measured {power:+.2}")));
    said.join(", ")
}

/// What happened, in a few words, without the piece.
pub fn what_happened(happened: &Happened) -> String {
    let Happened { day: _, by: _, event, lens: _, piece: _, with: _, says, note, is_slip } = happened;
    let word = match *event {
        "returned" => "brought back",
        "retired" => "out for good",
        other => other,
    };
    let mut said = word.to_owned();
    if let Some(says) = says {
        said += if *event == "lent" || *event == "moved" || *event == "undone" { " " } else { ": " };
        said += says;
    }
    if let Some(note) = note {
        said += ", ";
        said += note;
    }
    if *is_slip {
        said += " (a slip)";
    }
    said
}
