//! Found against ordered: each difference as a miss in dioptres or as prism between the eyes, beside what is allowed and what
//! repeats differ by; the greatest in its own limit first, which is the likeliest cause.

use serde::Serialize;

use super::found::{CameBack, FoundLens, RefractedAgain};
use super::slip::{SlipOf, slips};
use crate::exam::order::{ForEye, Glass, Order, OrderedLens};
use crate::exam::prescription::{REPEAT_J_D, REPEAT_M_D, Repeat, strongest_meridian};
use crate::optics::centres::{HORIZONTAL, Tolerance, VERTICAL};
use crate::optics::decentration::between_eyes;
use crate::optics::making::{axis_limit, cylinder_limit, sphere_limit};
use crate::optics::power::fold_axis;
use crate::optics::prism::decentration_to_examiners_right;
use crate::optics::vergence::at_vertex;
use crate::optics::{Dioptres, Eye, Eyes, Millimetres, Power, Prism, SpheroCylinder};

/// The limit of an addition in dioptres: a step of what is written (ours, no source).
const ADDITION_LIMIT_D: f64 = 0.25;

/// A difference of less than this, in its own unit, is rounding.
const SAME: f64 = 1e-6;
/// The same for prism, which a centre is never measured finely enough for.
const NO_PRISM: f64 = 0.005;

/// What was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Measured {
    /// The sphere of the minus-cylinder form, in dioptres.
    Sphere,
    /// The cylinder of the minus-cylinder form, in dioptres.
    Cylinder,
    /// The axis of the minus-cylinder form, in degrees.
    Axis,
    /// The addition, in dioptres.
    Addition,
    /// The vertex distance, in millimetres.
    Vertex,
    /// The distance of the centres for far to the side, in millimetres.
    Centres,
    /// The same for near.
    NearCentres,
    /// How far the centre of the right lens stands higher above its pupil than that of the left, in millimetres.
    Heights,
    /// The equivalent that was found when the person was refracted again, in dioptres.
    RefractedAgain,
    /// The addition that was written then, in dioptres.
    AdditionAgain,
}

impl Measured {
    /// Whether it is of the power of a lens for far, which a slip in the making explains as a whole.
    pub fn is_of_the_lens(self) -> bool {
        match self {
            Self::Sphere | Self::Cylinder | Self::Axis => true,
            Self::Addition
            | Self::Vertex
            | Self::Centres
            | Self::NearCentres
            | Self::Heights
            | Self::RefractedAgain
            | Self::AdditionAgain => false,
        }
    }
}

/// What a difference does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Effect {
    /// A power that the eye has too much of; its blur strength is the miss.
    Power(Power),
    /// A prism between the eyes, written as it were before the right eye alone; of one lens alone, before that eye.
    Prism(Prism),
}

/// One difference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// What differs.
    pub what: Measured,
    /// Of which eye; `None` for both together.
    pub eye: Option<Eye>,
    /// As it was ordered, in the unit of what differs.
    pub ordered: f64,
    /// As it was found.
    pub found: f64,
    /// What that does.
    pub effect: Effect,
    /// The limit: of sphere, cylinder, axis and addition in their unit, of a vertex distance and a refraction in dioptres, of
    /// centres in prism dioptres.
    pub limit: f64,
    /// How many times the limit it is.
    pub of_limit: f64,
}

impl Difference {
    /// Whether it is beyond its limit.
    pub fn is_beyond_limit(&self) -> bool {
        self.of_limit > 1.0 + SAME
    }

    /// How a power stands to what repeated refractions differ by; prism is not refracted.
    pub fn repeat(&self) -> Option<Repeat> {
        match self.effect {
            Effect::Power(power) => Some(Repeat::of(power)),
            Effect::Prism(_) => None,
        }
    }

    /// Whether it is more than repeats differ by; prism: more than its limit.
    pub fn is_beyond_repeats(&self) -> bool {
        self.repeat().map_or(self.is_beyond_limit(), |repeat| repeat != Repeat::Within)
    }
}

