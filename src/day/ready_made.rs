//! The ready-made pair for somebody: the best equal sphere of what is left on a shelf, what it would do, and what speaks against
//! it.
//!
//! Everything is held against what is written for the glasses. The need of an eye as a sphere is its spherical equivalent, for
//! near with the addition.
//!
//! - Below [`ACCOMMODATES_BELOW_YEARS`], or where the age is not known, no pair has more minus, or less plus, than either eye
//!   needs. It has the least plus of those that are left: more plus than the eye that needs more of it by less than the shelf's own
//!   step there, and more than the other by the difference of both eyes besides, which the limits bound.
//! - From then on the pair is nearest to the middle between both eyes, and nearer than a step.
//! - Nobody who needs minus is given plus, nor the other way round.
//! - The step of the shelf at a power is how far the next weaker plus or stronger minus of the same use and sign is.

use std::cmp::Ordering;

use super::shelf::ShelfLeft;
use crate::exam::cautions::CHILD_BELOW_YEARS;
use crate::exam::{NearTask, Prescription, ReadyMadeLimits, State, Through};
use crate::guide::believed_line;
use crate::kit::shelf::ShelfPair;
use crate::optics::centres::HORIZONTAL;
use crate::optics::convergence::near_centre;
use crate::optics::decentration::between_eyes;
use crate::optics::quarter::STEP_D;
use crate::optics::{Acuity, Dioptres, Eye, Eyes, Millimetres, Power, Prism, PrismPart, SpheroCylinder};

/// Below this age an eye makes up for minus that it does not need (common practice, no source).
pub const ACCOMMODATES_BELOW_YEARS: u8 = 45;

/// The pair may read a line less than the full correction, and has to gain two over unaided, in the better eye: Morjaria, *JAMA
/// Ophthalmol* 2017;135:527 (PMC5847082, abstract).
pub const MAY_LOSE_LOG_MAR: f64 = 0.1;
/// See [`MAY_LOSE_LOG_MAR`].
pub const MUST_GAIN_LOG_MAR: f64 = 0.2;

/// A line of a chart in logMAR.
const LINE_LOG_MAR: f64 = 0.1;

/// Near work that nobody measured, in metres (common practice, no source).
const USUAL_NEAR_M: f64 = 0.40;

/// Less than this is rounding, in dioptres, millimetres and logMAR.
const ROUNDING: f64 = 1e-9;

/// What is written for one eye.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WearerEye {
    /// The prescription.
    pub written: SpheroCylinder,
    /// The addition for near.
    pub addition: Option<Dioptres>,
    /// The line that was read with the full power.
    pub best: Option<Acuity>,
}

/// Who would wear a pair.
#[derive(Debug, Clone, PartialEq)]
pub struct Wearer {
    /// Age in whole years.
    pub age_years: Option<u8>,
    /// Whether the powers were found under drops.
    pub under_drops: bool,
    /// Whether something stayed on under the frame: what is written is then not the whole power.
    pub found_over: Eyes<bool>,
    /// What is written for each eye; `None` where nothing is.
    pub eyes: Eyes<Option<WearerEye>>,
    /// The lines unaided.
    pub unaided: Eyes<Option<Acuity>>,
    /// Distance of near work in metres.
    pub near_metres: f64,
    /// Distance of the glasses from the cornea.
    pub vertex: Millimetres,
    /// Pupillary distance of each eye, from the middle of the nose.
    pub pd: Eyes<Option<Millimetres>>,
}

impl Wearer {
    /// Whoever is examined.
    pub fn of(state: &State) -> Self {
        let prescription = Prescription::of(state, 1);
        let eye = |eye: Eye| {
            let of_eye = prescription.eye(eye)?;
            Some(WearerEye { written: of_eye.written, addition: prescription.additions[eye], best: of_eye.acuity })
        };
        let person = &state.person;
        let near = person.near_metres.or_else(|| person.near_task.and_then(NearTask::usual_metres));
        Self {
            age_years: person.age_years,
            under_drops: person.drops,
            found_over: person.stays_on.as_ref().map(Option::is_some),
            eyes: Eyes::from_fn(eye),
            unaided: Eyes::from_fn(|eye| state.last_read(eye, Through::Unaided)),
            near_metres: near.unwrap_or(USUAL_NEAR_M),
            vertex: prescription.planned_vertex,
            pd: state.fitted.eye_pd,
        }
    }

