//! What is known of the pieces of a box from all entries about it, whoever wrote them and in whatever order they came.
//!
//! Place, damage and measured power of a piece are three separate facts. Of each those statements count that no other one was
//! made in the knowledge of: its newest. Neither the order of arrival nor any clock decides.

use std::collections::{BTreeMap, BTreeSet};

use super::knowledge::Knowledge;
use super::seat::SeatName;
use super::writer::{EntryRef, Heads, WriterId};

/// Where a piece is, as an entry says.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Whereabouts {
    /// In its place in the box.
    InTheBox,
    /// Nobody knows.
    Lost,
    /// Somebody has it, who may not have been named.
    OnLoan(Option<String>),
    /// At a seat, as somebody settled it.
    At(String),
    /// Taken out of the set for good.
    Retired,
    /// In another box, by what a logbook knows that.
    InAnotherBox(String),
}

/// A measured power in millionths of a dioptre, so that equal ones are equal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Power(i64);

impl Power {
    /// Of a power in dioptres; anything that is no power of a lens is the nearest that can be written.
    #[expect(clippy::cast_possible_truncation, reason = "powers are checked to be far below when they are noted")]
    pub fn of(dioptres: f64) -> Self {
        Self((dioptres * 1e6).round() as i64)
    }

    /// In dioptres.
    #[expect(clippy::cast_precision_loss, reason = "millionths of a power of a lens are far below 2^52")]
    pub fn dioptres(self) -> f64 {
        self.0 as f64 / 1e6
    }
}

/// What an entry says of a piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Says {
    /// Where it is.
    Place(Whereabouts),
    /// Whether it is damaged.
    Damage(bool),
    /// What it was measured as.
    Power(Power),
    /// Something that is none of these facts.
    Else,
}

/// The facts of a piece that are separate from each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fact {
    /// Where it is.
    Place,
    /// Whether it is damaged.
    Damage,
    /// What it was measured as.
    Power,
}

impl Fact {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Place, Self::Damage, Self::Power];
}

impl Says {
    /// Of which fact it says something, if of one.
    pub fn fact(&self) -> Option<Fact> {
        match self {
            Self::Place(_) => Some(Fact::Place),
            Self::Damage(_) => Some(Fact::Damage),
            Self::Power(_) => Some(Fact::Power),
            Self::Else => None,
        }
    }
}

/// What an entry about a box comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum What<P> {
    /// Something is said of pieces, in this order.
    Of(Vec<(P, Says)>),
    /// An earlier entry was a slip.
    TakesBack(EntryRef),
    /// The box goes out to a seat, which alone changes it from then on; to nobody where it is handed back.
    HandsOver(Option<SeatName>),
}

/// An entry about a box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told<P> {
    /// Which one.
    pub entry: EntryRef,
    /// What its writer knew, beside all that the writer wrote before.
    pub after: Heads,
    /// What it comes to.
    pub what: What<P>,
}

/// The newest that is said of one fact, by value, each with the entries that say so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Newest<V>(BTreeMap<V, BTreeSet<EntryRef>>);

impl<V> Default for Newest<V> {
    fn default() -> Self {
        Self(BTreeMap::new())
    }
}

impl<V: Ord> Newest<V> {
    /// Those of these statements that none of the others knew of.
    fn among(statements: BTreeMap<EntryRef, V>, known: &Knowledge) -> Self {
        let entries: Vec<EntryRef> = statements.keys().copied().collect();
        let mut newest = Self::default();
        for (entry, value) in statements {
            if !entries.iter().any(|other| known.supersedes(*other, entry)) {
                newest.0.entry(value).or_default().insert(entry);
            }
        }
        newest
    }

    /// The value; none where nothing is said, or newest entries say different things.
    pub fn value(&self) -> Option<&V> {
        self.0.keys().next().filter(|_| self.0.len() == 1)
    }

    /// Whether newest entries say different things.
    pub fn is_unsettled(&self) -> bool {
        self.0.len() > 1
    }

    /// What is said, with the entries that say so.
    pub fn iter(&self) -> impl Iterator<Item = (&V, &BTreeSet<EntryRef>)> {
        self.0.iter()
    }

    /// The entries that say something.
    pub fn entries(&self) -> impl Iterator<Item = EntryRef> {
        self.0.values().flatten().copied()
    }
}

/// What is known of one piece.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PieceTold {
    /// Where it is.
    pub place: Newest<Whereabouts>,
    /// Whether it is damaged.
    pub damage: Newest<bool>,
    /// What it was measured as.
    pub power: Newest<Power>,
    /// What others say of it while the box is handed over to somebody else: kept, and counts for nothing until it is settled.
    pub outside: BTreeSet<EntryRef>,
}

impl PieceTold {
    /// Whether newest entries say different things of a fact.
    pub fn is_open(&self, fact: Fact) -> bool {
        match fact {
            Fact::Place => self.place.is_unsettled(),
            Fact::Damage => self.damage.is_unsettled(),
            Fact::Power => self.power.is_unsettled(),
        }
    }

    /// The newest entries about a fact.
    pub fn entries(&self, fact: Fact) -> Vec<EntryRef> {
        match fact {
            Fact::Place => self.place.entries().collect(),
            Fact::Damage => self.damage.entries().collect(),
            Fact::Power => self.power.entries().collect(),
        }
    }
}

/// What is known of a box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BoxTold<P: Ord> {
    /// Of each piece of which anything is said.
    pub pieces: BTreeMap<P, PieceTold>,
    /// To whom it is handed over.
    pub hand_over: Newest<Option<SeatName>>,
}

