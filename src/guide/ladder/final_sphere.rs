//! The sphere once more, always: quarters both ways around what stands there, and once more where a line read through fog speaks
//! for another.

use super::sphere_search::{MOST_PRESENTATIONS, SphereSearch};
use super::stepping::Ladder;
use crate::exam::prescription::SAME_POWER_D;
use crate::exam::{Answer, Given, ProcedureName, Shown};
use crate::guide::findings::Findings;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::optics::{Eye, Eyes, Power};

/// The step while no line is known.
const STEP_D: f64 = 0.25;

/// The last search for the sphere of one eye.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct FinalSphere(SphereSearch);

impl FinalSphere {
    pub fn begin(eye: Eye, given: &Given, findings: &Findings) -> Self {
        let base = given.start[eye];
        let mut ladder = Ladder::new(eye, STEP_D, None, given.accommodates_at_years());
        // without a cylinder few quarters were shown: they are shown again
        let has_cylinder = base.astigmatism() > SAME_POWER_D;
        if has_cylinder && findings.times(ProcedureName::FinalSphere, eye) == 0 {
            ladder = ladder.seeded(findings, base);
        }
        Self(
            SphereSearch::new(eye, ladder, findings, true, given.unaided[eye])
                .quarters_and_fog(base, findings.acuity[eye]),
        )
    }
}

impl Procedure for FinalSphere {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        self.0.step(base)
    }

    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        self.0.answer(answer, shown, effects);
    }

    fn skip(&mut self, effects: &mut Effects<'_>) {
        self.0.skip(effects);
    }

    fn corrected(&mut self, given: &Given, _base: &mut Eyes<Power>) {
        self.0.corrected(given.accommodates_at_years());
    }

    fn is_subjective(&self) -> bool {
        true
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}
