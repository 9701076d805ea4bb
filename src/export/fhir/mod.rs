//! A FHIR bundle for other record systems: [`mod@bundle`] makes it, [`mod@check`] looks at it before it is written, and both take
//! their [`codes`] from one place.

pub mod bundle;
pub mod check;
pub mod codes;

pub use bundle::{Release, bundle};
pub use check::{BundleFlaw, check};
