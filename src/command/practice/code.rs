//! `dioptray practice code`: a short code for the same eyes on every machine of a class.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;
use clap::builder::{PossibleValuesParser, TypedValueParser};
use serde::Serialize;
use uuid::Uuid;

use super::names;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, files, values};
use crate::frame::DeclaredFrame;
use crate::kit::Stock;
use crate::kit::read_box;
use crate::kit::shipped::full_box;
use crate::practice::class::ClassCode;
use crate::practice::class::code::MOST_EYES;
use crate::practice::drills::Level;
use crate::practice::hidden::Hidden;
use crate::practice::{Care, Law};

/// The arguments of `dioptray practice code`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Code {
    /// How many people, each a station of its own, 1 to 64.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=i64::from(MOST_EYES)))]
    eyes: u16,
    /// The seed: the same one gives the same code, and so the same people. Without it other people each time.
    #[arg(long, value_name = "S")]
    seed: Option<u32>,
    /// How hard they are to refract, 1 to 3.
    #[arg(long, value_name = "L", default_value_t = 2, value_parser = clap::value_parser!(u8).range(1..=3))]
    level: u8,
    /// As an exam: nothing is said of what is right before the end of all of them.
    #[arg(long)]
    exam: bool,
    /// The box file that students have; without it the full box that comes with the program.
    #[arg(long = "box", value_name = "FILE", value_parser = values::path())]
    box_file: Option<PathBuf>,
    /// The frame file that students have; without it the four-cell frame that comes with the program.
    #[arg(long = "frame", value_name = "FILE", value_parser = values::path())]
    frame_file: Option<PathBuf>,
    /// With how much care the people answer.
    #[arg(long, value_name = "CARE", default_value = Care::default().name(), value_parser = names::care())]
    care: Care,
    /// By which law they see and answer.
    #[arg(long, value_name = "LAW", default_value = Law::default().name(), value_parser = names::law())]
    law: Law,
    /// What students are not shown, with commas between.
    #[arg(long, value_name = "WHAT", value_delimiter = ',', value_parser = what_is_hidden())]
    hide: Vec<String>,
}

const EXAMPLES: &str = "Examples:
  dioptray practice code --eyes 6
  dioptray practice code --eyes 12 --seed 2026 --level 3 --exam --hide guide,hints
  dioptray practice --code CODE

The code holds everything: whoever types it has the same people, who see and answer by the same law. It also knows the box, the \
frame and the version of the people; where these are others it is refused, and says which. It can be typed in small letters and \
without hyphens; up to three mistyped characters are found.";

#[derive(Serialize)]
struct CodeJson {
    code: String,
}

impl Code {
    /// Makes it.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let (stock, frame) = kit(self.box_file.as_deref(), self.frame_file.as_deref())?;
        // the lowest bits of an identity are nothing but chance
        let seed = self.seed.unwrap_or_else(|| Uuid::new_v4().as_u128() as u32);
        let mut code = ClassCode::new(self.eyes, seed, &stock, &frame)?;
        code.level = Level::numbered(self.level).unwrap_or(code.level);
        code.is_exam = self.exam;
        code.hidden = self.hide.iter().fold(Hidden::default(), |hidden, name| hidden.with(name).unwrap_or(hidden));
        (code.care, code.law) = (self.care, self.law);
        if context.json {
            write_line(out, &CodeJson { code: code.to_string() })?;
        } else {
            writeln!(out, "{code}")?;
        }
        Ok(Outcome::Done)
    }
}

/// The box and the frame of a class as their files declare them: those named, or the full box and the four-cell frame. What
/// happened to a box of one machine counts in no class.
///
/// # Errors
/// When a file has faults.
pub(super) fn kit(box_file: Option<&Path>, frame_file: Option<&Path>) -> anyhow::Result<(Stock, DeclaredFrame)> {
    let declared = box_file.map_or_else(full_box, read_box)?;
    Ok((Stock::of(&declared), files::frame(frame_file)?))
}

fn what_is_hidden() -> impl TypedValueParser<Value = String> {
    PossibleValuesParser::new(Hidden::NAMES)
}
