//! What the procedure says: each sentence made from what is believed.

use crate::exam::sentence::sentence;
use crate::exam::{Believed, Part, Sentence, Shows};
use crate::optics::{Axis, Eye, Power};

/// A cylinder weaker than this is not worth naming.
const NAMED_FROM_D: f64 = 0.25;

fn hundredths(dioptres: f64) -> Part {
    Part::Dioptres((dioptres * 100.0).round() / 100.0)
}

/// Why this is asked, from what is believed of the eye.
pub fn why(shows: Shows, believed: &Believed) -> Sentence {
    // nineteen of twenty lie within two standard deviations
    let within = hundredths(2.0 * believed.sphere_sd);
    match shows {
        Shows::CrossCylinder { .. } => {
            let cylinder = believed.mean.minus_form();
            let within = hundredths(4.0 * believed.cylinder_sd);
            if cylinder.cylinder.abs() < NAMED_FROM_D {
                sentence!["a cylinder of up to ", within, " is still possible: this position tells most about it"]
            } else {
                sentence![
                    "the cylinder is likely ",
                    hundredths(cylinder.cylinder),
                    " at ",
                    Part::CylinderAxis(Axis::nearest(cylinder.axis)),
                    ", known to ",
                    within,
                    ": this position tells most about it"
                ]
            }
        }
        Shows::Line(held) if held.0 > 0.0 => sentence![
            "the sphere is known to ",
            within,
            " either way: the line read through a known fog tells most about it"
        ],
        Shows::Line(_) => {
            sentence!["the sphere is known to ", within, " either way: the line tells more than a comparison"]
        }
        Shows::Sphere(_) | Shows::Letters(_) => {
            sentence!["the sphere is known to ", within, " either way: this step tells most about it"]
        }
        Shows::Ends | Shows::HandsOver { .. } => Sentence::NONE,
    }
}

/// What is said to the person.
pub fn say(shows: Shows) -> Sentence {
    match shows {
        Shows::Sphere(_) => "Are the letters clearer with this, the same, or worse?".into(),
        Shows::Letters(_) => "Does this let you read any more letters, or do they only look blacker?".into(),
        Shows::CrossCylinder { .. } => "Which is clearer, the first or the second, or are they the same?".into(),
        Shows::Line(_) => "Which is the lowest line you can read?".into(),
        Shows::Ends | Shows::HandsOver { .. } => Sentence::NONE,
    }
}

/// What the examiner does.
pub fn instruction(shows: Shows, eye: Eye, stands: Power) -> Sentence {
    match shows {
        Shows::Sphere(held) | Shows::Letters(held) => {
            sentence!["Hold ", Part::Sphere(held.0), " in front of ", stands, ", ", eye, " eye."]
        }
        Shows::Line(held) if held.0 != 0.0 => {
            sentence![
                "Hold ",
                Part::Sphere(held.0),
                " in front of ",
                stands,
                ", ",
                eye,
                " eye. Which line can still be read?"
            ]
        }
        Shows::Line(_) => sentence!["Read the chart with the ", eye, " eye."],
        Shows::CrossCylinder { power, first } => sentence![
            "Cross cylinder ",
            Part::CrossCylinder(power.0),
            " in front of the ",
            eye,
            " eye, minus axis at ",
            first,
            ", then flipped to ",
            first.perpendicular(),
            "."
        ],
        Shows::Ends | Shows::HandsOver { .. } => Sentence::NONE,
    }
}
