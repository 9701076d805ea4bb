//! `dioptray box list`: every lens of a box and where its pieces are.

use std::io::Write;

use clap::Args;
use serde::Serialize;

use super::settle::UnsettledJson;
use crate::command::files::{BoxAsItIs, logbook_to_read};
use crate::command::json::write_line;
use crate::command::which_box::WhichBox;
use crate::command::{CAUTION, Context, Outcome};
use crate::kit::document::fault::counted;
use crate::kit::stock::LensCount;
use crate::kit::{Lens, Piece, Place, Stock, StockedPiece, Tray};
use crate::logbook::{BeforeAnEye, NamedBox, StockOnRecord};

/// The arguments of `dioptray box list`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct List {
    #[command(flatten)]
    which: WhichBox,
    /// The rows of the tray, each with its lenses, in place of the lenses one by one.
    #[arg(long)]
    rows: bool,
}

const EXAMPLES: &str = "Example:
  dioptray box list --box kits/boxes/outreach.yaml

A lens in the frame of an exam that is still open counts as in the frame.";

#[derive(Serialize)]
struct LensesJson<'a> {
    r#box: &'a str,
    lenses: &'a [LensCount],
    /// Pieces that are marked by whoever keeps the box.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    marked: Vec<MarkedJson<'a>>,
    /// Pieces that are away as another seat noted.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    noted_elsewhere: Vec<NotedJson<'a>>,
    /// Pieces of which seats say different things.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    unsettled: Vec<UnsettledJson<'a>>,
    /// The seats that alone change the box.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    handed_over_to: Vec<String>,
}

#[derive(Serialize)]
struct NotedJson<'a> {
    piece: &'a Piece,
    place: String,
    noted_at: String,
}

#[derive(Serialize)]
struct MarkedJson<'a> {
    piece: &'a Piece,
    mark: &'a str,
}

impl List {
    /// Lists.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let BoxAsItIs { named, declared, mut stock, record, .. } = self.which.read(context)?;
        place_what_is_in_frames(context, &named, &record, &mut stock)?;
        if self.rows {
            return rows(context, &Tray::of(&declared.tray, &stock), &stock, out);
        }
        let lenses = stock.counts();
        let marks = record.own_marks();
        let of_the_set = stock.pieces().iter().filter(|stocked| !stocked.place.has_left_the_set());
        let marked = of_the_set.filter_map(|stocked| {
            marks.of_piece(&stocked.piece).map(|mark| MarkedJson { piece: &stocked.piece, mark })
        });
        let marked: Vec<MarkedJson<'_>> = marked.collect();
        let unsettled = record.unsettled();
        let handed_over_to: Vec<String> =
            record.handed_over().into_iter().flat_map(|handed| handed.to).map(|seat| seat.to_string()).collect();
        let away = record.stock.pieces().iter().filter(|stocked| !stocked.place.is_at_hand());
        let noted_elsewhere = away.filter(|stocked| !stocked.place.is_in_two_places()).filter_map(|stocked| {
            let noted_at = record.place_noted_at(&stocked.piece)?.to_string();
            Some(NotedJson { piece: &stocked.piece, place: stocked.place.to_string(), noted_at })
        });
        let noted_elsewhere: Vec<NotedJson<'_>> = noted_elsewhere.collect();
        if context.json {
            let unsettled = unsettled.iter().map(UnsettledJson::of).collect();
            let (r#box, lenses) = (stock.box_name.as_str(), lenses.as_slice());
            write_line(out, &LensesJson { r#box, lenses, marked, noted_elsewhere, unsettled, handed_over_to })?;
            return Ok(Outcome::Done);
        }
        writeln!(out, "{}", stock.box_name)?;
        let widest = lenses.iter().map(|count| count.lens.to_string().chars().count()).max().unwrap_or(0);
        writeln!(out, "{:widest$}  should be  free  lost  lent  damaged  in frame", "")?;
        for count in &lenses {
            let LensCount { lens, declared, free, lost, lent, damaged, in_frame, in_two_places: _ } = count;
            writeln!(
                out,
                "{lens:widest$}  {declared:>9}  {free:>4}  {lost:>4}  {lent:>4}  {damaged:>7}  {in_frame:>8}"
            )?;
        }
        for MarkedJson { piece, mark } in &marked {
            writeln!(out, "{piece} is marked: {mark}")?;
        }
        for NotedJson { piece, place, noted_at } in &noted_elsewhere {
            writeln!(out, "{piece}: {place}, noted at {noted_at}")?;
        }
        unsettled.iter().try_for_each(|one| writeln!(out, "unsettled: {}", one.in_words()))?;
        if !handed_over_to.is_empty() {
            writeln!(out, "handed over to {}", handed_over_to.join(" and "))?;
        }
        Ok(Outcome::Done)
    }
}

#[derive(Serialize)]
struct RowsJson<'a> {
    r#box: &'a str,
    rows: Vec<RowJson<'a>>,
}

#[derive(Serialize)]
struct RowJson<'a> {
    row: &'a str,
    pieces: usize,
    lenses: &'a [Lens],
}

/// Lists the rows of the tray.
fn rows(context: &Context, tray: &Tray, stock: &Stock, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    let pieces_of = |lens: &Lens| stock.of_lens(lens).filter(|stocked| !stocked.place.has_left_the_set()).count();
    let pieces = |lenses: &[Lens]| lenses.iter().map(pieces_of).sum();
    let row = |row: &'_ crate::kit::TrayRow| (row.name.clone(), pieces(&row.lenses), row.lenses.clone());
    let rows: Vec<(String, usize, Vec<Lens>)> = tray.rows.iter().map(row).collect();
    if context.json {
        let rows = rows.iter().map(|(row, pieces, lenses)| RowJson { row, pieces: *pieces, lenses }).collect();
        write_line(out, &RowsJson { r#box: &stock.box_name, rows })?;
        return Ok(Outcome::Done);
    }
    writeln!(out, "{}", stock.box_name)?;
    for (name, pieces, lenses) in &rows {
        let lenses: Vec<String> = lenses.iter().map(ToString::to_string).collect();
        writeln!(out, "row {name}: {}: {}", counted(*pieces, "piece", "pieces"), lenses.join(", "))?;
    }
    Ok(Outcome::Done)
}

/// Puts the pieces that stand before an eye in an exam that is still open where they are.
fn place_what_is_in_frames(
    context: &Context,
    named: &NamedBox,
    record: &StockOnRecord,
    stock: &mut Stock,
) -> anyhow::Result<()> {
    let Some(logbook) = logbook_to_read(context)? else { return Ok(()) };
    for BeforeAnEye { piece, place, .. } in logbook.before_eyes(&named.key)? {
        // what is there is there, whatever other seats noted of it
        if let Some(noted) = stock.get(&piece).cloned()
            && (noted.place.is_in_two_places() || record.place_noted_at(&piece).is_some())
        {
            stock.put_back(&StockedPiece { place: Place::Box, ..noted })?;
        }
        let free = stock.get(&piece).is_some_and(|now| now.place == Place::Box);
        // of two open exams with something in one cell, the later one is in the frame
        if free && stock.at(&place).is_none() {
            stock.place(&piece, place)?;
        }
    }
    Ok(())
}
