//! What to pack: the best bag of some pieces of a box, and what it costs to lose one of them on the way.

use serde::Serialize;

use super::bound::Limits;
use super::cells::Cells;
use super::choosing::{self, Chosen};
use super::coverage::{Asked, Shares, made, percent};
use super::holdings::{Holding, Holdings};
use super::needs::{Needs, Tally};
use super::people::People;
use super::sink::MOST_LENSES;
use crate::kit::Lens;

/// What a bag is to do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BagFor<'a> {
    /// In which cells its lenses are to stand.
    pub cells: &'a Cells,
    /// Whose prescriptions count.
    pub people: &'a People,
    /// With at most so many lenses an eye, 1 to [`MOST_LENSES_WEIGHED`](super::MOST_LENSES_WEIGHED).
    pub lenses: usize,
    /// For one eye, or both alike.
    pub asked: Asked,
}

/// Pieces of one lens in a bag, and what it costs to be without one of them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Loss {
    /// The lens.
    pub lens: Lens,
    /// By how much the share falls.
    pub share: f64,
}

impl Loss {
    /// What it costs, in words: by how much less the share is, not by which part of it.
    pub fn in_words(&self) -> String {
        if self.share > 0.0 { format!("{} less", percent(self.share)) } else { "nothing you would notice".to_owned() }
    }
}

/// A bag.
#[derive(Debug, Clone, PartialEq)]
pub struct Bag {
    /// What is in it of what may be stacked, with its true power; in the order of [`Holdings`].
    pub take: Vec<Holding>,
    /// The share for which it was chosen.
    pub share: f64,
    /// No bag of as many pieces makes more.
    pub bound: f64,
    /// Each lens by what losing one piece of it costs, the dearest first.
    pub lose: Vec<Loss>,
}

/// What is known while a bag is looked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoFar {
    /// The share of the best so far.
    pub share: f64,
    /// No bag makes more.
    pub bound: f64,
}

/// The best bag of at most so many stacked pieces of a box. `always` are in it; more of them than the box has are left out. The search goes
/// on until nothing better can be found, or `spent` gives 1: which part of the time is over.
pub fn pack(
    holdings: &Holdings,
    always: &[(Lens, u8)],
    pieces: usize,
    bag: BagFor<'_>,
    spent: &mut dyn FnMut(SoFar) -> f64,
) -> Bag {
    let needs = Needs::of(holdings, bag.cells, bag.people, bag.lenses, bag.asked);
    let limits = limits(holdings, always, pieces);
    let chosen = choosing::best(&needs, &limits, &mut |so_far: &Chosen| {
        spent(SoFar { share: so_far.share, bound: so_far.bound })
    });
    bag_of(holdings, &needs, &chosen)
}

/// The smallest bag whose share is at least this, with the bound of the size before it: no bag of as many pieces is proven to reach it
/// when that is below. `None` when the whole box does not.
pub fn pack_for_share(
    holdings: &Holdings,
    always: &[(Lens, u8)],
    share: f64,
    bag: BagFor<'_>,
    spent: &mut dyn FnMut(SoFar) -> f64,
) -> Option<(Bag, f64)> {
    let needs = Needs::of(holdings, bag.cells, bag.people, bag.lenses, bag.asked);
    let all: Vec<u8> = holdings.list().iter().map(|of| of.pieces).collect();
    let whole = Tally::of(&needs, &all);
    if whole.share() < share {
        return None;
    }
    // greed says how many are enough; fewer are tried as long as there is time
    let least = limits(holdings, always, 0);
    let begin: usize = least.least.iter().map(|pieces| usize::from(*pieces)).sum();
    let mut enough = begin;
    loop {
        let mut tally = Tally::of(&needs, &least.least);
        choosing::by_greed(&mut tally, &Limits { pieces: enough, ..least.clone() });
        if tally.share() >= share || enough >= whole.count() {
            break;
        }
        enough += 1;
    }
    let mut part = 0.0;
    let mut at = |enough: usize, spent: &mut dyn FnMut(SoFar) -> f64| {
        // each size has a part of what is left
        let from = part;
        let to = from + (1.0 - from) / 3.0;
        choosing::best(&needs, &Limits { pieces: enough, ..least.clone() }, &mut |so_far: &Chosen| {
            let now = spent(SoFar { share: so_far.share, bound: so_far.bound });
            part = now;
            if so_far.share >= share || so_far.bound < share { 1.0 } else { (now - from) / (to - from) }
        })
    };
    let mut best = at(enough, spent);
    let mut below = 0.0;
    while enough > begin {
        let fewer = at(enough - 1, spent);
        if fewer.share < share {
            below = fewer.bound;
            break;
        }
        (best, enough) = (fewer, enough - 1);
    }
    Some((bag_of(holdings, &needs, &best), below))
}

fn limits(holdings: &Holdings, always: &[(Lens, u8)], pieces: usize) -> Limits {
    let most: Vec<u8> = holdings.list().iter().map(|of| of.pieces).collect();
    let mut least = vec![0; most.len()];
    for (lens, count) in always {
        let mut count = *count;
        // of lenses marked alike those that are true come first
        let mut alike: Vec<usize> = (0..most.len()).filter(|&of| holdings.list()[of].lens == *lens).collect();
        alike.sort_by(|&one, &other| holdings.list()[one].off_mark().total_cmp(&holdings.list()[other].off_mark()));
        for of in alike {
            let taken = count.min(most[of] - least[of]);
            (least[of], count) = (least[of] + taken, count - taken);
        }
    }
    Limits { least, most, pieces }
}

fn bag_of(holdings: &Holdings, needs: &Needs, chosen: &Chosen) -> Bag {
    let with = holdings.list().iter().zip(&chosen.pieces).filter(|(_, pieces)| **pieces > 0);
    let take = with.map(|(of, pieces)| Holding { pieces: *pieces, ..of.clone() }).collect();
    Bag { take, share: chosen.share, bound: chosen.bound.min(1.0), lose: losses_of(holdings, needs, &chosen.pieces) }
}

fn losses_of(holdings: &Holdings, needs: &Needs, pieces: &[u8]) -> Vec<Loss> {
    let mut tally = Tally::of(needs, pieces);
    let there = (0..pieces.len()).filter(|&of| pieces[of] > 0);
    let loss =
        |of: usize| Loss { lens: holdings.list()[of].lens.clone(), share: 0.0 - tally.change(of, pieces[of] - 1) };
    let mut lose: Vec<Loss> = there.map(loss).collect();
    lose.sort_by(|one, other| other.share.total_cmp(&one.share));
    lose
}

/// What losing one piece of each lens of a box would cost, the dearest first.
pub fn losses(holdings: &Holdings, bag: BagFor<'_>) -> Vec<Loss> {
    let needs = Needs::of(holdings, bag.cells, bag.people, bag.lenses, bag.asked);
    let all: Vec<u8> = holdings.list().iter().map(|of| of.pieces).collect();
    losses_of(holdings, &needs, &all)
}

/// The shares of people with some lenses: one eye, and both alike.
pub fn shares(holdings: &Holdings, cells: &Cells, people: &People) -> (Shares, Shares) {
    let made = made(holdings, cells, people.wanted(), MOST_LENSES, Asked::BothEyes);
    (Shares::of(people, made.iter().map(|of| of.lenses)), Shares::of(people, made.iter().map(|of| of.both)))
}