/// The whole of one lens.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OfLens {
    /// As it was ordered.
    pub ordered: SpheroCylinder,
    /// As it was found.
    pub found: SpheroCylinder,
    /// Found less ordered.
    pub difference: Power,
}

/// Why something could not be compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NotCompared {
    /// The exam has no pupillary distance of this eye.
    NoPupillaryDistance(Eye),
    /// The exam has no near distance, or no addition.
    NoNearCentre(Eye),
    /// A prism is ordered, so that the centre stands elsewhere.
    PrismOrdered(Eye),
    /// No power was written for this eye.
    NoPower(Eye),
}

/// Everything that differs.
#[derive(Debug, Clone, PartialEq)]
pub struct Differences {
    /// Each lens as a whole, right first.
    pub lenses: Eyes<Option<OfLens>>,
    /// Slips that explain a whole lens.
    pub slips: Vec<SlipOf>,
    /// Every difference, the greatest in its own limit first.
    pub list: Vec<Difference>,
    /// What was measured and could not be compared.
    pub not_compared: Vec<NotCompared>,
    /// Whether anything was compared at all.
    pub any_compared: bool,
    /// Whether the person was refracted again.
    pub refracted_again: bool,
}

impl Differences {
    /// What was found against what was ordered.
    pub fn of(order: &Order, came_back: &CameBack) -> Self {
        let found = &came_back.found;
        let far = order.eyes.as_ref().map(|of| of.lens().map(|lens| lens.far.power));
        let mut not_compared = Vec::new();
        let lenses = Eyes::from_fn(|eye| {
            let (ordered, found) = far[eye].zip(found.lenses[eye].power)?;
            Some(OfLens { ordered, found, difference: found.power() - ordered.power() })
        });
        let mut list = Vec::new();
        for eye in Eye::BOTH {
            let measured = found.lenses[eye] != FoundLens::default();
            match order.eyes[eye].lens() {
                None if measured => not_compared.push(NotCompared::NoPower(eye)),
                None => {}
                Some(lens) => {
                    list.extend(of_power(eye, lens, &found.lenses[eye]));
                    list.extend(found.vertex.and_then(|at| of_vertex(eye, lens, &found.lenses[eye], order.vertex, at)));
                    not_compared.extend(cannot_be_compared(eye, lens, &found.lenses[eye]));
                }
            }
        }
        list.extend(of_centres(&order.eyes, &found.lenses));
        list.extend(came_back.again.iter().flat_map(|again| of_refraction(order, again)));
        let any_compared = !list.is_empty();
        list.retain(|difference| difference.of_limit > SAME);
        list.sort_by(|one, other| other.of_limit.total_cmp(&one.of_limit));
        let slips = slips(far, found);
        Self { lenses, slips, list, not_compared, any_compared, refracted_again: came_back.again.is_some() }
    }

    /// Whether something was compared, and nothing differs by more than repeats do or stands beyond a limit of its prism.
    pub fn none_beyond_repeats(&self) -> bool {
        self.any_compared && self.slips.is_empty() && !self.list.iter().any(Difference::is_beyond_repeats)
    }

    /// Those beyond their limit, the likeliest cause first.
    pub fn causes(&self) -> impl Iterator<Item = &Difference> {
        self.list.iter().filter(|difference| difference.is_beyond_limit())
    }
}

