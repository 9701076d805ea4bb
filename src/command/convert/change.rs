//! What is done to a prescription before anything is asked of it.

use anyhow::bail;

use crate::command::working::{Working, signed, sum};
use crate::optics::combination::mean;
use crate::optics::notation::{Style, write_prescription};
use crate::optics::tilt::{LENS_INDEX, TiltedAbout, tilted};
use crate::optics::vergence::at_vertex;
use crate::optics::{Dioptres, Millimetres, Power, SpheroCylinder};

/// One change; none of them goes with another.
pub enum Change {
    /// Nothing.
    None,
    /// Moved to another vertex distance.
    Vertex { from: Millimetres, to: Millimetres },
    /// These are added to it.
    Sum(Vec<SpheroCylinder>),
    /// This is taken off it.
    Less(SpheroCylinder),
    /// The mean of it and these.
    Mean(Vec<SpheroCylinder>),
    /// Tilted before the eye.
    Tilt { about: TiltedAbout, degrees: f64 },
    /// An addition for near.
    Add(Dioptres),
}

impl Change {
    /// Makes the change, and says how.
    ///
    /// # Errors
    /// When no lens does the same at the other vertex distance.
    pub fn make(&self, written: SpheroCylinder, working: &mut Working) -> anyhow::Result<SpheroCylinder> {
        let power = written.power();
        let changed = match self {
            Self::None => return Ok(written),
            Self::Vertex { from, to } => moved(written, *from, *to, working)?,
            Self::Sum(others) => {
                let powers = vectors(written, others, working);
                let total: Power = powers.iter().copied().sum();
                working.vector("added, part by part", total);
                working.back_from_vector(total);
                total
            }
            Self::Less(other) => {
                let powers = vectors(written, std::slice::from_ref(other), working);
                let left = power - powers.last().copied().unwrap_or(Power::ZERO);
                working.vector("the second taken from the first, part by part", left);
                working.back_from_vector(left);
                left
            }
            Self::Mean(others) => {
                let powers = vectors(written, others, working);
                let mean = mean(&powers).unwrap_or(power);
                working.vector(&format!("added and divided by {}, part by part", powers.len()), mean);
                working.back_from_vector(mean);
                mean
            }
            Self::Tilt { about, degrees } => turned(written, *about, *degrees, working),
            Self::Add(addition) => {
                working.step(format!("sphere and addition: {}", sum(written.sphere, addition.0)));
                working.step("cylinder and axis stay");
                return Ok(SpheroCylinder { sphere: written.sphere + addition.0, ..written });
            }
        };
        Ok(changed.minus_form())
    }
}

fn vectors(first: SpheroCylinder, others: &[SpheroCylinder], working: &mut Working) -> Vec<Power> {
    working.how_vectors_are_made();
    let all = std::iter::once(first).chain(others.iter().copied());
    all.map(|written| {
        let power = written.power();
        working.vector(&write_prescription(written, Style::Ascii), power);
        power
    })
    .collect()
}

fn moved(written: SpheroCylinder, from: Millimetres, to: Millimetres, working: &mut Working) -> anyhow::Result<Power> {
    let moved = at_vertex(written.power(), from, to);
    if !moved.is_finite() {
        bail!("a lens of this power has its focus exactly there: no lens at {} mm does the same", to.0);
    }
    let nearer = from.metres() - to.metres();
    working.cross(written);
    working.step(format!("{} mm nearer the eye a power F must be F / (1 - d F), d = {nearer} m", from.0 - to.0));
    working.nearer(written.power(), nearer);
    Ok(moved)
}

fn turned(written: SpheroCylinder, about: TiltedAbout, degrees: f64, working: &mut Working) -> Power {
    let power = tilted(written.power(), about, degrees);
    let (sin, cos) = libm::sincos(degrees.to_radians());
    let (k, tan_squared) = (1.0 + sin * sin / (2.0 * LENS_INDEX), (sin / cos) * (sin / cos));
    let (line, axis) = match about {
        TiltedAbout::Horizontal => ("horizontal", 180.0),
        TiltedAbout::Vertical => ("vertical", 90.0),
    };
    working.step(format!(
        "Martin: k = 1 + sin^2 {degrees} / (2 x {LENS_INDEX}) = {k:.4}, tan^2 {degrees} = {tan_squared:.4}"
    ));
    if written.cylinder == 0.0 {
        let sphere = written.sphere * k;
        working.step(format!("sphere: {} x {k:.4} = {}", signed(written.sphere), signed(sphere)));
        working.step(format!(
            "cylinder of the same sign: {} x {tan_squared:.4} = {}, axis {axis:.0}, the {line} line about which it is turned",
            signed(sphere),
            signed(sphere * tan_squared)
        ));
        return power;
    }
    let (before, across) = (written.power(), 270.0 - axis);
    let per = 1.0 / (cos * cos);
    for (meridian, times, how) in [(axis, k, format!("{k:.4}")), (across, k * per, format!("{k:.4} / cos^2 {degrees}"))]
    {
        let along = before.along(meridian);
        working.step(format!("along {meridian:.0}: {} x {how} = {}", signed(along), signed(along * times)));
    }
    if before.j45.abs() > 1e-9 {
        let oblique = format!("{} x {k:.4} / cos {degrees} = {}", signed(before.j45), signed(power.j45));
        working.step(format!("J45, what lies between the two: {oblique}"));
    }
    working.vector("M is half of both, J0 half of what 180 has more than 90", power);
    working.back_from_vector(power);
    power
}
