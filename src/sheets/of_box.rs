//! The box that a sheet is of, and what every sheet has.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::exam::cautions;
use crate::export::table::{Column, Table};
use crate::kit::{Lens, OwnMarks, Piece, Place, StockedPiece, Tray};
use crate::logbook::StockOnRecord;

/// A box with all that was noted of it, on a day.
pub struct OfBox<'a> {
    /// Its pieces, and what was noted.
    pub record: &'a StockOnRecord,
    /// How its pieces are marked by their keeper.
    pub own_marks: OwnMarks,
    /// Its rows.
    pub tray: &'a Tray,
    /// The day of the sheet, by which it is judged what is overdue or due.
    pub on: Date,
    /// Where days begin.
    pub zone: TimeZone,
}

impl OfBox<'_> {
    /// The day of a moment.
    pub fn day(&self, at: Timestamp) -> Date {
        at.to_zoned_datetime(self.zone.clone()).date()
    }

    /// A sheet of this box without rows.
    pub(super) fn sheet(&self, title: &str, columns: &[Column]) -> Table {
        Table {
            title: title.to_owned(),
            about: vec![self.record.stock.box_name.clone(), self.on.to_string()],
            groups_are: None,
            columns: columns.to_vec(),
            groups: Vec::new(),
            nothing: "There is nothing to list.",
            notes: Vec::new(),
            across: None,
            signed_by: Vec::new(),
            caution: cautions::IN_HELP,
        }
    }

    /// The pieces of the set, row by row as they lie.
    pub(super) fn rows(&self) -> impl Iterator<Item = (&str, Vec<&StockedPiece>)> {
        let stock = &self.record.stock;
        let of_lens =
            |lens: &Lens| stock.of_lens(lens).filter(|stocked| !stocked.place.has_left_the_set()).collect::<Vec<_>>();
        self.tray.rows.iter().map(move |row| (row.name.as_str(), row.lenses.iter().flat_map(of_lens).collect()))
    }

    /// How a piece is marked by its keeper.
    pub(super) fn own_mark(&self, piece: &Piece) -> Option<String> {
        self.own_marks.of_piece(piece).map(str::to_owned)
    }

    /// What has to be known of a piece that is taken: how it is marked, that it is damaged, or off its mark.
    pub(super) fn remark(&self, piece: &Piece) -> String {
        let Some(stocked) = self.record.stock.get(piece) else { return String::new() };
        let own_mark = self.own_mark(piece);
        let damage = stocked.damaged.then(|| match self.record.known_of(piece, self.on).damage {
            Some(what) => format!("damaged: {what}"),
            None => "damaged".to_owned(),
        });
        let off = stocked.measured.map(|power| {
            let off = power - stocked.marked_power().0;
            format!("measured {power:+.2}, {off:+.2} off its mark")
        });
        own_mark.into_iter().chain(damage).chain(off).collect::<Vec<_>>().join("; ")
    }
}

/// Where a piece is, in words for a sheet; nothing for one in the box.
pub(super) fn whereabouts(place: &Place) -> Option<String> {
    match place {
        Place::Box => None,
        Place::Cell { .. } | Place::Hand { .. } => Some("in a trial frame".to_owned()),
        Place::Lost => Some("lost".to_owned()),
        Place::Lent { to: Some(to) } => Some(format!("lent to {to}")),
        Place::Lent { to: None } => Some("lent".to_owned()),
        Place::Retired => Some("taken out of the set".to_owned()),
        Place::Moved { .. } => Some("in another box".to_owned()),
        Place::InTwoPlaces => Some("in two places, not settled".to_owned()),
    }
}
