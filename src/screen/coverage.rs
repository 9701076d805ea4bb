//! What is computed of a box: what it makes, what to buy for it, what to pack of it.

use std::rc::Rc;
use std::time::{Duration, Instant};

use super::box_page::Buying;
use super::computed::{Computed, Wake};
use crate::frame::DeclaredFrame;
use crate::keeping::{
    self, Advice, Asked, Bag, BagFor, Cells, Coverage, Holdings, Loss, Means, Offer, People, Shares, for_the_hand,
    losses, offers_of,
};
use crate::kit::shipped::full_box;
use crate::kit::{Lens, Stock};

/// With at most so many lenses an eye a bag and an advice are to make it.
const LENSES: usize = 2;
/// So many pieces are advised.
const ADVISED: usize = 10;
/// For a better bag and a better bound the search goes on for so long, where nobody has to wait for it.
const PATIENCE: Duration = Duration::from_secs(20);

/// Everything that what a box makes depends on.
#[derive(Debug, Clone, PartialEq)]
struct OfHoldings {
    holdings: Holdings,
    cells: Cells,
    both: bool,
}

/// Everything that an advice depends on.
#[derive(Debug, Clone, PartialEq)]
struct OfStock {
    stock: Stock,
    cells: Cells,
    /// What can be bought; the powers of the full box where no list is named.
    offers: Option<Vec<Offer>>,
    budget: Option<f64>,
    /// Whether nobody waits for it.
    is_patient: bool,
}

/// Everything that what a lost piece costs depends on.
#[derive(Debug, Clone, PartialEq)]
struct OfLoss {
    holdings: Holdings,
    cells: Cells,
}

/// Everything that a bag depends on.
#[derive(Debug, Clone, PartialEq)]
struct OfBag {
    stock: Stock,
    cells: Cells,
    pieces: usize,
    /// Whether nobody waits for it.
    is_patient: bool,
}

/// A bag, and what it makes.
#[derive(Debug)]
pub struct Packed {
    /// What of it is stacked.
    pub bag: Bag,
    /// What else is in it, as far as the box has it.
    pub beside: Vec<(Lens, u8)>,
    /// What the bag makes, both eyes alike.
    pub both: Shares,
}

/// What is computed of boxes.
#[derive(Default)]
pub struct OfBoxes {
    /// Has somebody told that something is there; where it is not set everything is waited for.
    pub wake: Option<Wake>,
    makes: Computed<OfHoldings, Coverage>,
    advised: Computed<OfStock, Advice>,
    losses: Computed<OfLoss, Vec<Loss>>,
    packed: Computed<OfBag, Packed>,
}

impl OfBoxes {
    /// What a box makes with a frame.
    pub fn makes(&mut self, stock: &Stock, frame: &DeclaredFrame, both: bool) -> Option<Rc<Coverage>> {
        let asked = OfHoldings { holdings: Holdings::of(stock), cells: Cells::of(frame, stock.form), both };
        self.makes.of(asked, self.wake.as_ref(), |of| {
            let asked = if of.both { Asked::BothEyes } else { Asked::OneEye };
            Coverage::of(&of.holdings, &of.cells, &People::counted(), asked)
        })
    }

    /// What to buy for a box.
    pub fn advised(&mut self, stock: &Stock, frame: &DeclaredFrame, buying: &Buying) -> Option<Rc<Advice>> {
        let asked = OfStock {
            stock: stock.clone(),
            cells: Cells::of(frame, stock.form),
            offers: buying.prices.as_ref().map(|list| list.offers.clone()),
            budget: buying.budget,
            is_patient: self.wake.is_some(),
        };
        self.advised.of(asked, self.wake.as_ref(), |of| {
            let people = People::counted();
            let bag = BagFor { cells: &of.cells, people: &people, lenses: LENSES, asked: Asked::BothEyes };
            let of_the_full_box = || full_box().map(|full| offers_of(&Stock::of(&full))).unwrap_or_default();
            let offers = of.offers.clone().unwrap_or_else(of_the_full_box);
            let means = Means { pieces: ADVISED, budget: of.budget };
            keeping::advise(&of.stock, &offers, means, bag, &mut spent(of.is_patient))
        })
    }

    /// What losing one piece of each lens of a box would cost, the dearest first.
    pub fn losses(&mut self, stock: &Stock, frame: &DeclaredFrame) -> Option<Rc<Vec<Loss>>> {
        let asked = OfLoss { holdings: Holdings::of(stock), cells: Cells::of(frame, stock.form) };
        self.losses.of(asked, self.wake.as_ref(), |of| {
            let people = People::counted();
            losses(&of.holdings, BagFor { cells: &of.cells, people: &people, lenses: LENSES, asked: Asked::BothEyes })
        })
    }

    /// The best bag of a box, of so many pieces in all.
    pub fn packed(&mut self, stock: &Stock, frame: &DeclaredFrame, pieces: usize) -> Option<Rc<Packed>> {
        let asked = OfBag {
            stock: stock.clone(),
            cells: Cells::of(frame, stock.form),
            pieces,
            is_patient: self.wake.is_some(),
        };
        self.packed.of(asked, self.wake.as_ref(), |of| {
            let people = People::counted();
            let bag_for = BagFor { cells: &of.cells, people: &people, lenses: LENSES, asked: Asked::BothEyes };
            let always = always(&of.stock);
            let is_stacked = |(lens, _): &&(Lens, u8)| lens.is_stacked();
            let (stacked, beside): (Vec<_>, Vec<_>) = always.iter().partition(is_stacked);
            let beside: Vec<(Lens, u8)> = beside.into_iter().cloned().collect();
            let stacked: Vec<(Lens, u8)> = stacked.into_iter().cloned().collect();
            let others: usize = beside.iter().map(|(_, pieces)| usize::from(*pieces)).sum();
            let holdings = Holdings::of(&of.stock);
            let bag = keeping::pack(
                &holdings,
                &stacked,
                of.pieces.saturating_sub(others),
                bag_for,
                &mut spent(of.is_patient),
            );
            let taken = Holdings::gathered(holdings.form, bag.take.iter().cloned());
            let (_, both) = keeping::shares(&taken, &of.cells, &people);
            Packed { bag, beside, both }
        })
    }
}

/// Which part of the time for a search is over: all of it at once where somebody waits.
fn spent(is_patient: bool) -> impl FnMut(keeping::SoFar) -> f64 {
    let began = Instant::now();
    move |_| if is_patient { began.elapsed().as_secs_f64() / PATIENCE.as_secs_f64() } else { 1.0 }
}

/// What is always in a bag: what the hand needs in an exam, as far as the box has it.
pub fn always(stock: &Stock) -> Vec<(Lens, u8)> {
    let there = |lens: &Lens| stock.of_lens(lens).filter(|piece| piece.is_free()).count().min(99) as u8;
    let named = ["pinhole", "slit"];
    let further = Lens::known_by_name().filter(|lens| lens.name().is_some_and(|name| named.contains(&name)));
    let usual = for_the_hand().into_iter().map(|of| (of.lens, of.pieces)).chain(further.map(|lens| (lens, 1)));
    usual
        .map(|(lens, pieces)| (there(&lens).min(pieces), lens))
        .filter(|(pieces, _)| *pieces > 0)
        .map(|(n, l)| (l, n))
        .collect()
}
