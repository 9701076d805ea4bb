//! Which of the entries that arrive are new, and which cannot be taken in.

use std::collections::{BTreeMap, BTreeSet};

use thiserror::Error;

use super::body::Hash;
use super::chain::BrokenChain;
use super::entry::Sealed;
use super::writer::WriterId;

/// The entries of one writer in one parcel, in the order of their numbers.
#[derive(Debug, Clone, Copy)]
pub struct Stretch<'a> {
    all: &'a [Sealed],
    brought: &'a [Sealed],
}

impl<'a> Stretch<'a> {
    /// Checks that each entry is of the writer and follows the one before it. The first one may be there only to say what the next
    /// one follows; it is not brought then.
    ///
    /// # Errors
    /// At the first that is not there or not as it was written.
    pub fn check(writer: WriterId, entries: &'a [Sealed], first_is_only_followed: bool) -> Result<Self, BrokenChain> {
        let mut before: Option<&Sealed> = None;
        for sealed in entries {
            let first = if first_is_only_followed { sealed.number } else { 1 };
            let number = before.map_or(first, |before| before.number + 1);
            if sealed.number != number {
                return Err(BrokenChain::Gap { writer, number });
            }
            let follows = match before {
                Some(before) => sealed.follows(before.hash),
                // what it follows itself is not known here
                None => number > 1 || sealed.follows(Hash::NONE),
            };
            if sealed.writer != writer || !follows {
                return Err(BrokenChain::Altered { writer, number });
            }
            before = Some(sealed);
        }
        let brought = if first_is_only_followed { entries.get(1..).unwrap_or_default() } else { entries };
        Ok(Self { all: entries, brought })
    }

    /// The entries that are brought, without one that is only there to be followed.
    pub fn brought(self) -> &'a [Sealed] {
        self.brought
    }

    /// The number of its last entry; 0 where it has none.
    pub fn last(self) -> i64 {
        self.all.last().map_or(0, |sealed| sealed.number)
    }

    /// The numbers of all its entries, one that is only there to be followed among them.
    pub fn numbers(self) -> impl Iterator<Item = i64> {
        self.all.iter().map(|sealed| sealed.number)
    }
}

/// Why the entries of a writer cannot be taken in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum Refused {
    /// Two entries have one number.
    #[error("entry {number} of writer {writer} is another one than the entry {number} that is known")]
    Parted {
        /// Whose.
        writer: WriterId,
        /// The number.
        number: i64,
    },
    /// Entries before these are not known.
    #[error("entries {first} to {last} of writer {writer} are missing")]
    Missing {
        /// Whose.
        writer: WriterId,
        /// The first that is missing.
        first: i64,
        /// The last.
        last: i64,
    },
}

/// The numbers that are new among those brought by some stretches of one writer, when these are known; a gap is let be where
/// that is wanted. The order of the stretches, and what is in several of them, makes no difference.
///
/// # Errors
/// At the lowest number that is another entry than the one known, or comes after one that is missing.
pub fn new_numbers(
    writer: WriterId,
    known: &BTreeMap<i64, Sealed>,
    stretches: &[Stretch<'_>],
    with_gap: bool,
) -> Result<Vec<i64>, Refused> {
    let mut hashes: BTreeMap<i64, Hash> = known.iter().map(|(number, sealed)| (*number, sealed.hash)).collect();
    let mut parted: Vec<i64> = Vec::new();
    for sealed in stretches.iter().flat_map(|stretch| stretch.all) {
        let hash = *hashes.entry(sealed.number).or_insert(sealed.hash);
        // one that came behind a gap follows whatever fills it, or they are of two
        let follows = known.get(&(sealed.number + 1)).is_none_or(|next| next.follows(sealed.hash));
        if hash != sealed.hash || !follows {
            parted.push(sealed.number);
        }
    }
    if let Some(&number) = parted.iter().min() {
        return Err(Refused::Parted { writer, number });
    }
    let brought = stretches.iter().flat_map(|stretch| stretch.brought()).map(|sealed| sealed.number);
    let new: BTreeSet<i64> = brought.filter(|number| !known.contains_key(number)).collect();
    let is_here = |number: i64| known.contains_key(&number) || new.contains(&number);
    for &number in &new {
        let last = number - 1;
        if last > 0 && !is_here(last) && !with_gap {
            let first = (1..last).rev().find(|number| is_here(*number)).map_or(1, |here| here + 1);
            return Err(Refused::Missing { writer, first, last });
        }
    }
    Ok(new.into_iter().collect())
}
