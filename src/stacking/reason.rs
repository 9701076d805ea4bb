//! Why a stack is proposed, what is against it, and which single lens would do when none reaches.

use std::fmt;

use super::options::SearchOptions;
use super::proposal::{PlacedLens, Proposal};
use super::search::Stacker;
use crate::frame::FittedFrame;
use crate::kit::{BoxChange, Lens, Mark, NoneFree, Place};
use crate::optics::notation::{Style, write_power};
use crate::optics::vergence::towards_eye;
use crate::optics::{CylinderForm, Dioptres, Eye, Millimetres, Power};

/// A difference from this on, in dioptres, is said: half an eighth, as where a stack counts as reaching.
const SAID_FROM_D: f64 = 0.06;
/// A measured power this near its mark, in dioptres, is written as the mark is.
const READS_ALIKE_D: f64 = 0.005;

/// Something to say about a proposal: why these lenses, or what is against them.
#[derive(Debug, Clone, PartialEq)]
pub enum Reason {
    /// It is what stands in the cells already.
    IsIn,
    /// A lens that a colleague would look for first is not free.
    NotFree {
        /// The lens.
        lens: Lens,
        /// Why no piece of it is.
        why: NoneFree,
    },
    /// Cell 1 is empty.
    RearEmpty,
    /// A sphere farther out is stronger than the one in cell 1.
    StrongestNotRear,
    /// A cylinder stands nearer the eye than a sphere.
    CylinderBeforeSphere,
    /// Cylinders stand at different axes.
    Crossed,
    /// Lenses of both signs stand against each other.
    Opposed,
    /// A cylinder has not the sign that is in use, and the box has some that have it.
    OtherSign,
    /// A lens is damaged.
    Damaged(Lens),
    /// A lens so far out acts as another power at cell 1.
    ActsAs {
        /// What it is marked.
        mark: Mark,
        /// What it was measured as, where that reads otherwise than the mark.
        measured: Option<Dioptres>,
        /// What it acts as.
        power: Dioptres,
    },
    /// The cylinders are too weak by this much.
    CylinderMissing(Dioptres),
    /// The spherical equivalent is too plus, or with a minus sign too minus, by this much.
    TooPlus(Dioptres),
    /// The cylinders are right in strength or too strong; their axis or strength leaves this miss.
    CylinderOff(Dioptres),
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::IsIn => f.write_str("this is what is in"),
            Self::NotFree { lens, why } => write!(f, "{lens} is {}", why.in_short()),
            Self::RearEmpty => f.write_str("rear empty"),
            Self::StrongestNotRear => f.write_str("strongest not at the rear"),
            Self::CylinderBeforeSphere => f.write_str("cylinder nearer the eye than a sphere"),
            Self::Crossed => f.write_str("cylinders crossed"),
            Self::Opposed => f.write_str("plus against minus"),
            Self::OtherSign => f.write_str("cylinder of the other sign"),
            Self::Damaged(lens) => write!(f, "{lens} is damaged"),
            Self::ActsAs { mark, measured, power } => {
                write!(f, "{mark}")?;
                if let Some(measured) = measured {
                    write!(f, ", measured {},", write_power(measured.0, Style::Ascii))?;
                }
                write!(f, " acts as {} so far out", write_power(power.0, Style::Ascii))
            }
            Self::CylinderMissing(amount) => write!(f, "{:.2} D of the cylinder is missing", amount.0),
            Self::TooPlus(amount) if amount.0 < 0.0 => write!(f, "{:.2} D too minus", -amount.0),
            Self::TooPlus(amount) => write!(f, "{:.2} D too plus", amount.0),
            Self::CylinderOff(amount) => write!(f, "the cylinder is off by {:.2} D", amount.0),
        }
    }
}

/// The ideal lenses for a wanted power: its sphere and, if it has one, its cylinder, of the sign in use.
pub fn ideal_lenses(wanted: Power, form: CylinderForm) -> Vec<Lens> {
    let wanted = form.of(wanted);
    let mut lenses = Vec::new();
    let sphere = Mark::nearest(wanted.sphere);
    if !sphere.is_plano() {
        lenses.push(Lens::Sphere(sphere));
    }
    let cylinder = Mark::nearest(wanted.cylinder);
    if !cylinder.is_plano() {
        lenses.push(Lens::Cylinder(cylinder));
    }
    lenses
}

