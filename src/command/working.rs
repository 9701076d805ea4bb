//! The steps to an answer, in words and figures that can be followed with a pencil.

use std::io::{self, Write};

use crate::optics::notation::{Style, write_prescription};
use crate::optics::{Dioptres, Power, SpheroCylinder, cross};

/// The steps so far, in their order.
#[derive(Debug, Default)]
pub struct Working(Vec<String>);

impl Working {
    /// With a first step.
    pub fn of(step: &str) -> Self {
        Self(vec![step.to_owned()])
    }

    /// Adds a step.
    pub fn step(&mut self, step: impl Into<String>) {
        self.0.push(step.into());
    }

    /// Every step.
    pub fn steps(&self) -> &[String] {
        &self.0
    }

    /// A power as its vector.
    pub fn vector(&mut self, of: &str, power: Power) {
        self.step(format!("{of}: M {}, J0 {}, J45 {}", signed(power.m), signed(power.j0), signed(power.j45)));
    }

    /// What a power vector is written with.
    pub fn how_vectors_are_made(&mut self) {
        self.step("each as a power vector: M = S + C/2, J0 = -C/2 x cos 2A, J45 = -C/2 x sin 2A");
    }

    /// From a power vector back to a prescription.
    pub fn back_from_vector(&mut self, power: Power) {
        let form = power.minus_form();
        let (half, m) = (power.astigmatism(), signed(power.m));
        let cylinder = signed(form.cylinder);
        self.step(format!("C = -2 x sqrt(J0^2 + J45^2) = -2 x {half:.2} = {cylinder}"));
        self.step(format!("S = M - C/2 = {m} + {half:.2} = {}", signed(form.sphere)));
        if form.cylinder != 0.0 {
            self.step(format!(
                "A is half of the angle whose cosine goes with J0 and whose sine with J45: {:.0}",
                form.axis
            ));
        }
    }

    /// The arms of the cross of a prescription.
    pub fn cross(&mut self, form: SpheroCylinder) {
        if form.cylinder == 0.0 {
            self.step(format!("a sphere has {} along every meridian", signed(form.sphere)));
            return;
        }
        let (sphere, cylinder) = (form.sphere, form.cylinder);
        self.step(format!("along the axis, {:.0}, the sphere acts alone: {}", form.axis, signed(sphere)));
        let across = form.transposed().axis;
        self.step(format!("across it, {across:.0}, both act: {}", sum(sphere, cylinder)));
    }

    /// From the arms of a cross to the prescription that they make.
    pub fn back_from_cross(&mut self, form: SpheroCylinder) {
        self.step(format!("the greater plus of the two is the sphere, {}", signed(form.sphere)));
        self.step(format!(
            "the cylinder is what the other meridian has more, {}, its axis along the first: {}",
            signed(form.cylinder),
            write_prescription(form, Style::Ascii)
        ));
    }

    /// A vergence or a lens so many metres nearer the eye.
    pub fn nearer(&mut self, power: Power, metres: f64) {
        for (meridian, Dioptres(along)) in cross::of_power(power) {
            let there = along / (1.0 - metres * along);
            self.step(format!(
                "along {meridian:.0}: {} / (1 - {metres} x {}) = {}",
                signed(along),
                factor(along),
                signed(there)
            ));
        }
    }

    /// Writes the steps, each with its number.
    ///
    /// # Errors
    /// When they cannot be written.
    pub fn write(&self, out: &mut dyn Write) -> io::Result<()> {
        for (nth, step) in (1..).zip(&self.0) {
            writeln!(out, "{nth:>2}. {step}")?;
        }
        Ok(())
    }

    /// The same power with the cylinder of the other sign.
    pub fn transposition(&mut self, form: SpheroCylinder) {
        let SpheroCylinder { sphere, cylinder, axis } = form;
        self.step(format!("transposed, the sphere is sphere and cylinder together: {}", sum(sphere, cylinder)));
        let turned = if axis > 90.0 { "- 90" } else { "+ 90" };
        let written = write_prescription(form.transposed(), Style::Ascii);
        self.step(format!(
            "the cylinder has the other sign, {}, its axis is across, {axis:.0} {turned}: {written}",
            signed(-cylinder)
        ));
    }
}

/// A figure with its sign: two places, three where it has no more, since eighths are not cut here. Never a minus before
/// nothing.
pub fn signed(value: f64) -> String {
    let written = size(value);
    if written == "0.00" {
        return written;
    }
    format!("{}{written}", if value < 0.0 { '-' } else { '+' })
}

/// The same without its sign.
fn size(value: f64) -> String {
    let thousandths = (value.abs() * 1000.0).round();
    let is_exact = (value.abs() * 1000.0 - thousandths).abs() < 1e-6;
    if is_exact && thousandths % 10.0 != 0.0 { format!("{:.3}", value.abs()) } else { format!("{:.2}", value.abs()) }
}

/// Two figures with what they come to: `-4.25 - 0.75 = -5.00`.
pub fn sum(first: f64, second: f64) -> String {
    let sign = if second < 0.0 { '-' } else { '+' };
    format!("{} {sign} {} = {}", signed(first), size(second), signed(first + second))
}

/// A figure in a product or a quotient: in brackets where it is negative.
pub fn factor(value: f64) -> String {
    let written = size(value);
    if value < 0.0 && written != "0.00" { format!("(-{written})") } else { written }
}
