//! What the record of an exam says of the glasses that are made by it: the order, and what was found when they came back.

use jiff::Timestamp;
use serde::Serialize;
use uuid::Uuid;

use crate::exam::came_back::differences::{NotCompared, OfLens};
use crate::exam::came_back::found::Returned;
use crate::exam::came_back::slip::SlipOf;
use crate::exam::came_back::{Difference, Differences, Effect, FoundGlasses, Measured};
use crate::exam::order::{ForEye, Glass, Lacking, Order};
use crate::exam::prescription::{Prescription, Repeat, prism_parts};
use crate::exam::{Outcome, State};
use crate::optics::{CylinderForm, Eye, Eyes, Millimetres, PrismPart, SpheroCylinder};

/// Where the limits of made glasses come from.
pub const LIMITS_BY: &str = "ANSI Z80.1-2015, quick reference";

/// One lens of the glasses for far or for near.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GlassRecord {
    /// Its power, in the record's cylinder form.
    pub power: SpheroCylinder,
    /// How far its centre stands from the middle of the nose, in millimetres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub centre_mm: Option<f64>,
    /// How far the centre may be off to the side; left out where the lens has no power that way.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub off_to_the_side_mm: Option<f64>,
    /// How far it may be off up and down.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub off_up_and_down_mm: Option<f64>,
}

impl GlassRecord {
    fn of(glass: Glass, form: CylinderForm) -> Self {
        let millimetres = |distance: Option<Millimetres>| distance.map(|distance| distance.0);
        Self {
            power: form.write(glass.power),
            centre_mm: millimetres(glass.centre),
            off_to_the_side_mm: millimetres(glass.limits.to_the_side),
            off_up_and_down_mm: millimetres(glass.limits.up_and_down),
        }
    }
}

/// What is ordered for one eye.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EyeOrder {
    /// Which eye.
    pub eye: Eye,
    /// The lens for far.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub far: Option<GlassRecord>,
    /// The lens of glasses for near alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub near: Option<GlassRecord>,
    /// The addition in dioptres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub addition: Option<f64>,
    /// The prism that is ordered, horizontal part first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub prism: Vec<PrismPart>,
    /// What is ordered in place of a power.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub instead: Option<&'static str>,
}

/// The order of an exam.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OrderRecord {
    /// From the cornea to the back of the glasses, in millimetres.
    pub vertex_mm: f64,
    /// From the glasses to what is looked at near, in metres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub near_metres: Option<f64>,
    /// The right eye.
    pub right: EyeOrder,
    /// The left eye.
    pub left: EyeOrder,
    /// What nobody entered.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub lacking: Vec<Lacking>,
    /// The same in words, with what to do.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub lacking_in_words: Vec<String>,
    /// Where the limits come from.
    pub limits_by: &'static str,
}

impl OrderRecord {
    /// The order in a cylinder form.
    pub fn of(order: &Order, form: CylinderForm) -> Self {
        let of_eye = |eye: Eye, of: &ForEye| EyeOrder {
            eye,
            far: of.lens().map(|lens| GlassRecord::of(lens.far, form)),
            near: of.lens().and_then(|lens| lens.near).map(|near| GlassRecord::of(near, form)),
            addition: of.lens().and_then(|lens| lens.addition),
            prism: of.lens().and_then(|lens| lens.prism).map(|prism| prism_parts(prism, eye)).unwrap_or_default(),
            instead: of.instead(),
        };
        Self {
            vertex_mm: order.vertex.0,
            near_metres: order.near_metres,
            right: of_eye(Eye::Right, &order.eyes.right),
            left: of_eye(Eye::Left, &order.eyes.left),
            lacking: order.lacking.clone(),
            lacking_in_words: order.lacking.iter().map(ToString::to_string).collect(),
            limits_by: LIMITS_BY,
        }
    }

    /// That of an exam as it stands: once it is closed, where glasses are made or nobody chose anything else.
    pub fn of_exam(state: &State, prescription: &Prescription, form: CylinderForm) -> Option<Self> {
        let may_be_made = state.outcome.as_ref().is_none_or(Outcome::makes_glasses);
        let order = Order::of(state, prescription).filter(|_| state.finished && may_be_made)?;
        Some(Self::of(&order, form))
    }

    /// Both eyes.
    pub fn eyes(&self) -> Eyes<&EyeOrder> {
        Eyes::new(&self.right, &self.left)
    }
}

/// One difference.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DifferenceRecord {
    /// What differs; its name says the unit of the two figures.
    pub what: Measured,
    /// Of which eye; left out for both together.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub eye: Option<Eye>,
    /// As ordered.
    pub ordered: f64,
    /// As found.
    pub found: f64,
    /// The miss in dioptres, of what is a power.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub miss_d: Option<f64>,
    /// The prism, of centres: between the eyes, written before the right eye, or of the one eye that is named.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub prism: Vec<PrismPart>,
    /// The limit: of sphere, cylinder, axis and addition in their unit, of vertex distance and refraction in dioptres, of centres in
    /// prism dioptres.
    pub limit: f64,
    /// How many times the limit it is.
    pub of_limit: f64,
    /// How it stands to what repeated refractions differ by.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub repeat: Option<Repeat>,
}

