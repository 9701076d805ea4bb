//! What to take out of the box, in the order of the tray.

use super::of_box::OfBox;
use crate::export::table::{Cell, ColumnKind, Group, Table, column};
use crate::kit::Piece;
use crate::kit::document::fault::counted;

/// The pieces of a bag, row by row, with a square to tick.
pub fn pick(of: &OfBox<'_>, pieces: &[Piece]) -> Table {
    let columns = [
        column("taken", ColumnKind::Tick),
        column("piece", ColumnKind::Words),
        column("remark", ColumnKind::LongWords),
    ];
    let row = |piece: &Piece| vec![Cell::Empty, Cell::text(piece), Cell::text(of.remark(piece))];
    Table {
        groups_are: Some("row"),
        groups: by_rows(of, pieces, row),
        nothing: "There is nothing to take out.",
        notes: vec![format!("{} in all.", counted(pieces.len(), "piece", "pieces"))],
        signed_by: vec!["taken out by"],
        ..of.sheet("To take out", &columns)
    }
}

/// Some pieces by the rows of the tray, as they lie.
pub(super) fn by_rows(of: &OfBox<'_>, pieces: &[Piece], row: impl Fn(&Piece) -> Vec<Cell>) -> Vec<Group> {
    let group = |(name, there): (&str, Vec<&crate::kit::StockedPiece>)| {
        let meant = there.iter().map(|stocked| &stocked.piece).filter(|piece| pieces.contains(piece));
        Group { name: name.to_owned(), rows: meant.map(&row).collect() }
    };
    of.rows().map(group).filter(|group| !group.rows.is_empty()).collect()
}
