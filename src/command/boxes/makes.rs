//! What the commands about what a box makes have in common: the box with its frame, and the people.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use anyhow::bail;
use clap::Args;
use indicatif::ProgressBar;
use serde::Serialize;

use super::sheet::SheetFaults;
use crate::command::files::{self, BoxAsItIs, logbook_to_read};
use crate::command::which_box::WhichBox;
use crate::command::{Context, values};
use crate::keeping::{
    Asked, BagFor, Cells, Holdings, MOST_LENSES_WEIGHED, People, Shares, SoFar, Wanted, percent, shares,
};
use crate::kit::document::Faults;
use crate::kit::document::load::read_text;
use crate::logbook::NamedBox;

/// The largest table of people that is read, in bytes.
const LARGEST_TABLE: u64 = 10 << 20;

/// The word for the box's own exams in place of a table.
const EXAMS: &str = "exams";

/// The box, the frame and the people.
#[derive(Debug, Args)]
pub struct BoxFrameAndPeople {
    #[command(flatten)]
    which: WhichBox,
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
        let known = self.which.read(context)?;
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
    let text = read_text(file, LARGEST_TABLE).map_err(Faults::from)?;
    People::parse(&text).map_err(|faults| {
        let mut said = SheetFaults::of_file(file);
        for fault in faults {
            said.add(fault.line, fault.message);
        }
        said.into()
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

/// For which share a choice of lenses is made.
#[derive(Debug, Args)]
pub struct Share {
    /// With at most so many lenses an eye.
    #[arg(long, value_name = "N", default_value_t = 2, value_parser = clap::value_parser!(u8).range(1..=MOST_LENSES_WEIGHED as i64))]
    lenses: u8,
    /// One eye, not the same prescription before both at once.
    #[arg(long)]
    one_eye: bool,
}

impl Share {
    /// What that asks of a choice.
    pub fn bag<'a>(&self, of: &'a KnownBoxAndPeople) -> BagFor<'a> {
        let asked = if self.one_eye { Asked::OneEye } else { Asked::BothEyes };
        BagFor { cells: &of.cells, people: &of.people, lenses: usize::from(self.lenses), asked }
    }

    /// The same in words, after a figure.
    pub fn in_words(&self) -> String {
        let eyes = if self.one_eye { "for one eye" } else { "both eyes alike" };
        let lenses = if self.lenses == 1 { "1 lens".to_owned() } else { format!("at most {} lenses", self.lenses) };
        format!("with {lenses}, {eyes}")
    }
}

/// The shares of people, as JSON has them.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct SharesJson {
    /// One eye, the whole box for it.
    pub one_eye: Shares,
    /// The same prescription before both eyes at once.
    pub both_eyes: Shares,
}

impl SharesJson {
    /// Those of some lenses.
    pub fn of(holdings: &Holdings, of: &KnownBoxAndPeople) -> Self {
        let (one_eye, both_eyes) = shares(holdings, &of.cells, &of.people);
        Self { one_eye, both_eyes }
    }
}

/// Rows of shares with 1 to 4 lenses and their mean.
pub fn write_shares(out: &mut dyn Write, of: &KnownBoxAndPeople, rows: &[(&str, Shares)]) -> io::Result<()> {
    writeln!(out, "of {} eyes of {}, with at most so many lenses an eye", of.people.count(), of.people_name)?;
    let write_row = |out: &mut dyn Write, name: &str, cells: &[String]| {
        write!(out, "{name:16}")?;
        cells.iter().try_for_each(|cell| write!(out, "{cell:>9}"))?;
        writeln!(out)
    };
    write_row(out, "", &["1", "2", "3", "4", "mean"].map(str::to_owned))?;
    for (name, shares) in rows {
        let mean = shares.mean.map_or_else(|| "-".to_owned(), |mean| format!("{mean:.2}"));
        let cells: Vec<String> = shares.with_at_most.iter().map(|share| percent(*share)).chain([mean]).collect();
        write_row(out, name, &cells)?;
    }
    Ok(())
}

/// How a search goes, on a terminal.
pub struct Waiting(ProgressBar);

impl Waiting {
    /// Nothing yet.
    pub fn new() -> Self {
        Self(ProgressBar::new_spinner())
    }

    /// How far it is.
    pub fn say(&self, so_far: SoFar) {
        self.0.set_message(format!("{} found, at most {}", percent(so_far.share), percent(so_far.bound)));
        self.0.tick();
    }

    /// It is over.
    pub fn end(&self) {
        self.0.finish_and_clear();
    }
}
