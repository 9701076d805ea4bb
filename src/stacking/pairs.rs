//! Both eyes from one box: the best pair of stacks that uses no piece twice.

use super::catalogue::TypeId;
use super::options::SearchOptions;
use super::ranking::{Candidate, Rank, text};
use super::search::Stacker;
use super::work::Work;
use crate::optics::{Eye, Eyes, Power};

/// Pairs, best first: those in which both eyes are reached, by their costs together, and then the others, by their misses in
/// steps together and then their costs.
///
/// Each stack of the right eye is paired with the best of the left that its lenses leave; it stops when no further stack of
/// the right eye can make a better pair, even with the left eye's best.
pub(super) fn best(
    stacker: &Stacker<'_>,
    wanted: Eyes<Power>,
    options: &SearchOptions,
    work: &Work,
) -> Vec<Eyes<Candidate>> {
    let mut pairs = BestPairs { stacker, limit: options.limit, entries: Vec::new() };
    pair_up(wanted, options, Among::Reaching, work, &mut pairs);
    let found = pairs.entries.len();
    let mut all: Vec<Eyes<Candidate>> = pairs.entries.into_iter().map(|(_, pair)| pair).collect();
    if found < options.limit {
        let mut rest = BestPairs { stacker, limit: options.limit - found, entries: Vec::new() };
        pair_up(wanted, options, Among::Any, work, &mut rest);
        all.extend(rest.entries.into_iter().map(|(_, pair)| pair));
    }
    all
}

/// Which stacks are paired.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Among {
    /// Those that reach.
    Reaching,
    /// All, but pairs that reach before both eyes.
    Any,
}

/// The best pairs so far, best first.
struct BestPairs<'a> {
    stacker: &'a Stacker<'a>,
    limit: usize,
    entries: Vec<(Rank, Eyes<Candidate>)>,
}

impl BestPairs<'_> {
    /// Whether a pair of this rank comes too late.
    fn is_settled(&self, rank: Rank) -> bool {
        self.entries.len() >= self.limit && self.entries.last().is_none_or(|(worst, _)| *worst < rank)
    }

    fn offer(&mut self, pair: &Eyes<Candidate>) {
        let rank = pair.right.rank + pair.left.rank;
        if self.is_settled(rank) {
            return;
        }
        let words = |pair: &Eyes<Candidate>| pair.as_ref().map(|of| text(&of.stack, &self.stacker.catalogue));
        let comes_before = |(other, known): &(Rank, Eyes<Candidate>)| {
            let (known, new) = (words(known), words(pair));
            other.cmp(&rank).then_with(|| (known.right, known.left).cmp(&(new.right, new.left))).is_le()
        };
        let place = self.entries.partition_point(comes_before);
        self.entries.insert(place, (rank, *pair));
        self.entries.truncate(self.limit);
    }
}

fn pair_up(wanted: Eyes<Power>, options: &SearchOptions, among: Among, work: &Work, pairs: &mut BestPairs<'_>) {
    let stacker = pairs.stacker;
    let all = &stacker.catalogue.available;
    let find = |eye: Eye, limit: usize, available: &[u8]| {
        let options = SearchOptions { limit, ..*options };
        match among {
            Among::Reaching => stacker.reaching(eye, wanted[eye], &options, available, work),
            Among::Any => stacker.nearest_of_all(eye, wanted[eye], &options, available, work),
        }
    };
    let lefts = find(Eye::Left, pairs.limit, all);
    let Some(best_left) = lefts.first().map(|left| left.rank) else {
        return;
    };
    let mut looked_at = 0;
    let mut depth = pairs.limit;
    loop {
        let rights = find(Eye::Right, depth, all);
        for right in &rights[looked_at.min(rights.len())..] {
            if pairs.is_settled(right.rank + best_left) {
                return;
            }
            let fits = |left: &&Candidate| go_together(stacker, right, left);
            let fitting: Vec<Candidate> = lefts.iter().filter(fits).copied().collect();
            // a list that was not cut short holds every stack
            let enough = fitting.len() == lefts.len() || lefts.len() < pairs.limit;
            let others = if enough { fitting } else { find(Eye::Left, pairs.limit, &left_over(stacker, right)) };
            for left in others {
                if among == Among::Reaching || !(right.reaches && left.reaches) {
                    pairs.offer(&Eyes::new(*right, left));
                }
            }
        }
        if rights.len() < depth {
            return;
        }
        if work.is_spent() {
            let next = rights.last().map_or(0.0, |last| last.rank.cost());
            work.leave_out(next + best_left.cost());
            return;
        }
        looked_at = rights.len();
        depth *= 2;
    }
}

fn used(candidate: &Candidate, type_id: TypeId) -> u8 {
    candidate.stack.count(type_id)
}

/// Whether the box holds the lenses of both.
fn go_together(stacker: &Stacker<'_>, right: &Candidate, left: &Candidate) -> bool {
    left.stack.slots().iter().all(|slot| {
        used(left, slot.type_id) + used(right, slot.type_id) <= stacker.catalogue.available[usize::from(slot.type_id)]
    })
}

/// What a stack leaves in the box.
fn left_over(stacker: &Stacker<'_>, taken: &Candidate) -> Vec<u8> {
    let mut left = stacker.catalogue.available.clone();
    for slot in taken.stack.slots() {
        left[usize::from(slot.type_id)] -= 1;
    }
    left
}
