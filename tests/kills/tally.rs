//! What happened, so that nothing is proven by a run in which nothing did.

use std::fmt;

use super::Failure;

/// How many of each are asked for.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// Kills of seats.
    pub seats: u64,
    /// Kills of the server.
    pub servers: u64,
    /// Older copies of the server put back.
    pub restores: u64,
}

/// The moment of a life at which it was killed, by what it said last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moment {
    /// It had just begun, or was connecting.
    Beginning,
    /// It was at the local commit.
    Committing,
    /// What was committed was not being sent yet.
    Committed,
    /// It was sending and fetching; the room may have had it, and the answer not come.
    Sending,
    /// The room had answered.
    Answered,
    /// It was taking or giving lenses.
    Taking,
}

/// The moments with what they are called.
const MOMENTS: [(Moment, &str); 6] = [
    (Moment::Beginning, "beginning"),
    (Moment::Committing, "committing"),
    (Moment::Committed, "committed"),
    (Moment::Sending, "sending"),
    (Moment::Answered, "answered"),
    (Moment::Taking, "taking a lens"),
];

/// What happened.
#[derive(Debug, Clone, Default)]
pub struct Tally {
    pub kills: u64,
    pub servers: u64,
    pub restores: u64,
    /// Entries that the room had before and not after an older copy was put back.
    pub gone_by_restores: u64,
    pub committed: u64,
    pub confirmed: u64,
    /// Entries of others that were known at seats in the end.
    pub known_of_others: u64,
    moments: [u64; MOMENTS.len()],
}

impl Tally {
    /// A kill at this moment.
    pub fn fell(&mut self, at: Moment) {
        self.kills += 1;
        for (number, (moment, _)) in self.moments.iter_mut().zip(MOMENTS) {
            *number += u64::from(moment == at);
        }
    }

    pub fn add(&mut self, other: &Self) {
        self.kills += other.kills;
        self.servers += other.servers;
        self.restores += other.restores;
        self.gone_by_restores += other.gone_by_restores;
        self.committed += other.committed;
        self.confirmed += other.confirmed;
        self.known_of_others += other.known_of_others;
        for (number, more) in self.moments.iter_mut().zip(other.moments) {
            *number += more;
        }
    }

    pub fn refuse_if_nothing_happened(&self, asked: Asked) -> Result<(), Failure> {
        let rare = asked.seats / 200;
        let mut least = vec![
            ("kills of seats", self.kills, asked.seats),
            ("kills of the server", self.servers, asked.servers),
            ("restores", self.restores, asked.restores),
            ("entries that were gone by restores", self.gone_by_restores, asked.restores),
            ("entries committed", self.committed, asked.seats / 2),
            ("entries confirmed", self.confirmed, asked.seats / 2),
            ("entries known of others", self.known_of_others, asked.seats),
        ];
        least.extend(self.moments.iter().zip(MOMENTS).map(|(number, (_, name))| (name, *number, rare)));
        for (what, number, asked) in least {
            if number < asked {
                return Err(format!("too little happened to prove anything: {what}: {number} of {asked}").into());
            }
        }
        Ok(())
    }
}

impl fmt::Display for Tally {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { kills, servers, restores, gone_by_restores, committed, confirmed, known_of_others, moments } = self;
        write!(f, "{kills} kills of seats (")?;
        for (number, (_, name)) in moments.iter().zip(MOMENTS) {
            write!(f, "{name} {number}, ")?;
        }
        write!(
            f,
            "all), {servers} of the server, {restores} restores that took {gone_by_restores} entries away; {committed} entries committed, \
             {confirmed} confirmed, {known_of_others} known of others"
        )
    }
}
