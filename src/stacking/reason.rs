//! Why a stack is proposed, and which single lens would do when none reaches.

use super::options::SearchOptions;
use super::proposal::{PlacedLens, Proposal};
use super::search::Stacker;
use crate::frame::FittedFrame;
use crate::kit::{BoxChange, Lens, Mark, NoneFree, Place};
use crate::optics::{Eye, Power};

/// The ideal lenses for a wanted power: its sphere and, if it has one, its minus cylinder.
pub fn ideal_lenses(wanted: Power) -> Vec<Lens> {
    let form = wanted.minus_form();
    let mut lenses = Vec::new();
    let sphere = Mark::nearest(form.sphere);
    if !sphere.is_plano() {
        lenses.push(Lens::Sphere(sphere));
    }
    let cylinder = Mark::nearest(form.cylinder);
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
        Place::Hand { .. } | Place::Lost | Place::Lent { .. } | Place::Retired => false,
    })
}

impl Proposal {
    /// Why this stack: which ideal lens is missing and what takes its place.
    pub fn reason(&self, fitted: &FittedFrame, wanted: Power) -> String {
        if self.move_count == 0 {
            return "this is what is in".to_owned();
        }
        let used = |lens: &Lens| self.cells.iter().any(|placed| placed.piece.lens == *lens);
        let missing: Vec<String> = ideal_lenses(wanted)
            .iter()
            .filter(|lens| !used(lens))
            .filter_map(|lens| why_not_free(fitted, self.eye, lens).map(|why| format!("{lens} is {}", why.in_short())))
            .collect();
        let stack = self.lens_list();
        if missing.is_empty() {
            return if ideal_lenses(wanted).iter().all(used) { format!("{stack} is free") } else { stack };
        }
        format!("{}: {stack}", missing.join(" and "))
    }

    /// The marks of the lenses from cell 1 outward, in words.
    pub fn lens_list(&self) -> String {
        let one = |lens: &PlacedLens| {
            let mark = lens.piece.lens.mark().map_or_else(|| lens.piece.lens.to_string(), |mark| mark.to_string());
            match lens.direction {
                Some(direction) => format!("{mark}x{direction}"),
                None => mark,
            }
        };
        match self.cells.as_slice() {
            [] => "empty cells".to_owned(),
            lenses => lenses.iter().map(one).collect::<Vec<_>>().join(" with "),
        }
    }
}

/// The one lens that, were it at hand, would let the wanted power be reached with the fewest lenses and then the least miss.
///
/// `None` when it is reached already or no single lens would do. Quarter steps to 20 D of sphere and 6 D of cylinder are
/// considered, as trial sets hold them.
pub fn lens_that_would_do(fitted: &FittedFrame, eye: Eye, wanted: Power, options: &SearchOptions) -> Option<Lens> {
    let quarters = |most: i32| (-most..=most).filter(|&q| q != 0).map(|q| Mark::nearest(f64::from(q) * 0.25));
    let lenses = quarters(80).map(Lens::Sphere).chain(quarters(24).map(Lens::Cylinder));
    let mut richer = fitted.clone();
    let mut supposed = Vec::new();
    for lens in lenses.filter(|lens| why_not_free(fitted, eye, lens).is_some()) {
        if richer.stock.change(&BoxChange::Added(lens.clone())).is_ok() {
            supposed.extend(richer.stock.of_lens(&lens).last().map(|stocked| stocked.piece.clone()));
        }
    }
    Stacker::for_eye(&richer, eye).best_supposing(eye, wanted, options, &supposed)
}
