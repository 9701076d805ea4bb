//! The prescription of an exam: what is written down for the glasses, and how it compares with what was known before.
//!
//! Its source is what the examiner accepted ([`Results`](super::state::Results)), never what happens to stand in the
//! frame. The found power is carried from the frame's vertex distance to the planned one and then put on the quarter grid.

use serde::Serialize;

use super::event::Unrefracted;
use super::state::State;
pub use crate::optics::CylinderForm;
use crate::optics::bounds;
use crate::optics::quarter::{STEP_D, nearest_quarter};
use crate::optics::vergence::at_vertex;
use crate::optics::{Acuity, Dioptres, Eye, Eyes, Millimetres, Power, Prism, PrismPart, SpheroCylinder};

/// A reading counts as made with a power when that stood before the eye within this many dioptres: the same limit within
/// which a stack reaches a wanted power.
pub const SAME_POWER_D: f64 = 0.06;

/// Beyond this power in any meridian the vertex distance belongs on the prescription: from memory, no source.
pub const VERTEX_MATTERS_D: f64 = 5.0;

/// 95 % limits of a repeat in spherical equivalent, one practitioner: Rosenfield, Chiu, *Optom Vis Sci* 1995;72:577-579.
pub const REPEAT_M_D: f64 = 0.27;

/// 95 % limits of a repeat in spherical equivalent by another study: *Photonics* 2024;11:634.
pub const WIDEST_REPEAT_M_D: f64 = 0.70;

/// 95 % limits of a repeat in J0: *Photonics* 2024;11:634. Taken for J45 too: common practice, no source.
pub const REPEAT_J_D: f64 = 0.29;

/// A part of less than this many prism dioptres is rounding, not a prism.
const NO_PRISM: f64 = 0.005;

/// A chart from this distance on counts as far.
const FAR_CHART_M: f64 = 6.0;

/// By how many dioptres a chart at this distance in metres leaves the sphere too plus for far away: its light reaches the
/// eye with −1/d, and 6 m is taken for far, so 1/d − 1/6; nothing from 6 m on.
pub fn too_plus_of_near_chart(metres: f64) -> f64 {
    (1.0 / metres - 1.0 / FAR_CHART_M).max(0.0)
}

/// The most that may be taken off the spheres for a chart at this distance in metres, in dioptres: all of its vergence,
/// 1/d, where infinity is taken for far instead of 6 m.
pub fn most_chart_allowance(metres: f64) -> f64 {
    1.0 / metres
}

/// The prescription of one eye.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EyePrescription {
    /// The accepted power at the frame's vertex distance.
    pub found: Power,
    /// The same less the chart allowance, at the frame's vertex distance.
    pub far: Power,
    /// The far power carried to the planned vertex distance, unrounded.
    pub planned: Power,
    /// The nearest power on the quarter grid, minus-cylinder form.
    pub written: SpheroCylinder,
    /// Where something stays on under the frame, so that all of these are over it: the far power and that together, at the
    /// frame's vertex distance. What stays on is in `state.person`.
    pub total: Option<Power>,
    /// The last acuity that was read with the found power, if one was.
    pub acuity: Option<Acuity>,
}

impl EyePrescription {
    /// The whole power that the eye takes for far away, at the frame's vertex distance: with what stays on, where that is
    /// declared.
    pub fn whole(&self) -> Power {
        self.total.unwrap_or(self.far)
    }
}

/// The prescription of both eyes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prescription {
    eyes: Eyes<Option<EyePrescription>>,
    /// The last acuity of both eyes together read with both found powers, if one was.
    pub acuity_of_both: Option<Acuity>,
    /// The addition of each eye on the quarter grid, right first; `None` when there is none.
    pub additions: Eyes<Option<Dioptres>>,
    /// Vertex distance at which the powers were found: the frame's.
    pub found_vertex: Millimetres,
    /// Vertex distance for which the prescription is written.
    pub planned_vertex: Millimetres,
}

