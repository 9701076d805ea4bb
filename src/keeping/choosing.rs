//! The best choice of pieces: found by greed and exchange, and proven as far as there is time.
//!
//! Greed takes what adds most for each piece. Exchange takes a few lenses out by chance and fills up again by greed, as long as nothing
//! is lost by it. The bound is that of prices ([`Relaxed`]); it is made tighter by branching: at least so many pieces of a
//! lens, or fewer, each with its own prices, the branch with the highest bound first.

use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::rc::Rc;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::bound::{Limits, Look, Relaxed, Room};
use super::needs::{Needs, Tally};

/// Shares that differ by less than this are the same: rounding.
const SAME_SHARE: f64 = 1e-9;
/// Part of the time that goes into the first exchanges, before the branches.
const EXCHANGING: f64 = 0.6;
/// Looks at prices at the root and in each branch.
const ROOT_LOOKS: usize = 1500;
const BRANCH_LOOKS: usize = 50;
/// After so many looks without a better bound the steps become half as long.
const PATIENCE: usize = 12;
/// Each so many looks what earns most is tried as a choice.
const TRY_EACH: usize = 10;
/// Branches that are kept at once, each with its prices.
const MOST_BRANCHES: usize = 4000;
/// Exchanges without any gain after which only proving goes on.
const FRUITLESS: usize = 5000;

/// A choice of pieces.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Chosen {
    /// How many of each type.
    pub pieces: Vec<u8>,
    /// The share that they make.
    pub share: f64,
    /// No choice within the limits makes more.
    pub bound: f64,
}

/// Fills up to the limits by greed: each time what adds most for each piece, and, where no lens alone adds anything, two.
pub(super) fn by_greed(tally: &mut Tally<'_>, limits: &Limits) {
    let mut count = tally.count();
    while count < limits.pieces {
        let left = limits.pieces - count;
        let Some(add) = best_addition(tally, limits, left) else { break };
        for (of, more) in add {
            count += usize::from(more);
            tally.set(of, tally.pieces[of] + more);
        }
    }
    // what is left adds nothing by itself: the rest goes to what has room, so that the bag has as many pieces as were asked for
    for of in 0..tally.pieces.len() {
        let more = limits.most[of].saturating_sub(tally.pieces[of]).min((limits.pieces - count).min(255) as u8);
        if more > 0 {
            count += usize::from(more);
            tally.set(of, tally.pieces[of] + more);
        }
    }
}

/// How many further pieces of a type may be taken at once.
fn steps(tally: &Tally<'_>, limits: &Limits, of: usize, left: usize) -> std::ops::RangeInclusive<u8> {
    let room = limits.most[of].saturating_sub(tally.pieces[of]);
    1..=room.min(2).min(left.min(255) as u8)
}

fn best_addition(tally: &mut Tally<'_>, limits: &Limits, left: usize) -> Option<Vec<(usize, u8)>> {
    let mut best: Option<(f64, Vec<(usize, u8)>)> = None;
    let mut weigh = |gain: f64, add: &[(usize, u8)]| {
        let pieces: u8 = add.iter().map(|(_, more)| more).sum();
        let worth = gain / f64::from(pieces);
        if gain > SAME_SHARE && best.as_ref().is_none_or(|(best, _)| worth > *best + 1e-15) {
            best = Some((worth, add.to_vec()));
        }
    };
    let types = tally.pieces.len();
    for of in 0..types {
        for more in steps(tally, limits, of, left) {
            let gain = tally.change(of, tally.pieces[of] + more);
            weigh(gain, &[(of, more)]);
        }
    }
    if let Some((_, add)) = best {
        return Some(add);
    }
    let mut best: Option<(f64, Vec<(usize, u8)>)> = None;
    for of in 0..types {
        for more in steps(tally, limits, of, left) {
            for other in of + 1..types {
                for further in steps(tally, limits, other, left - usize::from(more)) {
                    let to = [(of, tally.pieces[of] + more), (other, tally.pieces[other] + further)];
                    let worth = tally.change_all(&to) / f64::from(more + further);
                    if worth > SAME_SHARE && best.as_ref().is_none_or(|(best, _)| worth > *best) {
                        best = Some((worth, vec![(of, more), (other, further)]));
                    }
                }
            }
        }
    }
    best.map(|(_, add)| add)
}

