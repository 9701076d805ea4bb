//! What of some parcels is new, and taking it in: all of them are looked at before anything is written.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::path::{Path, PathBuf};

use rayon::prelude::*;
use uuid::Uuid;

use super::arrived::arrived;
use super::error::{ParcelError, ParcelFault};
use super::others::{Elsewhere, names, others_of};
use super::read::{Parcel, body};
use super::signers::{Signer, Signers, Trust};
use crate::logbook::engine::{Arrival, ArrivedExam, EntryRow, SpokenRow, WriterRow};
use crate::logbook::names::ExamId;
use crate::logbook::store::Logbook;
use crate::sharing::{EntryKind, Hash, Refused, Sealed, SeatName, SiteName, Stretch, WriterId, new_numbers};

/// What was, or would be, taken in.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Taken {
    /// Entries in all the parcels, each once.
    pub entries: usize,
    /// Those that were not known.
    pub new: usize,
    /// Those that were.
    pub known: usize,
    /// Writers whose entries they are.
    pub writers: usize,
    /// Closed exams among the new ones that are not in the list of exams: made by a newer program, too large to have been sent, or
    /// closed at another seat too.
    pub not_listed: usize,
    /// The seats that signed what is new.
    pub signers: Vec<Signer>,
    /// The files with something new in them that nobody signed.
    pub not_signed: Vec<PathBuf>,
}

/// How parcels are read.
pub struct Reading<'a> {
    /// Whether entries that come before are done without where they are missing.
    pub with_gap: bool,
    /// Whether it is only said what would be taken in.
    pub only_say: bool,
    /// Whose signatures are taken for what they say.
    pub trust: Trust<'a>,
}

/// What is known by now, and what of the parcels is to come.
struct Plan<'a, 't> {
    parcels: &'a [Parcel],
    with_gap: bool,
    signers: Signers<'t>,
    own: BTreeMap<WriterId, BTreeMap<i64, Sealed>>,
    /// The writer that this logbook is now.
    me: Option<WriterId>,
    /// Exams that stand here already, one's own among them.
    there: HashSet<ExamId>,
    /// By which number each exam in the parcels is spoken of.
    numbers: HashMap<Vec<u8>, i64>,
    own_seat: Option<SeatName>,
    others: BTreeMap<WriterId, BTreeMap<i64, Sealed>>,
    seats: BTreeMap<WriterId, Named>,
    spoken: Vec<SpokenRow>,
    box_states: HashMap<Hash, &'a [u8]>,
    arrivals: Vec<Arrival>,
    taken: Taken,
}

/// What a writer is called.
#[derive(Debug, Clone)]
struct Named {
    seat: SeatName,
    site: Option<SiteName>,
}

impl Named {
    fn of(writer: &WriterRow) -> Option<Self> {
        let site = writer.site.as_ref().and_then(|site| SiteName::new(site).ok());
        Some(Self { seat: SeatName::new(&writer.seat).ok()?, site })
    }
}

/// Takes in what of these parcels is not known beside a logbook, in whatever order they are given; without writing anything where it
/// is only to be said.
///
/// # Errors
/// When a parcel before one is missing, unless a gap is let be, an entry is another one than is known under its number, or what is
/// new is not signed by whom it should be. Nothing is taken in then.
pub fn take_in(logbook: &Path, parcels: &[Parcel], reading: Reading<'_>) -> Result<Taken, ParcelError> {
    let own = opened(logbook)?;
    let others = opened_others(&others_of(logbook))?;
    let only_say = reading.only_say;
    let mut plan = Plan::of(parcels, own.as_ref(), others.as_ref(), reading)?;
    drop((own, others));
    for writer in plan.writers() {
        plan.look_at(writer)?;
    }
    plan.refuse_names_given_twice()?;
    plan.taken.signers = std::mem::take(&mut plan.signers.met);
    plan.taken.not_signed = std::mem::take(&mut plan.signers.not_signed);
    if !only_say && !plan.arrivals.is_empty() {
        let mut others = Logbook::open(&others_of(logbook))?;
        let box_states: Vec<(Hash, Vec<u8>)> =
            plan.box_states.iter().map(|(hash, content)| (*hash, content.to_vec())).collect();
        for arrival in &plan.arrivals {
            others.engine.take_in(arrival, &box_states)?;
        }
    }
    Ok(plan.taken)
}

