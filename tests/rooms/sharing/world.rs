//! Seats that write, send and receive, driven by a seed; beside each goes the reference.

use std::collections::BTreeMap;

use dioptray::sharing::pieces::{BoxTold, Power, Says, What, Whereabouts, fold, heads_about};
use dioptray::sharing::{
    Entry, EntryKind, EntryRef, Hash, Heads, Refused, Sealed, SeatName, Stretch, Told, WriterId, new_numbers,
};
use rand::seq::IndexedRandom as _;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use uuid::Uuid;

use super::reference::{Fact, Number, Reference, Value};

/// The pieces of the box.
pub const PIECES: [u8; 3] = [1, 2, 3];
/// What seats are called.
const NAMES: [&str; 6] = ["lane1", "lane2", "teamA", "teamB", "desk", "spare"];
/// Who borrows.
const BORROWERS: [&str; 2] = ["Clinic 3", "K M"];

/// One logbook.
#[derive(Clone)]
pub struct Seat {
    pub name: SeatName,
    pub writer: WriterId,
    /// Writers whose entries it sends: its own, and of a copy those of before.
    own: Vec<WriterId>,
    /// Everything that it has.
    known: BTreeMap<WriterId, BTreeMap<i64, Sealed>>,
    /// What the entries come to.
    told: BTreeMap<EntryRef, Told<u8>>,
    /// How far its clock is off, in hours.
    clock_off: i64,
    /// How often something was taken in as new.
    pub taken_in: usize,
}

/// Entries on their way.
#[derive(Clone)]
struct Parcel {
    to: usize,
    /// By writer; whether the first only says what the next follows.
    stretches: Vec<(WriterId, Vec<Sealed>, bool)>,
    told: Vec<Told<u8>>,
}

/// All seats, what is on its way between them, and what the reference knows.
pub struct World {
    chance: ChaCha8Rng,
    pub seats: Vec<Seat>,
    on_its_way: Vec<Parcel>,
    pub reference: Reference,
    /// What each seat is called that writes as this one.
    names: BTreeMap<WriterId, SeatName>,
    hours: i64,
}

impl World {
    /// Some seats with one box, of which nothing was noted.
    pub fn of_seed(seed: u64) -> Self {
        let mut chance = ChaCha8Rng::seed_from_u64(seed);
        let count = chance.random_range(2..=4);
        let mut world = Self {
            chance,
            seats: Vec::new(),
            on_its_way: Vec::new(),
            reference: Reference::default(),
            names: BTreeMap::new(),
            hours: 0,
        };
        for _ in 0..count {
            let (name, writer) = world.next_name();
            let clock_off = world.chance.random_range(-24..=24);
            let (known, told) = (BTreeMap::new(), BTreeMap::new());
            world.seats.push(Seat { name, writer, own: vec![writer], known, told, clock_off, taken_in: 0 });
            world.reference.add_seat(None);
        }
        world
    }

    fn next_name(&mut self) -> (SeatName, WriterId) {
        let name = SeatName::new(NAMES[self.seats.len()]).expect("a name of a seat");
        let writer = WriterId::new(Uuid::from_u128(self.chance.random()));
        self.names.insert(writer, name.clone());
        (name, writer)
    }

    /// Has something happen, as often as is said.
    pub fn run(&mut self, steps: usize) {
        for _ in 0..steps {
            self.hours += 1;
            let seat = self.chance.random_range(0..self.seats.len());
            match self.chance.random_range(0..100) {
                0..45 => self.note(seat),
                45..52 => self.take_back(seat),
                52..57 => self.hand_over(seat),
                57..77 => self.send(seat),
                77..98 => self.deliver(),
                _ => self.copy(seat),
            }
        }
    }

    /// What a seat makes of all that it has.
    pub fn state_at(&self, seat: usize) -> BoxTold<u8> {
        self.state_of(self.seats[seat].told.values())
    }

