//! Section 4, is there astigmatism? By the cross cylinder, its minus axis at 90 and 180, then at 45 and 135. A preference is asked
//! twice before a cylinder is made of it, and the line that is read tells how strong that begins.

use super::cross_cylinder::CrossCylinders;
use super::told::{blur_of_d, line_known, to_lesser_quarter};
use crate::exam::sentence::sentence;
use crate::exam::{Answer, Given, Shown};
use crate::guide::findings::Findings;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::remark::Remark;
use crate::optics::{Axis, Dioptres, Eye, Eyes, Power};

/// The pairs of positions of the minus axis.
const PAIRS: [[i32; 2]; 2] = [[90, 180], [45, 135]];

/// The least cylinder with which a preferred position begins.
const FIRST_CYLINDER_D: f64 = 0.50;

/// Twice the blur that the line tells is what astigmatism alone would need; so much of it is put in, in halves, since some of
/// it may be sphere.
const PART_THAT_IS_CYLINDER: f64 = 1.6;

/// The strongest cylinder that is begun with.
const MOST_FIRST_CYLINDER_D: f64 = 3.00;

/// The most presentations: each pair twice, and with stronger ones before that is the same.
const MOST_PRESENTATIONS: usize = 2 * PAIRS.len() + 16;

/// The search for astigmatism of one eye.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct CrossCylinderSearch {
    eye: Eye,
    cross: CrossCylinders,
    pair: usize,
    /// Which position of this pair was preferred once, and whether that was the first.
    preferred_once: Option<bool>,
    cylinder_d: f64,
}

impl CrossCylinderSearch {
    pub fn begin(eye: Eye, given: &Given, findings: &Findings) -> Self {
        let line = line_known(&findings.lines[eye], given.start[eye]).or(findings.acuity[eye]);
        let told =
            line.and_then(blur_of_d).map_or(0.0, |blur| 2.0 * to_lesser_quarter(PART_THAT_IS_CYLINDER * blur / 2.0));
        let cylinder_d = told.clamp(FIRST_CYLINDER_D, MOST_FIRST_CYLINDER_D);
        Self { eye, cross: CrossCylinders::of(eye, given, findings), pair: 0, preferred_once: None, cylinder_d }
    }
}

impl CrossCylinderSearch {
    fn next_pair(&mut self) {
        self.pair += 1;
        self.preferred_once = None;
    }
}

impl Procedure for CrossCylinderSearch {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        let [first, second] = PAIRS.get(self.pair)?.map(Axis::folded);
        let flips = sentence!["Cross cylinder, minus axis at ", first, ", then flipped to ", second, "."];
        Some(self.cross.step(base, [first, second], flips).why(if self.preferred_once.is_some() {
            "a preference counts when it comes twice"
        } else {
            "an astigmatic eye prefers one position; an eye without sees both alike"
        }))
    }

    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        let once = self.preferred_once.take();
        match (CrossCylinders::prefers_first(answer), once) {
            (Some(prefers_first), None) => self.preferred_once = Some(prefers_first),
            (Some(prefers_first), Some(before)) if prefers_first == before => {
                if let Some(pair) = PAIRS.get(self.pair) {
                    let axis = f64::from(pair[usize::from(!prefers_first)]);
                    effects.base[self.eye] = self.cross.without(shown, effects.base[self.eye])
                        + Power::cylinder(Dioptres(-self.cylinder_d), axis)
                        + Power::sphere(Dioptres(self.cylinder_d / 2.0));
                }
                self.pair = PAIRS.len();
            }
            (None, _) if self.cross.gets_stronger() => {}
            // once one way and once the other, or no preference at all: the same
            _ => {
                self.next_pair();
                if self.pair == PAIRS.len() {
                    effects.remarks.push(Remark::NoAstigmatism(self.eye));
                }
            }
        }
    }

    fn skip(&mut self, _turn: &mut Effects<'_>) {
        self.preferred_once = None;
        if !self.cross.gives_way() {
            self.next_pair();
        }
    }

    fn why_nothing(&self) -> Option<Remark> {
        Some(self.cross.missing())
    }

    fn is_subjective(&self) -> bool {
        true
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}