fn opened(path: &Path) -> Result<Option<Logbook>, ParcelError> {
    match Logbook::open_read_only(path) {
        Err(error) if error.is_missing() => Ok(None),
        opened => Ok(Some(opened?)),
    }
}

fn opened_others(path: &Path) -> Result<Option<Logbook>, ParcelError> {
    match Logbook::open_read_only(path) {
        Err(error) if error.is_not_begun() => Ok(None),
        opened => Ok(Some(opened?)),
    }
}

fn by_writer(rows: Vec<EntryRow>) -> BTreeMap<WriterId, BTreeMap<i64, Sealed>> {
    let mut all: BTreeMap<WriterId, BTreeMap<i64, Sealed>> = BTreeMap::new();
    for EntryRow { sealed, .. } in rows {
        all.entry(sealed.writer).or_default().insert(sealed.number, sealed);
    }
    all
}

impl<'a, 't> Plan<'a, 't> {
    fn of(
        parcels: &'a [Parcel],
        own: Option<&Logbook>,
        others: Option<&Logbook>,
        reading: Reading<'t>,
    ) -> Result<Self, ParcelError> {
        let spoken = parcels.iter().flat_map(|parcel| &parcel.rows.spoken);
        let states = parcels.iter().flat_map(|parcel| &parcel.rows.box_states);
        let mut plan = Self {
            parcels,
            with_gap: reading.with_gap,
            signers: Signers::of(reading.trust, reading.only_say),
            own: BTreeMap::new(),
            me: None,
            there: HashSet::new(),
            numbers: spoken.map(|row| (row.exam.uuid().as_bytes().to_vec(), row.number)).collect(),
            own_seat: None,
            others: BTreeMap::new(),
            seats: BTreeMap::new(),
            spoken: Vec::new(),
            box_states: states.map(|(hash, content)| (*hash, content.as_slice())).collect(),
            arrivals: Vec::new(),
            taken: Taken::default(),
        };
        if let Some(own) = own {
            plan.own = by_writer(own.engine.entries()?);
            plan.there = own.exams()?.exams.into_iter().map(|line| line.id).collect();
            plan.me = own.engine.me()?.map(|me| me.id);
            plan.own_seat = own.seat()?;
        }
        if let Some(others) = others {
            plan.others = by_writer(others.engine.entries()?);
            plan.spoken = others.engine.spoken()?;
            plan.there.extend(plan.spoken.iter().map(|row| row.exam));
            let writers = others.engine.writers()?;
            plan.signers.know(&writers);
            plan.seats = writers.iter().filter_map(|writer| Some((writer.id, Named::of(writer)?))).collect();
        }
        Ok(plan)
    }

    /// The writers in the parcels, in the order in which they first come there.
    fn writers(&self) -> Vec<WriterId> {
        let mut seen = HashSet::new();
        let all = self.parcels.iter().flat_map(Parcel::by_writer).map(|rows| rows[0].sealed.writer);
        all.filter(|writer| seen.insert(*writer)).collect()
    }

