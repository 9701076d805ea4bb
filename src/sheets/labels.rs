//! What stands on the rows of the tray.

use super::of_box::OfBox;
use crate::export::table::{Cell, ColumnKind, Group, Table, column};
use crate::kit::{Lens, StockedPiece};

/// A label for each row of the tray: its number, its name, how many pieces lie in it, and which.
pub fn labels(of: &OfBox<'_>) -> Table {
    let columns = [
        column("row", ColumnKind::Figures),
        column("label", ColumnKind::Words),
        column("pieces", ColumnKind::Figures),
        column("lenses", ColumnKind::LongWords),
    ];
    let rows = of.rows().enumerate().map(|(at, (name, pieces))| {
        vec![Cell::count(at + 1), Cell::text(name), Cell::count(pieces.len()), Cell::text(lenses(&pieces))]
    });
    let group = Group { name: String::new(), rows: rows.collect() };
    let notes = vec!["The pieces are those that belong in a row, wherever they are now.".to_owned()];
    Table { groups: vec![group], notes, ..of.sheet("Labels of the rows", &columns) }
}

/// The marks in a row, with how many there are where there are several.
fn lenses(pieces: &[&StockedPiece]) -> String {
    let mark = |lens: &Lens| lens.mark().map_or_else(|| lens.to_string(), |_| without_its_kind(lens));
    let alike = pieces.chunk_by(|one, next| one.piece.lens == next.piece.lens);
    let words: Vec<String> = alike
        .map(|of_lens| {
            let mark = mark(&of_lens[0].piece.lens);
            if of_lens.len() == 1 { mark } else { format!("{mark} x{}", of_lens.len()) }
        })
        .collect();
    words.join(", ")
}

/// `+1.00` of `+1.00 sphere`: the label of the row has the kind, unless several lie in it.
fn without_its_kind(lens: &Lens) -> String {
    let label = lens.to_string();
    label.split_once(' ').map_or(label.clone(), |(mark, _)| mark.to_owned())
}
