//! One page for the next keeper: what the box is, what is the matter with it, what it makes, how to go on.

use super::of_box::{OfBox, whereabouts};
use crate::export::table::{Cell, ColumnKind, Group, Table, column};
use crate::keeping::Shares;
use crate::kit::document::fault::counted;
use crate::kit::{Place, StockedPiece};

/// What the page says beside what the logbook knows.
#[derive(Debug, Clone, Copy)]
pub struct Handover<'a> {
    /// The file of the box.
    pub file: &'a str,
    /// What it makes for one eye, and for both alike; of whom, in words.
    pub makes: (Shares, Shares, &'a str),
}

/// What the next keeper types most, and what for.
const COMMANDS: [(&str, &str); 9] = [
    ("what is there", "box list"),
    ("a lens is lost, lent, back, damaged", "box change"),
    ("who has what", "box sheet loans"),
    ("count it", "box sheet stock-take"),
    ("measure it", "box sheet verify"),
    ("what to buy", "box sheet order"),
    ("pack a bag", "box pack"),
    ("what happened, and that was a slip", "box history"),
    ("everything else", "help box"),
];

/// The page.
pub fn keeper(of: &OfBox<'_>, handover: Handover<'_>) -> Table {
    let columns = [column("what", ColumnKind::Words), column("how it is", ColumnKind::LongWords)];
    let row = |what: &str, says: String| vec![Cell::text(what), Cell::Text(says)];
    let stock = &of.record.stock;
    let of_the_set: Vec<&StockedPiece> =
        stock.pieces().iter().filter(|stocked| !stocked.place.has_left_the_set()).collect();
    let list = |is: &dyn Fn(&StockedPiece) -> bool, says: &dyn Fn(&StockedPiece) -> Option<String>| {
        let meant = of_the_set.iter().filter(|stocked| is(stocked));
        let rows = meant.map(|stocked| row(&stocked.piece.to_string(), says(stocked).unwrap_or_default()));
        rows.collect::<Vec<_>>()
    };
    let remark = |stocked: &StockedPiece| Some(of.remark(&stocked.piece));
    let since = |stocked: &StockedPiece| {
        let last = of
            .record
            .history_of(&stocked.piece)
            .into_iter()
            .rev()
            .find(|line| line.slip.is_none() && line.event == "lost");
        Some(last.map_or_else(|| "as the file says".to_owned(), |line| format!("since {}", of.day(line.at))))
    };
    let loan = |stocked: &StockedPiece| {
        let until = of.record.loan_of(&stocked.piece, of.on).and_then(|loan| {
            let late = if loan.overdue { ", overdue" } else { "" };
            loan.until.map(|until| format!(" until {until}{late}"))
        });
        whereabouts(&stocked.place).map(|lent| format!("{lent}{}", until.unwrap_or_default()))
    };
    let at_hand = of_the_set.iter().filter(|stocked| stocked.place.is_at_hand()).count();
    let counted_last = match of.record.last_stock_take() {
        Some((at, count)) => format!("{}, {}", of.day(at), counted(count.len(), "lens", "lenses")),
        None => "never, as far as is noted".to_owned(),
    };
    let the_box = vec![
        row("name", stock.box_name.clone()),
        row("id", stock.box_id.clone().unwrap_or_else(|| "none: `dioptray box id` gives it one".to_owned())),
        row("file", handover.file.to_owned()),
        row("pieces", format!("{} of the set, {at_hand} of them at hand", of_the_set.len())),
        row("rows of the tray", of.tray.rows.len().to_string()),
        row("last counted", counted_last),
    ];
    let (one_eye, both, of_whom) = handover.makes;
    let shares = |shares: Shares| {
        let with = (1..).zip(shares.with_at_most).map(|(lenses, share)| format!("{lenses}: {:.1} %", 100.0 * share));
        with.collect::<Vec<_>>().join(", ")
    };
    let makes = vec![row("one eye", shares(one_eye)), row("both eyes alike", shares(both))];
    let commands = COMMANDS.map(|(what, command)| row(what, format!("dioptray {command}"))).into();
    let groups: [(&str, Vec<Vec<Cell>>); 7] = [
        ("The box", the_box),
        ("Lost", list(&|stocked| stocked.place == Place::Lost, &since)),
        ("Lent", list(&|stocked| stocked.place.is_lent(), &loan)),
        ("Damaged", list(&|stocked| stocked.damaged, &remark)),
        ("Off its mark", list(&|stocked| stocked.measured.is_some(), &remark)),
        ("What it makes, with at most so many lenses an eye", makes),
        ("How to go on", commands),
    ];
    let none: Vec<String> =
        groups.iter().filter(|(_, rows)| rows.is_empty()).map(|(name, _)| name.to_lowercase()).collect();
    let mut notes = vec![format!("Made: of the prescriptions of {of_whom}.")];
    if !none.is_empty() {
        notes.insert(0, format!("Nothing is {}.", crate::kit::document::fault::choice(&none)));
    }
    notes
        .push("The logbook knows more than the file: hand over both, or `dioptray box write` a fresh file.".to_owned());
    let groups = groups.into_iter().filter(|(_, rows)| !rows.is_empty());
    Table {
        groups_are: Some("part"),
        groups: groups.map(|(name, rows)| Group { name: name.to_owned(), rows }).collect(),
        notes,
        signed_by: vec!["handed over by", "taken over by"],
        ..of.sheet("For the next keeper", &columns)
    }
}
