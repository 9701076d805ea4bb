//! What must come of entries, said by sets: each entry remembers everything that its seat had in that moment. Slow and plain, and
//! without anything of `src/sharing`.

use std::collections::{BTreeMap, BTreeSet};

/// An entry by its writer and number.
pub type Number = (u128, i64);

/// What is said of a piece.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Value {
    Place(String),
    Damage(bool),
    Power(i32),
}

/// Of which fact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fact {
    Place,
    Damage,
    Power,
}

impl Value {
    pub fn fact(&self) -> Fact {
        match self {
            Self::Place(_) => Fact::Place,
            Self::Damage(_) => Fact::Damage,
            Self::Power(_) => Fact::Power,
        }
    }
}

enum What {
    Said(Vec<(u8, Value)>),
    TakesBack(Number),
    HandsOver(Option<String>),
}

struct Written {
    seat: usize,
    what: What,
    /// Everything that was there at the seat.
    knew: BTreeSet<Number>,
}

/// All entries that were ever written, and which of them each seat has.
#[derive(Default)]
pub struct Reference {
    all: BTreeMap<Number, Written>,
    has: Vec<BTreeSet<Number>>,
    names: Vec<String>,
}

impl Reference {
    /// A further seat, with what another one has where it is a copy.
    pub fn add_seat(&mut self, copied: Option<usize>) {
        let has = copied.map(|seat| self.has[seat].clone()).unwrap_or_default();
        self.has.push(has);
    }

    /// What the seats are called, in their order.
    pub fn name_seats(&mut self, names: Vec<String>) {
        self.names = names;
    }

    pub fn note(&mut self, seat: usize, entry: Number, said: Vec<(u8, Value)>) {
        self.write(seat, entry, What::Said(said));
    }

    pub fn take_back(&mut self, seat: usize, entry: Number, slip: Number) {
        self.write(seat, entry, What::TakesBack(slip));
    }

    pub fn hand_over(&mut self, seat: usize, entry: Number, to: Option<String>) {
        self.write(seat, entry, What::HandsOver(to));
    }

    fn write(&mut self, seat: usize, entry: Number, what: What) {
        let knew = self.has[seat].clone();
        assert!(self.all.insert(entry, Written { seat, what, knew }).is_none(), "a number is given once");
        self.has[seat].insert(entry);
    }

    /// An entry comes to a seat that lacks it.
    pub fn arrive(&mut self, seat: usize, entry: Number) {
        assert!(self.all.contains_key(&entry), "what arrives was written");
        assert!(self.has[seat].insert(entry), "what is there does not arrive");
    }

    /// How many entries were ever written.
    pub fn count(&self) -> usize {
        self.all.len()
    }

    fn knew(&self, one: Number, other: Number) -> bool {
        self.all[&one].knew.contains(&other)
    }

    /// Those that stand of what a seat has.
    fn standing(&self, seat: usize) -> Vec<Number> {
        let has = &self.has[seat];
        let is_slip = |entry: &Number| {
            has.iter().any(|other| matches!(self.all[other].what, What::TakesBack(slip) if slip == *entry))
        };
        has.iter().copied().filter(|entry| !is_slip(entry)).collect()
    }

    /// Those of some entries that no other of them knew of.
    fn newest(&self, among: &[Number]) -> Vec<Number> {
        let superseded = |entry: &Number| among.iter().any(|other| self.knew(*other, *entry));
        among.iter().copied().filter(|entry| !superseded(entry)).collect()
    }

    /// The hand-overs that count, each with the seat; none with a seat where one of them hands it back.
    fn handed(&self, seat: usize) -> Vec<(Number, String)> {
        let to = |entry: &Number| match &self.all[entry].what {
            What::HandsOver(to) => Some(to.clone()),
            What::Said(_) | What::TakesBack(_) => None,
        };
        let all: Vec<Number> = self.standing(seat).into_iter().filter(|entry| to(entry).is_some()).collect();
        let newest: Vec<(Number, Option<String>)> =
            self.newest(&all).into_iter().filter_map(|entry| Some((entry, to(&entry)?))).collect();
        if newest.iter().any(|(_, to)| to.is_none()) {
            return Vec::new();
        }
        newest.into_iter().filter_map(|(entry, to)| Some((entry, to?))).collect()
    }

    /// The seats to which it is handed over, by what a seat has.
    pub fn handed_to(&self, seat: usize) -> Vec<String> {
        let mut to: Vec<String> = self.handed(seat).into_iter().map(|(_, to)| to).collect();
        to.sort();
        to.dedup();
        to
    }

    /// Whether an entry counts at a seat: nobody has the box, its own seat has it, or it was known when the box went.
    fn counts(&self, seat: usize, entry: Number) -> bool {
        let handed = self.handed(seat);
        let name = &self.names[self.all[&entry].seat];
        handed.is_empty() || handed.iter().any(|(handing, to)| to == name || self.knew(*handing, entry))
    }

    /// What stands of one fact of a piece, with the last that each entry says of it.
    fn said(&self, seat: usize, piece: u8, fact: Fact) -> BTreeMap<Number, Value> {
        let last = |entry: &Number| match &self.all[entry].what {
            What::Said(said) => {
                let is_of_it = |(of, value): &&(u8, Value)| *of == piece && value.fact() == fact;
                said.iter().rfind(is_of_it).map(|(_, value)| value.clone())
            }
            What::TakesBack(_) | What::HandsOver(_) => None,
        };
        self.standing(seat).into_iter().filter_map(|entry| Some((entry, last(&entry)?))).collect()
    }

    /// The newest values of each fact of a piece at a seat.
    pub fn newest_at(&self, seat: usize, piece: u8) -> BTreeMap<Fact, Vec<Value>> {
        let mut newest = BTreeMap::new();
        for fact in [Fact::Place, Fact::Damage, Fact::Power] {
            let said = self.said(seat, piece, fact);
            let counting: Vec<Number> = said.keys().copied().filter(|entry| self.counts(seat, *entry)).collect();
            let values: BTreeSet<Value> = self.newest(&counting).iter().map(|entry| said[entry].clone()).collect();
            if !values.is_empty() {
                newest.insert(fact, values.into_iter().collect());
            }
        }
        newest
    }

    /// What does not count at a seat, says something else than what counts, and nobody knew of.
    pub fn outside_at(&self, seat: usize, piece: u8) -> Vec<Number> {
        let mut outside = BTreeSet::new();
        for fact in [Fact::Place, Fact::Damage, Fact::Power] {
            let said = self.said(seat, piece, fact);
            let all: Vec<Number> = said.keys().copied().collect();
            let newest = self.newest(&all);
            let counting = |entry: &&Number| self.counts(seat, **entry);
            let agreed: BTreeSet<&Value> = newest.iter().filter(counting).map(|entry| &said[entry]).collect();
            let open = newest.iter().filter(|entry| !self.counts(seat, **entry) && !agreed.contains(&said[*entry]));
            outside.extend(open.copied());
        }
        outside.into_iter().collect()
    }
}
