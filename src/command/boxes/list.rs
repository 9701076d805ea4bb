//! `dioptray box list`: every lens of a box and where its pieces are.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use crate::command::files::{BoxAsItIs, known_box, logbook_to_read};
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::kit::stock::LensCount;
use crate::kit::{Place, Stock};
use crate::logbook::NamedBox;

/// The arguments of `dioptray box list`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct List {
    /// The box file.
    #[arg(long = "box", value_name = "FILE", value_parser = values::path())]
    file: PathBuf,
}

const EXAMPLES: &str = "Example:
  dioptray box list --box kits/boxes/outreach.yaml

A lens in the frame of an exam that is still open counts as in the frame.";

#[derive(Serialize)]
struct LensesJson<'a> {
    r#box: &'a str,
    lenses: &'a [LensCount],
}

impl List {
    /// Lists.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let BoxAsItIs { named, mut stock, .. } = known_box(context, &self.file)?;
        place_what_is_in_frames(context, &named, &mut stock)?;
        let lenses = stock.counts();
        if context.json {
            write_line(out, &LensesJson { r#box: &stock.box_name, lenses: &lenses })?;
            return Ok(Outcome::Done);
        }
        writeln!(out, "{}", stock.box_name)?;
        let widest = lenses.iter().map(|count| count.lens.to_string().chars().count()).max().unwrap_or(0);
        writeln!(out, "{:widest$}  should be  free  lost  lent  damaged  in frame", "")?;
        for count in &lenses {
            let LensCount { lens, declared, free, lost, lent, damaged, in_frame } = count;
            writeln!(
                out,
                "{lens:widest$}  {declared:>9}  {free:>4}  {lost:>4}  {lent:>4}  {damaged:>7}  {in_frame:>8}"
            )?;
        }
        Ok(Outcome::Done)
    }
}

/// Puts the pieces that stand before an eye in an exam that is still open where they are.
fn place_what_is_in_frames(context: &Context, named: &NamedBox, stock: &mut Stock) -> anyhow::Result<()> {
    let Some(logbook) = logbook_to_read(context)? else {
        return Ok(());
    };
    for summary in logbook.open_exams()?.exams {
        if !logbook.is_same_box(&summary.in_box.key, &named.key)? {
            continue;
        }
        // one that cannot be read has nothing that can be shown in a frame
        let Ok(exam) = logbook.read_exam(summary.number) else { continue };
        for piece in exam.exam.state().fitted.stock.pieces().iter() {
            let in_frame = piece.place.is_before_an_eye();
            let free = stock.get(&piece.piece).is_some_and(|now| now.place == Place::Box);
            // of two open exams with something in one cell, the later one is in the frame
            if in_frame && free && stock.at(&piece.place).is_none() {
                stock.place(&piece.piece, piece.place.clone())?;
            }
        }
    }
    Ok(())
}