/// Why no piece of a lens can be used before this eye; nothing when one can. What stands before the eye can be used there.
pub fn why_not_free(fitted: &FittedFrame, eye: Eye, lens: &Lens) -> Option<NoneFree> {
    fitted.stock.why_none_usable(lens, |place| match place {
        Place::Box => true,
        Place::Cell { eye: of, .. } => *of == eye,
        Place::Hand { .. }
        | Place::Lost
        | Place::Lent { .. }
        | Place::Retired
        | Place::Moved { .. }
        | Place::InTwoPlaces => false,
    })
}

impl Proposal {
    /// Why this stack and what is against it, the most telling first: what is missing of the power, which lenses are not
    /// free, and what the cost counts.
    pub fn reasons(&self, fitted: &FittedFrame, wanted: Power) -> Vec<Reason> {
        let mut reasons = self.shortfall(wanted);
        if self.is_in() {
            reasons.insert(0, Reason::IsIn);
            return reasons;
        }
        let used = |lens: &Lens| self.cells.iter().any(|placed| placed.piece.lens == *lens);
        let missing = ideal_lenses(wanted, self.form).into_iter().filter(|lens| !used(lens));
        reasons.extend(missing.filter_map(|lens| {
            let why = why_not_free(fitted, self.eye, &lens)?;
            Some(Reason::NotFree { lens, why })
        }));
        if let Some(order) = self.order(fitted) {
            reasons.push(order);
        }
        if self.has_cylinder_before_sphere() {
            reasons.push(Reason::CylinderBeforeSphere);
        }
        // where the box has no other cylinders, every stack would say it, and nobody could do otherwise
        let other_sign = self.cost.sign > 0.0 && fitted.stock.has_cylinder_of(self.form);
        let counted = [
            (self.cost.crossed > 0.0, Reason::Crossed),
            (self.cost.opposed > 0.0, Reason::Opposed),
            (other_sign, Reason::OtherSign),
        ];
        reasons.extend(counted.into_iter().filter(|(is_so, _)| *is_so).map(|(_, reason)| reason));
        for placed in &self.cells {
            let Some(stocked) = fitted.stock.get(&placed.piece) else { continue };
            if stocked.damaged {
                reasons.push(Reason::Damaged(placed.piece.lens.clone()));
            }
            let acts_as = acts_as(fitted, placed, stocked.power());
            if let Some(mark) =
                placed.piece.lens.mark().filter(|_| (acts_as.0 - stocked.power().0).abs() >= SAID_FROM_D)
            {
                let reads_otherwise = |power: &Dioptres| (power.0 - mark.dioptres()).abs() >= READS_ALIKE_D;
                let measured = stocked.measured.map(Dioptres).filter(reads_otherwise);
                reasons.push(Reason::ActsAs { mark, measured, power: acts_as });
            }
        }
        reasons
    }

    /// The reasons in words; the lenses themselves where there is nothing to say.
    pub fn reason(&self, fitted: &FittedFrame, wanted: Power) -> String {
        let reasons: Vec<String> = self.reasons(fitted, wanted).iter().map(Reason::to_string).collect();
        let free = ideal_lenses(wanted, self.form);
        let used = |lens: &Lens| self.cells.iter().any(|placed| placed.piece.lens == *lens);
        match reasons.as_slice() {
            [] if free.len() == 1 && free.iter().all(used) => "the lens itself is free".to_owned(),
            [] if !free.is_empty() && free.iter().all(used) => "the lenses themselves are free".to_owned(),
            [] => "nothing against it".to_owned(),
            said => said.join("; "),
        }
    }

