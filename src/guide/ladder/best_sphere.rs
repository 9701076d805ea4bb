//! Section 2, best vision sphere (common practice, no source): steps of up to 2.00 D while it is clearer, then 1.00, 0.50 and
//! 0.25, each first plus and then minus; the same with more plus is kept.

use super::sphere_search::{MOST_PRESENTATIONS, SphereSearch};
use super::stepping::Ladder;
use crate::exam::{Answer, Given, ProcedureName, Shown};
use crate::guide::findings::Findings;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::optics::{Eye, Eyes, Power};

/// The step when no first lens was tried.
const USUAL_STEP_D: f64 = 1.00;

/// The search for the best vision sphere of one eye.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct BestSphere(SphereSearch);

impl BestSphere {
    pub fn begin(eye: Eye, given: &Given, findings: &Findings) -> Self {
        let base = given.start[eye];
        let first = findings.first[eye];
        let (step, plus) = first.map_or((USUAL_STEP_D, None), |first| (first.step_d, first.plus));
        let mut ladder = Ladder::new(eye, step, plus, given.accommodates_at_years());
        // When the examiner asks for the search again it is asked from the beginning.
        if findings.times(ProcedureName::BestSphere, eye) == 0 {
            ladder = ladder.seeded(findings, base);
        }
        let unaided = given.unaided[eye].filter(|_| base.blur_strength() < 1e-6);
        Self(SphereSearch::new(eye, ladder, unaided))
    }
}

impl Procedure for BestSphere {
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