impl Prescription {
    /// What the accepted results of an exam come to, axes on multiples of `axis_step_deg` (1 or 5).
    ///
    /// An eye has none when nothing was accepted for it, or when the accepted power cannot be carried to the planned
    /// vertex distance within the permitted powers; [`cautions`](super::cautions::called_for) names the second case.
    pub fn of(state: &State, axis_step_deg: u8) -> Self {
        let found_vertex = state.fitted.frame.vertex;
        let planned_vertex = state.person.planned_vertex.unwrap_or(found_vertex);
        let allowance = Power::sphere(Dioptres(state.results.chart_allowance.unwrap_or(0.0)));
        let eyes = Eyes::from_fn(|eye| {
            let found = state.results.refraction[eye]?;
            let far = found - allowance;
            let planned = at_vertex(far, found_vertex, planned_vertex);
            if ![far, planned].into_iter().all(|power| may_be_written(power.minus_form())) {
                return None;
            }
            let written = nearest_quarter(planned, axis_step_deg);
            may_be_written(written).then_some(EyePrescription {
                found,
                far,
                planned,
                written,
                total: state.person.stays_on[eye].and_then(|worn| worn.total(far, found_vertex)),
                acuity: acuity_with(state, Some(eye)),
            })
        });
        Self {
            eyes,
            acuity_of_both: acuity_with(state, None),
            additions: additions(state, &eyes, found_vertex, planned_vertex),
            found_vertex,
            planned_vertex,
        }
    }

    /// The prescription of one eye, if there is one.
    pub fn eye(&self, eye: Eye) -> Option<&EyePrescription> {
        self.eyes[eye].as_ref()
    }

    /// The addition of both eyes, where it is one; of eyes that differ, none.
    pub fn addition(&self) -> Option<Dioptres> {
        self.additions.right.filter(|_| self.additions.right == self.additions.left)
    }

    /// The greater of the two additions, or the one that there is.
    pub fn greatest_addition(&self) -> Option<Dioptres> {
        self.additions.into_iter().flatten().max_by(|one, other| one.0.total_cmp(&other.0))
    }

    /// Whether a meridian of either eye is so strong that the vertex distance must be written down.
    pub fn vertex_matters(&self) -> bool {
        self.eyes.as_ref().into_iter().flatten().any(|eye| strongest_meridian(eye.written) > VERTEX_MATTERS_D)
    }
}

/// What an eye's row of a prescription comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum EyeOutcome {
    /// A power is written.
    Refracted,
    /// Nobody refracted it, or it reads no letter whatever is shown.
    NotRefracted,
    /// A balance lens is written.
    BalanceLens,
    /// A power was accepted that cannot be written.
    CannotBeWritten,
}

impl EyeOutcome {
    /// Of one eye.
    pub fn of(state: &State, prescription: &Prescription, eye: Eye) -> Self {
        match (prescription.eye(eye), state.results.refraction[eye], state.results.unrefracted[eye]) {
            (Some(_), ..) => Self::Refracted,
            (None, Some(_), _) => Self::CannotBeWritten,
            (None, None, Some(Unrefracted::BalanceLens)) => Self::BalanceLens,
            (None, None, Some(Unrefracted::NotRefracted) | None) => Self::NotRefracted,
        }
    }

    /// As it stands in the place of a power.
    pub const fn shown(self) -> &'static str {
        match self {
            Self::Refracted => "refracted",
            Self::NotRefracted => "not refracted",
            Self::BalanceLens => "balance lens",
            Self::CannotBeWritten => "cannot be written",
        }
    }
}

/// The additions with which what is written for far away makes the near power that was tried, to the nearest quarter.
///
/// What is taken off for a near chart, and what another vertex distance changes, is taken off far away alone: the near power
/// stays as it was tried. One addition is written for both eyes unless they were found to differ.
fn additions(
    state: &State,
    eyes: &Eyes<Option<EyePrescription>>,
    found_vertex: Millimetres,
    planned_vertex: Millimetres,
) -> Eyes<Option<Dioptres>> {
    let results = &state.results;
    let tried = Eyes::from_fn(|eye| results.addition_of[eye].or(results.addition).filter(|&add| add > 0.0));
    let over_written = |eye: Eye| {
        let (tried, of_eye) = (tried[eye]?, eyes[eye]?);
        let near = at_vertex(of_eye.found + Power::sphere(Dioptres(tried)), found_vertex, planned_vertex);
        Some(near.m - of_eye.written.power().m - tried).filter(|over| over.is_finite())
    };
    let over: Vec<f64> = Eye::BOTH.into_iter().filter_map(over_written).collect();
    let over = if over.is_empty() { 0.0 } else { over.iter().sum::<f64>() / over.len() as f64 };
    tried.map(|tried| {
        let written = ((tried? + over) / STEP_D).round() * STEP_D;
        (written > 0.0).then_some(Dioptres(written))
    })
}