    /// Whether a pair for near is a question at all: an addition is written.
    pub fn has_addition(&self) -> bool {
        self.eyes.into_iter().flatten().any(|eye| eye.addition.is_some())
    }

    /// Whether no minus may be too much.
    fn accommodates(&self) -> bool {
        self.age_years.is_none_or(|age| age < ACCOMMODATES_BELOW_YEARS)
    }

    /// How far apart the lines of sight of each eye cross glasses, from the middle of the nose: nearer together for near.
    fn centre(&self, eye: Eye, near: bool) -> Option<f64> {
        let far = self.pd[eye]?;
        Some(if near { near_centre(far, self.near_metres, self.vertex).0 } else { far.0 })
    }

    /// The pair of a sphere that is left, the one with the nearest centres; the wider of two as near.
    pub fn nearest_pair(&self, shelf: &[ShelfLeft], sphere: f64, near: bool) -> Option<ShelfPair> {
        let of_sphere = |kind: &&ShelfLeft| {
            kind.left() > 0 && kind.pair.near == near && (kind.pair.sphere - sphere).abs() < ROUNDING
        };
        let pairs = shelf.iter().filter(of_sphere).map(|kind| kind.pair);
        pairs.min_by(|one, other| self.centres_off(*one).total_cmp(&self.centres_off(*other)).then(wider(*one, *other)))
    }

    /// How far the centres of a pair stand from the pupils, in millimetres; 0 where those are not known.
    fn centres_off(&self, pair: ShelfPair) -> f64 {
        let pupils = self.centre(Eye::Right, pair.near).zip(self.centre(Eye::Left, pair.near));
        pupils.map_or(0.0, |(right, left)| (pair.centres_mm - right - left).abs())
    }

    /// The sphere that an eye needs, in dioptres.
    fn need(&self, eye: Eye, near: bool) -> Option<f64> {
        let of_eye = self.eyes[eye]?;
        let addition = if near { of_eye.addition?.0 } else { 0.0 };
        Some(of_eye.written.power().m + addition)
    }
}

/// What speaks against a pair.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Against {
    /// Nothing is written for an eye, or no addition.
    NothingWritten(Eye),
    /// The power of an eye was found over something that stayed on.
    FoundOver(Eye),
    /// An eye has more cylinder than the limits allow.
    Cylinder {
        /// Which.
        eye: Eye,
        /// Its cylinder in dioptres.
        cylinder_d: f64,
    },
    /// The equivalents are further apart than the limits allow.
    Apart {
        /// By how many dioptres.
        apart_d: f64,
    },
    /// A child needs plus, and was not refracted under drops.
    ChildBeforeDrops,
    /// Somebody of unknown age needs plus, and was not refracted under drops.
    PlusWithoutAge,
    /// An eye that accommodates would get more minus, or less plus, than it needs.
    TooMuchMinus {
        /// Which.
        eye: Eye,
        /// By how many dioptres.
        by_d: f64,
    },
    /// The shelf has nothing within a step of what is needed.
    NoneFits,
    /// Of what fits none is left.
    NoneLeft(ShelfPair),
    /// The centres are further from the pupils than is allowed for made glasses.
    Centres {
        /// How far, in millimetres, both eyes together.
        off_mm: f64,
        /// How far they may be.
        allowed_mm: f64,
    },
    /// The better eye would read more than a line less than with the full power.
    LosesLines(f64),
    /// The better eye would gain less than two lines over unaided.
    GainsLess(f64),
    /// What would be read is not known: no line was read with the full power.
    LineNotKnown,
}

