//! Who has what, and until when.

use super::of_box::OfBox;
use crate::export::table::{Cell, ColumnKind, Group, Table, column};
use crate::kit::document::fault::counted;

/// The loans of a box, by borrower; of one only, where `to` names it.
pub fn loans(of: &OfBox<'_>, to: Option<&str>) -> Table {
    let columns = [
        column("piece", ColumnKind::Words),
        column("lent", ColumnKind::Words),
        column("due", ColumnKind::Words),
        column("overdue", ColumnKind::Words),
        column("back", ColumnKind::Tick),
        column("noted by", ColumnKind::Words),
        column("remark", ColumnKind::LongWords),
    ];
    let mut loans = of.record.loans(of.on);
    loans.retain(|loan| to.is_none_or(|to| loan.to.as_deref() == Some(to)));
    let overdue = loans.iter().filter(|loan| loan.overdue).count();
    let groups = loans.chunk_by(|one, next| one.to == next.to).map(|of_one| {
        let rows = of_one.iter().map(|loan| {
            vec![
                Cell::text(&loan.piece),
                Cell::text(of.day(loan.since)),
                Cell::known(loan.until, Cell::text),
                Cell::known(loan.overdue.then_some("overdue"), Cell::text),
                Cell::Empty,
                Cell::known(loan.by.as_ref(), Cell::text),
                Cell::text(of.remark(&loan.piece)),
            ]
        });
        let name = of_one[0].to.clone().unwrap_or_else(|| "nobody that was named".to_owned());
        Group { name, rows: rows.collect() }
    });
    let groups: Vec<Group> = groups.collect();
    let away = counted(loans.len(), "lens is away", "lenses are away");
    let notes = if loans.is_empty() { Vec::new() } else { vec![format!("{away}, {overdue} overdue.")] };
    Table { groups_are: Some("borrower"), groups, nothing: "Nothing is lent.", notes, ..of.sheet("Loans", &columns) }
}
