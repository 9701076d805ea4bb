//! Words for people.

use crate::optics::notation::{Style, write_prescription};
use crate::optics::{CylinderForm, Eye, Power, Prism, PrismPart};

/// Half of the last place that is written.
const LEAST_PRISM_WRITTEN: f64 = 0.005;

/// A power in minus-cylinder form, to two places and the whole degree of axis.
pub fn power(power: Power) -> String {
    write_prescription(power.minus_form(), Style::Ascii)
}

/// The same in the cylinder form that is in use.
pub fn power_in(form: CylinderForm, power: Power) -> String {
    write_prescription(form.of(power), Style::Ascii)
}

/// A prism with its base in degrees and, where that is a plain one, in words.
pub fn prism(prism: Prism, eye: Eye) -> String {
    if prism.amount() < LEAST_PRISM_WRITTEN {
        return "none".to_owned();
    }
    let parts: Vec<String> = PrismPart::of(prism, eye, LEAST_PRISM_WRITTEN)
        .iter()
        .map(|part| format!("{:.2} {}", part.amount, part.base))
        .collect();
    let whole_degrees = prism.base_deg().round() % 360.0;
    format!("{} (base {}, {whole_degrees} degrees)", amount(prism.amount()), parts.join(" with "))
}

fn amount(prism_dioptres: f64) -> String {
    format!("{prism_dioptres:.2} prism dioptres")
}
