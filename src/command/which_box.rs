//! The box that a command is about: the one that was named, or the one used last.

use std::path::PathBuf;

use clap::Args;
use clap::error::ErrorKind;

use super::context::WrongUsage;
use super::files::{BoxAsItIs, known_box, logbook_to_read};
use super::{Context, values};

/// Which box.
#[derive(Debug, Args)]
pub struct WhichBox {
    /// The box file; without it, the box that was used last.
    #[arg(long = "box", value_name = "FILE", value_parser = values::path())]
    file: Option<PathBuf>,
}

impl WhichBox {
    /// The file, and whether it was named.
    ///
    /// # Errors
    /// When none was named and none was used before.
    pub fn file(&self, context: &Context) -> anyhow::Result<(PathBuf, bool)> {
        if let Some(file) = &self.file {
            return Ok((file.clone(), true));
        }
        let last = logbook_to_read(context)?.map(|logbook| logbook.last_used()).transpose()?;
        if let Some(file) = last.and_then(|used| used.box_file) {
            return Ok((file, false));
        }
        let message = "no box has been used yet: name one with --box FILE".to_owned();
        Err(WrongUsage { kind: ErrorKind::MissingRequiredArgument, message }.into())
    }

    /// The box as it is now.
    ///
    /// # Errors
    /// When none was named and none was used before, its file has faults, or the logbook cannot be read.
    pub fn read(&self, context: &Context) -> anyhow::Result<BoxAsItIs> {
        let (file, _) = self.file(context)?;
        known_box(context, &file)
    }
}