impl<P: Ord> BoxTold<P> {
    /// The seats that alone may change the box: none where everybody may.
    pub fn handed_to(&self) -> impl Iterator<Item = &SeatName> {
        let is_back = self.hand_over.iter().any(|(to, _)| to.is_none());
        self.hand_over.iter().filter_map(|(to, _)| to.as_ref()).filter(move |_| !is_back)
    }

    /// Whether a seat may not change the box now; nobody is such a seat that has no name.
    pub fn is_closed_to(&self, seat: Option<&SeatName>) -> bool {
        self.handed_to().next().is_some() && !self.handed_to().any(|to| Some(to) == seat)
    }
}

/// The state of a box by all that is told of it. An entry that is there twice counts once.
pub fn fold<'a, P: Ord + Clone + 'a>(
    told: impl IntoIterator<Item = &'a Told<P>>,
    seat_of: &dyn Fn(WriterId) -> Option<SeatName>,
) -> BoxTold<P> {
    let told: BTreeMap<EntryRef, &Told<P>> = told.into_iter().map(|one| (one.entry, one)).collect();
    let known = Knowledge::of(told.values().map(|one| (one.entry, &one.after)));
    let slips: BTreeSet<EntryRef> = told.values().filter_map(|one| one.takes_back()).collect();
    let standing = || told.values().filter(|one| !slips.contains(&one.entry));
    let handed = standing().filter_map(|one| match &one.what {
        What::HandsOver(to) => Some((one.entry, to.clone())),
        What::Of(_) | What::TakesBack(_) => None,
    });
    let handed = handed.collect();
    let hand_over = Newest::among(handed, &known);
    let mut of_pieces: BTreeMap<P, [Statements; 2]> = BTreeMap::new();
    for one in standing() {
        let counts = may_change(one.entry, &hand_over, &known, seat_of);
        for (piece, says) in one.says() {
            // of one entry what comes last counts
            of_pieces.entry(piece.clone()).or_default()[usize::from(!counts)].add(one.entry, says);
        }
    }
    let pieces = of_pieces.into_iter().map(|(piece, [counting, outside])| (piece, counting.told(&outside, &known)));
    BoxTold { pieces: pieces.collect(), hand_over }
}

/// Whether an entry counts while the box is where it was handed to.
fn may_change(
    entry: EntryRef,
    hand_over: &Newest<Option<SeatName>>,
    known: &Knowledge,
    seat_of: &dyn Fn(WriterId) -> Option<SeatName>,
) -> bool {
    let mut handed = hand_over.iter().peekable();
    handed.peek().is_none()
        || handed.any(|(to, entries)| {
            let was_known = || entries.iter().any(|handing| known.knows(*handing, entry));
            to.is_none() || *to == seat_of(entry.writer) || was_known()
        })
}

/// What is said of the three facts of a piece.
#[derive(Default)]
struct Statements {
    place: BTreeMap<EntryRef, Whereabouts>,
    damage: BTreeMap<EntryRef, bool>,
    power: BTreeMap<EntryRef, Power>,
}

impl Statements {
    fn add(&mut self, entry: EntryRef, says: &Says) {
        match says {
            Says::Place(place) => drop(self.place.insert(entry, place.clone())),
            Says::Damage(damaged) => drop(self.damage.insert(entry, *damaged)),
            Says::Power(power) => drop(self.power.insert(entry, *power)),
            Says::Else => {}
        }
    }

    fn told(self, others: &Self, known: &Knowledge) -> PieceTold {
        let mut outside = BTreeSet::new();
        outside.extend(left_open(&others.place, &self.place, known));
        outside.extend(left_open(&others.damage, &self.damage, known));
        outside.extend(left_open(&others.power, &self.power, known));
        PieceTold {
            place: Newest::among(self.place, known),
            damage: Newest::among(self.damage, known),
            power: Newest::among(self.power, known),
            outside,
        }
    }
}

/// What of that which does not count nobody whose word counts knew of.
fn left_open<V: Ord + Clone>(
    others: &BTreeMap<EntryRef, V>,
    counting: &BTreeMap<EntryRef, V>,
    known: &Knowledge,
) -> Vec<EntryRef> {
    let all = others.iter().chain(counting).map(|(entry, value)| (*entry, value.clone())).collect();
    let newest = Newest::among(all, known);
    let is_said = |value: &V| {
        let by_whom = newest.0.get(value);
        by_whom.is_some_and(|entries| entries.iter().any(|entry| counting.contains_key(entry)))
    };
    let open = newest.iter().filter(|(value, _)| !is_said(value)).flat_map(|(_, entries)| entries.iter().copied());
    open.filter(|entry| others.contains_key(entry)).collect()
}

impl<P> Told<P> {
    /// The entry that it takes back.
    pub fn takes_back(&self) -> Option<EntryRef> {
        match &self.what {
            What::TakesBack(slip) => Some(*slip),
            What::Of(_) | What::HandsOver(_) => None,
        }
    }

    /// What it says of pieces.
    pub fn says(&self) -> &[(P, Says)] {
        match &self.what {
            What::Of(says) => says,
            What::TakesBack(_) | What::HandsOver(_) => &[],
        }
    }
}

/// The newest entry of each writer that is about one of these pieces: what an entry about them that is written now names as
/// known.
pub fn heads_about<'a, P: Ord + 'a>(told: impl IntoIterator<Item = &'a Told<P>>, pieces: &[P]) -> Heads {
    let mut heads = Heads::default();
    for one in told {
        if one.says().iter().any(|(piece, _)| pieces.contains(piece)) {
            heads.learn(one.entry.writer, one.entry.number);
        }
    }
    heads
}
