//! The box in which something is to be noted.

use std::io::{self, BufRead as _, IsTerminal as _, Write as _};

use anyhow::bail;
use clap::Args;
use clap::error::ErrorKind;
use jiff::Timestamp;

use crate::command::Context;
use crate::command::context::WrongUsage;
use crate::command::files::{BoxAsItIs, known_box, logbook_path, logbook_to_read, say};
use crate::command::which_box::WhichBox;
use crate::kit::document::load::from_anywhere;
use crate::logbook::{LastUsed, Logbook, LogbookError, OfBag};
use crate::session::known::note_file;

/// Which box, where something is to be noted of it.
#[derive(Debug, Args)]
pub struct BoxToNote {
    #[command(flatten)]
    which: WhichBox,
    /// Do it in the box that was used last without being asked.
    #[arg(long)]
    yes: bool,
}

impl BoxToNote {
    /// The box as it is now, where nothing is to be noted.
    ///
    /// # Errors
    /// As [`WhichBox::read`].
    pub fn to_look_at(&self, context: &Context) -> anyhow::Result<BoxAsItIs> {
        self.which.read(context)
    }

    /// The box as it is now, once it is sure that it is the one that is meant.
    ///
    /// # Errors
    /// As [`WhichBox::read`]; when it was not named and nobody says that it is meant.
    pub fn read(self, context: &Context) -> anyhow::Result<BoxAsItIs> {
        let (file, was_named) = self.which.file(context)?;
        let chosen = known_box(context, &file)?;
        if !was_named && !self.yes {
            ask_whether_meant(&chosen)?;
        }
        if let Some(logbook) = logbook_to_read(context)?
            && let Some(bag) = logbook.bag(&chosen.named.key)?.filter(OfBag::is_back)
        {
            return Err(LogbookError::BagIsBack { bag: chosen.named.name, home: bag.home.name }.into());
        }
        Ok(chosen)
    }
}

/// Asks whether the box that was used last is meant.
fn ask_whether_meant(chosen: &BoxAsItIs) -> anyhow::Result<()> {
    let (name, file) = (&chosen.named.name, chosen.file.display());
    if !io::stdin().is_terminal() {
        let message =
            format!("the box used last is {name} ({file}): name a box with --box FILE, or say --yes for this one");
        return Err(WrongUsage { kind: ErrorKind::MissingRequiredArgument, message }.into());
    }
    let mut asked = io::stderr();
    write!(asked, "In the box used last, {name} ({file})? [y/n] ")?;
    asked.flush()?;
    let mut answer = String::new();
    io::stdin().lock().read_line(&mut answer)?;
    if matches!(answer.trim(), "y" | "Y" | "yes") { Ok(()) } else { bail!("nothing was noted") }
}

/// The logbook, to write to, with this box as the one used last.
///
/// # Errors
/// When it cannot be opened or written.
pub fn open_logbook(known: &BoxAsItIs, context: &Context, now: Timestamp) -> anyhow::Result<Logbook> {
    let mut logbook = Logbook::open(&logbook_path(context)?)?;
    let file = from_anywhere(&known.file)?;
    say(note_file(&mut logbook, &known.named, &file)?.as_ref());
    logbook.remember_last_used(&LastUsed { box_file: Some(file), frame_file: None }, now)?;
    Ok(logbook)
}
