//! What the person who uses the program has chosen: how powers and acuities are written, distances, theme and keys.
//!
//! - [`values`]: what can be set, and what holds when nothing is;
//! - [`table`]: the one table of settings; reader, schema and the README's example follow from it;
//! - [`mod@file`]: the settings file; [`choices`]: what was chosen on the screen, which holds at the next start.

pub mod choices;
pub mod file;
pub mod table;
pub mod values;

pub use file::SettingsError;
pub use values::{Characters, Colours, PixelProtocol, Settings, ThemeName};

pub use crate::optics::AcuityNotation;
