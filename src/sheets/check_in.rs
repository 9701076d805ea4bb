//! What has to come back, with a square to tick for each piece.

use super::of_box::OfBox;
use super::pick::by_rows;
use crate::export::table::{Cell, ColumnKind, Table, column};
use crate::kit::Piece;
use crate::kit::document::fault::counted;

/// The pieces of a bag or of a borrower that are still away, in the order of the tray. `what` names the bag or the borrower.
pub fn check_in(of: &OfBox<'_>, what: &str, pieces: &[Piece]) -> Table {
    let columns = [
        column("back", ColumnKind::Tick),
        column("piece", ColumnKind::Words),
        column("due", ColumnKind::Words),
        column("damaged", ColumnKind::Tick),
        column("what", ColumnKind::ToFillIn),
        column("known before", ColumnKind::LongWords),
    ];
    let row = |piece: &Piece| {
        let loan = of.record.loan_of(piece, of.on);
        let due = loan.and_then(|loan| {
            let late = if loan.overdue { ", overdue" } else { "" };
            loan.until.map(|until| format!("{until}{late}"))
        });
        let due = Cell::known(due, Cell::text);
        vec![Cell::Empty, Cell::text(piece), due, Cell::Empty, Cell::Empty, Cell::text(of.remark(piece))]
    };
    let mut table = Table {
        groups_are: Some("row"),
        groups: by_rows(of, pieces, row),
        nothing: "Nothing is away.",
        notes: vec![format!("{} away.", counted(pieces.len(), "piece is", "pieces are"))],
        signed_by: vec!["brought back by", "checked in by"],
        ..of.sheet("To check in", &columns)
    };
    table.about.insert(1, what.to_owned());
    table
}