    /// The entries of a writer in each parcel that has some.
    fn of_writer(&self, writer: WriterId) -> Vec<(&'a Parcel, &'a [EntryRow])> {
        let parcels = self.parcels;
        let in_parcel = |parcel: &'a Parcel| {
            let rows = parcel.by_writer().find(|rows| rows[0].sealed.writer == writer)?;
            Some((parcel, rows))
        };
        parcels.iter().filter_map(in_parcel).collect()
    }

    fn look_at(&mut self, writer: WriterId) -> Result<(), ParcelError> {
        let from = self.of_writer(writer);
        let Some((first, _)) = from.first().copied() else { return Ok(()) };
        let sealed: Vec<Vec<Sealed>> =
            from.iter().map(|(_, rows)| rows.iter().map(|row| row.sealed.clone()).collect()).collect();
        let altered = |number| ParcelFault::Altered { whose: first.called(writer), number }.at(&first.path);
        let mut stretches = Vec::with_capacity(from.len());
        for ((parcel, _), sealed) in from.iter().zip(&sealed) {
            let stretch = Stretch::check(writer, sealed, parcel.rows.followed.contains(&writer));
            stretches.push(stretch.map_err(|_| altered(sealed[0].number))?);
        }
        // what this logbook was before it was copied here may have gone on elsewhere; what it is now has not
        let is_now = self.me == Some(writer);
        let of = |known: &BTreeMap<WriterId, BTreeMap<i64, Sealed>>| known.get(&writer).cloned().unwrap_or_default();
        let mut known = of(&self.own);
        known.extend(of(&self.others));
        let new = new_numbers(writer, &known, &stretches, self.with_gap || is_now);
        let new = new.map_err(|refused| refusal(refused, writer, &from))?;
        if let Some(&number) = new.first().filter(|_| is_now) {
            return Err(ParcelFault::Ahead { number }.at(&first.path));
        }
        let brought: HashSet<i64> =
            stretches.iter().flat_map(|stretch| stretch.brought()).map(|sealed| sealed.number).collect();
        self.taken.entries += brought.len();
        self.taken.new += new.len();
        self.taken.known += brought.len() - new.len();
        self.taken.writers += usize::from(!brought.is_empty());
        if new.is_empty() && self.own.contains_key(&writer) {
            return Ok(());
        }
        let named = self.named_now(writer, &from)?;
        let known: BTreeSet<i64> = known.keys().copied().collect();
        self.refuse_unless_signed(writer, &named.seat, &known, &from, &stretches)?;
        self.seats.insert(writer, named.clone());
        // with its body, where one of the parcels has it
        let mut rows: HashMap<i64, &EntryRow> = HashMap::new();
        for row in from.iter().flat_map(|(_, rows)| *rows) {
            if row.body.is_some() || !rows.contains_key(&row.sealed.number) {
                rows.insert(row.sealed.number, row);
            }
        }
        let mut entries = Vec::with_capacity(new.len());
        let mut without_body = Vec::new();
        let new: Vec<&EntryRow> = new.iter().filter_map(|number| rows.get(number).copied()).collect();
        // reading an exam step by step takes longer than all the rest
        let (numbers, box_states) = (&self.numbers, &self.box_states);
        let exams: Vec<_> = new.par_iter().map(|row| exam_of(row, numbers, box_states)).collect();
        for (row, exam) in new.into_iter().zip(exams) {
            let exam = exam.map_err(|()| altered(row.sealed.number))?.filter(|exam| !self.there.contains(&exam.id));
            if exam.as_ref().is_some_and(|exam| exam.is_of_practice) {
                return Err(ParcelFault::OfPractice.at(&first.path));
            }
            if row.sealed.entry.kind == EntryKind::Exam && exam.is_none() {
                self.taken.not_listed += 1;
            }
            if let Some(spoken) = self.spoken_without_body(row) {
                without_body.push((row.sealed.number, spoken));
            }
            if let Some(exam) = &exam {
                self.there.insert(exam.id);
                self.spoken.push(SpokenRow { exam: exam.id, writer, number: exam.number });
            }
            entries.push((row.clone(), exam));
        }
        let (Named { seat, site }, key) = (named, self.signers.key_of(writer));
        self.arrivals.push(Arrival { writer, seat, site, key, entries, without_body });
        Ok(())
    }

    /// By which number an exam is spoken of that came without its body and is not here yet.
    fn spoken_without_body(&self, row: &EntryRow) -> Option<SpokenRow> {
        let entry = &row.sealed.entry;
        let number = *self.numbers.get(&entry.about).filter(|_| entry.kind == EntryKind::Exam && row.body.is_none())?;
        let exam = ExamId::new(Uuid::from_slice(&entry.about).ok()?);
        (!self.there.contains(&exam)).then_some(SpokenRow { exam, writer: row.sealed.writer, number })
    }

    /// Refuses what is new of a writer where its seat did not sign it. Those that know most come first, since what they follow needs
    /// no signature of its own.
    fn refuse_unless_signed(
        &mut self,
        writer: WriterId,
        seat: &SeatName,
        known: &BTreeSet<i64>,
        from: &[(&Parcel, &[EntryRow])],
        stretches: &[Stretch<'_>],
    ) -> Result<(), ParcelError> {
        let new = |stretch: &Stretch<'_>| stretch.brought().iter().any(|sealed| !known.contains(&sealed.number));
        let mut bringing: Vec<_> = from.iter().zip(stretches).filter(|(_, stretch)| new(stretch)).collect();
        bringing.sort_by_key(|((parcel, _), stretch)| (Reverse(stretch.last()), parcel.signed_by.is_none()));
        let mut vouched_for: BTreeSet<i64> = BTreeSet::new();
        for ((parcel, _), stretch) in bringing {
            let last = stretch.last();
            if vouched_for.contains(&last) || known.contains(&last) || known.contains(&(last + 1)) {
                continue;
            }
            self.signers.look_at(writer, seat, &parcel.path, parcel.signed_by)?;
            if parcel.signed_by.is_some() {
                vouched_for.extend(stretch.numbers());
            }
        }
        Ok(())
    }

    /// What the seat of a writer is called by whichever knows more of the writer: what is here, or a parcel.
    fn named_now(&self, writer: WriterId, from: &[(&Parcel, &[EntryRow])]) -> Result<Named, ParcelError> {
        let known = self.others.get(&writer).and_then(|known| known.keys().next_back());
        let mut best = known.and_then(|head| Some((*head, self.seats.get(&writer)?.clone())));
        for (parcel, rows) in from {
            let named = parcel.rows.writers.iter().find(|known| known.id == writer).and_then(Named::of);
            let named = named.ok_or_else(|| ParcelFault::Nameless.at(&parcel.path))?;
            let head = rows.last().map_or(0, |row| row.sealed.number);
            // of two that know as much the one that comes first in the alphabet, whichever was read first
            let is_better = |(known, best): &(i64, Named)| head > *known || (head == *known && named.seat < best.seat);
            if best.as_ref().is_none_or(is_better) {
                best = Some((head, named));
            }
        }
        best.map(|(_, named)| named).ok_or(ParcelError::NoSeat)
    }

    fn refuse_names_given_twice(&self) -> Result<(), ParcelError> {
        let twice = |seat: &SeatName| {
            let of = |parcel: &&Parcel| parcel.rows.writers.iter().any(|writer| writer.seat == seat.as_str());
            let path = self.parcels.iter().find(of).or(self.parcels.first()).map(|parcel| parcel.path.clone());
            ParcelFault::SeatTwice { seat: seat.clone() }.at(&path.unwrap_or_default())
        };
        let mut foreign = self.arrivals.iter().map(|arrival| &arrival.seat);
        if let Some(seat) = foreign.find(|seat| Some(*seat) == self.own_seat.as_ref()) {
            return Err(twice(seat));
        }
        let mut given: HashMap<Elsewhere, ExamId> = HashMap::new();
        let seat = |writer| self.seats.get(&writer).map(|named| named.seat.clone());
        for (exam, name) in names(&self.spoken, seat) {
            let seat = name.seat.clone();
            if given.insert(name, exam).is_some() {
                return Err(twice(&seat));
            }
        }
        Ok(())
    }
}

