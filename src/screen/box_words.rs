//! What is said of the pieces of a box: where they are, what happened to them, on which day.

use jiff::civil::Date;

use crate::kit::{BoxChange, Lens, StockedPiece};

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
pub fn what_happened(change: &BoxChange) -> String {
    match change {
        BoxChange::Lost(_) => "lost".to_owned(),
        BoxChange::Found(_) => "found".to_owned(),
        BoxChange::Lent { to, .. } => to.as_ref().map_or_else(|| "lent".to_owned(), |to| format!("lent to {to}")),
        BoxChange::Returned(_) => "brought back".to_owned(),
        BoxChange::Damaged(_) => "damaged".to_owned(),
        BoxChange::Mended(_) => "mended".to_owned(),
        BoxChange::Measured { power, .. } => format!("measured {power:+.2}"),
        BoxChange::Added(_) => "added".to_owned(),
        BoxChange::Retired(_) => "out for good".to_owned(),
    }
}
