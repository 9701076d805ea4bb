//! What the record would say now.

use super::super::app::App;
use super::super::words;
use crate::exam::Prescription;
use crate::optics::Eye;

/// What the record would say now, in a few words.
pub fn with(app: &App) -> String {
    let prescription = Prescription::of(app.state(), 1);
    let of_eye = |eye: Eye| match prescription.eye(eye) {
        Some(of_eye) => {
            let worn = app.state().person.stays_on[eye];
            let over = worn.map(|worn| format!(" over {}", worn.kind.shown())).unwrap_or_default();
            format!("{eye} {}{over}", words::power(of_eye.written.power(), app.ui.form))
        }
        None => format!("nothing for the {eye} eye"),
    };
    Eye::BOTH.map(of_eye).join(", ")
}
