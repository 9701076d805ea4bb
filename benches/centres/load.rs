//! A month of exams of many centres, as it would have come to a room.

use std::io::{BufWriter, Write as _};
use std::time::Instant;

use dioptray::logbook::Logbook;
use dioptray::sharing::{Hash, Heads, WriterId};
use jiff::Timestamp;
use rand::RngExt as _;
use uuid::Uuid;

use super::led::{LED, keep, led};
use super::psql::Psql;

/// How many centres there are, and seats in all.
pub const CENTRES: u64 = 300;
pub const SEATS: u64 = CENTRES * 4;

/// What seats, sites and examiners are called.
pub fn seat_name(seat: u64) -> String {
    format!("c{seat}")
}

pub fn site_name(seat: u64) -> String {
    format!("site{}", seat / 4)
}

pub fn examiner(one_of_three_a_centre: u64) -> String {
    format!("Examiner {}", one_of_three_a_centre % (CENTRES * 3))
}

/// The identity of a seat's logbook.
pub fn writer(seat: u64) -> WriterId {
    WriterId::new(Uuid::from_u128(0x00D1_0974_0000_4000_8000_0000_0000_0000 + u128::from(seat)))
}

/// Bodies of real exams, deflated as they are sent: nothing packs them any smaller.
pub fn real_bodies() -> Vec<Vec<u8>> {
    let folder = tempfile::tempdir().unwrap();
    let mut logbook = Logbook::open(&folder.path().join("logbook.db")).unwrap();
    let steps = keep(&mut logbook, &led());
    let rows = logbook.rows_after(&Heads::default()).unwrap().entries;
    let bodies: Vec<Vec<u8>> = rows.into_iter().filter_map(|row| row.body).collect();
    let bytes = bodies.iter().map(Vec::len).sum::<usize>() / bodies.len();
    println!("{LED} real exams of {steps} steps, deflated {bytes} bytes, in the mean");
    bodies
}

/// What is in the room by now.
pub struct Loaded {
    pub exams: u64,
    bodies: Vec<Vec<u8>>,
    /// The number and hash of the last entry of each seat.
    last: Vec<(i64, Hash)>,
    newest_month: Timestamp,
}

/// A row as PostgreSQL's binary form has it.
#[derive(Default)]
struct Row(Vec<u8>);

impl Row {
    fn begin(&mut self, fields: i16) {
        self.0.clear();
        self.0.extend(fields.to_be_bytes());
    }

    fn field(&mut self, bytes: &[u8]) {
        self.0.extend(i32::try_from(bytes.len()).unwrap().to_be_bytes());
        self.0.extend(bytes);
    }

    fn number(&mut self, number: i64) {
        self.field(&number.to_be_bytes());
    }
}

/// PostgreSQL counts microseconds from the beginning of the year 2000.
fn of_2000(at: Timestamp) -> i64 {
    at.as_microsecond() - 946_684_800_000_000
}

impl Loaded {
    pub fn new(exams: u64, bodies: Vec<Vec<u8>>) -> Self {
        let last = vec![(0, Hash::NONE); SEATS as usize];
        Self { exams, bodies, last, newest_month: Timestamp::UNIX_EPOCH }
    }

    pub fn newest_month(&self) -> Timestamp {
        self.newest_month
    }

    pub fn body(&self, nth: usize) -> Vec<u8> {
        self.bodies[nth % self.bodies.len()].clone()
    }

    pub fn head(&self, seat: u64) -> i64 {
        self.last[seat as usize].0
    }

    pub fn last(&self, seat: u64) -> (i64, Hash) {
        self.last[seat as usize]
    }

    pub fn note_last(&mut self, seat: u64, last: (i64, Hash)) {
        self.last[seat as usize] = last;
    }

    /// The seats, each with a writer that has written nothing.
    pub fn make_seats(psql: &Psql) {
        let seat = |seat: u64| {
            let (name, site, id) = (seat_name(seat), site_name(seat), writer(seat).uuid());
            format!("('{name}', '{id}', current_user, '{site}', 'machine')")
        };
        let seats: Vec<String> = (0..SEATS).map(seat).collect();
        psql.answer(&format!(
            "INSERT INTO room.seat (name, home, login, site, machine) VALUES {};
             INSERT INTO room.writer (id, seat, head_hash) SELECT home, name, decode(repeat('00', 32), 'hex') FROM room.seat;",
            seats.join(", ")
        ));
    }