    /// The marks of the lenses in words: the spheres first and then the cylinders.
    pub fn lens_list(&self) -> String {
        let one = |lens: &PlacedLens| {
            let mark = lens.piece.lens.mark().map_or_else(|| lens.piece.lens.to_string(), |mark| mark.to_string());
            match lens.direction {
                Some(direction) => format!("{mark}x{direction}"),
                None => mark,
            }
        };
        let lenses: Vec<String> = self.by_kind().map(one).collect();
        if lenses.is_empty() { "empty cells".to_owned() } else { lenses.join(" ") }
    }

    /// What of the wanted power a stack that does not reach leaves out.
    fn shortfall(&self, wanted: Power) -> Vec<Reason> {
        let mut reasons = Vec::new();
        if self.reaches {
            return reasons;
        }
        let weaker = 2.0 * (wanted.astigmatism() - self.net.astigmatism());
        let cylinder_off = 2.0 * (Power { m: 0.0, ..(self.net - wanted) }).astigmatism();
        if weaker >= SAID_FROM_D {
            reasons.push(Reason::CylinderMissing(Dioptres(weaker)));
        } else if cylinder_off >= SAID_FROM_D {
            reasons.push(Reason::CylinderOff(Dioptres(cylinder_off)));
        }
        let too_plus = self.net.m - wanted.m;
        if too_plus.abs() >= SAID_FROM_D {
            reasons.push(Reason::TooPlus(Dioptres(too_plus)));
        }
        reasons
    }

    /// What is wrong with where the spheres stand.
    fn order(&self, fitted: &FittedFrame) -> Option<Reason> {
        let strength = |lens: &&PlacedLens| lens.piece.lens.mark().map_or(0.0, |mark| mark.dioptres().abs());
        let spheres = || self.cells.iter().filter(|lens| lens.piece.lens.is_sphere());
        let strongest = spheres().map(|lens| strength(&lens)).reduce(f64::max)?;
        if spheres().any(|lens| lens.cell == 1 && strength(&lens) >= strongest) {
            return None;
        }
        let stays = fitted.in_cell(self.eye, 1).is_some_and(|lens| lens.stocked.piece.lens.stays_in_its_cell());
        let rear_empty = !stays && self.cells.iter().all(|lens| lens.cell != 1);
        Some(if rear_empty { Reason::RearEmpty } else { Reason::StrongestNotRear })
    }

    fn has_cylinder_before_sphere(&self) -> bool {
        let first_cylinder = self.cells.iter().position(|lens| lens.piece.lens.is_cylinder());
        first_cylinder.is_some_and(|first| self.cells[first..].iter().any(|lens| lens.piece.lens.is_sphere()))
    }
}

/// What a lens alone makes at cell 1 from where it stands.
fn acts_as(fitted: &FittedFrame, placed: &PlacedLens, power: Dioptres) -> Dioptres {
    let distance: f64 = fitted.gaps().iter().take(usize::from(placed.cell) - 1).map(|gap| gap.0).sum();
    Dioptres(towards_eye(Power::sphere(power), Millimetres(distance)).m)
}

/// The one lens that, were it at hand, would let the wanted power be reached at the least cost.
///
/// `None` when it is reached already or no single lens would do. Quarter steps to 20 D of sphere and 6 D of cylinder are
/// considered, as trial sets hold them.
pub fn lens_that_would_do(fitted: &FittedFrame, eye: Eye, wanted: Power, options: &SearchOptions) -> Option<Lens> {
    let quarters = |most: i32| (-most..=most).filter(|&q| q != 0).map(|q| Mark::nearest(f64::from(q) * 0.25));
    let lenses = quarters(80).map(Lens::Sphere).chain(quarters(24).map(Lens::Cylinder));
    let mut richer = fitted.clone();
    let mut supposed = Vec::new();
    for lens in lenses.filter(|lens| why_not_free(fitted, eye, lens).is_some()) {
        if richer.stock.change(&BoxChange::Added(lens.clone().into())).is_ok() {
            supposed.extend(richer.stock.of_lens(&lens).last().map(|stocked| stocked.piece.clone()));
        }
    }
    // in the form of the box as it is, whichever cylinders are supposed beside it
    let options = SearchOptions { form: fitted.stock.form_in_use(options.form), ..*options };
    Stacker::for_eye(&richer, eye).best_supposing(eye, wanted, &options, &supposed)
}
