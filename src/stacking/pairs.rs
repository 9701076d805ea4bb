//! Both eyes from one box: the best pair of stacks that uses no piece twice.

use super::options::SearchOptions;
use super::ranking::{Candidate, Rank};
use super::search::Stacker;
use crate::optics::{Eye, Eyes, Power};

/// Pairs, best first.
///
/// Each eye in turn goes first and the other takes the best of what is then still free. Once is not enough: the eye that goes
/// first crosses no cylinders for a power that something simpler reaches, even if the other eye has the only lens for that.
pub(super) fn best(stacker: &Stacker<'_>, wanted: Eyes<Power>, options: &SearchOptions) -> Vec<Eyes<Candidate>> {
    let mut pairs = BestPairs { limit: options.limit, entries: Vec::new() };
    for first in Eye::BOTH {
        offer_all(stacker, first, wanted, options, &mut pairs);
    }
    pairs.entries.into_iter().map(|(_, pair)| pair).collect()
}

/// The best pairs so far, best first, each with its right candidate before its left one.
struct BestPairs {
    limit: usize,
    entries: Vec<(Rank, Eyes<Candidate>)>,
}

impl BestPairs {
    /// Whether a pair of this rank comes too late.
    fn is_settled(&self, rank: Rank) -> bool {
        self.entries.len() >= self.limit && self.entries.last().is_none_or(|(worst, _)| *worst <= rank)
    }

    fn offer(&mut self, pair: Eyes<Candidate>) {
        let rank = pair.right.rank + pair.left.rank;
        let is_same = |other: &Eyes<Candidate>| Eye::BOTH.into_iter().all(|eye| other[eye].stack == pair[eye].stack);
        if self.is_settled(rank) || self.entries.iter().any(|(_, other)| is_same(other)) {
            return;
        }
        let place = self.entries.partition_point(|(other, _)| *other <= rank);
        self.entries.insert(place, (rank, pair));
        self.entries.truncate(self.limit);
    }
}

/// Offers, for each stack of the first eye in order, the best of the other eye.
///
/// It stops when no further stack of the first eye can make a better pair, even with the other eye's best.
fn offer_all(stacker: &Stacker<'_>, first: Eye, wanted: Eyes<Power>, options: &SearchOptions, pairs: &mut BestPairs) {
    let second = first.other();
    let all = &stacker.catalogue.available;
    let only_one = SearchOptions { limit: 1, ..*options };
    let best_of_second = stacker.candidates(second, wanted[second], &only_one, all);
    let Some(best_of_second) = best_of_second.first().map(|candidate| candidate.rank) else {
        return;
    };
    let mut looked_at = 0;
    let mut depth = options.limit.max(1);
    loop {
        let firsts = stacker.candidates(first, wanted[first], &SearchOptions { limit: depth, ..*options }, all);
        for one in &firsts[looked_at.min(firsts.len())..] {
            if pairs.is_settled(one.rank + best_of_second) {
                return;
            }
            let mut left_over = all.clone();
            for slot in one.stack.slots() {
                left_over[usize::from(slot.type_id)] -= 1;
            }
            for other in stacker.candidates(second, wanted[second], options, &left_over) {
                let pair = Eyes::from_fn(|eye| if eye == first { *one } else { other });
                pairs.offer(pair);
            }
        }
        if firsts.len() < depth {
            return;
        }
        looked_at = firsts.len();
        depth *= 2;
    }
}
