//! The sphere once more, after the cylinder: in quarters after the cross cylinder, which keeps the spherical equivalent; from
//! halves after the fan and the slit, which do not.

use super::sphere_search::{MOST_PRESENTATIONS, SphereSearch};
use super::stepping::Ladder;
use crate::exam::{Answer, Given, ProcedureName, Shown};
use crate::guide::findings::Findings;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::optics::{Eye, Eyes, Power};

/// The last search for the sphere of one eye.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct FinalSphere(SphereSearch);

impl FinalSphere {
    pub fn begin(eye: Eye, given: &Given, findings: &Findings) -> Self {
        let coarse = findings.done_for(eye).any(ProcedureName::shifts_the_equivalent);
        let step = if coarse { 0.50 } else { 0.25 };
        let mut ladder = Ladder::new(eye, step, None, given.accommodates_at_years());
        if findings.times(ProcedureName::FinalSphere, eye) == 0 {
            ladder = ladder.seeded(findings, given.start[eye]);
        }
        Self(SphereSearch::new(eye, ladder, None))
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

    fn is_subjective(&self) -> bool {
        true
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}
