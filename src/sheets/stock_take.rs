//! A count on paper, by the rows of the tray; as CSV it is read back by `box stock-take --rows`.

use super::of_box::{OfBox, whereabouts};
use crate::export::table::{Cell, ColumnKind, Group, Table, column};
use crate::kit::StockedPiece;

/// What the groups of the sheet are: the column of the row's name in CSV.
pub const ROW: &str = "row";
/// The column of what is known to lie there.
pub const KNOWN: &str = "known";

/// A line for each lens, with places for how many lie there. `blind` leaves out what is known, for a second person.
pub fn stock_take(of: &OfBox<'_>, blind: bool) -> Table {
    let known = column(KNOWN, ColumnKind::LongWords);
    let mut columns = vec![
        column("lens", ColumnKind::Words),
        column("here", ColumnKind::ToFillIn),
        column("damaged", ColumnKind::ToFillIn),
        column("more", ColumnKind::ToFillIn),
    ];
    columns.extend((!blind).then_some(known));
    let groups = of.rows().map(|(name, pieces)| {
        let alike = pieces.chunk_by(|one, next| one.piece.lens == next.piece.lens);
        let rows = alike.map(|of_lens| {
            let mut row = vec![Cell::text(&of_lens[0].piece.lens), Cell::Empty, Cell::Empty, Cell::Empty];
            row.extend((!blind).then(|| Cell::Text(in_words(of_lens))));
            row
        });
        Group { name: name.to_owned(), rows: rows.collect() }
    });
    let groups = groups.collect();
    let mut notes = vec![
        "here: how many whole ones lie there, 0 if none; damaged: how many damaged ones, beside those; more: how many beyond what \
         belongs to the box, like a lens without a line of its own."
            .to_owned(),
        "Of a lens that is counted, what should be there and is not is lost. A lens that is not counted stays as it is known: take its line out.".to_owned(),
        "`dioptray box stock-take --rows FILE --dry-run` says what this sheet, as CSV, comes to.".to_owned(),
    ];
    if blind {
        notes.insert(0, "A second count: what is known of each lens is left out on purpose.".to_owned());
    }
    let signed_by = vec!["counted by", "seen by"];
    Table { groups_are: Some(ROW), groups, notes, signed_by, ..of.sheet("Count of the box", &columns) }
}

/// `2`, `1, 1 damaged`, `1, 1 lent to Clinic 3`.
fn in_words(pieces: &[&StockedPiece]) -> String {
    let here = pieces.iter().filter(|stocked| stocked.place.is_at_hand());
    let (damaged, whole): (Vec<&&StockedPiece>, Vec<_>) = here.partition(|stocked| stocked.damaged);
    let mut words = vec![whole.len().to_string()];
    words.extend((!damaged.is_empty()).then(|| format!("{} damaged", damaged.len())));
    let mut elsewhere: Vec<(String, usize)> = Vec::new();
    for place in pieces.iter().filter_map(|stocked| whereabouts(&stocked.place)) {
        match elsewhere.iter_mut().find(|(there, _)| *there == place) {
            Some((_, count)) => *count += 1,
            None => elsewhere.push((place, 1)),
        }
    }
    words.extend(elsewhere.into_iter().map(|(place, count)| format!("{count} {place}")));
    words.join(", ")
}
