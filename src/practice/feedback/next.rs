//! What to practise next, by what went wrong: what hurts comes first.

use serde::Serialize;

use super::figures::{Cost, OfEye};
use super::harms::Harm;
use crate::optics::listed::listed;
use crate::optics::{Eyes, Power};
use crate::practice::drills::{Drill, Level, Skill};

listed! {
    /// Why something is to be practised, what hurts most first.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
    #[serde(rename_all = "snake_case")]
    pub enum Because {
        /// Somebody was not referred.
        Referral,
        /// A power of the other sign.
        Sign,
        /// The other eye.
        Eye,
        /// A cylinder across its axis or mirrored.
        Axis,
        /// Too much minus.
        Minus,
        /// The working lens.
        WorkingLens,
        /// Too much plus, fog.
        Plus,
        /// Lenses changed unsafely.
        Changes,
        /// Lines of a chart at another distance.
        Chart,
        /// A strong power whose vertex distance was changed.
        Vertex,
        /// Half a dioptre of cylinder or more is left.
        Cylinder,
        /// An eye that nobody refracted.
        NotRefracted,
        /// Half as many looks again as the guide, or more.
        Looks,
        /// Nothing went wrong.
        Further,
    }
}

/// One thing to practise: a drill at a level, and a case that comes with the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Advice {
    /// Why.
    pub because: Because,
    /// The drill with its level.
    pub skill: Skill,
    /// The case.
    pub case: &'static str,
}

/// More at once is not taken in.
const MOST: usize = 3;
/// So much cylinder that is left is worth practising, in dioptres.
const CYLINDER_FROM_D: f64 = 0.50;
/// From this power on the vertex distance counts, in dioptres: what `exam` writes it down from.
const STRONG_D: f64 = crate::exam::prescription::VERTEX_MATTERS_D;

impl Because {
    /// What to practise then. A level of one is the rule itself, for what hurts; two is as it comes in an exam.
    pub fn advice(self) -> Advice {
        let (drill, level, case) = match self {
            Self::Referral => (Drill::Refer, Level::One, "amblyope"),
            Self::Sign => (Drill::FirstLens, Level::One, "simple-myope"),
            Self::Eye => (Drill::Fault, Level::One, "unequal-eyes"),
            Self::Axis => (Drill::Axis, Level::One, "oblique"),
            Self::Minus => (Drill::Step, Level::Two, "latent-hyperope"),
            Self::WorkingLens => (Drill::Retinoscopy, Level::One, "with-the-rule"),
            Self::Plus => (Drill::Fault, Level::Two, "near-chart"),
            Self::Changes => (Drill::Order, Level::Two, "latent-hyperope"),
            Self::Chart => (Drill::Acuity, Level::Two, "near-chart"),
            Self::Vertex => (Drill::Effective, Level::Two, "high-myope"),
            Self::Cylinder => (Drill::CrossCylinder, Level::Two, "with-the-rule"),
            Self::NotRefracted => (Drill::FirstLens, Level::Two, "high-myope"),
            Self::Looks => (Drill::Step, Level::Two, "tired"),
            Self::Further => (Drill::Crossed, Level::Three, "mixed-astigmatism"),
        };
        Advice { because: self, skill: Skill { drill, level }, case }
    }
}

impl Harm {
    /// What it is practised by.
    fn because(&self) -> Because {
        match self {
            Self::OverMinus { .. } => Because::Minus,
            Self::OverPlus { .. } | Self::FogWritten { .. } | Self::FogStanding { .. } => Because::Plus,
            Self::WorkingLensLeft { .. } => Because::WorkingLens,
            Self::WrongSign { .. } => Because::Sign,
            Self::EyesExchanged | Self::LensBeforeTheOther { .. } | Self::CoveredEyeAsked { .. } => Because::Eye,
            Self::WrongAxis { .. } => Because::Axis,
            Self::OtherDistance { .. } => Because::Chart,
            Self::UnsafeChange(_) => Because::Changes,
            Self::ReferralMissed { .. } | Self::SignNotReferred { .. } => Because::Referral,
        }
    }
}

/// What to practise, what hurts most first; no drill twice.
pub(super) fn advice(harms: &[Harm], eyes: &Eyes<OfEye>, cost: &Cost) -> Vec<Advice> {
    let mut reasons: Vec<Because> = harms.iter().map(Harm::because).collect();
    for (_, of_eye) in eyes.iter() {
        match of_eye.off {
            Some(off) => {
                let left = off.cylinder_d() >= CYLINDER_FROM_D;
                reasons.extend(left.then_some(Because::Cylinder));
                let off_by_vertex = off.m_d().abs() > CYLINDER_FROM_D / 2.0 && is_strong(of_eye.needs);
                reasons.extend(off_by_vertex.then_some(Because::Vertex));
            }
            None => reasons.push(Because::NotRefracted),
        }
    }
    let many = |guide: &crate::practice::effort::Effort| 2 * cost.effort.presentations >= 3 * guide.presentations;
    reasons.extend(cost.guide.filter(many).map(|_| Because::Looks));
    reasons.sort_unstable();
    let mut found: Vec<Advice> = Vec::new();
    for advice in reasons.into_iter().map(Because::advice) {
        if !found.iter().any(|other| other.skill.drill == advice.skill.drill) {
            found.push(advice);
        }
    }
    if found.is_empty() {
        found.push(Because::Further.advice());
    }
    found.truncate(MOST);
    found
}

fn is_strong(power: Power) -> bool {
    crate::exam::prescription::strongest_meridian(power.minus_form()) > STRONG_D
}
