//! Slips in the making of glasses that explain a whole lens at once.

use std::fmt;

use serde::Serialize;

use super::found::FoundGlasses;
use crate::optics::making::sphere_limit;
use crate::optics::{Eye, Eyes, SpheroCylinder};

/// A slip in the making.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum MakingSlip {
    /// Each lens stands before the other eye.
    EyesExchanged,
    /// The axis is counted from the other side: 20 for 160.
    AxisMirrored,
    /// The cylinder stands across its axis, as where the other cylinder form was meant.
    AxisAcross,
    /// The sphere has the other sign.
    SphereSign,
    /// The cylinder has the other sign.
    CylinderSign,
}

/// What a slip is said of: one eye, or both.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct SlipOf {
    /// The slip.
    pub slip: MakingSlip,
    /// Of which eye; `None` for both.
    pub eye: Option<Eye>,
}

impl SlipOf {
    /// Whether it is of this eye too.
    pub fn is_of(&self, eye: Eye) -> bool {
        self.eye.is_none_or(|only| only == eye)
    }
}

impl fmt::Display for SlipOf {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let lens = self.eye.map_or_else(|| "lenses".to_owned(), |eye| format!("lens before the {eye} eye"));
        match self.slip {
            MakingSlip::EyesExchanged => f.write_str("Each lens is the one ordered for the other eye."),
            MakingSlip::AxisMirrored => {
                write!(f, "The {lens} is as ordered with its axis counted from the other side (180 less the axis).")
            }
            MakingSlip::AxisAcross => {
                write!(f, "The {lens} is as ordered with its axis turned by 90 degrees, as if the form were mistaken.")
            }
            MakingSlip::SphereSign => write!(f, "The {lens} is as ordered with the other sign of the sphere."),
            MakingSlip::CylinderSign => write!(f, "The {lens} is as ordered with the other sign of the cylinder."),
        }
    }
}

impl MakingSlip {
    /// What would have been made of an ordered lens by this slip; `None` for the one that is of both eyes.
    fn makes(self, ordered: SpheroCylinder) -> Option<SpheroCylinder> {
        match self {
            Self::EyesExchanged => None,
            Self::AxisMirrored => Some(SpheroCylinder { axis: 180.0 - ordered.axis, ..ordered }),
            Self::AxisAcross => Some(SpheroCylinder { axis: ordered.axis + 90.0, ..ordered }),
            Self::SphereSign => Some(SpheroCylinder { sphere: -ordered.sphere, ..ordered }),
            Self::CylinderSign => Some(SpheroCylinder { cylinder: -ordered.cylinder, ..ordered }),
        }
    }

    const OF_ONE_EYE: [Self; 4] = [Self::AxisMirrored, Self::AxisAcross, Self::SphereSign, Self::CylinderSign];
}

/// Whether two powers are one within what a maker may miss.
fn is_as(found: SpheroCylinder, made: SpheroCylinder) -> bool {
    found.power().miss(made.power()) <= limit_of(made)
}

fn limit_of(made: SpheroCylinder) -> f64 {
    sphere_limit(made.sphere.abs().max((made.sphere + made.cylinder).abs()))
}

/// A lens is far from its order, and a slip near it, only where what it is taken for is twice as far off as a maker may be.
fn is_far(found: SpheroCylinder, ordered: SpheroCylinder) -> bool {
    found.power().miss(ordered.power()) > 2.0 * limit_of(ordered)
}

/// The slips that explain what was found: at most one of both eyes, or one for each.
pub fn slips(ordered: Eyes<Option<SpheroCylinder>>, found: &FoundGlasses) -> Vec<SlipOf> {
    let pairs = Eyes::from_fn(|eye| found.lenses[eye].power.zip(ordered[eye]));
    let exchanged = || {
        let (found, ordered) = (found.lenses.map(|lens| lens.power).all()?, ordered.all()?);
        let far = Eye::BOTH.into_iter().any(|eye| is_far(found[eye], ordered[eye]));
        let other = Eye::BOTH.into_iter().all(|eye| is_as(found[eye], ordered[eye.other()]));
        (far && other).then_some(SlipOf { slip: MakingSlip::EyesExchanged, eye: None })
    };
    if let Some(exchanged) = exchanged() {
        return vec![exchanged];
    }
    let of_eye = |eye: Eye| {
        let (found, ordered) = pairs[eye]?;
        let by = |slip: &MakingSlip| slip.makes(ordered).is_some_and(|made| is_as(found, made));
        let slip = MakingSlip::OF_ONE_EYE.into_iter().find(by).filter(|_| is_far(found, ordered))?;
        Some(SlipOf { slip, eye: Some(eye) })
    };
    Eye::BOTH.into_iter().filter_map(of_eye).collect()
}
