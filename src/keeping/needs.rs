//! What of a set of lenses each prescription needs, so that many choices of lenses are weighed quickly.

use super::cells::Cells;
use super::coverage::Asked;
use super::fewest::Least;
use super::holdings::{Holdings, TypeId};
use super::people::People;
use super::search::offer_all;
use super::sink::{REACHES, Sink};

/// The most lenses of a stack for which choices are weighed: with four, there are too many stacks.
pub const MOST_LENSES_WEIGHED: usize = 3;

/// How many pieces of which lenses, each lens once.
pub(super) type Pieces = Vec<(TypeId, u8)>;

/// One prescription with every stack that reaches it, none of which holds another.
#[derive(Debug, Clone)]
pub(super) struct Person {
    /// Which part of all people.
    pub share: f64,
    pub stacks: Vec<Pieces>,
}

/// Every prescription of a table that a set of lenses can make.
#[derive(Debug, Clone)]
pub(super) struct Needs {
    /// Whether both eyes are to have it at once.
    pub asked: Asked,
    /// Those who need a lens and can be served.
    pub persons: Vec<Person>,
    /// By type, which of them need it in some stack.
    pub of_type: Vec<Vec<u32>>,
    /// The share of those who need no lens.
    pub without_lenses: f64,
}

/// Takes every stack that reaches.
struct Collected {
    stacks: Vec<Vec<Pieces>>,
}

impl Sink for Collected {
    fn wants(&self, _: usize) -> f64 {
        REACHES
    }

    fn offer(&mut self, number: usize, _: f64, types: &[TypeId]) {
        let mut pieces: Pieces = Vec::with_capacity(types.len());
        for &of in types {
            match pieces.iter_mut().find(|(other, _)| *other == of) {
                Some((_, count)) => *count += 1,
                None => pieces.push((of, 1)),
            }
        }
        pieces.sort_unstable();
        let stacks = &mut self.stacks[number];
        // stacks of fewer lenses come first
        if !stacks.iter().any(|held| holds(&pieces, held)) {
            stacks.push(pieces);
        }
    }

    fn end_of(&mut self, _: usize) {}
}

/// Whether some pieces are among others.
fn holds(pieces: &Pieces, held: &Pieces) -> bool {
    held.iter().all(|(of, count)| pieces.iter().any(|(other, there)| other == of && there >= count))
}

/// Two stacks together.
pub(super) fn together(one: &Pieces, other: &Pieces) -> Pieces {
    let mut both = one.clone();
    for (of, count) in other {
        match both.iter_mut().find(|(there, _)| there == of) {
            Some((_, sum)) => *sum += count,
            None => both.push((*of, *count)),
        }
    }
    both
}

impl Needs {
    /// Of the people with at most so many lenses an eye, 1 to [`MOST_LENSES_WEIGHED`].
    pub fn of(holdings: &Holdings, cells: &Cells, people: &People, lenses: usize, asked: Asked) -> Self {
        let wanted = people.wanted();
        let mut collected = Collected { stacks: vec![Vec::new(); wanted.len()] };
        offer_all(holdings, cells, wanted, lenses.min(MOST_LENSES_WEIGHED), &mut collected);
        let all = people.count();
        let empty = Least::new(wanted).lenses;
        let (mut persons, mut without_lenses) = (Vec::new(), 0.0);
        for ((stacks, eyes), empty) in collected.stacks.into_iter().zip(people.eyes()).zip(empty) {
            if empty.is_some() {
                without_lenses += eyes / all;
            } else if !stacks.is_empty() {
                persons.push(Person { share: eyes / all, stacks });
            }
        }
        let mut of_type = vec![Vec::new(); holdings.list().len()];
        for (number, person) in persons.iter().enumerate() {
            let mut types: Vec<TypeId> = person.stacks.iter().flatten().map(|(of, _)| *of).collect();
            types.sort_unstable();
            types.dedup();
            for of in types {
                of_type[usize::from(of)].push(number as u32);
            }
        }
        Self { asked, persons, of_type, without_lenses }
    }

    /// Whether somebody's prescription is made of so many pieces of each type.
    pub fn is_made(&self, person: usize, pieces: &[u8]) -> bool {
        let has = |stack: &Pieces, times: u8| {
            stack.iter().all(|(of, count)| count.saturating_mul(times) <= pieces[usize::from(*of)])
        };
        let stacks = &self.persons[person].stacks;
        match self.asked {
            Asked::OneEye => stacks.iter().any(|stack| has(stack, 1)),
            Asked::BothEyes => {
                if stacks.iter().any(|stack| has(stack, 2)) {
                    return true;
                }
                let there: Vec<&Pieces> = stacks.iter().filter(|stack| has(stack, 1)).collect();
                let goes = |one: &Pieces, other: &Pieces| has(&together(one, other), 1);
                there.iter().enumerate().any(|(at, one)| there[at + 1..].iter().any(|other| goes(one, other)))
            }
        }
    }
}

/// The share of a choice of pieces, kept while it changes.
#[derive(Debug, Clone)]
pub(super) struct Tally<'a> {
    needs: &'a Needs,
    pub pieces: Vec<u8>,
    made: Vec<bool>,
    share: f64,
}

impl<'a> Tally<'a> {
    /// Of so many pieces of each type.
    pub fn of(needs: &'a Needs, pieces: &[u8]) -> Self {
        let made: Vec<bool> = (0..needs.persons.len()).map(|person| needs.is_made(person, pieces)).collect();
        let served = needs.persons.iter().zip(&made).filter(|(_, made)| **made);
        let share = needs.without_lenses + served.map(|(person, _)| person.share).sum::<f64>();
        Self { needs, pieces: pieces.to_vec(), made, share }
    }

    /// The part of all people that has its prescription made.
    pub fn share(&self) -> f64 {
        self.share
    }

    /// How many pieces there are.
    pub fn count(&self) -> usize {
        self.pieces.iter().map(|pieces| usize::from(*pieces)).sum()
    }

    /// What the share changes by when there are so many pieces of a type.
    pub fn change(&mut self, of: usize, pieces: u8) -> f64 {
        self.change_all(&[(of, pieces)])
    }

    /// The same for several types at once.
    pub fn change_all(&mut self, to: &[(usize, u8)]) -> f64 {
        let before: Vec<(usize, u8)> = to.iter().map(|(of, _)| (*of, self.pieces[*of])).collect();
        for (of, pieces) in to {
            self.pieces[*of] = *pieces;
        }
        let mut gain = 0.0;
        for (at, (of, _)) in to.iter().enumerate() {
            for &person in &self.needs.of_type[*of] {
                // whoever needs several of them is asked about once
                let is_asked = |(other, _): &(usize, u8)| self.needs.of_type[*other].binary_search(&person).is_ok();
                if !to[..at].iter().any(is_asked) {
                    gain += self.gain_of(person as usize);
                }
            }
        }
        for (of, pieces) in before {
            self.pieces[of] = pieces;
        }
        gain
    }

    fn gain_of(&self, person: usize) -> f64 {
        let share = self.needs.persons[person].share;
        match (self.made[person], self.needs.is_made(person, &self.pieces)) {
            (false, true) => share,
            (true, false) => -share,
            (true, true) | (false, false) => 0.0,
        }
    }

    /// Sets how many pieces there are of a type.
    pub fn set(&mut self, of: usize, pieces: u8) {
        self.pieces[of] = pieces;
        for &person in &self.needs.of_type[of] {
            let person = person as usize;
            self.share += self.gain_of(person);
            self.made[person] = self.needs.is_made(person, &self.pieces);
        }
    }
}
