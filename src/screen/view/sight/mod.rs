//! What an eye sees, and the light in its pupil, as pictures: one panel a file. Fan and signs are drawn as the person sees them,
//! the pupil as the examiner does.

pub mod fan;
pub mod letters;
pub mod page;
pub mod pupil;
pub mod tones;
pub mod words;
