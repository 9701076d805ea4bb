//! What was last measured of each piece, what is over the keeper's limit or due, and places for what is measured now.

use jiff::ToSpan;
use jiff::civil::Date;

use super::of_box::{OfBox, whereabouts};
use crate::export::table::{Cell, ColumnKind, Group, Table, column};
use crate::kit::StockedPiece;
use crate::kit::document::fault::counted;

/// What the keeper asks of the lenses. No standard's figure stands here: without the keeper there is no limit.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Limits {
    /// By how much a power may differ from its mark, in dioptres (of a prism in prism dioptres).
    pub within: Option<f64>,
    /// After how many months a lens is to be measured again.
    pub every_months: Option<u16>,
}

/// What is known of the power of a piece.
struct Last {
    power: f64,
    on: Option<Date>,
    by: Option<String>,
    instrument: Option<String>,
    axis_off_deg: Option<f64>,
    prism: Option<f64>,
}

/// A line for each piece that is marked with a power and is there.
pub fn verification(of: &OfBox<'_>, limits: Limits) -> Table {
    let columns = [
        column("piece", ColumnKind::Words),
        column("measured", ColumnKind::Figures),
        column("off by D", ColumnKind::Figures),
        column("on", ColumnKind::Words),
        column("state", ColumnKind::Words),
        column("by", ColumnKind::Words),
        column("instrument", ColumnKind::Words),
        column("axis off deg", ColumnKind::Figures),
        column("stray prism", ColumnKind::Figures),
        column("sphere", ColumnKind::ToFillIn),
        column("cylinder", ColumnKind::ToFillIn),
        column("axis", ColumnKind::ToFillIn),
        column("prism", ColumnKind::ToFillIn),
        column("date", ColumnKind::ToFillIn),
        column("person", ColumnKind::ToFillIn),
    ];
    let (mut over, mut due, mut never, mut away) = (0, 0, 0, 0);
    let mut groups = Vec::new();
    for (name, pieces) in of.rows() {
        let mut rows = Vec::new();
        for stocked in pieces.into_iter().filter(|stocked| stocked.piece.lens.power_range().is_some()) {
            if whereabouts(&stocked.place).is_some() && !stocked.place.is_at_hand() {
                away += 1;
                continue;
            }
            let last = last(of, stocked);
            let off = last.as_ref().map(|last| last.power - stocked.marked_power().0);
            // a hair of rounding is not a fault of the lens
            let is_over = off.zip(limits.within).is_some_and(|(off, within)| off.abs() > within + 1e-9);
            let is_due = limits.every_months.is_some_and(|months| is_due(last.as_ref(), months, of.on));
            never += usize::from(last.is_none());
            over += usize::from(is_over);
            due += usize::from(is_due);
            let state = [is_over.then_some("over the limit"), is_due.then_some("due")].into_iter().flatten();
            let said: Vec<String> = of.own_mark(&stocked.piece).into_iter().chain(state.map(str::to_owned)).collect();
            let of_last = |of: fn(&Last) -> Option<f64>| Cell::known(last.as_ref().and_then(of), Cell::figure);
            let words = |of: fn(&Last) -> Option<String>| Cell::known(last.as_ref().and_then(of), Cell::Text);
            let mut row = vec![
                Cell::text(&stocked.piece),
                Cell::known(last.as_ref(), |last| Cell::power(last.power)),
                Cell::known(off, Cell::power),
                words(|last| last.on.map(|on| on.to_string())),
                Cell::Text(said.join(", ")),
                words(|last| last.by.clone()),
                words(|last| last.instrument.clone()),
                of_last(|last| last.axis_off_deg),
                of_last(|last| last.prism),
            ];
            row.resize(columns.len(), Cell::Empty);
            rows.push(row);
        }
        if !rows.is_empty() {
            groups.push(Group { name: name.to_owned(), rows });
        }
    }
    let Limits { within, every_months } = limits;
    let within = match within {
        Some(within) => format!(
            "The keeper's limit is {within} D off the mark: {} over it.",
            counted(over, "piece is", "pieces are")
        ),
        None => "No limit of the keeper's was set, so none is over one.".to_owned(),
    };
    let every = match every_months {
        Some(months) => format!(
            "Each is to be measured every {}: {} due.",
            counted(months.into(), "month", "months"),
            counted(due, "piece is", "pieces are")
        ),
        None => "No interval of the keeper's was set, so none is due.".to_owned(),
    };
    let notes = vec![
        within,
        every,
        format!("{} never measured, as far as is noted.", counted(never, "piece was", "pieces were")),
        format!("{} not there now and not listed.", counted(away, "piece is", "pieces are")),
        "What a piece was measured to be goes on being used; its mark is not.".to_owned(),
    ];
    Table {
        groups_are: Some("row"),
        groups,
        nothing: "No lens with a power is there.",
        notes,
        signed_by: vec!["measured by"],
        ..of.sheet("Verification of the lenses", &columns)
    }
}

/// What was last measured: what was noted, or else what the file of the box says.
fn last(of: &OfBox<'_>, stocked: &StockedPiece) -> Option<Last> {
    let noted = of.record.last_measured(&stocked.piece).map(|at| {
        let measurement = at.measurement;
        Last {
            power: measurement.power,
            on: Some(measurement.on.unwrap_or_else(|| of.day(at.at))),
            by: at.by,
            instrument: measurement.instrument,
            axis_off_deg: measurement.axis_off_deg,
            prism: measurement.prism,
        }
    });
    noted.or_else(|| {
        let in_file = |power| Last { power, on: None, by: None, instrument: None, axis_off_deg: None, prism: None };
        stocked.measured.map(in_file)
    })
}

/// Whether a piece is to be measured on this day: never measured, nobody knows when, or so many months ago.
fn is_due(last: Option<&Last>, months: u16, on: Date) -> bool {
    let measured = last.and_then(|last| last.on);
    measured.is_none_or(|measured| measured.checked_add(i64::from(months).months()).is_ok_and(|due| due <= on))
}
