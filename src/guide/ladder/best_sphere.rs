//! Section 2, best vision sphere (common practice, no source): lenses on the way by the lines read through them, then quarters,
//! each first plus and then minus; the same with more plus is kept.

use super::sphere_search::{MOST_PRESENTATIONS, SphereSearch};
use super::stepping::Ladder;
use crate::exam::prescription::SAME_POWER_D;
use crate::exam::{Answer, Complaint, Given, ProcedureName, Shown};
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
        let plus_first = plus.unwrap_or(given.complaint != Some(Complaint::FarBlur));
        // When the examiner asks for the search again it is asked from the beginning.
        if findings.times(ProcedureName::BestSphere, eye) == 0 {
            ladder = ladder.seeded(findings, base);
        }
        let looked_for = findings.done_for(eye).any(ProcedureName::looks_for_astigmatism);
        let is_next = !looked_for && !given.cross_cylinders.is_empty() && base.astigmatism() < SAME_POWER_D;
        let again = findings.times(ProcedureName::BestSphere, eye) > 0;
        let search = SphereSearch::new(eye, ladder, findings, plus_first, given.unaided[eye]).told(base);
        Self(search.leaving_quarters(is_next && !again))
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
