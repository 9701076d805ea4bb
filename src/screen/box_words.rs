//! What is said of the pieces of a box: where they are, what happened to them, on which day.

use jiff::civil::Date;

use crate::exam::State;
use crate::kit::{Lens, StockedPiece};
use crate::session::{BoxNow, Happened};

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

/// Who noted it and at which other seat, as an end of a line.
pub fn noted_by(happened: &Happened) -> String {
    let by = happened.by.as_ref().map(|by| format!(", {by}")).unwrap_or_default();
    let seat = happened.seat.as_ref().map(|seat| format!(", at {seat}")).unwrap_or_default();
    format!("{by}{seat}")
}

/// What happened, in a few words, without the piece.
pub fn what_happened(happened: &Happened) -> String {
    let Happened { day: _, by: _, event, lens: _, piece: _, with: _, says, note, is_slip, seat: _ } = happened;
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

/// More pieces than these are counted.
const MOST_STILL_COUNTED: usize = 3;

/// What the open exam goes on counting as it began, because it was measured since: the net before the eyes is made of that.
pub fn still_counted(now: &BoxNow, exam: &State) -> Option<String> {
    if !now.is_of_the_exam || exam.finished {
        return None;
    }
    let still = now.stock.pieces().iter().filter_map(|of| {
        let power = exam.fitted.stock.get(&of.piece)?.power();
        (power != of.power()).then(|| format!("{} as {:+.2}", of.piece, power.0))
    });
    let still: Vec<String> = still.collect();
    match still.len() {
        0 => None,
        few if few <= MOST_STILL_COUNTED => Some(format!("this exam still counts {}", still.join(", "))),
        many => Some(format!("this exam still counts {many} pieces as they were known when it began")),
    }
}
