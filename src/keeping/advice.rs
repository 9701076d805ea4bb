//! What to buy next: first what the guide lacks, then what was lost, then what adds most; in pairs.

use serde::Serialize;

use super::bound::Limits;
use super::choosing::{self, Chosen};
use super::holdings::{Holding, Holdings};
use super::needs::{Needs, Tally};
use super::packing::{BagFor, SoFar};
use crate::kit::stock::LensCount;
use crate::kit::{Lens, Mark, Place, Stock};
use crate::optics::CylinderForm;

/// A purchase that adds less than this part of the people is not worth saying: one in a thousand (ours, no source).
pub const NOTICED: f64 = 0.001;

/// How many pieces of one lens are bought beyond those that there are, at the most: two pairs.
const MOST_MORE: u8 = 4;

/// A lens that can be bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// The lens.
    pub lens: Lens,
    /// What a piece costs, in whatever the list counts.
    pub price: Option<f64>,
}

/// What is bought together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Purchase {
    /// The lens.
    pub lens: Lens,
    /// How many pieces.
    pub pieces: u8,
    /// What it adds to the share, after the purchases before it.
    pub gains: f64,
    /// What these pieces cost, where there is a price.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
    /// Why.
    pub why: String,
}

/// What to buy.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// In the order in which to buy it.
    pub buy: Vec<Purchase>,
    /// The share before.
    pub now: f64,
    /// The share with all of it.
    pub then: f64,
    /// No purchase of as many pieces from the same offers makes more.
    pub bound: f64,
    /// The stacked lenses with all of it.
    pub holdings: Holdings,
}

/// How much may be bought.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Means {
    /// At most so many pieces.
    pub pieces: usize,
    /// At most for so much; lenses without a price are not bought then.
    pub budget: Option<f64>,
}

/// The offers where nobody names a price: each lens of a box once.
pub fn offers_of(full: &Stock) -> Vec<Offer> {
    let of = |count: LensCount| Offer { lens: count.lens, price: None };
    full.counts().into_iter().map(of).collect()
}

/// Whether a keeper would want an offer: to a box that has cylinders of one sign none of the other come, unless somebody names a price
/// for one.
fn is_wanted(offer: &Offer, stock: &Stock) -> bool {
    let has = |form: CylinderForm| stock.has_cylinder_of(form);
    let mark = offer.lens.mark().map_or(0.0, Mark::dioptres);
    let form = if mark > 0.0 { CylinderForm::Plus } else { CylinderForm::Minus };
    let has_both_or_none = has(CylinderForm::Plus) == has(CylinderForm::Minus);
    !offer.lens.is_cylinder() || offer.price.is_some() || has_both_or_none || has(form)
}

/// What to buy for a box. `spent` says which part of the time for proving the bound is over, from 0 to 1.
pub fn advise(
    stock: &Stock,
    offers: &[Offer],
    means: Means,
    bag: BagFor<'_>,
    spent: &mut dyn FnMut(SoFar) -> f64,
) -> Advice {
    let offers: Vec<Offer> = offers.iter().filter(|offer| is_wanted(offer, stock)).cloned().collect();
    let offers = offers.as_slice();
    let owned = Holdings::of(stock);
    let of_offer = |offer: &Offer| Holding {
        lens: offer.lens.clone(),
        power: offer.lens.mark().map_or(0.0, Mark::dioptres),
        pieces: MOST_MORE,
    };
    let everything = owned.with(offers.iter().map(of_offer));
    let needs = Needs::of(&everything, bag.cells, bag.people, bag.lenses, bag.asked);
    let there: Vec<u8> = everything.list().iter().map(|of| owned.pieces_of(of)).collect();
    let mut buying = Buying {
        stock,
        offers,
        everything: &everything,
        tally: Tally::of(&needs, &there),
        left: means,
        buy: Vec::new(),
    };
    let now = buying.tally.share();
    buying.what_the_guide_lacks();
    buying.what_was_lost();
    buying.what_adds_most();
    let (then, pieces, buy) = (buying.tally.share(), buying.tally.pieces.clone(), buying.buy);
    let limits = Limits {
        least: there.clone(),
        most: everything.list().iter().map(|of| of.pieces).collect(),
        pieces: there.iter().map(|pieces| usize::from(*pieces)).sum::<usize>() + means.pieces,
    };
    let best = choosing::best(&needs, &limits, &mut |so_far: &Chosen| {
        spent(SoFar { share: so_far.share, bound: so_far.bound })
    });
    let with = everything.list().iter().zip(&pieces);
    let bought = with.map(|(of, pieces)| Holding { pieces: *pieces, ..of.clone() });
    let holdings = Holdings::gathered(owned.form, bought);
    Advice { buy, now, then, bound: best.bound.max(then).min(1.0), holdings }
}