/// Sphere, cylinder, axis and addition. Each is taken as if it differed alone.
fn of_power(eye: Eye, lens: &OrderedLens, found: &FoundLens) -> Vec<Difference> {
    let mut list = Vec::new();
    if let Some(found) = found.power {
        // one form for both, so that a transposed lens is the same lens
        let (ordered, found) = (lens.far.power.power().minus_form(), found.power().minus_form());
        let alone = |with: SpheroCylinder| with.power() - ordered.power();
        let item = |what, ordered: f64, found: f64, effect, by: f64, limit: f64| Difference {
            what,
            eye: Some(eye),
            ordered,
            found,
            effect: Effect::Power(effect),
            limit,
            of_limit: by.abs() / limit,
        };
        let sphere = alone(SpheroCylinder { sphere: found.sphere, ..ordered });
        let limit = sphere_limit(strongest_meridian(ordered));
        list.push(item(Measured::Sphere, ordered.sphere, found.sphere, sphere, sphere.m, limit));
        let by = found.cylinder - ordered.cylinder;
        // a cylinder where none was ordered has the axis it was found with
        let axis = if ordered.cylinder == 0.0 { found.axis } else { ordered.axis };
        let cylinder = Power::cylinder(Dioptres(by), axis);
        let limit = cylinder_limit(ordered.cylinder);
        list.push(item(Measured::Cylinder, ordered.cylinder, found.cylinder, cylinder, by, limit));
        if ordered.cylinder != 0.0 && found.cylinder != 0.0 {
            let turned = fold_axis(found.axis - ordered.axis);
            let by = turned.min(180.0 - turned);
            let axis = alone(SpheroCylinder { axis: found.axis, ..ordered });
            list.push(item(Measured::Axis, ordered.axis, found.axis, axis, by, axis_limit(ordered.cylinder)));
        }
    }
    list.extend(found.addition.map(|found| of_addition(Measured::Addition, eye, lens, found)));
    list
}

fn of_addition(what: Measured, eye: Eye, lens: &OrderedLens, found: f64) -> Difference {
    let ordered = lens.addition.unwrap_or(0.0);
    let by = found - ordered;
    Difference {
        what,
        eye: Some(eye),
        ordered,
        found,
        effect: Effect::Power(Power::sphere(Dioptres(by))),
        limit: ADDITION_LIMIT_D,
        of_limit: by.abs() / ADDITION_LIMIT_D,
    }
}

/// What the lens does at the vertex distance at which it sits, less what it does at that for which it was ordered.
fn of_vertex(
    eye: Eye,
    lens: &OrderedLens,
    found: &FoundLens,
    ordered: Millimetres,
    sits_at: Millimetres,
) -> Option<Difference> {
    let power = found.power.unwrap_or(lens.far.power);
    let effect = at_vertex(power.power(), sits_at, ordered) - power.power();
    let limit = sphere_limit(strongest_meridian(power));
    effect.is_finite().then(|| Difference {
        what: Measured::Vertex,
        eye: Some(eye),
        ordered: ordered.0,
        found: sits_at.0,
        effect: Effect::Power(effect),
        limit,
        of_limit: effect.blur_strength() / limit,
    })
}

fn cannot_be_compared(eye: Eye, lens: &OrderedLens, found: &FoundLens) -> Vec<NotCompared> {
    let of_centres = found.centre.or(found.near_centre).or(found.above_pupil).is_some();
    if lens.prism.is_some() {
        return of_centres.then_some(NotCompared::PrismOrdered(eye)).into_iter().collect();
    }
    let far = (found.centre.is_some() && lens.far.centre.is_none()).then_some(NotCompared::NoPupillaryDistance(eye));
    let near = lens.near.and_then(|near| near.centre).is_none();
    let near = (found.near_centre.is_some() && near).then_some(NotCompared::NoNearCentre(eye));
    far.into_iter().chain(near).collect()
}

/// One lens whose centre was measured.
#[derive(Clone, Copy)]
struct OffCentre {
    power: Power,
    /// Where it was ordered and found, to the side from the middle of the nose.
    ordered: Option<Millimetres>,
    found: Option<Millimetres>,
    above: Option<Millimetres>,
}

impl OffCentre {
    /// The prism that it gives the pupil.
    fn prism(&self, eye: Eye) -> Prism {
        let to_the_right = self.found.zip(self.ordered).map(|(at, pd)| decentration_to_examiners_right(eye, at, pd));
        Prism::induced(self.power, to_the_right.unwrap_or_default(), self.above.unwrap_or_default())
    }
}

