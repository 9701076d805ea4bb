//! Section 9, writing it down: the quarter-step prescription at the planned vertex distance.

use super::course::{Course, Step, Turn};
use super::findings::Findings;
use super::question::Question;
use super::remark::Remark;
use super::session::Guide;
use crate::exam::{Answer, Given, Shown, State};
use crate::optics::quarter::nearest_quarter;
use crate::optics::vergence::at_vertex;
use crate::optics::{Acuity, Dioptres, Eye, Millimetres, Power, SpheroCylinder};

/// The most presentations: the chart, and done.
const MOST_PRESENTATIONS: usize = 2;

/// A chart from this distance on is far enough.
const FAR_CHART_M: f64 = 6.0;

/// A change of the spherical equivalent up to this is within repeatability: 95 % within ±0.27 D (Rosenfield and Chiu, *Optom
/// Vis Sci* 1995;72:577-579).
pub const REPEATABILITY_D: f64 = 0.27;

/// From memory, common practice: beyond this in any meridian the vertex distance is written down.
const STATE_VERTEX_FROM_D: f64 = 5.00;

/// By how much a chart at this distance leaves the sphere too plus: 1/d − 1/6, nothing from 6 m on.
pub fn too_plus_of_near_chart(metres: f64) -> f64 {
    (1.0 / metres - 1.0 / FAR_CHART_M).max(0.0)
}

/// What is written for one eye.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WrittenEye {
    /// What was found, at the planned vertex distance, the nearness of the chart taken off if that was wished.
    pub found: Power,
    /// The nearest power in quarters, minus-cylinder form, axis in whole degrees.
    pub written: SpheroCylinder,
    /// The acuity with what was found, if it was read.
    pub acuity: Option<Acuity>,
}

/// What is written down.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// Each eye that was refracted, right first.
    pub eyes: [Option<WrittenEye>; 2],
    /// The addition of both eyes.
    pub addition: Option<Dioptres>,
    /// The vertex distance for which it is written.
    pub vertex: Millimetres,
    /// What should be said with it.
    pub remarks: Vec<Remark>,
}

/// What is to be written down now.
pub fn written(guide: &Guide, state: &State) -> Written {
    let frame_vertex = state.fitted.frame.vertex;
    let vertex = state.person.planned_vertex.unwrap_or(frame_vertex);
    let findings = guide.findings();
    let mut remarks = Vec::new();
    let eyes = Eye::BOTH.map(|eye| {
        let found = findings.subjective[eye.index()]? + Power::sphere(Dioptres(-findings.chart_taken_off));
        let found = at_vertex(found, frame_vertex, vertex);
        let written = nearest_quarter(found, 1);
        if let Some(old) = state.person.old_glasses[eye.index()] {
            let change = written.power().m - old.power().m;
            if change != 0.0 && change.abs() <= REPEATABILITY_D {
                remarks.push(Remark::WithinRepeatability { eye, change });
            }
        }
        Some(WrittenEye { found, written, acuity: findings.acuity[eye.index()] })
    });
    let strongest = eyes.iter().flatten().map(|eye| {
        let sphere = eye.written.sphere;
        sphere.abs().max((sphere + eye.written.cylinder).abs())
    });
    if strongest.fold(0.0, f64::max) > STATE_VERTEX_FROM_D {
        remarks.push(Remark::StateVertex);
    }
    Written { eyes, addition: findings.addition.filter(|&a| a > 0.0).map(Dioptres), vertex, remarks }
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Stage {
    NearChart { metres: f64 },
    Write,
    Ended,
}

/// Writing the prescription.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Writing {
    stage: Stage,
}

impl Writing {
    pub fn begin(_eye: Option<Eye>, given: &Given, findings: &Findings) -> Self {
        let near = given.chart_metres.filter(|&metres| too_plus_of_near_chart(metres) > 1e-9);
        let stage = match near {
            Some(metres) if findings.chart_taken_off == 0.0 => Stage::NearChart { metres },
            _ => Stage::Write,
        };
        Self { stage }
    }
}

impl Course for Writing {
    fn step(&self, base: &[Power; 2]) -> Option<Step> {
        match self.stage {
            Stage::NearChart { metres } => Some(
                Step::both(*base, Question::YesOrNo)
                    .do_now(format!(
                        "The chart stood at {metres} m: take {:.2} D of plus off both eyes?",
                        too_plus_of_near_chart(metres)
                    ))
                    .why("a chart nearer than 6 m leaves the sphere found too plus by 1/d − 1/6"),
            ),
            Stage::Write => Some(
                Step::both(*base, Question::Ready)
                    .say("These are the lenses that I write down for you.")
                    .do_now("Read the prescription back, then write it down.")
                    .why("the nearest quarter steps, for the vertex distance at which the glasses will sit"),
            ),
            Stage::Ended => None,
        }
    }

    fn answer(&mut self, answer: Answer, _shown: &Shown, turn: &mut Turn<'_>) {
        match self.stage {
            Stage::NearChart { metres } => {
                if answer == Answer::Yes {
                    turn.findings.chart_taken_off = too_plus_of_near_chart(metres);
                }
                self.stage = Stage::Write;
            }
            Stage::Write => {
                turn.findings.written = true;
                self.stage = Stage::Ended;
            }
            Stage::Ended => {}
        }
    }

    fn skip(&mut self, _turn: &mut Turn<'_>) {
        self.stage = match self.stage {
            Stage::NearChart { .. } => Stage::Write,
            Stage::Write | Stage::Ended => Stage::Ended,
        };
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}