/// Takes some lenses out by chance and fills up again; gives whether the share is better now.
fn exchange(tally: &mut Tally<'_>, limits: &Limits, rng: &mut ChaCha8Rng) -> bool {
    let before = (tally.pieces.clone(), tally.share());
    let removable: Vec<usize> = (0..tally.pieces.len()).filter(|&of| tally.pieces[of] > limits.least[of]).collect();
    if removable.is_empty() {
        return false;
    }
    for _ in 0..rng.random_range(1..=4) {
        let of = removable[rng.random_range(0..removable.len())];
        let out = rng.random_range(1..=2).min(tally.pieces[of] - limits.least[of]);
        tally.set(of, tally.pieces[of] - out);
    }
    by_greed(tally, limits);
    if tally.share() < before.1 - SAME_SHARE {
        for (of, pieces) in before.0.iter().enumerate() {
            if tally.pieces[of] != *pieces {
                tally.set(of, *pieces);
            }
        }
    }
    tally.share() > before.1 + SAME_SHARE
}

/// A part of all choices.
struct Branch {
    limits: Limits,
    prices: Rc<Vec<f32>>,
    bound: f64,
}

impl PartialEq for Branch {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Branch {}

impl PartialOrd for Branch {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Branch {
    fn cmp(&self, other: &Self) -> Ordering {
        self.bound.total_cmp(&other.bound)
    }
}

/// The search for the best choice.
struct Search<'a> {
    needs: &'a Needs,
    relaxed: Relaxed,
    best: Tally<'a>,
    room: Room,
}

/// The best choice that is found within the limits while there is time: `spent` says which part of it, from 0 to 1. `begin` may
/// be a choice to begin with.
pub(super) fn best(needs: &Needs, limits: &Limits, spent: &mut dyn FnMut(&Chosen) -> f64) -> Chosen {
    let mut greedy = Tally::of(needs, &limits.least);
    by_greed(&mut greedy, limits);
    let relaxed = Relaxed::of(needs, &limits.most);
    let prices = relaxed.first_prices();
    let room = relaxed.room();
    let mut search = Search { needs, relaxed, best: greedy, room };
    let mut prices = prices;
    let mut bound = search.tighten(limits, &mut prices, ROOT_LOOKS, f64::INFINITY).0;
    let rng = &mut ChaCha8Rng::seed_from_u64(1);
    let mut fruitless = 0;
    let said = |search: &Search<'_>, bound: f64| {
        let share = search.best.share();
        Chosen { pieces: search.best.pieces.clone(), share, bound: bound.max(share) }
    };
    while bound > search.best.share() + SAME_SHARE && fruitless < FRUITLESS && spent(&said(&search, bound)) < EXCHANGING
    {
        fruitless = if exchange(&mut search.best, limits, rng) { 0 } else { fruitless + 1 };
    }
    let mut branches = BinaryHeap::new();
    let kept = |prices: &[f64]| Rc::new(prices.iter().map(|price| *price as f32).collect::<Vec<f32>>());
    branches.push(Branch { limits: limits.clone(), prices: kept(&prices), bound });
    let mut let_be = f64::NEG_INFINITY;
    while let Some(branch) = branches.pop() {
        bound = branch.bound.max(let_be);
        if branch.bound <= search.best.share() + SAME_SHARE {
            bound = let_be;
            break;
        }
        if spent(&said(&search, bound)) >= 1.0 {
            break;
        }
        for limits in search.split(&branch) {
            let mut prices: Vec<f64> = branch.prices.iter().map(|price| f64::from(*price)).collect();
            let (tightened, _) = search.tighten(&limits, &mut prices, BRANCH_LOOKS, branch.bound);
            let bound = tightened.min(branch.bound);
            if bound > search.best.share() + SAME_SHARE {
                branches.push(Branch { limits, prices: kept(&prices), bound });
            }
        }
        if branches.len() > MOST_BRANCHES {
            // the least promising are let be: their bound stands
            let mut all = branches.into_sorted_vec();
            let fewer = all.split_off(MOST_BRANCHES / 2);
            let_be = all.last().map_or(let_be, |branch| let_be.max(branch.bound));
            branches = fewer.into();
        }
        bound = branches.peek().map_or(let_be, |branch| branch.bound.max(let_be));
    }
    said(&search, bound)
}

