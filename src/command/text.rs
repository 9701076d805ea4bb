//! Words for people.

use crate::optics::notation::{Style, write_prescription};
use crate::optics::{Eye, Power, Prism};

/// A power in minus-cylinder form, to two places and the whole degree of axis.
pub fn power(power: Power) -> String {
    write_prescription(power.minus_form(), Style::Ascii)
}

/// A prism with its base in degrees and, where that is a plain one, in words.
pub fn prism(prism: Prism, eye: Eye) -> String {
    if prism.amount() < 0.005 {
        return "none".to_owned();
    }
    let (across, upright) = (prism.base_in(eye), prism.y);
    let part = |amount: f64, plus: &str, minus: &str| {
        (amount.abs() >= 0.005).then(|| format!("{:.2} {}", amount.abs(), if amount > 0.0 { plus } else { minus }))
    };
    let parts: Vec<String> = [part(across, "in", "out"), part(upright, "up", "down")].into_iter().flatten().collect();
    let whole_degrees = prism.base_deg().round() % 360.0;
    format!("{} (base {}, {whole_degrees} degrees)", amount(prism.amount()), parts.join(" with "))
}

fn amount(prism_dioptres: f64) -> String {
    format!("{prism_dioptres:.2} prism dioptres")
}