/// Whether a lens is of a kind.
type IsKind = fn(&Lens) -> bool;

/// What is bought so far.
struct Buying<'a> {
    stock: &'a Stock,
    offers: &'a [Offer],
    everything: &'a Holdings,
    tally: Tally<'a>,
    left: Means,
    buy: Vec<Purchase>,
}

impl Buying<'_> {
    /// How many pieces of a lens are at hand, those that were bought among them.
    fn at_hand(&self, lens: &Lens) -> usize {
        let there = self.stock.of_lens(lens).filter(|stocked| stocked.place.is_at_hand()).count();
        let bought = self.buy.iter().filter(|of| of.lens == *lens).map(|of| usize::from(of.pieces));
        there + bought.sum::<usize>()
    }

    fn price(&self, lens: &Lens, pieces: u8) -> Option<f64> {
        let offer = self.offers.iter().find(|offer| offer.lens == *lens)?;
        offer.price.map(|price| price * f64::from(pieces))
    }

    fn can_buy(&self, lens: &Lens, pieces: u8) -> bool {
        let is_offered = self.offers.iter().any(|offer| offer.lens == *lens);
        let is_affordable =
            self.left.budget.is_none_or(|budget| self.price(lens, pieces).is_some_and(|price| price <= budget + 1e-9));
        is_offered && is_affordable && usize::from(pieces) <= self.left.pieces
    }

    /// What a lens is among the types, as it is marked.
    fn type_of(&self, lens: &Lens) -> Option<usize> {
        let mark = lens.mark().map_or(0.0, Mark::dioptres);
        self.everything.list().iter().position(|of| of.lens == *lens && of.power == mark)
    }

    fn gain(&mut self, of: usize, pieces: u8) -> f64 {
        let more = self.tally.pieces[of] + pieces;
        self.tally.change(of, more)
    }

    fn buy(&mut self, lens: &Lens, pieces: u8, why: String) {
        let before = self.tally.share();
        if let Some(of) = self.type_of(lens) {
            self.tally.set(of, self.tally.pieces[of] + pieces);
        }
        let price = self.price(lens, pieces);
        self.left.pieces -= usize::from(pieces);
        self.left.budget = self.left.budget.map(|budget| budget - price.unwrap_or(0.0));
        let gains = self.tally.share() - before;
        self.buy.push(Purchase { lens: lens.clone(), pieces, gains, price, why });
    }

    fn what_the_guide_lacks(&mut self) {
        let sphere = |power: f64| Lens::Sphere(Mark::nearest(power));
        let mut lacks: Vec<(Lens, u8, &str)> = Vec::new();
        for power in [0.25, -0.25, 0.5, -0.5] {
            if self.at_hand(&sphere(power)) == 0 {
                lacks.push((sphere(power), 2, "the guide holds it in front, and there is none"));
            }
        }
        match self.at_hand(&sphere(1.0)) {
            0 => lacks.push((sphere(1.0), 2, "the guide fogs both eyes with it, and there is none")),
            1 => lacks.push((sphere(1.0), 1, "the guide fogs both eyes with it, and there is one")),
            _ => {}
        }
        let has = |is: fn(&Lens) -> bool| {
            self.stock.pieces().iter().any(|stocked| stocked.place.is_at_hand() && is(&stocked.piece.lens))
        };
        let offered = |is: fn(&Lens) -> bool| self.offers.iter().find(|offer| is(&offer.lens));
        let kinds: [(IsKind, &str); 3] = [
            (Lens::is_cross_cylinder, "the guide asks about the cylinder with it, and there is none"),
            (Lens::occludes, "to cover an eye, and there is none"),
            (is_pinhole, "to see whether an eye can read more, and there is none"),
        ];
        for (is, why) in kinds {
            if let Some(offer) = offered(is).filter(|_| !has(is)) {
                lacks.push((offer.lens.clone(), 1, why));
            }
        }
        for (lens, pieces, why) in lacks {
            if self.can_buy(&lens, pieces) {
                self.buy(&lens, pieces, why.to_owned());
            }
        }
    }

    fn what_was_lost(&mut self) {
        let mut lost: Vec<(Lens, u8)> = Vec::new();
        for stocked in self.stock.pieces().iter().filter(|stocked| stocked.place == Place::Lost) {
            match lost.iter_mut().find(|(lens, _)| *lens == stocked.piece.lens) {
                Some((_, pieces)) => *pieces += 1,
                None => lost.push((stocked.piece.lens.clone(), 1)),
            }
        }
        while let Some((worth, at)) = self.best_of(&lost) {
            if worth < NOTICED {
                break;
            }
            let (lens, pieces) = lost.remove(at);
            let count = if pieces == 1 { "one is lost".to_owned() } else { format!("{pieces} are lost") };
            self.buy(&lens, pieces, count);
        }
    }

    /// Which of some purchases adds most for each piece, or for what it costs where there is a budget, with what it adds in all.
    fn best_of(&mut self, purchases: &[(Lens, u8)]) -> Option<(f64, usize)> {
        let mut best: Option<(f64, f64, usize)> = None;
        for (at, (lens, pieces)) in purchases.iter().enumerate() {
            let Some(of) = self.type_of(lens).filter(|_| self.can_buy(lens, *pieces)) else { continue };
            let gain = self.gain(of, *pieces);
            let effort = match self.left.budget {
                Some(_) => self.price(lens, *pieces).unwrap_or(0.0).max(1e-6),
                None => f64::from(*pieces),
            };
            if best.is_none_or(|(worth, _, _)| gain / effort > worth) {
                best = Some((gain / effort, gain, at));
            }
        }
        best.map(|(_, gain, at)| (gain, at))
    }

    /// So many pieces of a lens that there are pairs of it.
    fn pair_up(&self, lens: &Lens) -> u8 {
        if self.at_hand(lens).is_multiple_of(2) { 2 } else { 1 }
    }

    fn what_adds_most(&mut self) {
        loop {
            let bought = |lens: &Lens| self.buy.iter().filter(|of| of.lens == *lens).map(|of| of.pieces).sum::<u8>();
            let may_be = |lens: &Lens| {
                let pieces = self.pair_up(lens);
                (bought(lens) + pieces <= MOST_MORE && self.type_of(lens).is_some()).then(|| (lens.clone(), pieces))
            };
            let purchases: Vec<(Lens, u8)> = self.offers.iter().filter_map(|offer| may_be(&offer.lens)).collect();
            if let Some((gain, at)) = self.best_of(&purchases)
                && gain >= NOTICED
            {
                let (lens, pieces) = &purchases[at];
                let there = self.at_hand(lens);
                let why = match there {
                    0 => "none in the box".to_owned(),
                    1 => "there is one, and both eyes want it".to_owned(),
                    _ => format!("there are {there}, and both eyes want more"),
                };
                self.buy(lens, *pieces, why);
            } else if let Some((one, other)) = self.best_two(&purchases) {
                let why = |with: &Lens| format!("together with {with}");
                self.buy(&one.0, one.1, why(&other.0));
                self.buy(&other.0, other.1, why(&one.0));
            } else {
                return;
            }
        }
    }

    /// The two purchases that together add most, where no one adds anything that is noticed.
    fn best_two(&mut self, purchases: &[(Lens, u8)]) -> Option<((Lens, u8), (Lens, u8))> {
        let mut best: Option<(f64, usize, usize)> = None;
        for (at, (lens, pieces)) in purchases.iter().enumerate() {
            let Some(of) = self.type_of(lens) else { continue };
            for (beside, (other, further)) in purchases.iter().enumerate().skip(at + 1) {
                let both = usize::from(pieces + further) <= self.left.pieces;
                let price = self.price(lens, *pieces).zip(self.price(other, *further));
                let affordable = self.left.budget.is_none_or(|budget| price.is_some_and(|(a, b)| a + b <= budget));
                let Some(second) = self.type_of(other).filter(|_| both && affordable) else { continue };
                let to = [(of, self.tally.pieces[of] + pieces), (second, self.tally.pieces[second] + further)];
                let gain = self.tally.change_all(&to);
                if gain >= 2.0 * NOTICED && best.is_none_or(|(most, _, _)| gain > most) {
                    best = Some((gain, at, beside));
                }
            }
        }
        best.map(|(_, at, beside)| (purchases[at].clone(), purchases[beside].clone()))
    }
}

fn is_pinhole(lens: &Lens) -> bool {
    lens.name() == Some("pinhole")
}
