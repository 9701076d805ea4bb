//! What is asked about prism: by decentration, between two eyes, split between them, by Sheard.

use anyhow::{Context as _, bail};

use super::answer::{Answer, AnswerJson};
use crate::command::json::{PrismJson, SplitJson};
use crate::command::text;
use crate::command::working::{Working, factor, signed};
use crate::optics::decentration::{between_eyes, split_in_halves};
use crate::optics::notation::{Style, parse_figure, write_prescription};
use crate::optics::sheard::prism_wanted;
use crate::optics::{Base, Eye, Millimetres, Prism, PrismDioptres, SpheroCylinder, bounds};

/// Where a lens stands before an eye.
#[derive(Debug, Clone, Copy)]
pub enum Place {
    /// Its optical centre, from the pupil.
    Centre(Millimetres, Millimetres),
    /// Where it is looked through, from its optical centre.
    LookedThrough(Millimetres, Millimetres),
}

impl Place {
    /// Where the centre stands from the pupil.
    fn centre(self) -> (Millimetres, Millimetres) {
        match self {
            Self::Centre(x, y) => (x, y),
            Self::LookedThrough(x, y) => (Millimetres(-x.0), Millimetres(-y.0)),
        }
    }

    /// The like place before the other eye: as far in or out, as far up or down.
    fn mirrored(self) -> Self {
        let across = |x: Millimetres| Millimetres(-x.0);
        match self {
            Self::Centre(x, y) => Self::Centre(across(x), y),
            Self::LookedThrough(x, y) => Self::LookedThrough(across(x), y),
        }
    }

    fn prism(self, lens: SpheroCylinder, eye: Eye, working: &mut Working) -> Prism {
        let (x, y) = self.centre();
        let prism = Prism::induced(lens.power(), x, y);
        working.step(format!("{eye} eye, {}", write_prescription(lens, Style::Ascii)));
        if let Self::LookedThrough(..) = self {
            working.step("looked through off its centre, the centre stands as far the other way");
        }
        working.step(format!(
            "the centre stands {} cm to your right and {} cm up from the pupil",
            signed(x.0 / 10.0),
            signed(y.0 / 10.0)
        ));
        let power = lens.power();
        let (fx, fy, fxy) = (power.m + power.j0, power.m - power.j0, power.j45);
        working.step(format!(
            "Fx = S + C sin^2 A = {}, Fy = S + C cos^2 A = {}, cross term Fxy = -C sin A cos A = {}",
            signed(fx),
            signed(fy),
            signed(fxy)
        ));
        let term = |power: f64, millimetres: f64| format!("{} x {}", factor(power), factor(millimetres / 10.0));
        working.step(format!(
            "base to your right: Fx x + Fxy y = {} + {} = {}",
            term(fx, x.0),
            term(fxy, y.0),
            signed(prism.x)
        ));
        working.step(format!("base up: Fxy x + Fy y = {} + {} = {}", term(fxy, x.0), term(fy, y.0), signed(prism.y)));
        together(prism, working);
        prism
    }
}

fn together(prism: Prism, working: &mut Working) {
    working.step(format!(
        "together: sqrt({:.2}^2 + {:.2}^2) = {:.2} prism dioptres, base at {:.0}",
        prism.x.abs(),
        prism.y.abs(),
        prism.amount(),
        prism.base_deg().round() % 360.0
    ));
}

/// The prism of a lens before an eye, in halves before both where it is to be split; with another lens before the other eye,
/// what they do against each other.
pub fn decentred(
    lens: SpheroCylinder,
    other: Option<SpheroCylinder>,
    place: Place,
    eye: Eye,
    split: bool,
    working: &mut Working,
) -> Answer {
    let prism = place.prism(lens, eye, working);
    let mut answered = before(prism, eye, split, working);
    if let Some(other) = other {
        let before_other = place.mirrored().prism(other, eye.other(), working);
        let apart = between_eyes(prism, before_other);
        let (x, y) = (signed(apart.x), signed(apart.y));
        working.step(format!("apart, this eye's less the other's: to your right {x}, up {y}"));
        answered.rows.push(("other eye", text::prism(before_other, eye.other())));
        answered.rows.push(("apart", format!("{}, in front of the {eye} eye", text::prism(apart, eye))));
        answered.other = Some(before_other.into());
        answered.apart = Some(apart.into());
    }
    answered.answer()
}

/// An answer about prism, as far as it has been made.
struct Answered {
    rows: Vec<(&'static str, String)>,
    prism: PrismJson,
    other: Option<PrismJson>,
    apart: Option<PrismJson>,
    split: Option<SplitJson>,
}

impl Answered {
    fn answer(self) -> Answer {
        let Self { rows, prism, other, apart, split } = self;
        Answer { rows, json: AnswerJson::Prism { prism, other, apart, split } }
    }
}

/// A prism before an eye, and its halves before both where these are wanted.
fn before(prism: Prism, eye: Eye, split: bool, working: &mut Working) -> Answered {
    let mut rows = vec![("prism", text::prism(prism, eye))];
    if split {
        working
            .step("half of it in front of each eye: in stays in, out stays out, up in front of one eye is down in front of the other");
        for (eye, half) in [eye, eye.other()].into_iter().zip(split_in_halves(prism)) {
            let name = match eye {
                Eye::Right => "right eye",
                Eye::Left => "left eye",
            };
            rows.push((name, text::prism(half, eye)));
        }
    }
    let split = split.then(|| SplitJson::of(prism, eye));
    Answered { rows, prism: prism.into(), other: None, apart: None, split }
}

/// The prism that Sheard's criterion asks for, with the phoria as `exo:9` or `eso:3` and its reserve.
///
/// # Errors
/// When either cannot be read.
pub fn by_sheard(phoria: &str, reserve: &str, eye: Eye, split: bool, working: &mut Working) -> anyhow::Result<Answer> {
    let (base, amount) = match phoria.split_once(':') {
        Some((word, amount)) if word.eq_ignore_ascii_case("exo") => (Base::In, amount),
        Some((word, amount)) if word.eq_ignore_ascii_case("eso") => (Base::Out, amount),
        _ => bail!("phoria {phoria}: write which way and how much, like exo:9 or eso:3"),
    };
    let phoria = parse_figure(amount, &bounds::PHORIA).with_context(|| format!("phoria {phoria}"))?;
    let reserve = parse_figure(reserve, &bounds::RESERVE)?;
    let PrismDioptres(wanted) = prism_wanted(PrismDioptres(phoria), PrismDioptres(reserve));
    working.step("the reserve should be twice the phoria; the prism is 2/3 of the phoria less 1/3 of the reserve");
    let come_to = (2.0 * phoria - reserve) / 3.0;
    working.step(format!("2/3 x {phoria} - 1/3 x {reserve} = {}", signed(come_to)));
    if come_to <= 0.0 {
        working.step("that is not above nothing: no prism");
    } else {
        working.step(format!("exo is helped by base in, eso by base out: {come_to:.2} base {base}"));
    }
    let prism = Prism::polar(wanted, base.degrees(eye));
    Ok(before(prism, eye, split, working).answer())
}
