//! Both eyes from one box: the best pairs of stacks that use no piece twice.
//!
//! Each eye's best is found by itself. Where the box does not hold enough of a lens for both, either the right eye does with
//! what the left leaves, or the left does with less: both are looked at, the better first (a search by conflicts, as it is known
//! for several agents on one road; Sharon, Stern, Felner and Sturtevant, *Artificial Intelligence* 2015;219:40-66, from memory). A
//! pair that is found is then left out in two ways, another stack before the right eye, or the same and another before the left
//! (Lawler, *Management Science* 1972;18:401-405, from memory), so that the next best follows.

use std::cmp::{Ordering, Reverse};
use std::collections::BinaryHeap;

use super::options::SearchOptions;
use super::ranking::{Candidate, Rank, text};
use super::search::{Among, Stacker};
use super::space::Multiset;
use super::work::Work;
use crate::optics::{Eye, Eyes, Power};

/// Pairs, best first: those in which both eyes are reached, by their costs together, and then the others, by their misses in
/// steps together and then their costs.
pub(super) fn best(
    stacker: &Stacker<'_>,
    wanted: Eyes<Power>,
    options: &SearchOptions,
    work: &Work,
) -> Vec<Eyes<Candidate>> {
    let mut pairing = Pairing { stacker, wanted, options, work, among: Among::Reaching };
    let mut pairs = pairing.best(options.limit);
    if pairs.len() < options.limit {
        pairing.among = Among::Any;
        pairs.extend(pairing.best(options.limit - pairs.len()));
    }
    pairs
}

/// What one eye may use, and its best of that.
#[derive(Debug, Clone)]
struct Side {
    /// Pieces of each type.
    available: Vec<u8>,
    /// Lenses of which no stack is taken.
    without: Vec<Multiset>,
    /// Whether its stack is settled, and only the other eye's is still chosen.
    is_settled: bool,
    best: Candidate,
}

/// A part of all pairs, with the best stack of each eye in it: no pair of it is better than these two together.
#[derive(Debug, Clone)]
struct Part {
    sides: Eyes<Side>,
    rank: Rank,
    /// The stacks in words: of equals, what comes first.
    words: (String, String),
}

impl Part {
    fn key(&self) -> (Rank, &(String, String)) {
        (self.rank, &self.words)
    }
}

impl PartialEq for Part {
    fn eq(&self, other: &Self) -> bool {
        self.key() == other.key()
    }
}

impl Eq for Part {}

impl PartialOrd for Part {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Part {
    fn cmp(&self, other: &Self) -> Ordering {
        self.key().cmp(&other.key())
    }
}

/// One search for pairs.
struct Pairing<'a> {
    stacker: &'a Stacker<'a>,
    wanted: Eyes<Power>,
    options: &'a SearchOptions,
    work: &'a Work,
    among: Among,
}

impl Pairing<'_> {
    fn best(&self, limit: usize) -> Vec<Eyes<Candidate>> {
        let mut found: Vec<Part> = Vec::new();
        let mut parts = BinaryHeap::new();
        let all = &self.stacker.catalogue.available;
        let whole = |eye: Eye| self.side(eye, all.clone(), Vec::new());
        // the left eye is not looked at where the right one has nothing
        if let Some(right) = whole(Eye::Right)
            && let Some(left) = whole(Eye::Left)
        {
            parts.push(Reverse(self.part(Eyes::new(right, left))));
        }
        // the best of a part come before all of it, in rank and then in words, so what is met first is better
        while found.len() < limit
            && let Some(Reverse(part)) = parts.pop()
        {
            if self.work.is_spent() {
                self.work.leave_out(part.rank.cost());
                if found.is_empty() {
                    found.extend(self.right_first(&part));
                }
                break;
            }
            parts.extend(self.split(&part).into_iter().map(Reverse));
            let both_reach = part.sides.as_ref().into_iter().all(|side| side.best.reaches);
            if self.conflict(&part.sides).is_none() && (self.among == Among::Reaching || !both_reach) {
                found.push(part);
            }
        }
        found.into_iter().map(|part| part.sides.map(|side| side.best)).collect()
    }

    /// The right eye's best with what it leaves for the left, when there is no work left to weigh them.
    fn right_first(&self, part: &Part) -> Option<Part> {
        let right = part.sides.right.clone();
        let mut left_over = self.stacker.catalogue.available.clone();
        for slot in right.best.stack.slots() {
            left_over[usize::from(slot.type_id)] -= 1;
        }
        let left = self.side(Eye::Left, left_over, Vec::new())?;
        Some(self.part(Eyes::new(right, left)))
    }

    /// The pairs of a part but for the one of its two best stacks, in two parts.
    fn split(&self, part: &Part) -> Vec<Part> {
        let Eyes { right, left } = &part.sides;
        let mut parts = Vec::with_capacity(2);
        let mut add = |right: Option<Side>, left: Option<Side>| {
            if let (Some(right), Some(left)) = (right, left) {
                parts.push(self.part(Eyes::new(right, left)));
            }
        };
        let again = |eye: Eye, side: &Side, change: &dyn Fn(&mut Side)| {
            let mut side = side.clone();
            change(&mut side);
            self.side(eye, side.available, side.without)
        };
        if let Some(index) = self.conflict(&part.sides) {
            let all = self.stacker.catalogue.available[index];
            let taken = left.best.stack.count(index as u16);
            // either the left eye takes as many as it would, or it takes fewer
            if !right.is_settled {
                add(again(Eye::Right, right, &|side| side.available[index] = all - taken), Some(left.clone()));
            }
            add(Some(right.clone()), again(Eye::Left, left, &|side| side.available[index] = taken - 1));
            return parts;
        }
        if !right.is_settled {
            let lenses = right.best.lenses();
            add(again(Eye::Right, right, &|side| side.without.push(lenses)), Some(left.clone()));
        }
        let lenses = left.best.lenses();
        let settled = Side { is_settled: true, ..right.clone() };
        add(Some(settled), again(Eye::Left, left, &|side| side.without.push(lenses)));
        parts
    }

    /// A type of which the box does not hold enough for both stacks.
    fn conflict(&self, sides: &Eyes<Side>) -> Option<usize> {
        let available = &self.stacker.catalogue.available;
        let (right, left) = (&sides.right.best.stack, &sides.left.best.stack);
        let too_many = |type_id: &u16| right.count(*type_id) + left.count(*type_id) > available[usize::from(*type_id)];
        left.slots().iter().map(|slot| slot.type_id).find(too_many).map(usize::from)
    }

    fn side(&self, eye: Eye, available: Vec<u8>, without: Vec<Multiset>) -> Option<Side> {
        let found =
            self.stacker.best_among(eye, self.wanted[eye], self.options, self.among, &available, &without, self.work);
        found.map(|best| Side { available, without, is_settled: false, best })
    }

    fn part(&self, sides: Eyes<Side>) -> Part {
        let words = |side: &Side| text(&side.best.stack, &self.stacker.catalogue);
        let rank = sides.right.best.rank + sides.left.best.rank;
        let words = (words(&sides.right), words(&sides.left));
        Part { sides, rank, words }
    }
}
