//! `dioptray room take-over`: an exam that is open at another seat goes on here.

use std::io::Write;

use anyhow::bail;
use clap::Args;

use crate::command::files::{logbook_path, settings_folder as folder};
use crate::command::start::Start;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::exam::Event;
use crate::room::joining::Caller;
use crate::room::watching::take_over;

/// The arguments of `dioptray room take-over`.
#[derive(Debug, Args)]
#[command(after_help = format!("{TAKE_OVER}\n\n{CAUTION}"))]
pub struct TakeOver {
    /// The seat at which the exam is open.
    #[arg(value_name = "SEAT", value_parser = values::text())]
    seat: String,
    #[command(flatten)]
    start: Start,
}

const TAKE_OVER: &str = "Example:
  dioptray room take-over lane3 --box kits/boxes/clinic.yaml

Everything that was done there stands here as one step of a new exam, which says whence it comes: its lenses in their cells, what was \
found and noted. Look at the frame before you go on: what is in your cells has to be what stands on the screen. The other seat is told; where \
it goes on too there are two exams, and nothing of one gets into the other. The box and the frame here have to be those of the exam.";

impl TakeOver {
    /// Opens the screen on the exam.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let caller = Caller::of(&logbook_path(context)?, folder())?;
        let (link, _) = caller.connect()?;
        let Some(mut there) = take_over(&link, caller.writer, &self.seat)? else {
            bail!("no exam is open at {}: `dioptray room` lists the seats", self.seat);
        };
        let exam = there.as_it_stands(&link)?;
        let mut first: Vec<Event> = exam.standing_steps().iter().flatten().cloned().collect();
        first.push(Event::Note(format!("begun at {} as exam {}, taken over here", there.seat, there.number)));
        drop(link);
        self.start.run_new(first, context, out)
    }
}
