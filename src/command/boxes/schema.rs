//! `dioptray box schema`: what box, frame, shelf, case, lesson and settings files look like, for editors.

use std::io::Write;

use clap::{Args, ValueEnum};

use crate::command::{CAUTION, Outcome};
use crate::frame::schema::frame_schema;
use crate::kit::schema::box_schema;
use crate::kit::shelf::schema::shelf_schema;
use crate::practice::cases::schema::case_schema;
use crate::practice::lessons::schema::lesson_schema;
use crate::screen::settings;

/// The arguments of `dioptray box schema`.
#[derive(Debug, Args)]
#[command(after_help = format!("Example:\n  dioptray box schema box > box.schema.json\n\n{CAUTION}"))]
pub struct Schema {
    /// Which kind of file.
    kind: FileKind,
}

/// A kind of file that people write.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum FileKind {
    /// A box of trial lenses.
    Box,
    /// A trial frame.
    Frame,
    /// A shelf of ready-made pairs.
    Shelf,
    /// A practice case.
    Case,
    /// A lesson.
    Lesson,
    /// The settings.
    Settings,
}

impl Schema {
    /// Writes the schema.
    pub fn run(self, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let schema = match self.kind {
            FileKind::Box => box_schema(),
            FileKind::Frame => frame_schema(),
            FileKind::Shelf => shelf_schema(),
            FileKind::Case => case_schema(),
            FileKind::Lesson => lesson_schema(),
            FileKind::Settings => settings::table::schema(),
        };
        writeln!(out, "{}", serde_json::to_string_pretty(&schema)?)?;
        Ok(Outcome::Done)
    }
}