/// What is not known of somebody, and so not held against a pair.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotKnown {
    /// The age: the person counts as one who accommodates.
    Age,
    /// A pupillary distance, and so the prism.
    Centres,
    /// A line unaided.
    Unaided,
}

/// What a pair would do for one eye.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OfferedEye {
    /// By how many dioptres the pair is more plus than the equivalent that the eye needs; minus is less plus.
    pub off_d: f64,
    /// The line with the pair, in logMAR; `None` where the best line is not known.
    pub with_pair_log_mar: Option<f64>,
    /// The line with the full power, in logMAR.
    pub full_log_mar: Option<f64>,
}

/// A pair off the shelf for somebody, or that there is none.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// Whether it is about near.
    pub near: bool,
    /// The pair; `None` where nothing may be given.
    pub pair: Option<ShelfPair>,
    /// What it would do for each eye.
    pub eyes: Eyes<Option<OfferedEye>>,
    /// The prism between the eyes from its centres, where the pupils are known; none is left out.
    pub prism: Option<Option<PrismPart>>,
    /// What speaks against it; where nothing does, it serves.
    pub against: Vec<Against>,
    /// What is not known.
    pub not_known: Vec<NotKnown>,
    /// By which limits.
    pub limits: ReadyMadeLimits,
}

impl Offer {
    /// The offers for somebody: a pair for far away, and one for near where an addition is written.
    pub fn all(wearer: &Wearer, shelf: &[ShelfLeft], limits: ReadyMadeLimits) -> Vec<Self> {
        let near = wearer.has_addition().then_some(true);
        std::iter::once(false).chain(near).map(|near| Self::of(wearer, shelf, near, limits)).collect()
    }

    /// The best pair that is left, for far away or for near.
    pub fn of(wearer: &Wearer, shelf: &[ShelfLeft], near: bool, limits: ReadyMadeLimits) -> Self {
        let (mut offer, needs) = Self::begun(wearer, near, limits);
        let Some(needs) = needs else { return offer };
        match best(wearer, shelf, needs, near) {
            Ok(pair) => offer.weighed(wearer, needs, pair),
            Err(why) => {
                offer.against.push(why);
                offer
            }
        }
    }

    /// What a pair that somebody else chose would do; what the rules have against it is said.
    pub fn of_pair(wearer: &Wearer, pair: ShelfPair, limits: ReadyMadeLimits) -> Self {
        let (mut offer, needs) = Self::begun(wearer, pair.near, limits);
        let Some(needs) = needs else { return Self { pair: Some(pair), ..offer } };
        offer.against.extend(plus_refused(wearer, pair.sphere));
        let too_much = |eye: Eye| {
            let by_d = needs[eye] - pair.sphere;
            (wearer.accommodates() && by_d > ROUNDING).then_some(Against::TooMuchMinus { eye, by_d })
        };
        offer.against.extend(Eye::BOTH.into_iter().filter_map(too_much));
        offer.weighed(wearer, needs, pair)
    }

    /// An offer without a pair, and the sphere that each eye needs, where one is written for both.
    fn begun(wearer: &Wearer, near: bool, limits: ReadyMadeLimits) -> (Self, Option<Eyes<f64>>) {
        let (eyes, not_known) = (Eyes::both(None), Vec::new());
        let mut offer = Self { near, pair: None, eyes, prism: None, against: Vec::new(), not_known, limits };
        let needs = Eyes::from_fn(|eye| wearer.need(eye, near));
        if let (Some(right), Some(left)) = (needs.right, needs.left) {
            let needs = Eyes::new(right, left);
            let over = Eye::BOTH.into_iter().filter(|eye| wearer.found_over[*eye]).map(Against::FoundOver);
            offer.against = over.chain(beyond_limits(wearer, needs, limits)).collect();
            return (offer, Some(needs));
        }
        let lacking = Eye::BOTH.into_iter().filter(|eye| needs[*eye].is_none());
        offer.against = lacking.map(Against::NothingWritten).collect();
        (offer, None)
    }

