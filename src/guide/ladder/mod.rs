//! The procedures of the ladder, one file each: searches in steps, coarse to fine.
//!
//! - [`stepping`], `sphere_search`, `meridian_search`: searches that procedures share; `cross_cylinder`: with
//!   which one an eye is asked; [`told`] and [`lines_together`]: what lines tell;
//! - `order`: with what to go on.

mod balance;
mod best_sphere;
mod cross_cylinder;
pub mod cross_cylinder_axis;
mod cross_cylinder_power;
mod cross_cylinder_search;
pub mod fan;
mod final_sphere;
pub mod first_lens;
mod first_letter;
pub mod lines_together;
mod meridian_search;
pub mod near;
mod neutralisation;
pub(super) mod order;
pub mod over_minus_check;
pub mod retinoscopy;
pub mod set_up;
pub mod slit;
mod sphere_search;
pub mod stepping;
pub mod told;
mod writing;

pub(super) use balance::Balance;
pub(super) use best_sphere::BestSphere;
pub(super) use cross_cylinder_axis::CrossCylinderAxis;
pub(super) use cross_cylinder_power::CrossCylinderPower;
pub(super) use cross_cylinder_search::CrossCylinderSearch;
pub(super) use fan::Fan;
pub(super) use final_sphere::FinalSphere;
pub(super) use first_lens::FirstLens;
pub(super) use first_letter::FirstLetter;
pub(super) use near::Near;
pub(super) use neutralisation::Neutralisation;
pub(super) use over_minus_check::OverMinusCheck;
pub(super) use retinoscopy::Retinoscopy;
pub(super) use set_up::SetUp;
pub(super) use slit::Slit;
pub(super) use writing::Writing;
