//! `dioptray box rename`: another name for a box, and what is known of it with it.

use std::io::Write;
use std::path::PathBuf;

use anyhow::{anyhow, bail};
use clap::Args;
use serde::Serialize;

use super::asked::in_one_line;
use crate::command::files::logbook_path;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::export::saving::{Existing, save};
use crate::kit::document::Faults;
use crate::kit::document::load::{LARGEST_FILE, from_anywhere, is_only_shipped, name_of, read_text};
use crate::kit::document::name::LONGEST_NAME;
use crate::kit::file::with_name;
use crate::kit::{parse_box, read_box};
use crate::logbook::{Logbook, NamedBox};
use crate::session::known::{named, note_file};

/// The arguments of `dioptray box rename`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Rename {
    /// The box file; the line of its name is written, and the rest stays byte for byte.
    #[arg(value_name = "FILE", value_parser = values::path())]
    file: PathBuf,
    /// The new name.
    #[arg(value_name = "NAME", value_parser = values::text())]
    name: String,
}

const EXAMPLES: &str = "Example:
  dioptray box rename box.yaml \"Hillside, second bag\"

What the logbook knows of the box stays with it: by its id, or, where it has none, carried over to the new name.";

#[derive(Serialize)]
struct RenamedJson<'a> {
    was: &'a str,
    r#box: &'a str,
    id: Option<&'a str>,
}

impl Rename {
    /// Renames it.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let name = in_one_line("NAME", &self.name, LONGEST_NAME)?;
        if is_only_shipped(&self.file) && read_box(&self.file).is_ok() {
            let what = "this box comes with the program and cannot be written: copy its file, and name the copy";
            bail!("{}: {what}", self.file.display());
        }
        let text = read_text(&self.file, LARGEST_FILE).map_err(Faults::from)?;
        let declared = parse_box(&name_of(&self.file), &text)?;
        if declared.name == name {
            bail!("{}: the box is called {name} already", self.file.display());
        }
        let new = with_name(&text, &name).ok_or_else(|| {
            let file = self.file.display();
            anyhow!("{file}: the name cannot be changed in a file of this shape: write `box: {name}` into it")
        })?;
        let (was, is) = (named(&declared), NamedBox::new(declared.id.as_deref(), &name));
        let path = logbook_path(context)?;
        // a logbook is not made for this
        let mut logbook = if path.exists() { Some(Logbook::open(&path)?) } else { None };
        if let Some(logbook) = &mut logbook {
            logbook.adopt_box(&was.key, &is.key)?;
        }
        save(&self.file, new.as_bytes(), Existing::IsReplaced)?;
        if let Some(logbook) = &mut logbook
            && logbook.knows_box(&is.key)?
        {
            note_file(logbook, &is, &from_anywhere(&self.file)?)?;
        }
        if context.json {
            write_line(out, &RenamedJson { was: &declared.name, r#box: &name, id: declared.id.as_deref() })?;
        } else {
            writeln!(out, "{}: {} is now {name}", self.file.display(), declared.name)?;
        }
        Ok(Outcome::Done)
    }
}