impl From<&Difference> for DifferenceRecord {
    fn from(difference: &Difference) -> Self {
        let (miss_d, prism) = match difference.effect {
            Effect::Power(power) => (Some(power.blur_strength()), Vec::new()),
            Effect::Prism(prism) => (None, prism_parts(prism, difference.eye.unwrap_or(Eye::Right))),
        };
        let Difference { what, eye, ordered, found, limit, of_limit, .. } = *difference;
        Self { what, eye, ordered, found, miss_d, prism, limit, of_limit, repeat: difference.repeat() }
    }
}

/// One lens as a whole.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WholeLens {
    /// As ordered, in the record's cylinder form.
    pub ordered: SpheroCylinder,
    /// As found.
    pub found: SpheroCylinder,
    /// How far it is off, in dioptres.
    pub miss_d: f64,
    /// How that stands to what repeated refractions differ by.
    pub repeat: Repeat,
}

impl WholeLens {
    fn of(lens: OfLens, form: CylinderForm) -> Self {
        Self {
            ordered: form.write(lens.ordered),
            found: form.write(lens.found),
            miss_d: lens.difference.blur_strength(),
            repeat: Repeat::of(lens.difference),
        }
    }
}

/// When and by whom something was noted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Noted {
    /// When, in UTC.
    pub at: Timestamp,
    /// By whom, if that is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// The exam in which the person was refracted again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AgainRecord {
    /// Its identity.
    pub id: Uuid,
    /// The number that it had in the logbook.
    pub exam: u64,
    /// The seat of that logbook, where it is another one than this.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seat: Option<String>,
}

/// What was found against what was ordered.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Compared {
    /// The right lens as a whole.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub right: Option<WholeLens>,
    /// The left lens.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub left: Option<WholeLens>,
    /// Slips that explain a whole lens.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub slips: Vec<SlipOf>,
    /// Every difference, the likeliest cause first.
    pub differences: Vec<DifferenceRecord>,
    /// What was measured and could not be compared.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_compared: Vec<NotCompared>,
    /// Whether something was compared, and nothing differs by more than repeats do.
    pub no_more_than_repeats: bool,
    /// Where the limits come from.
    pub limits_by: &'static str,
}

/// Glasses that came back.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CameBackRecord {
    /// When that was noted and by whom.
    #[serde(flatten)]
    pub noted: Noted,
    /// What was found.
    pub found: FoundGlasses,
    /// The exam in which the person was refracted again.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub refracted_again: Option<AgainRecord>,
    /// What was found against what was ordered; left out where that was taken back, or no power is written.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub compared: Option<Compared>,
    /// That it was taken back.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub taken_back: Option<Noted>,
}

impl CameBackRecord {
    /// All of an exam, in the order in which they were noted; with its seat where that is another one than this.
    pub fn of_exam(state: &State, prescription: &Prescription, form: CylinderForm, seat: Option<&str>) -> Vec<Self> {
        let order = Order::of(state, prescription);
        state.came_back.iter().map(|returned| Self::of(returned, order.as_ref(), form, seat)).collect()
    }

    fn of(returned: &Returned, order: Option<&Order>, form: CylinderForm, seat: Option<&str>) -> Self {
        let Returned { came_back, taken_back } = returned;
        let stands = order.filter(|_| taken_back.is_none());
        Self {
            noted: Noted { at: came_back.at, by: came_back.by.clone() },
            found: came_back.found.clone(),
            refracted_again: came_back.again.as_ref().map(|again| AgainRecord {
                id: again.exam,
                exam: again.number,
                seat: seat.map(str::to_owned),
            }),
            compared: stands.map(|order| Compared::of(&Differences::of(order, came_back), form)),
            taken_back: taken_back.as_ref().map(|taken_back| Noted { at: taken_back.at, by: taken_back.by.clone() }),
        }
    }
}

impl Compared {
    fn of(differences: &Differences, form: CylinderForm) -> Self {
        let whole = |eye: Eye| differences.lenses[eye].map(|lens| WholeLens::of(lens, form));
        Self {
            right: whole(Eye::Right),
            left: whole(Eye::Left),
            slips: differences.slips.clone(),
            differences: differences.list.iter().map(DifferenceRecord::from).collect(),
            not_compared: differences.not_compared.clone(),
            no_more_than_repeats: differences.none_beyond_repeats(),
            limits_by: LIMITS_BY,
        }
    }

    /// Each lens as a whole.
    pub fn lenses(&self) -> Eyes<Option<&WholeLens>> {
        Eyes::new(self.right.as_ref(), self.left.as_ref())
    }
}
