//! `dioptray box list`: every lens of a box and where its pieces are.

use std::io::Write;

use clap::Args;
use serde::Serialize;

use crate::command::files::{BoxAsItIs, logbook_to_read};
use crate::command::json::write_line;
use crate::command::which_box::WhichBox;
use crate::command::{CAUTION, Context, Outcome};
use crate::kit::document::fault::counted;
use crate::kit::stock::LensCount;
use crate::kit::{Lens, Piece, Place, Stock, Tray};
use crate::logbook::{BeforeAnEye, NamedBox};

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
        place_what_is_in_frames(context, &named, &mut stock)?;
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
        if context.json {
            write_line(out, &LensesJson { r#box: &stock.box_name, lenses: &lenses, marked })?;
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
fn place_what_is_in_frames(context: &Context, named: &NamedBox, stock: &mut Stock) -> anyhow::Result<()> {
    let Some(logbook) = logbook_to_read(context)? else { return Ok(()) };
    for BeforeAnEye { piece, place, .. } in logbook.before_eyes(&named.key)? {
        let free = stock.get(&piece).is_some_and(|now| now.place == Place::Box);
        // of two open exams with something in one cell, the later one is in the frame
        if free && stock.at(&place).is_none() {
            stock.place(&piece, place)?;
        }
    }
    Ok(())
}
