//! A proven bound on the share that a choice of lenses can make.
//!
//! Each person is made with some way: a choice of stacks for the eyes that are asked about. A way needs levels, *at least so many
//! pieces of this lens*. That is relaxed by a price for each person and level: whoever uses a level pays, and the levels that are
//! chosen earn what is paid for them. For any prices not below nothing, what the best choice of levels earns and what the people
//! keep above their prices is together no less than any choice makes (weak duality), so the bound holds however the
//! prices were found. They are found by subgradients.

use super::coverage::Asked;
use super::needs::{Needs, Pieces, together};

/// A level of one lens for one person: the index of its price.
type Key = u32;

/// The ways of one person.
#[derive(Debug)]
struct Ways {
    share: f64,
    /// Ways by their keys; each needs all of them.
    whole: Vec<Vec<Key>>,
    /// Stacks of which any two that share no lens make a way, by their keys.
    halves: Vec<Vec<Key>>,
}

/// What can be chosen: at least and at most so many pieces of each type, so many in all.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Limits {
    pub least: Vec<u8>,
    pub most: Vec<u8>,
    pub pieces: usize,
}

/// The relaxed problem.
#[derive(Debug)]
pub(super) struct Relaxed {
    ways: Vec<Ways>,
    without_lenses: f64,
    /// By key, the type and the level.
    levels: Vec<(u16, u8)>,
}

/// What one look at some prices gives.
#[derive(Debug)]
pub(super) struct Look {
    /// No choice within the limits makes more.
    pub bound: f64,
    /// The pieces that earn most.
    pub pieces: Vec<u8>,
}

impl Relaxed {
    /// Of what people need, from lenses of which there are at most so many pieces.
    pub fn of(needs: &Needs, most: &[u8]) -> Self {
        let mut levels: Vec<(u16, u8)> = Vec::new();
        let mut ways = Vec::new();
        for person in &needs.persons {
            let first = levels.len();
            let mut keys_of = |pieces: &Pieces, times: u8| -> Option<Vec<Key>> {
                let keys = pieces.iter().map(|(of, count)| {
                    let level = (*of, count.checked_mul(times)?);
                    (level.1 <= most[usize::from(*of)]).then(|| {
                        let found = levels[first..].iter().position(|other| *other == level);
                        let at = found.map_or(levels.len(), |found| first + found);
                        if found.is_none() {
                            levels.push(level);
                        }
                        at as Key
                    })
                });
                keys.collect()
            };
            let mut of = Ways { share: person.share, whole: Vec::new(), halves: Vec::new() };
            match needs.asked {
                Asked::OneEye => of.whole.extend(person.stacks.iter().filter_map(|stack| keys_of(stack, 1))),
                Asked::BothEyes => {
                    of.whole.extend(person.stacks.iter().filter_map(|stack| keys_of(stack, 2)));
                    of.halves.extend(person.stacks.iter().filter_map(|stack| keys_of(stack, 1)));
                    // two different stacks with a lens in common
                    for (at, one) in person.stacks.iter().enumerate() {
                        for other in &person.stacks[at + 1..] {
                            if one.iter().any(|(of, _)| other.iter().any(|(there, _)| there == of)) {
                                of.whole.extend(keys_of(&together(one, other), 1));
                            }
                        }
                    }
                }
            }
            ways.push(of);
        }
        Self { ways, without_lenses: needs.without_lenses, levels }
    }

    /// Prices to begin with: each way costs about what it is worth.
    pub fn first_prices(&self) -> Vec<f64> {
        let mut prices = vec![0.0; self.levels.len()];
        for of in &self.ways {
            for way in &of.whole {
                for key in way {
                    prices[*key as usize] = of.share / way.len() as f64;
                }
            }
        }
        prices
    }

    /// The bound that some prices prove, within the limits; the room says then how often each key is used.
    pub fn look(&self, limits: &Limits, prices: &[f64], room: &mut Room) -> Look {
        let Room { used, asked } = room;
        used.fill(0.0);
        // what is there anyway costs nothing, and what cannot be there serves nobody
        asked.clear();
        asked.extend(self.levels.iter().zip(prices).map(|((of, level), price)| {
            let of = usize::from(*of);
            match (*level <= limits.least[of], *level <= limits.most[of]) {
                (true, _) => 0.0,
                (false, true) => *price,
                (false, false) => f64::INFINITY,
            }
        }));
        let price = |way: &[Key]| way.iter().map(|key| asked[*key as usize]).sum::<f64>();
        let mut kept = 0.0;
        for of in &self.ways {
            let priced = of.whole.iter().enumerate().map(|(at, way)| (price(way), at));
            let whole = priced.min_by(|one, other| one.0.total_cmp(&other.0));
            let (mut first, mut second) = ((f64::INFINITY, 0), (f64::INFINITY, 0));
            for (at, way) in of.halves.iter().enumerate() {
                let price = price(way);
                if price < first.0 {
                    (first, second) = ((price, at), first);
                } else if price < second.0 {
                    second = (price, at);
                }
            }
            let (whole_price, halves_price) = (whole.map_or(f64::INFINITY, |of| of.0), first.0 + second.0);
            let least = whole_price.min(halves_price);
            if least >= of.share {
                continue;
            }
            kept += of.share - least;
            if whole_price <= halves_price {
                let way = whole.map_or(&[][..], |(_, at)| of.whole[at].as_slice());
                for key in way {
                    used[*key as usize] += 1.0;
                }
            } else {
                let halves = of.halves[first.1].iter().chain(&of.halves[second.1]);
                halves.for_each(|key| used[*key as usize] += 1.0);
            }
        }
        let (earned, pieces) = self.best_levels(limits, prices);
        Look { bound: self.without_lenses + kept + earned, pieces }
    }