fn of_centres(ordered: &Eyes<ForEye>, found: &Eyes<FoundLens>) -> Vec<Difference> {
    let lens = |eye: Eye| ordered[eye].lens().filter(|lens| lens.prism.is_none());
    let far = Eyes::from_fn(|eye| {
        let (lens, found) = (lens(eye)?, found[eye]);
        let at = found.centre.filter(|_| lens.far.centre.is_some());
        at.or(found.above_pupil)?;
        let power = found.power.unwrap_or(lens.far.power).power();
        Some(OffCentre { power, ordered: lens.far.centre, found: at, above: found.above_pupil })
    });
    let near = Eyes::from_fn(|eye| {
        let (lens, found) = (lens(eye)?, found[eye]);
        let near: Glass = lens.near?;
        let (at, ordered) = found.near_centre.zip(near.centre)?;
        let power = found.power.map_or(near.power.power(), |power| {
            power.power() + Power::sphere(Dioptres(found.addition.or(lens.addition).unwrap_or(0.0)))
        });
        Some(OffCentre { power, ordered: Some(ordered), found: Some(at), above: None })
    });
    let sideways = along(Measured::Centres, &far, HORIZONTAL);
    let heights = along(Measured::Heights, &far, VERTICAL);
    sideways.into_iter().chain(along(Measured::NearCentres, &near, HORIZONTAL)).chain(heights).collect()
}

/// What the centres do along one direction: between the eyes where both were measured, else of the one that was.
fn along(what: Measured, lenses: &Eyes<Option<OffCentre>>, tolerance: Tolerance) -> Option<Difference> {
    let is_vertical = what == Measured::Heights;
    let has = |lens: &OffCentre| if is_vertical { lens.above.is_some() } else { lens.found.is_some() };
    let measured = lenses.map(|lens| lens.filter(has));
    let (eye, prism) = match (measured.right, measured.left) {
        (Some(right), Some(left)) => (None, between_eyes(right.prism(Eye::Right), left.prism(Eye::Left))),
        (Some(right), None) => (Some(Eye::Right), right.prism(Eye::Right)),
        (None, Some(left)) => (Some(Eye::Left), left.prism(Eye::Left)),
        (None, None) => return None,
    };
    let sum = |of: fn(&OffCentre) -> Option<Millimetres>, left: f64| {
        let of = |lens: Option<OffCentre>| lens.and_then(|lens| of(&lens)).unwrap_or_default().0;
        of(measured.right) + left * of(measured.left)
    };
    // of heights it is the difference between the eyes that counts
    let (ordered, found) = match (is_vertical, eye) {
        (false, _) => (sum(|lens| lens.ordered, 1.0), sum(|lens| lens.found, 1.0)),
        (true, None) => (0.0, sum(|lens| lens.above, -1.0)),
        (true, Some(_)) => (0.0, sum(|lens| lens.above, 1.0)),
    };
    let prism = if is_vertical { Prism { x: 0.0, ..prism } } else { Prism { y: 0.0, ..prism } };
    // the limit is that of a lens; of two it is that of the stronger
    let limits = measured.into_iter().flatten().map(|lens| tolerance.in_prism(lens.power).0);
    let limit = limits.fold(0.0, f64::max);
    let amount = if prism.amount() < NO_PRISM { 0.0 } else { prism.amount() };
    Some(Difference { what, eye, ordered, found, effect: Effect::Prism(prism), limit, of_limit: amount / limit })
}

/// What was found when the person was refracted again, less what was ordered, both at the vertex distance of the order.
fn of_refraction(order: &Order, again: &RefractedAgain) -> Vec<Difference> {
    let of_eye = |eye: Eye| {
        let lens = order.eyes[eye].lens()?;
        let now = at_vertex(again.far[eye]?, again.vertex, order.vertex);
        let difference = now - lens.planned;
        let of_limit = f64::max(difference.m.abs() / REPEAT_M_D, difference.astigmatism() / REPEAT_J_D);
        difference.is_finite().then_some(Difference {
            what: Measured::RefractedAgain,
            eye: Some(eye),
            ordered: lens.planned.m,
            found: now.m,
            effect: Effect::Power(difference),
            limit: REPEAT_M_D,
            of_limit,
        })
    };
    let of_additions = Eye::BOTH.into_iter().filter_map(|eye| {
        let found = again.additions[eye]?;
        order.eyes[eye].lens().map(|lens| of_addition(Measured::AdditionAgain, eye, lens, found))
    });
    Eye::BOTH.into_iter().filter_map(of_eye).chain(of_additions).collect()
}
