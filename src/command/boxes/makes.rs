//! What the commands about what a box makes have in common: the box with its frame, and the people.

use std::path::{Path, PathBuf};

use anyhow::bail;
use clap::Args;

use crate::command::files::{self, BoxAsItIs, known_box, logbook_to_read};
use crate::command::{Context, values};
use crate::keeping::{Cells, Holdings, People, Shares, Wanted};
use crate::kit::document::load::read_text;
use crate::logbook::NamedBox;

/// The largest table of people that is read, in bytes.
const LARGEST_TABLE: u64 = 10 << 20;

/// The word for the box's own exams in place of a table.
const EXAMS: &str = "exams";

/// The box, the frame and the people.
#[derive(Debug, Args)]
pub struct BoxFrameAndPeople {
    /// The box file; pieces that the logbook knows as lost or lent do not count.
    #[arg(long = "box", value_name = "FILE", value_parser = values::path())]
    pub file: PathBuf,
    /// The frame file; without it, the four-cell frame that comes with the program.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    frame: Option<PathBuf>,
    /// Whose prescriptions count: a CSV file with a head that names sphere, cylinder and, if a row stands for several, eyes; or
    /// the word exams, for what was written in the exams with this box. Without it, the public table that comes with the program.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    people: Option<PathBuf>,
}

/// What these say, read.
pub struct KnownBoxAndPeople {
    /// The box as it is now.
    pub known: BoxAsItIs,
    /// Its lenses that may be stacked.
    pub holdings: Holdings,
    /// Where these may stand.
    pub cells: Cells,
    /// The frame's name.
    pub frame_name: String,
    /// Whose prescriptions count.
    pub people: People,
    /// How these are called.
    pub people_name: String,
}

impl BoxFrameAndPeople {
    /// Reads them.
    pub fn read(&self, context: &Context) -> anyhow::Result<KnownBoxAndPeople> {
        let known = known_box(context, &self.file)?;
        let frame = files::frame(self.frame.as_deref())?;
        let holdings = Holdings::of(&known.stock);
        let cells = Cells::of(&frame, known.stock.form);
        let (people, people_name) = match self.people.as_deref() {
            None => (People::counted(), "the public table".to_owned()),
            Some(word) if word == Path::new(EXAMS) => {
                (of_exams(context, &known.named)?, format!("the exams with {}", known.stock.box_name))
            }
            Some(file) => (table(file)?, file.display().to_string()),
        };
        Ok(KnownBoxAndPeople { known, holdings, cells, frame_name: frame.name, people, people_name })
    }
}

fn table(file: &Path) -> anyhow::Result<People> {
    let text = read_text(file, LARGEST_TABLE)?;
    People::parse(&text).map_err(|faults| {
        let lines: Vec<String> = faults.iter().map(|fault| format!("{}:{fault}", file.display())).collect();
        anyhow::anyhow!(lines.join("\n"))
    })
}

/// What was written for each eye in the exams with a box.
fn of_exams(context: &Context, in_box: &NamedBox) -> anyhow::Result<People> {
    let mut rows = Vec::new();
    if let Some(logbook) = logbook_to_read(context)? {
        for exam in logbook.exams()?.exams {
            if logbook.is_same_box(&exam.in_box.key, &in_box.key)? {
                let written = exam.found.map(|found| found.written).unwrap_or_default();
                rows.extend(
                    written.iter().filter_map(|(_, rx)| *rx).map(|rx| (Wanted::of(rx.sphere, rx.cylinder), 1.0)),
                );
            }
        }
    }
    if rows.is_empty() {
        bail!("no exam with the box {} has a prescription yet: leave --people out, or name a table", in_box.name);
    }
    Ok(People::of(rows))
}

/// A share as people read it.
pub fn percent(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}

/// The shares with 1 to 4 lenses and their mean, as cells of a row.
pub fn share_cells(shares: &Shares) -> Vec<String> {
    let mean = shares.mean.map_or_else(|| "-".to_owned(), |mean| format!("{mean:.2}"));
    shares.with_at_most.iter().map(|share| percent(*share)).chain([mean]).collect()
}
