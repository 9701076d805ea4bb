//! Section 5, the power by the cross cylinder: minus or plus axis along the cylinder axis; +0.25 sphere with every −0.50 of
//! cylinder keeps the spherical equivalent (a cross cylinder has none of its own: Harris, *S Afr Optom* 2007;66:41-55).

use super::cross_cylinder::CrossCylinders;
use crate::exam::sentence::sentence;
use crate::exam::{Answer, Given, Part, ProcedureName, Shown};
use crate::guide::findings::Findings;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::remark::Remark;
use crate::optics::{Axis, Dioptres, Eye, Eyes, Power};

/// The step of the cylinder in dioptres.
const STEP_D: f64 = 0.25;

/// From this cylinder on it is changed by halves until it is passed, in dioptres (1.00, less what a stack may miss).
const HALVES_FROM_D: f64 = 0.90;

/// The strongest cylinder that is asked for: trial cylinders go to about 6 D.
const MOST_CYLINDER_D: f64 = 6.00;

/// The most presentations: every quarter up to the strongest cylinder, and the reversal.
const MOST_PRESENTATIONS: usize = 26;

/// The search for the cylinder power of one eye.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct CrossCylinderPower {
    eye: Eye,
    cross: CrossCylinders,
    /// Quarters of minus cylinder added since the start, less those taken off.
    added: i32,
    /// How many are changed at a time.
    quarters: i32,
    last_more: Option<bool>,
    /// What was judged last; it stays when what came of it cannot be made.
    judged: Option<Power>,
    ended: bool,
}

impl CrossCylinderPower {
    pub fn begin(eye: Eye, given: &Given, findings: &Findings) -> Self {
        Self {
            eye,
            cross: CrossCylinders::of(eye, given, findings),
            added: 0,
            quarters: if given.start[eye].minus_form().cylinder < -HALVES_FROM_D { 2 } else { 1 },
            last_more: None,
            judged: None,
            ended: given.start[eye].minus_form().cylinder > -0.05,
        }
    }

    /// The power with so many quarters more cylinder, or less; the sphere follows at every second quarter.
    fn changed(&mut self, from: Power, quarters: i32) -> Power {
        let form = from.minus_form();
        let sphere_before = self.added.div_euclid(2);
        self.added += quarters;
        let sphere = f64::from(self.added.div_euclid(2) - sphere_before) * STEP_D;
        let cylinder = -f64::from(quarters) * STEP_D;
        from + Power::cylinder(Dioptres(cylinder), form.axis) + Power::sphere(Dioptres(sphere))
    }
}

impl Procedure for CrossCylinderPower {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        if self.ended {
            return None;
        }
        let axis = Axis::nearest(base[self.eye].minus_form().axis);
        let (first, second) = (axis, axis.perpendicular());
        let flips = sentence![
            Part::ByForm {
                minus: "Cross cylinder, minus axis along ",
                plus: "Cross cylinder, plus axis along the cylinder and so minus axis at ",
            },
            axis,
            ", then flipped to ",
            second,
            "."
        ];
        Some(self.cross.step(base, [first, second], flips).why(sentence![Part::ByForm {
            minus: "minus along the axis preferred: more cylinder; plus preferred: less",
            plus: "plus along the axis preferred: more cylinder; minus preferred: less",
        }]))
    }

    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        let from = self.cross.without(shown, effects.base[self.eye]);
        self.judged = Some(from);
        let Some(more) = CrossCylinders::prefers_first(answer) else {
            self.ended = !self.cross.gets_stronger();
            return;
        };
        let cylinder = from.minus_form().cylinder;
        let by = if more { self.quarters } else { -self.quarters };
        if self.last_more == Some(!more) {
            // A reversal. Between two quarters the lesser is kept, and it stands there when less was asked for last; between
            // two halves lies the quarter.
            if self.quarters > 1 {
                effects.base[self.eye] = self.changed(from, by / self.quarters);
            } else if !more {
                effects.base[self.eye] = self.changed(from, by);
            }
            self.ended = true;
            return;
        }
        if more && cylinder - STEP_D * f64::from(self.quarters) < -MOST_CYLINDER_D - 0.1 {
            effects.remarks.push(Remark::Ended(ProcedureName::CrossCylinderPower));
            self.ended = true;
            return;
        }
        effects.base[self.eye] = self.changed(from, by);
        self.last_more = Some(more);
        if !more && cylinder + STEP_D * f64::from(self.quarters) > -0.1 {
            effects.remarks.push(Remark::NoCylinder(self.eye));
            self.ended = true;
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
