//! The feedback of an exam of a practice eye, for people and as JSON.

use std::io::{self, Write};

use serde::Serialize;

use crate::command::json::{PowerJson, no_minus_zero};
use crate::exam::prescription::EyeOutcome;
use crate::optics::{CylinderForm, Eyes};
use crate::practice::effort::Effort;
use crate::practice::feedback::Feedback;
use crate::practice::feedback::costliest::Costliest;
use crate::practice::feedback::figures::OfEye;
use crate::practice::feedback::harms::Harm;
use crate::practice::feedback::next::Advice;
use crate::practice::feedback::sentences::sentences;

/// What is said of an exam at its end.
#[derive(Debug, Serialize)]
pub(super) struct FeedbackJson {
    harms: Vec<Harm>,
    off: Eyes<OffJson>,
    cost: CostJson,
    costliest: Option<Costliest>,
    next: Vec<Advice>,
    said: Vec<SectionJson>,
}

/// How far off one eye is; null where no power is written for it.
#[derive(Debug, Serialize)]
struct OffJson {
    outcome: EyeOutcome,
    needs: PowerJson,
    /// Written less needed.
    vector: Option<PowerJson>,
    /// |M| + |C|/2 of that.
    residual: Option<f64>,
}

#[derive(Debug, Serialize)]
struct CostJson {
    lenses_moved: usize,
    looks: usize,
    minutes: Option<f64>,
    guide: Option<EffortJson>,
}

#[derive(Debug, Serialize)]
struct EffortJson {
    lenses_moved: usize,
    looks: usize,
}

#[derive(Debug, Serialize)]
struct SectionJson {
    heading: &'static str,
    sentences: Vec<String>,
}

impl FeedbackJson {
    /// Of one exam, with powers in this form.
    pub(super) fn of(feedback: &Feedback, form: CylinderForm) -> Self {
        let said = sentences(feedback, form).into_iter().map(|(section, said)| SectionJson {
            heading: section.heading(),
            sentences: said.iter().map(ToString::to_string).collect(),
        });
        let effort = |effort: Effort| EffortJson { lenses_moved: effort.moves, looks: effort.presentations };
        let EffortJson { lenses_moved, looks } = effort(feedback.cost.effort);
        Self {
            harms: feedback.harms.clone(),
            off: feedback.eyes.map(OffJson::of),
            cost: CostJson {
                lenses_moved,
                looks,
                minutes: feedback.cost.minutes,
                guide: feedback.cost.guide.map(effort),
            },
            costliest: feedback.costliest,
            next: feedback.next.clone(),
            said: said.collect(),
        }
    }

    /// Writes it for people.
    ///
    /// # Errors
    /// When it cannot be written.
    pub(super) fn write(&self, out: &mut dyn Write) -> io::Result<()> {
        for section in &self.said {
            writeln!(out, "\n{}", section.heading)?;
            for sentence in &section.sentences {
                writeln!(out, "  {sentence}")?;
            }
        }
        Ok(())
    }
}

impl OffJson {
    fn of(of_eye: OfEye) -> Self {
        let off = of_eye.off;
        Self {
            outcome: of_eye.outcome,
            needs: of_eye.needs.into(),
            vector: off.map(|off| off.vector().into()),
            residual: off.map(|off| no_minus_zero(off.residual_d())),
        }
    }
}
