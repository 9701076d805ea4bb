//! What is asked of a prescription, prism apart.

use anyhow::bail;

use super::answer::{Answer, AnswerJson, ArmJson, CentresJson};
use crate::command::json::no_minus_zero;
use crate::command::text;
use crate::command::working::{Working, factor, signed, sum};
use crate::optics::centres::{HORIZONTAL, Tolerance, VERTICAL};
use crate::optics::combination::residual;
use crate::optics::notation::{Style, write_power, write_prescription};
use crate::optics::quarter::nearest_quarter;
use crate::optics::{Axis, CylinderForm, Dioptres, Millimetres, Power, SpheroCylinder, accommodation, cross};

/// The prescription itself, in the form that is wanted, with its spherical equivalent, its nearest quarter and its cross.
pub fn itself(written: SpheroCylinder, form: CylinderForm, working: &mut Working) -> Answer {
    let power = written.power();
    let shown = form.of(power);
    if written.cylinder * shown.cylinder < 0.0 {
        working.transposition(written);
    }
    working.step(format!(
        "spherical equivalent, sphere and half the cylinder: {}",
        sum(shown.sphere, shown.cylinder / 2.0)
    ));
    working.cross(shown);
    let quarter = nearest_quarter(power, 1);
    let miss = power.miss(quarter.power());
    working.step(format!(
        "of all powers in quarter steps {} is nearest, off by {miss:.2} D",
        write_prescription(form.write(quarter), Style::Ascii)
    ));
    let arms = cross::of_power(power);
    let arm = |(meridian, Dioptres(power)): (f64, Dioptres)| {
        format!("{} along {}", write_power(power, Style::Ascii), Axis::nearest(meridian))
    };
    let mut rows = vec![("power", write_prescription(shown, Style::Ascii))];
    rows.extend(text::equivalent_and_quarter(power, form));
    rows.push(("cross", format!("{}, {}", arm(arms[0]), arm(arms[1]))));
    let json = AnswerJson::Power {
        power: power.into(),
        plus_form: (form == CylinderForm::Plus).then(|| power.plus_form().into()),
        nearest_quarter: write_prescription(form.write(quarter), Style::Ascii),
        cross: arms.map(|(meridian, Dioptres(power))| ArmJson { meridian, power: no_minus_zero(power) }),
    };
    Answer { rows, json }
}

/// The power along a meridian.
pub fn along(written: SpheroCylinder, meridian_deg: f64, working: &mut Working) -> Answer {
    let power = written.power().along(meridian_deg);
    let off = meridian_deg - written.axis;
    let share = 0.5 - libm::cos((2.0 * off).to_radians()) / 2.0;
    let acts = written.cylinder * share;
    working.step("along a meridian acts the sphere, and sin^2 (meridian - axis) of the cylinder");
    working.step(format!("sin^2 ({meridian_deg} - {:.0}) = {share:.4}", written.axis));
    working.step(format!(
        "{} x {share:.4} = {}; with the sphere {}",
        signed(written.cylinder),
        signed(acts),
        sum(written.sphere, acts)
    ));
    Answer {
        rows: vec![("along", format!("{} D along {meridian_deg}", signed(power)))],
        json: AnswerJson::Along { along: no_minus_zero(power) },
    }
}

/// What a prescription leaves of the one that is needed.
pub fn left_over(worn: SpheroCylinder, needed: SpheroCylinder, form: CylinderForm, working: &mut Working) -> Answer {
    let left = residual(worn.power(), needed.power());
    working.how_vectors_are_made();
    working.vector(&format!("needed, {}", write_prescription(needed, Style::Ascii)), needed.power());
    working.vector(&format!("worn, {}", write_prescription(worn, Style::Ascii)), worn.power());
    working.vector("needed less worn, part by part", left.power);
    working.back_from_vector(left.power);
    let (m, half) = (left.power.m.abs(), left.power.astigmatism());
    working.step(format!("score, |M| + |C|/2: {m:.2} + {half:.2} = {:.2}", left.score));
    Answer {
        rows: vec![
            ("residual", write_prescription(form.of(left.power), Style::Ascii)),
            ("score", format!("{:.2}", left.score)),
        ],
        json: AnswerJson::Residual {
            power: left.power.into(),
            plus_form: (form == CylinderForm::Plus).then(|| left.power.plus_form().into()),
            score: left.score,
        },
    }
}

