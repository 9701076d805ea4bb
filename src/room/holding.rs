//! Which pieces stand before an eye at which seat. A piece is taken after the key, never before it: the hand is right.

use std::collections::BTreeMap;

use super::calls::knock;
use super::error::RoomError;
use super::hint::Hint;
use super::link::Link;
use crate::sharing::WriterId;
use crate::sharing::news::{HeldElsewhere, Holding};

/// From this many minutes on it is said that a seat is not heard.
const NOT_HEARD_MIN: u32 = 15;

/// What the room counts as held at this seat.
#[derive(Debug, Default)]
pub struct Holds {
    in_box: String,
    wanted: Vec<Holding>,
    /// By lens the pieces that the room gave.
    given: BTreeMap<String, Vec<Given>>,
    /// Whether what the room has of this seat was asked for since it was last reached.
    is_asked: bool,
}

/// A piece that the room gave.
#[derive(Debug, Clone)]
struct Given {
    number: i32,
    /// Whether it is counted elsewhere too.
    is_also: bool,
    /// The seat that had it and is not heard, where it was taken over from one.
    from: Option<String>,
}

/// What others hold of the box in use.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OfOthers {
    /// Their pieces.
    pub held: Vec<HeldElsewhere>,
    /// Lenses that are counted here and elsewhere, with the seat.
    pub counted_twice: Vec<(String, String)>,
    /// Lenses here that were counted at a seat that is not heard, with that seat.
    pub taken_over: Vec<(String, String)>,
}

impl Holds {
    /// What stands before the eyes now.
    pub fn want(&mut self, in_box: String, all: Vec<Holding>) {
        if self.in_box != in_box {
            (self.in_box, self.is_asked) = (in_box, false);
        }
        self.wanted = all;
    }

    /// The room was lost: what it counts is asked for again.
    pub fn forget(&mut self) {
        self.is_asked = false;
    }

    /// Tells what others hold of the box; what stands before the eyes here is not counted.
    ///
    /// # Errors
    /// When the room is away or refuses.
    pub fn look(&self, link: &Link, home: WriterId) -> Result<OfOthers, RoomError> {
        if self.in_box.is_empty() { Ok(OfOthers::default()) } else { self.of_others(link, home) }
    }

    /// Takes what is newly before an eye, gives what no longer is, and tells what others hold of the box.
    ///
    /// # Errors
    /// When the room is away or refuses; what stands before the eyes stays there.
    pub fn settle(&mut self, link: &Link, home: WriterId) -> Result<OfOthers, RoomError> {
        if self.in_box.is_empty() {
            return Ok(OfOthers::default());
        }
        if !self.is_asked {
            self.given.clear();
            for there in holdings(link, &self.in_box)?.into_iter().filter(|there| there.home == home) {
                let (number, is_also) = (there.number, there.is_also);
                self.given.entry(there.lens).or_default().push(Given { number, is_also, from: None });
            }
            self.is_asked = true;
        }
        let mut wanted: BTreeMap<&str, Vec<&Holding>> = BTreeMap::new();
        for one in &self.wanted {
            wanted.entry(&one.lens).or_default().push(one);
        }
        let mut is_new = false;
        let lenses: Vec<String> = self.given.keys().cloned().collect();
        for lens in lenses {
            let keep = wanted.get(lens.as_str()).map_or(0, Vec::len);
            let given = self.given.entry(lens.clone()).or_default();
            // what is counted at a second seat is the first to go
            given.sort_by_key(|one| one.is_also);
            while given.len() > keep {
                let Some(last) = given.last() else { break };
                give(link, home, &self.in_box, &lens, last.number)?;
                given.pop();
                is_new = true;
            }
        }
        for (lens, ones) in wanted {
            let given = self.given.entry(lens.to_owned()).or_default();
            while let Some(next) = ones.get(given.len()) {
                let taken: Vec<i32> = given.iter().map(|one| one.number).collect();
                let numbers: Vec<i32> = next.numbers.iter().copied().filter(|number| !taken.contains(number)).collect();
                let Some(first) = numbers.first().copied() else { break };
                let (got, from) = take(link, home, &self.in_box, lens, &numbers)?;
                given.push(Given { number: got.unwrap_or(first), is_also: got.is_none(), from });
                is_new = true;
            }
        }
        self.given.retain(|_, given| !given.is_empty());
        if is_new {
            knock(link, Hint::Held)?;
        }
        self.of_others(link, home)
    }

    fn of_others(&self, link: &Link, home: WriterId) -> Result<OfOthers, RoomError> {
        let there = holdings(link, &self.in_box)?;
        let mut others = OfOthers::default();
        for one in there.iter().filter(|one| one.home != home) {
            let not_heard = Some((one.not_heard_s / 60.0) as u32).filter(|min| *min >= NOT_HEARD_MIN);
            let (lens, seat) = (one.lens.clone(), one.seat.clone());
            others.held.push(HeldElsewhere { lens, seat, not_heard_min: not_heard });
        }
        for (lens, given) in &self.given {
            for piece in given {
                others.taken_over.extend(piece.from.iter().map(|seat| (lens.clone(), seat.clone())));
                let elsewhere = |one: &&Held| one.home != home && one.lens == *lens && one.number == piece.number;
                let is_twice = |one: &&Held| piece.is_also || one.is_also;
                if let Some(one) = there.iter().filter(elsewhere).find(is_twice) {
                    others.counted_twice.push((lens.clone(), one.seat.clone()));
                }
            }
        }
        others.held.sort_by(|one, other| (&one.lens, &one.seat).cmp(&(&other.lens, &other.seat)));
        Ok(others)
    }
}

struct Held {
    lens: String,
    number: i32,
    home: WriterId,
    seat: String,
    not_heard_s: f64,
    is_also: bool,
}

fn holdings(link: &Link, in_box: &str) -> Result<Vec<Held>, RoomError> {
    let sql = "SELECT lens, number, home, seat, not_heard_s, is_also FROM room.holdings($1)";
    let one = |row: tokio_postgres::Row| Held {
        lens: row.get(0),
        number: row.get(1),
        home: WriterId::new(row.get(2)),
        seat: row.get(3),
        not_heard_s: row.get(4),
        is_also: row.get(5),
    };
    Ok(link.call(sql, &[&in_box])?.into_iter().map(one).collect())
}

/// Takes one of these pieces, the first that is free or is counted at a seat that is not heard, which is named then; none where
/// every one is elsewhere, and then the first counts here too.
///
/// # Errors
/// As [`Link::call`].
pub fn take(
    link: &Link,
    home: WriterId,
    in_box: &str,
    lens: &str,
    numbers: &[i32],
) -> Result<(Option<i32>, Option<String>), RoomError> {
    let sql = "SELECT got, from_seat FROM room.take($1, $2, $3, $4)";
    let rows = link.call(sql, &[&home.uuid(), &in_box, &lens, &numbers])?;
    Ok(rows.first().map_or((None, None), |row| (row.get(0), row.get(1))))
}

/// Gives a piece back.
///
/// # Errors
/// As [`Link::call`].
pub fn give(link: &Link, home: WriterId, in_box: &str, lens: &str, number: i32) -> Result<(), RoomError> {
    link.call("SELECT room.give($1, $2, $3, $4)", &[&home.uuid(), &in_box, &lens, &number]).map(|_| ())
}
