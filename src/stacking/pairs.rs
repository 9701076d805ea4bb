//! Both eyes from one box: the best pair of stacks that uses no piece twice.

use super::ranking::{Candidate, Rank};
use super::search::Stacker;
use super::{Options, Proposal};
use crate::optics::{Eye, Power};

/// Proposals for both eyes that go together.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// Before the right eye.
    pub right: Proposal,
    /// Before the left eye.
    pub left: Proposal,
}

/// Pairs, best first: for each stack of the right eye in order, the best of the left from what is then still free.
///
/// It stops when no further stack of the right eye can make a better pair, even with the left eye's best.
pub(super) fn propose(stacker: &Stacker<'_>, wanted: [Power; 2], options: &Options) -> Vec<Pair> {
    let [for_right, for_left] = wanted;
    let all = &stacker.catalogue.available;
    let best_left = stacker.candidates(Eye::Left, for_left, &Options { limit: 1, ..*options }, all);
    let Some(best_left) = best_left.first().map(|candidate| candidate.rank) else {
        return Vec::new();
    };
    let mut pairs: Vec<(Rank, Candidate, Candidate)> = Vec::new();
    let mut looked_at = 0;
    let mut depth = options.limit.max(1);
    loop {
        let rights = stacker.candidates(Eye::Right, for_right, &Options { limit: depth, ..*options }, all);
        for right in &rights[looked_at.min(rights.len())..] {
            let full = pairs.len() >= options.limit;
            if full && pairs.last().is_some_and(|(worst, _, _)| *worst <= right.rank + best_left) {
                return into_proposals(stacker, &pairs);
            }
            let mut left_over = all.clone();
            for slot in right.stack.slots() {
                left_over[usize::from(slot.type_id)] -= 1;
            }
            for left in stacker.candidates(Eye::Left, for_left, options, &left_over) {
                let rank = right.rank + left.rank;
                let place = pairs.partition_point(|(other, _, _)| *other <= rank);
                pairs.insert(place, (rank, *right, left));
                pairs.truncate(options.limit);
            }
        }
        if rights.len() < depth {
            return into_proposals(stacker, &pairs);
        }
        looked_at = rights.len();
        depth *= 2;
    }
}

fn into_proposals(stacker: &Stacker<'_>, pairs: &[(Rank, Candidate, Candidate)]) -> Vec<Pair> {
    let one_pair = |(_, right, left): &(Rank, Candidate, Candidate)| {
        let mut taken = Vec::new();
        let right = Proposal::of(stacker, Eye::Right, right, &mut taken);
        let left = Proposal::of(stacker, Eye::Left, left, &mut taken);
        Pair { right, left }
    };
    pairs.iter().map(one_pair).collect()
}
