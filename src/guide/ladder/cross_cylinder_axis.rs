//! Section 5, the axis by the cross cylinder: handle along the cylinder axis, turn towards the preferred minus axis, halve at
//! each reversal.

use super::cross_cylinder::CrossCylinders;
use crate::exam::sentence::sentence;
use crate::exam::{Answer, Given, Part, ProcedureName, Shown};
use crate::guide::findings::Findings;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::remark::Remark;
use crate::optics::{Axis, Dioptres, Eye, Eyes, Power};

/// The axis cannot be farther off than this: beyond it the answers contradict the cylinder itself.
const MOST_TURNED_DEG: f64 = 90.0;

/// The most presentations: a quarter of a circle in the smallest first turns, and the halvings.
const MOST_PRESENTATIONS: usize = 36;

/// After the search of which the positions stand 45 degrees apart the axis may be half as far off, in degrees: a weak cylinder
/// turns less, since its axis is not noticed so finely.
const TURNS_AFTER_SEARCH_DEG: [f64; 2] = [15.0, 20.0];

/// The first turn in degrees for a cylinder (from memory, common practice): under 0.50 by 20°, to 0.75 by 10°, to 1.75 by 5°,
/// above by 3°.
pub fn first_turn_deg(cylinder: Dioptres) -> f64 {
    match cylinder.0.abs() {
        weak if weak < 0.49 => 20.0,
        weak if weak < 0.76 => 10.0,
        middling if middling < 1.76 => 5.0,
        _ => 3.0,
    }
}

/// The search for the cylinder axis of one eye. Turns are counted anticlockwise from the axis at the start.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct CrossCylinderAxis {
    eye: Eye,
    cross: CrossCylinders,
    first_turn: f64,
    /// Bracketed by this, it is found: half-way between is then half of it off at most.
    within: f64,
    turned: f64,
    low: Option<f64>,
    high: Option<f64>,
    /// What was judged last; it stays when what came of it cannot be made.
    judged: Option<Power>,
    ended: bool,
}

impl CrossCylinderAxis {
    pub fn begin(eye: Eye, given: &Given, findings: &Findings) -> Self {
        let cylinder = given.start[eye].minus_form().cylinder;
        let usual = first_turn_deg(Dioptres(cylinder));
        let just_found = findings.done_for(eye).last() == Some(ProcedureName::CrossCylinderSearch);
        let (first_turn, within) = match (just_found, TURNS_AFTER_SEARCH_DEG) {
            (true, [weak, _]) if usual > 9.0 => (usual.max(weak), usual.max(weak)),
            (true, [_, strong]) => (strong, usual),
            (false, _) => (usual, usual),
        };
        Self {
            eye,
            cross: CrossCylinders::of(eye, given, findings),
            first_turn,
            within,
            turned: 0.0,
            low: None,
            high: None,
            judged: None,
            ended: cylinder > -0.05,
        }
    }

    /// Where to go from here: half-way between two bounds, or a whole turn on.
    fn aim(&self, towards_plus: bool) -> f64 {
        match (self.low, self.high) {
            (Some(low), Some(high)) => f64::midpoint(low, high),
            _ if towards_plus => self.turned + self.first_turn,
            _ => self.turned - self.first_turn,
        }
    }
}

impl Procedure for CrossCylinderAxis {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        if self.ended {
            return None;
        }
        let axis = Axis::nearest(base[self.eye].minus_form().axis);
        let (first, second) = (axis.turned(45), axis.turned(-45));
        let flips = sentence![
            "Cross cylinder, handle along ",
            Part::CylinderAxis(axis),
            ": minus axis at ",
            first,
            ", then flipped to ",
            second,
            "."
        ];
        Some(self.cross.step(base, [first, second], flips).why(sentence![Part::ByForm {
            minus: "the cylinder is turned towards the minus axis of the preferred position",
            plus: "the cylinder is turned towards the plus axis of the preferred position",
        }]))
    }

    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        let from = self.cross.without(shown, effects.base[self.eye]);
        self.judged = Some(from);
        effects.findings.axis_found_with[self.eye] = Some(from.minus_form().cylinder);
        let Some(towards_plus) = CrossCylinders::prefers_first(answer) else {
            self.ended = !self.cross.gets_stronger();
            return;
        };
        if towards_plus {
            self.low = Some(self.turned);
        } else {
            self.high = Some(self.turned);
        }
        let aim = self.aim(towards_plus);
        if aim.abs() > MOST_TURNED_DEG {
            effects.remarks.push(Remark::Ended(ProcedureName::CrossCylinderAxis));
            self.ended = true;
            return;
        }
        // whole degrees are what a cell is set to
        let by = (aim - self.turned).round();
        self.turned += by;
        effects.base[self.eye] = from.turned(by);
        if let (Some(low), Some(high)) = (self.low, self.high) {
            self.ended = high - low <= self.within + 0.5 || by == 0.0;
        }
    }

    fn skip(&mut self, effects: &mut Effects<'_>) {
        if self.cross.gives_way() {
            return;
        }
        if let Some(judged) = self.judged {
            effects.base[self.eye] = judged;
        }
        self.ended = true;
    }

    fn why_nothing(&self) -> Option<Remark> {
        Some(Remark::NoCylinder(self.eye))
    }

    fn is_subjective(&self) -> bool {
        true
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}