impl Search<'_> {
    /// Looks for prices with a better bound, and tries what earns most as a choice. Gives the bound.
    fn tighten(&mut self, limits: &Limits, prices: &mut Vec<f64>, looks: usize, known: f64) -> (f64, usize) {
        let fixed = |limits: &Limits| -> Option<Vec<u8>> {
            let sum = |pieces: &[u8]| pieces.iter().map(|pieces| usize::from(*pieces)).sum::<usize>();
            if sum(&limits.least) >= limits.pieces {
                return Some(limits.least.clone());
            }
            (sum(&limits.most) <= limits.pieces).then(|| limits.most.clone())
        };
        if let Some(pieces) = fixed(limits) {
            return (self.take(&pieces), 0);
        }
        let mut best = (known, prices.clone());
        let (mut length, mut patience) = (1.0, 0);
        for at in 0..looks {
            let mut room = std::mem::take(&mut self.room);
            let look = self.relaxed.look(limits, prices, &mut room);
            if at % TRY_EACH == 0 {
                self.try_filled(&look, limits);
            }
            let share = self.best.share();
            if look.bound < best.0 - 1e-12 || at == 0 && known.is_infinite() {
                patience = if best.0 - look.bound > 1e-4 * (best.0 - share).abs() { 0 } else { patience + 1 };
                best.0 = look.bound;
                best.1.clone_from(prices);
            } else {
                patience += 1;
            }
            if patience > PATIENCE {
                (length, patience) = (length / 2.0, 0);
                prices.clone_from(&best.1);
            }
            let goes_on = best.0 > share + SAME_SHARE
                && length > 1e-4
                && self.relaxed.step(limits, prices, &look, &mut room, share, length);
            self.room = room;
            if !goes_on {
                break;
            }
        }
        prices.clone_from(&best.1);
        (best.0, looks)
    }

    /// The share of a choice, which is kept when it is the best so far.
    fn take(&mut self, pieces: &[u8]) -> f64 {
        let tally = Tally::of(self.needs, pieces);
        let share = tally.share();
        if share > self.best.share() + SAME_SHARE {
            self.best = tally;
        }
        share
    }

    fn try_filled(&mut self, look: &Look, limits: &Limits) {
        let tally = Tally::of(self.needs, &look.pieces);
        if tally.share() > self.best.share() + SAME_SHARE && tally.count() <= limits.pieces {
            self.best = tally;
        }
    }

    /// Two parts of a branch: at least so many pieces of a lens, or fewer.
    fn split(&mut self, branch: &Branch) -> Vec<Limits> {
        let Limits { least, most, .. } = &branch.limits;
        let mut prices: Vec<f64> = branch.prices.iter().map(|price| f64::from(*price)).collect();
        // how often each type is chosen how often, around these prices
        let mut chosen: Vec<Vec<u32>> = most.iter().map(|most| vec![0; usize::from(*most) + 1]).collect();
        let mut room = std::mem::take(&mut self.room);
        let share = self.best.share();
        let looks = 16;
        for _ in 0..looks {
            let look = self.relaxed.look(&branch.limits, &prices, &mut room);
            look.pieces.iter().zip(&mut chosen).for_each(|(pieces, chosen)| chosen[usize::from(*pieces)] += 1);
            self.relaxed.step(&branch.limits, &mut prices, &look, &mut room, share, 0.3);
        }
        self.room = room;
        let earned = self.relaxed.earned(&prices, most);
        let open = (0..least.len()).filter(|&of| least[of] < most[of]).flat_map(|of| {
            let (chosen, earned) = (&chosen[of], &earned[of]);
            (least[of] + 1..=most[of]).map(move |level| {
                let with: u32 = chosen[usize::from(level)..].iter().sum();
                let torn = f64::from(with.min(looks - with)) + 1e-3;
                (torn * earned[usize::from(level)], of, level)
            })
        });
        let Some((_, of, level)) = open.max_by(|one, other| one.0.total_cmp(&other.0)) else { return Vec::new() };
        let (mut with, mut without) = (branch.limits.clone(), branch.limits.clone());
        with.least[of] = level;
        without.most[of] = level - 1;
        let at_least: usize = with.least.iter().map(|least| usize::from(*least)).sum();
        if at_least > with.pieces { vec![without] } else { vec![with, without] }
    }
}