    /// Whether it serves.
    pub fn serves(&self) -> bool {
        self.pair.is_some() && self.against.is_empty()
    }

    fn weighed(mut self, wearer: &Wearer, needs: Eyes<f64>, pair: ShelfPair) -> Self {
        self.pair = Some(pair);
        self.eyes = Eyes::from_fn(|eye| offered_eye(wearer, pair, eye, needs[eye]));
        if wearer.age_years.is_none() {
            self.not_known.push(NotKnown::Age);
        }
        match centres(wearer, pair) {
            Some((prism, off_mm)) => {
                self.prism = Some(prism);
                let allowed = HORIZONTAL.of(Power::sphere(Dioptres(pair.sphere)));
                if let Some(allowed) = allowed.filter(|allowed| off_mm > allowed.0 + ROUNDING) {
                    self.against.push(Against::Centres { off_mm, allowed_mm: allowed.0 });
                }
            }
            None => self.not_known.push(NotKnown::Centres),
        }
        let better = |line: fn(&OfferedEye) -> Option<f64>| {
            let read = Eye::BOTH.into_iter().filter_map(|eye| line(self.eyes[eye].as_ref()?));
            read.min_by(f64::total_cmp)
        };
        let (with_pair, full) = (better(|eye| eye.with_pair_log_mar), better(|eye| eye.full_log_mar));
        let (Some(with_pair), Some(full)) = (with_pair, full) else {
            self.against.push(Against::LineNotKnown);
            return self;
        };
        if with_pair - full > MAY_LOSE_LOG_MAR + ROUNDING {
            self.against.push(Against::LosesLines((with_pair - full) / LINE_LOG_MAR));
        }
        if !pair.near {
            // an eye that reads no letter unaided is poorer than any line
            let unaided = |eye: Eye| wearer.unaided[eye].map(|read| read.log_mar().unwrap_or(f64::INFINITY));
            match unaided(Eye::Right).zip(unaided(Eye::Left)).map(|(right, left)| right.min(left)) {
                Some(unaided) if unaided - with_pair < MUST_GAIN_LOG_MAR - ROUNDING => {
                    self.against.push(Against::GainsLess((unaided - with_pair) / LINE_LOG_MAR));
                }
                Some(_) => {}
                None => self.not_known.push(NotKnown::Unaided),
            }
        }
        self
    }
}

fn beyond_limits(wearer: &Wearer, needs: Eyes<f64>, limits: ReadyMadeLimits) -> Vec<Against> {
    let cylinder = |eye: Eye| {
        let cylinder_d = wearer.eyes[eye]?.written.cylinder;
        (cylinder_d.abs() > limits.cylinder_d() + ROUNDING).then_some(Against::Cylinder { eye, cylinder_d })
    };
    let apart_d = (needs.right - needs.left).abs();
    let apart = (apart_d > limits.apart_d() + ROUNDING).then_some(Against::Apart { apart_d });
    Eye::BOTH.into_iter().filter_map(cylinder).chain(apart).collect()
}

/// Why plus may not be given.
fn plus_refused(wearer: &Wearer, sphere: f64) -> Option<Against> {
    if sphere <= 0.0 || wearer.under_drops {
        return None;
    }
    match wearer.age_years {
        None => Some(Against::PlusWithoutAge),
        Some(age) if age < CHILD_BELOW_YEARS => Some(Against::ChildBeforeDrops),
        Some(_) => None,
    }
}