    /// What the best choice of pieces within the limits earns at some prices.
    fn best_levels(&self, limits: &Limits, prices: &[f64]) -> (f64, Vec<u8>) {
        let types = limits.least.len();
        let widest = limits.most.iter().copied().max().map_or(0, usize::from) + 1;
        let mut earns = vec![0.0; types * widest];
        for ((of, level), price) in self.levels.iter().zip(prices) {
            let (of, level) = (usize::from(*of), *level);
            if level > limits.least[of] && level <= limits.most[of] {
                earns[of * widest + usize::from(level)] += price;
            }
        }
        let at_least: usize = limits.least.iter().map(|least| usize::from(*least)).sum();
        let left = limits.pieces.saturating_sub(at_least);
        // by how many further pieces are taken so far: the most that is earned, and how many of each type that takes
        let mut best = vec![0.0_f64; left + 1];
        let mut taken = vec![0_u8; types * (left + 1)];
        for of in 0..types {
            let most = usize::from(limits.most[of].saturating_sub(limits.least[of]));
            if most == 0 {
                continue;
            }
            let mut earned = Vec::with_capacity(most);
            let mut sum = 0.0;
            for more in 1..=most {
                sum += earns[of * widest + usize::from(limits.least[of]) + more];
                earned.push(sum);
            }
            if sum <= 0.0 {
                continue;
            }
            for pieces in (1..=left).rev() {
                let mut here = (best[pieces], 0_u8);
                for more in 1..=most.min(pieces) {
                    let with = best[pieces - more] + earned[more - 1];
                    if with > here.0 {
                        here = (with, more as u8);
                    }
                }
                best[pieces] = here.0;
                taken[of * (left + 1) + pieces] = here.1;
            }
        }
        let mut pieces = limits.least.clone();
        let mut at = left;
        for of in (0..types).rev() {
            let more = taken[of * (left + 1) + at];
            pieces[of] += more;
            at -= usize::from(more);
        }
        (best[left], pieces)
    }

    /// What each level of each type earns at some prices.
    pub fn earned(&self, prices: &[f64], most: &[u8]) -> Vec<Vec<f64>> {
        let mut earned: Vec<Vec<f64>> = most.iter().map(|most| vec![0.0; usize::from(*most) + 1]).collect();
        for ((of, level), price) in self.levels.iter().zip(prices) {
            if let Some(earned) = earned[usize::from(*of)].get_mut(usize::from(*level)) {
                *earned += price;
            }
        }
        earned
    }

    /// One step of the prices towards a better bound, after a look; `known` is a share that some choice makes. Gives whether
    /// there was a direction.
    pub fn step(
        &self,
        limits: &Limits,
        prices: &mut [f64],
        look: &Look,
        room: &mut Room,
        known: f64,
        length: f64,
    ) -> bool {
        // from here on the direction of each price
        let slopes = &mut room.used;
        let mut square = 0.0;
        for (((of, level), slope), price) in self.levels.iter().zip(slopes.iter_mut()).zip(prices.iter()) {
            let of = usize::from(*of);
            let is_open = *level > limits.least[of] && *level <= limits.most[of];
            let towards = *slope - if *level <= look.pieces[of] { 1.0 } else { 0.0 };
            // a price is never below nothing
            *slope = if is_open && (*price > 0.0 || towards > 0.0) { towards } else { 0.0 };
            square += *slope * *slope;
        }
        if square == 0.0 {
            return false;
        }
        let step = length * (look.bound - known).max(1e-9) / square;
        for (price, slope) in prices.iter_mut().zip(slopes.iter()) {
            *price = (*price + step * slope).max(0.0);
        }
        true
    }

    /// Room for looks.
    pub fn room(&self) -> Room {
        Room { used: vec![0.0; self.levels.len()], asked: Vec::with_capacity(self.levels.len()) }
    }
}

/// Room that looks at prices take, kept from one to the next.
#[derive(Debug, Default)]
pub(super) struct Room {
    /// By key, how often it is used.
    used: Vec<f64>,
    /// By key, what is asked for it within the limits.
    asked: Vec<f64>,
}
