//! `dioptray exam start`: a new exam, with what another system knows of the person's glasses.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::command::{CAUTION, Context, Outcome, start, values};
use crate::import::read_glasses;

/// The arguments of `dioptray exam start`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct StartExam {
    /// A file with the glasses that the person has: a FHIR VisionPrescription, or a Bundle with exactly one, in JSON; or a
    /// DICOM object, Lensometry Measurements or Subjective Refraction Measurements. At most 16 MB.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    from: Option<PathBuf>,
    #[command(flatten)]
    start: start::Start,
}

const EXAMPLES: &str = "Examples:
  dioptray exam start
  dioptray exam start --from prescription.json
  dioptray exam start --from lensmeter.dcm --box kits/boxes/outreach.yaml

Opens the screen with a new exam; one that is still open is put aside, as with --new. The powers and the addition stand in its \
details as old glasses. Prism, vertex distance and additions that differ have no place there: they stand in a note on the \
record. Whatever is not clear in the file is an error, and no exam begins.";

impl StartExam {
    /// Begins the exam and opens the screen.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        // before an exam begins: one that could not have its glasses is not begun
        let glasses = self.from.as_deref().map(read_glasses).transpose()?;
        if let Some(said) = glasses.as_ref().and_then(crate::import::Glasses::in_words) {
            eprintln!("note: {said} This stands in a note on the record.");
        }
        let events = glasses.map(|glasses| glasses.events()).unwrap_or_default();
        self.start.run_new(events, context, out)
    }
}
