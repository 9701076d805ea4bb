//! `dioptray boxes`: every box that the logbook knows.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use crate::command::files::logbook_to_read;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome};
use crate::kit::document::fault::counted;
use crate::kit::read_box;
#[cfg(feature = "room")]
use crate::logbook::Logbook;
use crate::logbook::OfBag;
use crate::session::known::named;

/// The arguments of `dioptray boxes`.
#[derive(Debug, Args)]
#[command(after_help = format!("Example:\n  dioptray boxes\n\n{CAUTION}"))]
pub struct AllBoxes {}

#[derive(Serialize)]
struct BoxesJson {
    boxes: Vec<BoxJson>,
}

#[derive(Serialize)]
struct BoxJson {
    r#box: String,
    id: Option<String>,
    file: Option<PathBuf>,
    /// Pieces of the set now, none of a bag that is back; null where its file cannot be read or is of another box now.
    pieces: Option<usize>,
    /// For a bag that is back, the box that its pieces are in.
    #[serde(skip_serializing_if = "Option::is_none")]
    back_in: Option<String>,
    /// Pieces of which seats say different things.
    #[serde(skip_serializing_if = "is_zero")]
    unsettled: usize,
    /// The seats that alone change the box.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    handed_over_to: Vec<String>,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands it over so")]
fn is_zero(count: &usize) -> bool {
    *count == 0
}

impl AllBoxes {
    /// Lists.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let Self {} = self;
        let mut boxes = Vec::new();
        if let Some(logbook) = logbook_to_read(context)? {
            for (known, file) in logbook.boxes()? {
                let declared = file.as_deref().and_then(|file| read_box(file).ok());
                let back_in = logbook.bag(&known.key)?.filter(OfBag::is_back).map(|bag| bag.home.name);
                let (mut unsettled, mut handed_over_to) = (0, Vec::new());
                let pieces = match declared {
                    _ if back_in.is_some() => Some(0),
                    Some(declared) if logbook.is_same_box(&named(&declared).key, &known.key)? => {
                        let record = logbook.stock_of(&known.key, &declared)?;
                        let handed = record.handed_over().into_iter().flat_map(|handed| handed.to);
                        handed_over_to = handed.map(|seat| seat.to_string()).collect();
                        unsettled = record.unsettled().len();
                        Some(record.stock.pieces().iter().filter(|stocked| !stocked.place.has_left_the_set()).count())
                    }
                    Some(_) | None => None,
                };
                let id = known.key.is_id().then(|| known.key.to_string());
                boxes.push(BoxJson { r#box: known.name, id, file, pieces, back_in, unsettled, handed_over_to });
            }
        }
        if context.json {
            write_line(out, &BoxesJson { boxes })?;
            return Ok(Outcome::Done);
        }
        if boxes.is_empty() {
            writeln!(out, "the logbook knows no box yet")?;
        }
        for BoxJson { r#box, id, file, pieces, back_in, unsettled, handed_over_to } in &boxes {
            let id = id.as_ref().map_or_else(|| "no id".to_owned(), |id| format!("id {id}"));
            let pieces = match (back_in, pieces) {
                (Some(home), _) => format!("a bag that is back in {home}"),
                (None, Some(pieces)) => counted(*pieces, "piece", "pieces"),
                (None, None) => "its file cannot be read".to_owned(),
            };
            let file = file.as_ref().map(|file| format!(", {}", file.display())).unwrap_or_default();
            let open = if *unsettled > 0 { format!(", {unsettled} unsettled") } else { String::new() };
            let handed = if handed_over_to.is_empty() {
                String::new()
            } else {
                format!(", handed over to {}", handed_over_to.join(" and "))
            };
            writeln!(out, "{box}: {id}, {pieces}{open}{handed}{file}")?;
        }
        Ok(Outcome::Done)
    }
}

/// How many lenses of all boxes whose files can be read seats say different things of.
#[cfg(feature = "room")]
pub fn unsettled_of_all(logbook: &Logbook) -> anyhow::Result<usize> {
    let mut unsettled = 0;
    for (known, file) in logbook.boxes()? {
        let Some(declared) = file.as_deref().and_then(|file| read_box(file).ok()) else { continue };
        if logbook.is_same_box(&named(&declared).key, &known.key)? {
            unsettled += logbook.stock_of(&known.key, &declared)?.unsettled().len();
        }
    }
    Ok(unsettled)
}