/// The exam that an entry closed, where it is one that can be read here.
fn exam_of(
    row: &EntryRow,
    numbers: &HashMap<Vec<u8>, i64>,
    box_states: &HashMap<Hash, &[u8]>,
) -> Result<Option<ArrivedExam>, ()> {
    let Some(body) = body(row)? else { return Ok(None) };
    let Ok(body) = String::from_utf8(body) else { return Ok(None) };
    let number = numbers.get(row.sealed.entry.about.as_slice()).copied();
    Ok(arrived(row, &body, number, box_states))
}

/// Where what is refused stands, and who wrote it.
fn refusal(refused: Refused, writer: WriterId, from: &[(&Parcel, &[EntryRow])]) -> ParcelError {
    let number = match refused {
        Refused::Parted { number, .. } => number,
        Refused::Missing { last, .. } => last + 1,
    };
    let has = |(_, rows): &&(&Parcel, &[EntryRow])| rows.iter().any(|row| row.sealed.number == number);
    let (parcel, _) = from.iter().rfind(has).unwrap_or(&from[0]);
    let whose = parcel.called(writer);
    let fault = match refused {
        Refused::Parted { number, .. } => ParcelFault::Parted { whose, number },
        Refused::Missing { first, last, .. } => ParcelFault::Missing { whose, first, last },
    };
    fault.at(&parcel.path)
}
