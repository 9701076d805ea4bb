//! What a practice eye sees, and what is seen of it, as pictures: grey levels and nothing else.
//!
//! - [`raster`]: a grid of levels and how it lies; [`targets`]: the fan, Landolt rings and letters as shapes;
//! - [`patch`]: the ellipse that blur makes of a point, turned once from the dial into the person's view;
//! - [`readable`]: how large that ellipse is, so that the line which the eye answers can just be read in the picture;
//! - [`through`]: a shape seen through it; [`reflex`]: the light in the pupil as the examiner sees it;
//! - [`levels`]: a grid as ten ASCII levels or as half blocks.
//!
//! Fan, rings and letters are drawn as the *person* sees them, the reflex as the *examiner* does. The person faces the examiner:
//! what lies at an angle on the dial lies at 180 less that angle in the person's view, and only [`patch`] turns it.

pub mod levels;
pub mod patch;
pub mod raster;
pub mod readable;
pub mod reflex;
pub mod targets;
pub mod through;