    /// Loads the month that began so many months ago; gives the name of its partition.
    pub fn month(&mut self, psql: &Psql, months_ago: u64, is_real: bool) -> String {
        let begun = Instant::now();
        let answer = psql.answer(&format!(
            "SET client_min_messages = error;
             SELECT to_char(m, 'YYYYMM'), extract(epoch FROM m)::bigint, extract(epoch FROM m + interval '1 month')::bigint
             FROM (SELECT date_trunc('month', now() AT TIME ZONE 'UTC') - interval '{months_ago} months') AS x (m)"
        ));
        let of: Vec<&str> = answer.trim().split('|').collect();
        let (from, to): (i64, i64) = (of[1].parse().unwrap(), of[2].parse().unwrap());
        self.newest_month = Timestamp::from_second(from).unwrap();
        let part = format!("entry_{}", of[0]);
        psql.answer(&format!(
            "CREATE TABLE room.{part} PARTITION OF room.entry FOR VALUES FROM (to_timestamp({from})) TO (to_timestamp({to}))"
        ));
        let columns = "writer, number, received, kind, about, \"by\", at, format, body_hash, hash, body, seat, site, spoken, closed, label";
        let (mut copying, stdin) = psql.copies(&format!("room.{part} ({columns})"));
        let mut into = BufWriter::with_capacity(1 << 20, stdin);
        into.write_all(b"PGCOPY\n\xff\r\n\0\0\0\0\0\0\0\0\0").unwrap();
        let mut row = Row::default();
        let mut chance = rand::rng();
        let length_us = (to - from) * 1_000_000 - 600_000_000;
        for nth in 0..self.exams {
            let seat = nth % SEATS;
            let since_us = i64::try_from(i128::from(length_us) * i128::from(nth) / i128::from(self.exams)).unwrap();
            let closed = Timestamp::from_microsecond(from * 1_000_000 + since_us).unwrap();
            let received = closed + jiff::SignedDuration::from_millis(chance.random_range(50..300_000));
            self.write(&mut row, seat, closed, received, is_real, &mut chance);
            into.write_all(&row.0).unwrap();
        }
        into.write_all(&(-1_i16).to_be_bytes()).unwrap();
        into.into_inner().map_err(|error| error.to_string()).unwrap().flush().unwrap();
        assert!(copying.wait().unwrap().success());
        let copied = begun.elapsed();
        self.note(psql, &part);
        println!(
            "{part}: {} exams loaded in {:.0} s, noted in lists and looked through for plans in {:.0} s",
            self.exams,
            copied.as_secs_f64(),
            begun.elapsed().saturating_sub(copied).as_secs_f64()
        );
        part
    }

    fn write(
        &mut self,
        row: &mut Row,
        seat: u64,
        closed: Timestamp,
        received: Timestamp,
        is_real: bool,
        chance: &mut impl rand::Rng,
    ) {
        let (number, mut hash, mut body_hash) = (self.head(seat) + 1, [0; 32], [0; 32]);
        chance.fill_bytes(&mut hash);
        chance.fill_bytes(&mut body_hash);
        // as the program makes identities: the time first
        let mut id = [0; 16];
        chance.fill_bytes(&mut id);
        let id = uuid::Builder::from_unix_timestamp_millis(
            u64::try_from(closed.as_millisecond()).unwrap(),
            id[..10].try_into().unwrap(),
        );
        row.begin(16);
        row.field(writer(seat).uuid().as_bytes());
        row.number(number);
        row.number(of_2000(received));
        row.field(b"exam");
        row.field(id.into_uuid().as_bytes());
        row.field(examiner(seat / 4 * 3 + number as u64 % 3).as_bytes());
        row.field(closed.to_string().as_bytes());
        row.number(1);
        row.field(&body_hash);
        row.field(&hash);
        if is_real {
            let kind = &self.bodies[chance.random_range(0..self.bodies.len())];
            row.0.extend(i32::try_from(kind.len() + 16).unwrap().to_be_bytes());
            row.0.extend(kind);
            row.0.extend(&body_hash[..16]);
        } else {
            row.field(&[hash, body_hash].concat());
        }
        row.field(seat_name(seat).as_bytes());
        row.field(site_name(seat).as_bytes());
        row.number(number);
        row.number(of_2000(closed));
        row.field(format!("K.M. {}", number % 100).as_bytes());
        self.note_last(seat, (number, Hash::from_bytes(&hash).unwrap()));
    }

    /// What `ship` would have noted beside the entries.
    fn note(&self, psql: &Psql, part: &str) {
        let head = |seat: u64| {
            let (number, hash) = self.last(seat);
            format!("('{}'::uuid, {number}, '\\x{hash}'::bytea)", writer(seat).uuid())
        };
        let heads: Vec<String> = (0..SEATS).map(head).collect();
        psql.answer(&format!(
            "INSERT INTO room.exam SELECT encode(about, 'hex')::uuid FROM room.{part};
             INSERT INTO room.month SELECT room.month_of(min(received)), min(closed)::date, max(closed)::date FROM room.{part};
             INSERT INTO room.written SELECT writer, room.month_of(min(received)), min(number), max(number), count(spoken), min(spoken),
                max(spoken) FROM room.{part} GROUP BY writer;
             INSERT INTO room.examined SELECT DISTINCT lower(\"by\"), room.month_of(received) FROM room.{part};
             UPDATE room.writer AS w SET head = h.number, head_hash = h.hash FROM (VALUES {}) AS h (id, number, hash) WHERE w.id = h.id;
             CHECKPOINT; VACUUM ANALYZE room.{part}; ANALYZE room.exam, room.written, room.examined, room.month, room.writer, room.seat;",
            heads.join(", ")
        ));
    }
}
