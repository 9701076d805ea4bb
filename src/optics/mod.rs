//! Numbers in, numbers out: powers, vergence, prism, acuity, notation and quarter steps.
//!
//! Conventions, the same everywhere in the program:
//!
//! - powers in dioptres (D), distances in millimetres at the edges and metres inside formulas, prism in prism dioptres (Δ),
//!   angles in degrees;
//! - an axis runs from 1 to 180 as the examiner facing the patient sees it: 0 at the examiner's right, anticlockwise, the
//!   same for both eyes (the dial of ISO 8429);
//! - inside, a sphero-cylinder is a power vector (M, J0, J45) after Thibos, Wheeler and Horner, *Optom Vis Sci*
//!   1997;74:367-375; its matrix, x horizontal and y up, is `[[M + J0, J45], [J45, M − J0]]` after Long, *Am J Optom
//!   Physiol Opt* 1976;53:27-33.

pub mod accommodation;
pub mod acuity;
pub mod blur;
pub mod bounds;
pub mod centres;
pub mod combination;
pub mod convergence;
pub mod cross;
pub mod cylinder_form;
pub mod decentration;
pub mod eyes;
pub(crate) mod listed;
pub mod making;
pub mod near_print;
pub mod notation;
pub mod power;
pub mod prism;
pub mod prism_parts;
pub mod quantity;
pub mod quarter;
pub mod refraction_counts;
pub mod retinoscopy;
pub mod sheard;
pub mod tilt;
pub mod vergence;
pub mod worn;

pub use acuity::{Acuity, AcuityNotation, ChartPlace};
pub use cylinder_form::CylinderForm;
pub use eyes::Eyes;
pub use power::{Power, SpheroCylinder};
pub use prism::{Base, Prism};
pub use prism_parts::PrismPart;
pub use quantity::{Axis, Dioptres, Eye, Millimetres, PrismDioptres};
pub use worn::{WornKind, WornLens};