/// What print at a distance before glasses asks of the eye behind them.
///
/// # Errors
/// When the light comes to a focus on the cornea.
pub fn accommodation(
    written: SpheroCylinder,
    vertex: Millimetres,
    distance_m: f64,
    working: &mut Working,
) -> anyhow::Result<Answer> {
    let needed = accommodation::needed(written.power(), vertex, distance_m);
    if !needed.is_finite() {
        bail!("the light comes to a focus exactly on the cornea: there is no power there");
    }
    let without = accommodation::needed(Power::ZERO, vertex, distance_m).m;
    let (d, from_print) = (vertex.metres(), -1.0 / distance_m);
    working
        .step(format!("light from {distance_m} m reaches the glasses with -1 / {distance_m} = {}", signed(from_print)));
    working.step(format!("V at the glasses is V / (1 - d V) at the cornea, d = {d} m"));
    let mut of_meridians = Vec::new();
    for (meridian, Dioptres(power)) in cross::of_power(written.power()) {
        let at_cornea = |v: f64| v / (1.0 - d * v);
        let said = |v: f64| format!("{} / (1 - {d} x {}) = {}", signed(v), factor(v), signed(at_cornea(v)));
        let asked = at_cornea(power) - at_cornea(power + from_print);
        working.step(format!("along {meridian:.0}, from far away: {}", said(power)));
        working.step(format!("along {meridian:.0}, from the print: {}", said(power + from_print)));
        working.step(format!("along {meridian:.0} the eye makes up the difference: {}", signed(asked)));
        of_meridians.push(asked);
    }
    let mean = of_meridians.iter().sum::<f64>() / of_meridians.len() as f64;
    working.step(format!("the mean of both meridians: {}", signed(mean)));
    let mut rows =
        vec![("accommodation", format!("{:.2} D", needed.m)), ("without glasses", format!("{without:.2} D"))];
    if needed.astigmatism() >= 0.005 {
        rows.push(("as a lens", text::power(needed)));
    }
    let json = AnswerJson::Accommodation { accommodation: needed.m, power: needed.into(), without_glasses: without };
    Ok(Answer { rows, json })
}

/// How far the centres of glasses of this power may be off.
pub fn centres(written: SpheroCylinder, working: &mut Working) -> Answer {
    let power = written.power();
    let mut limit = |tolerance: Tolerance| {
        let Tolerance { meridian_deg, of_one_dioptre: Millimetres(of_one), least: Millimetres(least) } = tolerance;
        let along = power.along(meridian_deg).abs();
        let limit = tolerance.of(power).map(|limit| limit.0);
        working.step(if limit.is_some() {
            let quotient = of_one / along;
            format!("along {meridian_deg} the power is {along:.2}: {of_one} / {along:.2} = {quotient:.2} mm, at least {least:.1}")
        } else {
            format!("along {meridian_deg} there is no power: off its centre the lens makes no prism")
        });
        limit
    };
    let (horizontal_mm, vertical_mm) = (limit(HORIZONTAL), limit(VERTICAL));
    let said = |limit: Option<f64>| {
        limit.map_or_else(|| "no limit: no power along it".to_owned(), |limit| format!("{limit:.1} mm either way"))
    };
    let rows = vec![("horizontal", said(horizontal_mm)), ("vertical", said(vertical_mm))];
    Answer { rows, json: AnswerJson::Centres { centres: CentresJson { horizontal_mm, vertical_mm } } }
}
