//! `dioptray room settle`: somebody has looked at a lens that was counted at two seats.

use std::io::Write;

use anyhow::bail;
use clap::Args;
use serde::Serialize;

use crate::command::files::{logbook_path, settings_folder as folder};
use crate::command::{CAUTION, Context, Outcome};
use crate::room::calls::{CountedTwice, settle_counted};
use crate::room::joining::Caller;
use crate::room::times::rfc_3339;

/// The arguments of `dioptray room settle`.
#[derive(Debug, Args)]
#[command(after_help = format!("{SETTLE}\n\n{CAUTION}"))]
pub struct Settle {
    /// The number before the line.
    #[arg(value_name = "N")]
    number: i64,
}

const SETTLE: &str = "Example:
  dioptray room settle 3

Two seats had one piece in a hand at one moment: there is a lens more than the box's file says, or one of them is not what it was taken \
for. Count them, note what you find of the box, then say so here; `dioptray room` lists what is left.";

impl Settle {
    /// Says so to the room.
    pub fn run(&self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let caller = Caller::of(&logbook_path(context)?, folder())?;
        let (link, _) = caller.connect()?;
        if !settle_counted(&link, caller.writer, self.number)? {
            bail!("there is no line {} to settle: `dioptray room` lists them", self.number);
        }
        writeln!(out, "{} is settled", self.number)?;
        Ok(Outcome::Done)
    }
}

/// A lens that was counted at two seats, in JSON.
#[derive(Debug, Serialize)]
pub struct CountedTwiceJson {
    number: i64,
    at: Option<String>,
    #[serde(rename = "box")]
    in_box: String,
    lens: String,
    seats: [String; 2],
}

impl From<CountedTwice> for CountedTwiceJson {
    fn from(twice: CountedTwice) -> Self {
        let CountedTwice { number, at_s, in_box, lens, seats } = twice;
        Self { number, at: rfc_3339(at_s), in_box, lens, seats }
    }
}

impl CountedTwiceJson {
    /// In a sentence.
    pub fn in_words(&self) -> String {
        let Self { number, at, in_box, lens, seats: [one, other] } = self;
        let at = at.as_deref().unwrap_or("some time");
        format!(
            "{number}: {lens} of {in_box} was counted at {one} and at {other}, {at}: count them, then `dioptray room settle {number}`"
        )
    }
}