    /// What is made of entries in this order.
    pub fn state_of<'a>(&self, told: impl IntoIterator<Item = &'a Told<u8>>) -> BoxTold<u8> {
        fold(told, &|writer| self.names.get(&writer).cloned())
    }

    /// What a seat has, in an order by chance, some of it twice.
    pub fn shuffled(&mut self, seat: usize) -> Vec<Told<u8>> {
        let all: Vec<Told<u8>> = self.seats[seat].told.values().cloned().collect();
        let mut order: Vec<usize> = (0..all.len()).chain((0..all.len()).filter(|at| at % 3 == 0)).collect();
        for at in (1..order.len()).rev() {
            order.swap(at, self.chance.random_range(0..=at));
        }
        order.into_iter().map(|at| all[at].clone()).collect()
    }

    /// Writes an entry at a seat, to be committed there.
    fn write(&mut self, seat: usize, after: &Heads, what: What<u8>) -> EntryRef {
        let of = &mut self.seats[seat];
        let last = of.known.get(&of.writer).and_then(|known| known.last_key_value());
        let (number, hash) = last.map_or((0, Hash::NONE), |(number, sealed)| (*number, sealed.hash));
        let entry = Entry {
            kind: EntryKind::BoxChange,
            about: b"id:box".to_vec(),
            by: None,
            at: format!("{:04}", 5000 + self.hours + of.clock_off),
            after: Some(format!("{:?}", after.iter().collect::<Vec<_>>())),
            format: 2,
            body_hash: Hash::of(format!("{what:?}").as_bytes()),
        };
        let sealed = entry.seal(of.writer, number, hash);
        let entry = EntryRef { writer: of.writer, number: sealed.number };
        of.known.entry(of.writer).or_default().insert(sealed.number, sealed);
        of.told.insert(entry, Told { entry, after: after.clone(), what });
        entry
    }

    fn note(&mut self, seat: usize) {
        let pieces: Vec<u8> = PIECES.into_iter().filter(|_| self.chance.random_ratio(2, 5)).collect();
        let said: Vec<(u8, Value)> = pieces.iter().map(|piece| (*piece, self.something())).collect();
        if said.is_empty() {
            return;
        }
        let after = heads_about(self.seats[seat].told.values(), &pieces);
        let what = What::Of(said.iter().map(|(piece, value)| (*piece, says(value))).collect());
        let entry = self.write(seat, &after, what);
        self.reference.note(seat, number(entry), said);
    }

    fn something(&mut self) -> Value {
        match self.chance.random_range(0..10) {
            0 | 1 => Value::Place("in the box".to_owned()),
            2 => Value::Place("lost".to_owned()),
            3..=5 => Value::Place(format!("lent {}", BORROWERS.choose(&mut self.chance).expect("somebody"))),
            6 => Value::Place(format!("at {}", NAMES.choose(&mut self.chance).expect("a seat"))),
            7 => Value::Damage(self.chance.random()),
            _ => Value::Power(self.chance.random_range(-1..=1)),
        }
    }

    /// Takes back an entry of this logbook that stands.
    fn take_back(&mut self, seat: usize) {
        let of = &self.seats[seat];
        let slips: Vec<EntryRef> = of.told.values().filter_map(Told::takes_back).collect();
        let own = of.told.values().filter(|told| of.own.contains(&told.entry.writer));
        let could: Vec<EntryRef> = own
            .filter(|told| matches!(told.what, What::Of(_)) && !slips.contains(&told.entry))
            .map(|told| told.entry)
            .collect();
        let Some(slip) = could.choose(&mut self.chance).copied() else { return };
        let pieces: Vec<u8> = of.told[&slip].says().iter().map(|(piece, _)| *piece).collect();
        let after = heads_about(of.told.values(), &pieces);
        let entry = self.write(seat, &after, What::TakesBack(slip));
        self.reference.take_back(seat, number(entry), number(slip));
    }

    fn hand_over(&mut self, seat: usize) {
        let to = self.seats.choose(&mut self.chance).map(|seat| seat.name.clone());
        let to = to.filter(|_| self.chance.random_ratio(3, 5));
        let mut after = Heads::default();
        self.seats[seat].told.keys().for_each(|known| after.learn(known.writer, known.number));
        let entry = self.write(seat, &after, What::HandsOver(to.clone()));
        self.reference.hand_over(seat, number(entry), to.map(|to| to.to_string()));
    }

    /// Sends what a seat wrote to another one: all of it, or what comes after some number.
    fn send(&mut self, from: usize) {
        let to = self.chance.random_range(0..self.seats.len());
        let since = if self.chance.random_ratio(1, 3) { 0 } else { self.chance.random_range(0..6) };
        let parcel = self.parcel(from, to, since);
        let times = [0, 1, 1, 1, 2].choose(&mut self.chance).copied().unwrap_or(1);
        self.on_its_way.extend(std::iter::repeat_n(parcel, times));
    }

    fn parcel(&self, from: usize, to: usize, since: i64) -> Parcel {
        let of = &self.seats[from];
        let mut stretches = Vec::new();
        let mut told = Vec::new();
        for writer in &of.own {
            let Some(known) = of.known.get(writer) else { continue };
            let first_is_only_followed = since > 0;
            let sealed: Vec<Sealed> = known.range(since.max(1)..).map(|(_, sealed)| sealed.clone()).collect();
            told.extend(
                known
                    .range(since + 1..)
                    .map(|(number, _)| of.told[&EntryRef { writer: *writer, number: *number }].clone()),
            );
            if !sealed.is_empty() {
                stretches.push((*writer, sealed, first_is_only_followed));
            }
        }
        Parcel { to, stretches, told }
    }

    /// One of those that are on their way arrives, or stays on its way where one before it is missing.
    fn deliver(&mut self) {
        if self.on_its_way.is_empty() {
            return;
        }
        let at = self.chance.random_range(0..self.on_its_way.len());
        let parcel = self.on_its_way.swap_remove(at);
        if !self.arrive(&parcel) {
            self.on_its_way.push(parcel);
        }
    }

    /// Takes a parcel in, all of it or nothing; whether it was.
    fn arrive(&mut self, parcel: &Parcel) -> bool {
        let mut new: Vec<EntryRef> = Vec::new();
        for (writer, sealed, first_is_only_followed) in &parcel.stretches {
            let stretch = Stretch::check(*writer, sealed, *first_is_only_followed).expect("a chain as it was written");
            let known = self.seats[parcel.to].known.get(writer).cloned().unwrap_or_default();
            match new_numbers(*writer, &known, &[stretch], false) {
                Ok(numbers) => {
                    new.extend(numbers.into_iter().map(|number| EntryRef { writer: *writer, number }));
                }
                Err(Refused::Missing { .. }) => return false,
                Err(refused) => panic!("nothing parted here: {refused}"),
            }
        }
        let to = &mut self.seats[parcel.to];
        for (writer, sealed, _) in &parcel.stretches {
            for one in sealed.iter().filter(|one| new.contains(&EntryRef { writer: *writer, number: one.number })) {
                to.known.entry(*writer).or_default().insert(one.number, one.clone());
            }
        }
        for told in parcel.told.iter().filter(|told| new.contains(&told.entry)) {
            to.told.insert(told.entry, told.clone());
            to.taken_in += 1;
            self.reference.arrive(parcel.to, number(told.entry));
        }
        true
    }

    /// The file of a seat is copied; the copy shows itself, and goes on under a name and a writer of its own.
    fn copy(&mut self, seat: usize) {
        if self.seats.len() == NAMES.len() {
            return;
        }
        let (name, writer) = self.next_name();
        let mut copy = Seat { name, writer, taken_in: 0, ..self.seats[seat].clone() };
        copy.own.push(writer);
        self.seats.push(copy);
        self.reference.add_seat(Some(seat));
    }

    /// Everybody sends everything to everybody, in an order by chance, until nothing is missing anywhere.
    pub fn exchange_all(&mut self) {
        let pairs = (0..self.seats.len()).flat_map(|from| (0..self.seats.len()).map(move |to| (from, to)));
        let mut left: Vec<(usize, usize)> = pairs.filter(|(from, to)| from != to).collect();
        while !left.is_empty() {
            let (from, to) = left.swap_remove(self.chance.random_range(0..left.len()));
            let parcel = self.parcel(from, to, 0);
            assert!(self.arrive(&parcel), "a whole logbook lacks nothing");
        }
        while let Some(late) = self.on_its_way.pop() {
            assert!(self.arrive(&late), "nothing is missing any more");
        }
    }

    /// How many entries a seat has.
    pub fn count_at(&self, seat: usize) -> usize {
        self.seats[seat].told.len()
    }

    /// What a seat holds of a piece, in the words of the reference: of each fact the newest values.
    pub fn newest_at(state: &BoxTold<u8>, piece: u8) -> BTreeMap<Fact, Vec<Value>> {
        let mut newest: BTreeMap<Fact, Vec<Value>> = BTreeMap::new();
        let Some(told) = state.pieces.get(&piece) else { return newest };
        let places = told.place.iter().map(|(place, _)| Value::Place(in_words(place)));
        let damages = told.damage.iter().map(|(damaged, _)| Value::Damage(*damaged));
        let powers = told.power.iter().map(|(power, _)| Value::Power(power.dioptres().round() as i32));
        for value in places.chain(damages).chain(powers) {
            newest.entry(value.fact()).or_default().push(value);
        }
        for values in newest.values_mut() {
            values.sort();
        }
        newest
    }

    /// The entries that are kept and listed since the box is with somebody else.
    pub fn outside_at(state: &BoxTold<u8>, piece: u8) -> Vec<Number> {
        let outside = state.pieces.get(&piece).map(|told| told.outside.iter().map(|entry| number(*entry)).collect());
        let mut outside: Vec<Number> = outside.unwrap_or_default();
        outside.sort_unstable();
        outside
    }
}

/// By what the reference knows an entry.
fn number(entry: EntryRef) -> Number {
    (entry.writer.uuid().as_u128(), entry.number)
}

fn says(value: &Value) -> Says {
    match value {
        Value::Place(place) => Says::Place(match place.as_str() {
            "in the box" => Whereabouts::InTheBox,
            "lost" => Whereabouts::Lost,
            other => match other.strip_prefix("lent ") {
                Some(to) => Whereabouts::OnLoan(Some(to.to_owned())),
                None => Whereabouts::At(other.trim_start_matches("at ").to_owned()),
            },
        }),
        Value::Damage(damaged) => Says::Damage(*damaged),
        Value::Power(power) => Says::Power(Power::of(f64::from(*power))),
    }
}

fn in_words(place: &Whereabouts) -> String {
    match place {
        Whereabouts::InTheBox => "in the box".to_owned(),
        Whereabouts::Lost => "lost".to_owned(),
        Whereabouts::OnLoan(to) => format!("lent {}", to.as_deref().unwrap_or_default()),
        Whereabouts::At(seat) => format!("at {seat}"),
        Whereabouts::Retired => "retired".to_owned(),
        Whereabouts::InAnotherBox(to) => format!("in {to}"),
    }
}