/// The power of the stronger principal meridian, without its sign, in dioptres.
pub fn strongest_meridian(power: SpheroCylinder) -> f64 {
    power.sphere.abs().max((power.sphere + power.cylinder).abs())
}

/// The power that would be accepted from what stands in the cells of an eye now: the net, without what the hand holds.
///
/// `None` when the eye is occluded, for then the net means nothing.
pub fn in_cells(state: &State, eye: Eye) -> Option<Power> {
    let before = state.fitted.in_front_of(eye);
    (!before.occluded).then_some(before.net)
}

/// Whether a power may stand in a record, whatever its form: sphere, cylinder and the power of the other meridian, which is
/// the sphere of the other cylinder form, are finite and within the permitted powers.
pub fn may_be_written(power: SpheroCylinder) -> bool {
    [power.sphere, power.cylinder, power.sphere + power.cylinder]
        .into_iter()
        .all(|dioptres| bounds::POWER.contains(dioptres))
}

fn acuity_with(state: &State, eye: Option<Eye>) -> Option<Acuity> {
    let wanted = Eyes::from_fn(|e| eye.is_none_or(|only| only == e).then(|| state.results.refraction[e]));
    let made_with = |before: &Eyes<Option<Power>>| {
        Eye::BOTH.into_iter().all(|eye| match (wanted[eye], before[eye]) {
            (None, _) => true,
            (Some(Some(wanted)), Some(before)) => before.miss(wanted) <= SAME_POWER_D,
            _ => false,
        })
    };
    state.readings.iter().rev().find(|r| r.eye == eye && made_with(&r.before)).map(|r| r.acuity)
}

/// A prism before an eye as its horizontal and its vertical part, those that there are, horizontal first.
pub fn prism_parts(prism: Prism, eye: Eye) -> Vec<PrismPart> {
    PrismPart::of(prism, eye, NO_PRISM)
}

/// What a prescription is compared with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Against {
    /// The retinoscopy of the same exam, both at the frame's vertex distance.
    Retinoscopy,
    /// The old glasses, taken to sit at the planned vertex distance, for theirs is not known.
    OldGlasses,
}

/// How a difference stands to what the same examiner would find on another day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Repeat {
    /// Within the narrowest published limits.
    Within,
    /// Between the narrowest and the widest published limits.
    Perhaps,
    /// Beyond the widest published limits.
    Beyond,
}

impl Repeat {
    /// How a difference of two powers stands to it.
    pub fn of(difference: Power) -> Self {
        let (m, j) = (difference.m.abs(), difference.j0.abs().max(difference.j45.abs()));
        if m > WIDEST_REPEAT_M_D || j > REPEAT_J_D {
            Self::Beyond
        } else if m > REPEAT_M_D {
            Self::Perhaps
        } else {
            Self::Within
        }
    }
}

/// The prescription of one eye less something known before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Comparison {
    /// With what.
    pub against: Against,
    /// Prescription less the other, unrounded: ΔM, ΔJ0 and ΔJ45; its blur strength is the whole difference.
    pub difference: Power,
    /// How that stands to repeatability.
    pub repeat: Repeat,
}

impl Comparison {
    fn new(against: Against, difference: Power) -> Self {
        Self { against, difference, repeat: Repeat::of(difference) }
    }
}

/// The comparisons that can be made for one eye.
pub fn comparisons(state: &State, prescription: &Prescription, eye: Eye) -> Vec<Comparison> {
    let Some(of_eye) = prescription.eye(eye) else {
        return Vec::new();
    };
    let retinoscopy =
        state.results.retinoscopy[eye].map(|power| Comparison::new(Against::Retinoscopy, of_eye.far - power));
    // glasses are held against all that the eye takes, not against what was found over something that stays on
    let planned = of_eye
        .total
        .map_or(of_eye.planned, |total| at_vertex(total, prescription.found_vertex, prescription.planned_vertex));
    let old = state.person.old_glasses[eye].map(|old| Comparison::new(Against::OldGlasses, planned - old.power()));
    retinoscopy.into_iter().chain(old).collect()
}
