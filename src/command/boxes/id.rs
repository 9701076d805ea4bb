//! `dioptray box id`: gives a box an identity of its own, and what is known under its name with it.

use std::io::Write;
use std::path::PathBuf;

use anyhow::{anyhow, bail};
use clap::Args;
use serde::Serialize;
use uuid::Uuid;

use crate::command::files::logbook_path;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::export::saving::{Existing, save};
use crate::kit::document::Faults;
use crate::kit::document::load::{LARGEST_FILE, is_only_shipped, name_of, read_text};
use crate::kit::document::name::{LONGEST_NAME, fresh_id, is_id};
use crate::kit::file::with_id;
use crate::kit::{parse_box, read_box};
use crate::logbook::{BoxKey, Logbook, NamedBox};
use crate::session::known::{known_by_name, named, note_file};

/// The arguments of `dioptray box id`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Id {
    /// The box file; a line `id: ID` is written into it, and the rest stays byte for byte.
    #[arg(value_name = "FILE", value_parser = values::path())]
    file: PathBuf,
    /// The identity: letters, digits and hyphens. Without it one is made from the name of the box.
    #[arg(value_name = "ID", value_parser = values::text())]
    wanted: Option<String>,
    /// Begin a record of its own: what the logbook knows under the name of the box is not carried over.
    #[arg(long)]
    apart: bool,
}

const EXAMPLES: &str = "Examples:
  dioptray box id box.yaml hillside-bag-1
  dioptray box id box.yaml

The logbook knows a box with an id by that id alone, whatever the box is called and wherever its file is. What was kept \
under the name so far is carried over to the id. A file that already has an id is not written; what was kept under the name is \
carried over all the same.";

#[derive(Serialize)]
struct IdJson<'a> {
    r#box: &'a str,
    id: &'a str,
    written: bool,
    carried_over: bool,
}

impl Id {
    /// Writes the identity.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        if is_only_shipped(&self.file) && read_box(&self.file).is_ok() {
            let what = "this box comes with the program and cannot be written: copy its file, and name the copy";
            bail!("{}: {what}", self.file.display());
        }
        let text = read_text(&self.file, LARGEST_FILE).map_err(Faults::from)?;
        let mut declared = parse_box(&name_of(&self.file), &text)?;
        let path = logbook_path(context)?;
        // a logbook is not made for this
        let mut logbook = if path.exists() { Some(Logbook::open(&path)?) } else { None };
        let written = declared.id.is_none();
        let id = match (&declared.id, &self.wanted) {
            (Some(id), Some(_)) => bail!("{}: this box has the id {id} already: it stays", self.file.display()),
            (None, Some(id)) if !is_id(id) => {
                bail!("`{id}` cannot be an id: letters a to z, digits and hyphens, at most {LONGEST_NAME}")
            }
            (Some(id), None) | (None, Some(id)) => id.clone(),
            (None, None) => fresh_id(&declared.name, Uuid::new_v4()),
        };
        if written {
            if let Some(logbook) = &logbook
                && logbook.knows_box(&BoxKey::of_id(&id))?
            {
                bail!("the logbook knows another box by the id {id}: name another");
            }
            let new = with_id(&text, &id).ok_or_else(|| {
                anyhow!(
                    "{}: no line can be added to a file of this shape: write `id: {id}` into it",
                    self.file.display()
                )
            })?;
            save(&self.file, new.as_bytes(), Existing::IsReplaced)?;
        }
        declared.id = Some(id.clone());
        let carried_over = match &mut logbook {
            Some(logbook) => self.settle(logbook, &named(&declared), written)?,
            None if written => false,
            None => return Err(self.nothing_to_do(&named(&declared))),
        };
        let answer = IdJson { r#box: &declared.name, id: &id, written, carried_over };
        if context.json {
            write_line(out, &answer)?;
            return Ok(Outcome::Done);
        }
        let over = if carried_over { "; what the logbook knows under its name goes over to it" } else { "" };
        writeln!(out, "{}: {}: id {id}{over}", self.file.display(), declared.name)?;
        Ok(Outcome::Done)
    }

    /// Carries over what is known under the name, or begins a record apart. Whether anything was carried over.
    fn settle(&self, logbook: &mut Logbook, named: &NamedBox, written: bool) -> anyhow::Result<bool> {
        let by_name = known_by_name(logbook, named)?;
        if by_name.is_none() && !written {
            return Err(self.nothing_to_do(named));
        }
        let carried_over = match by_name {
            Some(by_name) if !self.apart => {
                logbook.adopt_box(&by_name, &named.key)?;
                true
            }
            _ => false,
        };
        note_file(logbook, named, &std::path::absolute(&self.file)?)?;
        Ok(carried_over)
    }

    fn nothing_to_do(&self, named: &NamedBox) -> anyhow::Error {
        let NamedBox { key, .. } = named;
        anyhow!(
            "{}: this box has the id {key} already, and nothing waits to be carried over to it",
            self.file.display()
        )
    }
}
