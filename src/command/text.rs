//! Words for people.

use std::io::{self, Write};

use crate::optics::decentration::split_in_halves;
use crate::optics::notation::{Style, write_power, write_prescription};
use crate::optics::quarter::nearest_quarter;
use crate::optics::{CylinderForm, Eye, Power, Prism, PrismPart};

/// Half of the last place that is written.
const LEAST_PRISM_WRITTEN: f64 = 0.005;

/// The rows below a power: its spherical equivalent, and the nearest power in quarter steps.
///
/// # Errors
/// When they cannot be written.
pub fn write_equivalent_and_quarter(out: &mut dyn Write, power: Power, form: CylinderForm) -> io::Result<()> {
    for (name, said) in equivalent_and_quarter(power, form) {
        writeln!(out, "{name:<15}  {said}")?;
    }
    Ok(())
}

/// The same as what stands in each row.
pub fn equivalent_and_quarter(power: Power, form: CylinderForm) -> [(&'static str, String); 2] {
    let quarter = write_prescription(form.write(nearest_quarter(power, 1)), Style::Ascii);
    [("equivalent", write_power(power.m, Style::Ascii)), ("nearest quarter", quarter)]
}

/// The rows of a prism before one eye that is split in halves.
///
/// # Errors
/// When they cannot be written.
pub fn write_split(out: &mut dyn Write, whole: Prism, eye: Eye) -> io::Result<()> {
    for (eye, half) in [eye, eye.other()].into_iter().zip(split_in_halves(whole)) {
        writeln!(out, "{:<15}  {}", format!("{eye} eye"), prism(half, eye))?;
    }
    Ok(())
}

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