/// The best pair that is left.
fn best(wearer: &Wearer, shelf: &[ShelfLeft], needs: Eyes<f64>, near: bool) -> Result<ShelfPair, Against> {
    let kinds: Vec<&ShelfLeft> = shelf.iter().filter(|kind| kind.pair.near == near).collect();
    let most_plus = needs.right.max(needs.left);
    let middle = f64::midpoint(needs.right, needs.left);
    // how much more plus than wanted, and how far from it
    let wanted = if wearer.accommodates() { most_plus } else { middle };
    let fits = |kind: &&&ShelfLeft| {
        let more_plus = kind.pair.sphere - wanted;
        let same_sign = kind.pair.sphere * wanted > 0.0;
        let within = more_plus.abs() < step_d(&kinds, kind.pair.sphere) - ROUNDING;
        same_sign && within && (!wearer.accommodates() || more_plus > -ROUNDING)
    };
    // nearest first, the more plus of two as near; then the nearest centres, the wider of two as near
    let order = |one: &&&ShelfLeft, other: &&&ShelfLeft| {
        let (one, other) = (one.pair, other.pair);
        let off = |pair: ShelfPair| (pair.sphere - wanted).abs();
        off(one)
            .total_cmp(&off(other))
            .then(other.sphere.total_cmp(&one.sphere))
            .then(wearer.centres_off(one).total_cmp(&wearer.centres_off(other)))
            .then(wider(one, other))
    };
    let declared = kinds.iter().filter(fits).min_by(order).ok_or(Against::NoneFits)?;
    if let Some(why) = plus_refused(wearer, declared.pair.sphere) {
        return Err(why);
    }
    let left = kinds.iter().filter(|kind| kind.left() > 0).filter(fits).min_by(order);
    left.map(|kind| kind.pair).ok_or(Against::NoneLeft(declared.pair))
}

fn wider(one: ShelfPair, other: ShelfPair) -> Ordering {
    other.centres_mm.total_cmp(&one.centres_mm)
}

/// The step of a shelf at a power: to the next one of the same sign with less plus, or where there is none to the next one with more,
/// or a quarter of a dioptre where it stands alone.
fn step_d(kinds: &[&ShelfLeft], sphere: f64) -> f64 {
    let same_sign = kinds.iter().map(|kind| kind.pair.sphere).filter(|other| other * sphere > 0.0);
    let (mut below, mut above) = (f64::INFINITY, f64::INFINITY);
    for other in same_sign {
        let further = other - sphere;
        if further < -ROUNDING {
            below = below.min(-further);
        } else if further > ROUNDING {
            above = above.min(further);
        }
    }
    if below.is_finite() {
        below
    } else if above.is_finite() {
        above
    } else {
        STEP_D
    }
}

fn offered_eye(wearer: &Wearer, pair: ShelfPair, eye: Eye, need: f64) -> Option<OfferedEye> {
    let of_eye = wearer.eyes[eye]?;
    let best = of_eye.best.and_then(Acuity::log_mar);
    let near_d = if pair.near { 1.0 / wearer.near_metres } else { 0.0 };
    let missing = of_eye.written.power() + Power::sphere(Dioptres(near_d - pair.sphere));
    let full = near_d - if pair.near { of_eye.addition.map_or(0.0, |addition| addition.0) } else { 0.0 };
    let line = |missing: Power| believed_line(best?, missing, wearer.age_years);
    Some(OfferedEye {
        off_d: pair.sphere - need,
        with_pair_log_mar: line(missing),
        full_log_mar: line(Power::sphere(Dioptres(full))),
    })
}

/// The prism that a pair makes between the eyes, and how far its centres stand from the pupils, in millimetres; `None` where
/// the pupils are not known.
fn centres(wearer: &Wearer, pair: ShelfPair) -> Option<(Option<PrismPart>, f64)> {
    let (right, left) = (wearer.centre(Eye::Right, pair.near)?, wearer.centre(Eye::Left, pair.near)?);
    let half = pair.centres_mm / 2.0;
    let lens = Power::sphere(Dioptres(pair.sphere));
    // as the examiner sees it: the right eye is on the left
    let induced = |x: f64| Prism::induced(lens, Millimetres(x), Millimetres(0.0));
    let between = between_eyes(induced(right - half), induced(half - left));
    let prism = PrismPart::of(between, Eye::Right, NO_PRISM).into_iter().find(PrismPart::is_horizontal);
    Some((prism, wearer.centres_off(pair)))
}

/// A prism of less than this many prism dioptres is rounding.
const NO_PRISM: f64 = 0.005;
