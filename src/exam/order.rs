//! The order for a pair of glasses: what a workshop needs beside the written powers, and what is not known of it.
//!
//! Nothing is guessed. What nobody entered is named, with what to do.

use std::fmt;

use serde::Serialize;

use super::prescription::{EyeOutcome, Prescription};
use super::state::State;
use crate::optics::centres::{HORIZONTAL, VERTICAL};
use crate::optics::convergence::near_centre;
use crate::optics::{Eye, Eyes, Millimetres, Power, Prism, SpheroCylinder, WornKind};

/// How far the centre of a lens may stand from where it is ordered, in millimetres (ANSI Z80.1-2015, quick reference); none
/// along a meridian without power, in which nothing would notice.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CentreLimits {
    /// To the side.
    pub to_the_side: Option<Millimetres>,
    /// Up and down.
    pub up_and_down: Option<Millimetres>,
}

impl CentreLimits {
    fn of(lens: SpheroCylinder) -> Self {
        let power = lens.power();
        Self { to_the_side: HORIZONTAL.of(power), up_and_down: VERTICAL.of(power) }
    }
}

/// One lens of the glasses for far or for near.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Glass {
    /// Its power at the vertex distance of the glasses, on the quarter grid, with a minus cylinder.
    pub power: SpheroCylinder,
    /// How far its centre stands from the middle of the nose; `None` where that is not known.
    pub centre: Option<Millimetres>,
    /// How far the centre may be off.
    pub limits: CentreLimits,
}

/// What is ordered for one eye.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrderedLens {
    /// For far.
    pub far: Glass,
    /// The power for far at the vertex distance of the glasses before it went to quarters.
    pub planned: Power,
    /// The lens of glasses for near alone: the same with the addition in its sphere. `None` where there is no addition.
    pub near: Option<Glass>,
    /// The addition in dioptres.
    pub addition: Option<f64>,
    /// The prism that is ordered, if any.
    pub prism: Option<Prism>,
}

/// What an order says of one eye.
#[derive(Debug, Clone, PartialEq)]
pub enum ForEye {
    /// A lens of a power.
    Lens(Box<OrderedLens>),
    /// A balance lens.
    BalanceLens,
    /// The power was found over glasses that stayed on: by itself it is that of no glasses.
    FoundOverGlasses,
    /// The eye was not refracted.
    NotRefracted,
    /// A power was accepted that cannot be written.
    CannotBeWritten,
}

/// The order for a pair of glasses.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// For each eye; a power is written for at least one.
    pub eyes: Eyes<ForEye>,
    /// From the cornea to the back of the glasses.
    pub vertex: Millimetres,
    /// From the glasses to what is looked at near, in metres.
    pub near_metres: Option<f64>,
    /// What nobody entered.
    pub lacking: Vec<Lacking>,
}

/// What an order needs and nobody entered, or whoever reads it has to know.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Lacking {
    /// The pupillary distance of an eye.
    PupillaryDistance(Eye),
    /// The distance of near work.
    NearDistance,
    /// The vertex distance of the glasses: the powers are those at the trial frame's.
    VertexDistance,
    /// The contact lens over which the glasses of an eye are worn: they do nothing right without it.
    WornOver(Eye),
}

impl fmt::Display for Lacking {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::PupillaryDistance(eye) => write!(
                f,
                "Nobody entered the pupillary distance of the {eye} eye: measure it from the middle of the nose before the \
                 lens is made."
            ),
            Self::NearDistance => f.write_str(
                "Nobody entered the near distance: measure how far from the glasses the person works, for the \
                 centres for near.",
            ),
            Self::VertexDistance => f.write_str(
                "Nobody entered at which vertex distance the glasses will sit: the powers are those at the trial frame's. \
                 Measure it on the chosen frame.",
            ),
            Self::WornOver(eye) => write!(
                f,
                "The lens of the {eye} eye is for wear over the contact lens that stays on: it is wrong without that one. Say so \
                 to whoever wears it."
            ),
        }
    }
}

impl Order {
    /// The order of an exam; `None` where no power is written for either eye.
    pub fn of(state: &State, prescription: &Prescription) -> Option<Self> {
        Eye::BOTH.into_iter().find_map(|eye| prescription.eye(eye))?;
        let (vertex, near_metres) = (prescription.planned_vertex, state.person.near_metres);
        let eyes = Eyes::from_fn(|eye| {
            let Some((written, planned)) = prescription.eye(eye).map(|of_eye| (of_eye.written, of_eye.planned)) else {
                return unwritten(EyeOutcome::of(state, prescription, eye));
            };
            if state.person.stays_on[eye].is_some_and(|worn| worn.kind == WornKind::Glasses) {
                return ForEye::FoundOverGlasses;
            }
            let pd = state.fitted.eye_pd[eye];
            let addition = prescription.additions[eye].map(|addition| addition.0);
            let far = Glass { power: written, centre: pd, limits: CentreLimits::of(written) };
            let near = addition.map(|addition| {
                let power = SpheroCylinder { sphere: written.sphere + addition, ..written };
                let centre = pd.zip(near_metres).map(|(pd, metres)| near_centre(pd, metres, vertex));
                Glass { power, centre, limits: CentreLimits::of(power) }
            });
            ForEye::Lens(Box::new(OrderedLens { far, planned, near, addition, prism: state.results.prism[eye] }))
        });
        let of_pd = Eye::BOTH.into_iter().filter(|eye| eyes[*eye].lens().is_some_and(|lens| lens.far.centre.is_none()));
        let of_near =
            near_metres.is_none() && eyes.values().iter().any(|of| of.lens().is_some_and(|l| l.near.is_some()));
        let lacking = of_pd.map(Lacking::PupillaryDistance);
        let lacking = lacking.chain(of_near.then_some(Lacking::NearDistance));
        let lacking = lacking.chain(state.person.planned_vertex.is_none().then_some(Lacking::VertexDistance));
        let over =
            Eye::BOTH.into_iter().filter(|eye| eyes[*eye].lens().is_some() && state.person.stays_on[*eye].is_some());
        let lacking = lacking.chain(over.map(Lacking::WornOver));
        Some(Self { lacking: lacking.collect(), eyes, vertex, near_metres })
    }
}

/// What is ordered for an eye without a written power.
fn unwritten(outcome: EyeOutcome) -> ForEye {
    match outcome {
        EyeOutcome::CannotBeWritten => ForEye::CannotBeWritten,
        EyeOutcome::BalanceLens => ForEye::BalanceLens,
        EyeOutcome::Refracted | EyeOutcome::NotRefracted => ForEye::NotRefracted,
    }
}

impl ForEye {
    /// The lens, where one of a power is ordered.
    pub fn lens(&self) -> Option<&OrderedLens> {
        match self {
            Self::Lens(lens) => Some(lens),
            Self::BalanceLens | Self::FoundOverGlasses | Self::NotRefracted | Self::CannotBeWritten => None,
        }
    }

    /// What is ordered in place of a power.
    pub fn instead(&self) -> Option<&'static str> {
        match self {
            Self::Lens(_) => None,
            Self::BalanceLens => Some(EyeOutcome::BalanceLens.shown()),
            Self::FoundOverGlasses => {
                Some("found over glasses that stayed on: refract without them, or order the total")
            }
            Self::NotRefracted => Some(EyeOutcome::NotRefracted.shown()),
            Self::CannotBeWritten => Some(EyeOutcome::CannotBeWritten.shown()),
        }
    }
}
