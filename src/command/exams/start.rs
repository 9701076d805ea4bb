//! `dioptray exam start`: a new exam, with what another system knows of the person's glasses.

use std::io::Write;
use std::path::PathBuf;

use anyhow::{Context as _, bail};
use clap::Args;

use crate::command::{CAUTION, Context, Outcome, start, values};
use crate::exam::{Detail, Event};
use crate::import::read_glasses;
use crate::optics::notation::{parse_figure, parse_worn};
use crate::optics::{Eye, Millimetres, bounds};

/// The arguments of `dioptray exam start`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct StartExam {
    /// A file with the glasses that the person has: a FHIR VisionPrescription, or a Bundle with exactly one, in JSON; or a
    /// DICOM object, Lensometry Measurements or Subjective Refraction Measurements. At most 16 MB.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    from: Option<PathBuf>,
    /// What stays on under the frame before the right eye: "contact -3.00", or "glasses -3.00/-1.00x90 at 10", the distance from
    /// the cornea in mm.
    #[arg(long, value_name = "WORN", allow_hyphen_values = true, value_parser = values::text())]
    right_keeps: Option<String>,
    /// The same before the left eye.
    #[arg(long, value_name = "WORN", allow_hyphen_values = true, value_parser = values::text())]
    left_keeps: Option<String>,
    /// Vertex distance of the frame as it was measured at this person, in mm; if not given, the one that the frame declares.
    #[arg(long, value_name = "MM", value_parser = values::text())]
    frame_vertex: Option<String>,
    #[command(flatten)]
    start: start::Start,
}

const EXAMPLES: &str = "Examples:
  dioptray exam start
  dioptray exam start --from prescription.json
  dioptray exam start --from lensmeter.dcm --box kits/boxes/outreach.yaml
  dioptray exam start --right-keeps \"contact -3.00\" --left-keeps \"contact -2.50\"

Opens the screen with a new exam; one that is still open is put aside, as with --new. The powers and the addition stand in its \
details as old glasses. Prism, vertex distance and additions that differ have no place there: they stand in a note on the \
record. Whatever is not clear in the file is an error, and no exam begins.";

impl StartExam {
    /// What stays on, and how far the frame stands from the eye, as far as it is said.
    fn how_it_sits(&self) -> anyhow::Result<Vec<Event>> {
        let mut details = Vec::new();
        let mut farthest: f64 = 0.0;
        let keeps = [(Eye::Right, &self.right_keeps, "--right-keeps"), (Eye::Left, &self.left_keeps, "--left-keeps")];
        for (eye, text, option) in keeps {
            let Some(text) = text else { continue };
            let worn = parse_worn(text).context(option)?;
            farthest = farthest.max(worn.vertex.0);
            details.push(Detail::StaysOn(eye, Some(worn)));
        }
        match &self.frame_vertex {
            Some(text) => {
                let measured = parse_figure(text, &bounds::VERTEX_MM).context("--frame-vertex")?;
                if farthest > measured {
                    bail!("--frame-vertex: glasses stay on at {farthest} mm: the frame cannot stand behind them");
                }
                details.push(Detail::FrameVertex(Millimetres(measured)));
            }
            None if farthest > 0.0 => {
                bail!(
                    "glasses that stay on carry the frame forward: measure how far it stands now, and give --frame-vertex"
                )
            }
            None => {}
        }
        Ok(details.into_iter().map(Event::Detail).collect())
    }

    /// Begins the exam and opens the screen.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        // before an exam begins: one that could not have its glasses is not begun
        let glasses = self.from.as_deref().map(read_glasses).transpose()?;
        if let Some(said) = glasses.as_ref().and_then(crate::import::Glasses::in_words) {
            eprintln!("note: {said} This stands in a note on the record.");
        }
        let mut events = glasses.map(|glasses| glasses.events()).unwrap_or_default();
        events.extend(self.how_it_sits()?);
        self.start.run_new(events, context, out)
    }
}
