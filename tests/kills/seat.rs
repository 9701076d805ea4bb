//! A program at work, as it is killed: it commits to its logbook and sends that with what the program itself has for both. What it
//! has done it says on its standard output, after it is done.

use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::Duration;

use dioptray::exam::{Detail, Event, Exam};
use dioptray::frame::Move;
use dioptray::kit::{BoxChange, DeclaredBox, Lens, Mark, Piece, Place};
use dioptray::logbook::{BeganWith, Logbook, LogbookError, NamedBox, OpenExam};
use dioptray::optics::Eye;
use dioptray::room::error::RoomError;
use dioptray::room::holding::Holds;
use dioptray::room::joining::Caller;
use dioptray::room::link::Link;
use dioptray::room::sender::Sender;
use dioptray::room::sent::Sent;
use dioptray::sharing::Heads;
use dioptray::sharing::news::{Holding, Reached, SendsOn as _, Told};
use jiff::Timestamp;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

use super::Failure;
use super::invented::{declared_box, opening};

/// Makes this program a seat: followed by the folder of its logbook, a seed, and whether it may hold lenses.
pub const AS_A_SEAT: &str = "--seat";
/// The box that all seats have, by name and id.
pub const BOX: &str = "Hillside";
pub const BOX_ID: &str = "hillside-1";
/// The lenses that are before eyes, two of each.
pub const LENSES: [&str; 3] = ["-2.00 sphere", "+1.00 sphere", "-0.50 cylinder"];
/// One life commits at most as much, so that a room stays as small as one of a few weeks.
const COMMITS: u32 = 6;

/// The logbook in a folder.
pub fn logbook_in(folder: &Path) -> PathBuf {
    folder.join("logbook.db")
}

/// The box.
pub fn in_box() -> NamedBox {
    NamedBox::new(Some(BOX_ID), BOX)
}

/// Lenses before the eyes, by chance.
pub fn wants(chance: &mut ChaCha8Rng) -> Vec<Holding> {
    let mut all = Vec::new();
    for lens in LENSES {
        let holding = Holding { lens: lens.to_owned(), numbers: vec![1, 2] };
        all.extend(std::iter::repeat_n(holding, [0, 0, 1, 2][chance.random_range(0..4)]));
    }
    all
}

/// Works until it is killed.
pub fn live(arguments: &[String]) -> Result<(), Failure> {
    let [folder, seed, holds] = arguments else { return Err("--seat FOLDER SEED HOLDS".into()) };
    let path = logbook_in(Path::new(folder));
    let caller = Caller::of(&path, None)?;
    let mut hand = Hand {
        logbook: Logbook::open(&path)?,
        caller,
        chance: ChaCha8Rng::seed_from_u64(seed.parse()?),
        declared: DeclaredBox { id: Some(BOX_ID.to_owned()), ..declared_box(BOX) },
        closed: None,
        holds: holds == "holds",
        left: COMMITS,
        confirmed: 0,
    };
    println!("begun");
    // two in three send without the thread, which gathers what is done within a moment: kills fall more densely
    if hand.chance.random_range(0..3) > 0 { hand.in_turn() } else { hand.with_thread() }
}

struct Hand {
    logbook: Logbook,
    caller: Caller,
    chance: ChaCha8Rng,
    declared: DeclaredBox,
    closed: Option<OpenExam>,
    holds: bool,
    left: u32,
    confirmed: i64,
}

impl Hand {
    fn in_turn(&mut self) -> Result<(), Failure> {
        let mut link: Option<Link> = None;
        let mut holds = Holds::default();
        loop {
            self.commit(&mut |_| {})?;
            if link.is_none() {
                holds.forget();
                link = there(self.caller.connect())?.map(|(link, _)| link);
                // as the thread of the program rests once it found nobody there
                if link.is_none() {
                    self.rest(100);
                }
            }
            if let Some(room) = &link {
                println!("sends");
                match there(self.caller.exchange(room))? {
                    Some(_) => self.say_what_is_confirmed()?,
                    None => link = None,
                }
            }
            if let Some(room) = link.as_ref().filter(|_| self.holds) {
                holds.want(in_box().key.as_str().to_owned(), wants(&mut self.chance));
                println!("takes");
                match there(holds.settle(room, self.caller.writer))? {
                    Some(_) => println!("holds"),
                    None => link = None,
                }
            }
            self.rest(12);
        }
    }

    fn with_thread(&mut self) -> Result<(), Failure> {
        let sender = Sender::start(self.caller.clone());
        loop {
            self.commit(&mut |exam| sender.tell(Told::Kept { exam: Some(exam) }))?;
            sender.tell(Told::Kept { exam: None });
            if self.holds {
                sender.tell(Told::Holds { in_box: in_box().key.as_str().to_owned(), all: wants(&mut self.chance) });
            }
            self.rest(60);
            if let Reached::Refuses { why } = &sender.news().reached {
                return Err(why.clone().into());
            }
            self.say_what_is_confirmed()?;
        }
    }

    fn rest(&mut self, longest_ms: u64) {
        sleep(Duration::from_micros(self.chance.random_range(0..longest_ms * 1000)));
    }

    /// Does something for good, or nothing where enough was done.
    fn commit(&mut self, open: &mut dyn FnMut(i64)) -> Result<(), Failure> {
        if self.left == 0 || self.chance.random_ratio(1, 3) {
            return Ok(());
        }
        self.left -= 1;
        println!("commits");
        match self.chance.random_range(0..10) {
            0..5 => self.close_an_exam(open)?,
            5..8 => self.change_the_box()?,
            _ => self.amend()?,
        }
        let last = self.logbook.last_entries()?;
        if let Some((_, number, hash)) = last.iter().find(|(writer, _, _)| *writer == self.caller.writer) {
            println!("committed {number} {hash}");
        }
        Ok(())
    }

    fn close_an_exam(&mut self, open: &mut dyn FnMut(i64)) -> Result<(), Failure> {
        let opening = opening(BOX);
        let with = BeganWith { in_box: in_box(), applied: Heads::default(), by: None, procedures_version: 3 };
        let mut kept = self.logbook.begin_exam(&opening, &with, Timestamp::now())?;
        let mut exam = Exam::open(opening);
        let piece = Piece { lens: Lens::Sphere(Mark::nearest(-2.0)), number: 1 };
        let label = format!("{:06}", self.chance.random_range(0..1_000_000));
        let steps = [
            Event::Detail(Detail::Label(label)),
            Event::Moved(Move::Put { piece, eye: Eye::Right, cell: 1, direction: None }),
            Event::Finished,
        ];
        for step in steps {
            let checked = exam.check(vec![step])?;
            self.logbook.append(&mut kept, &checked, None, Timestamp::now())?;
            exam.accept(checked);
            open(kept.number().0);
        }
        self.closed = Some(kept);
        Ok(())
    }

    fn change_the_box(&mut self) -> Result<(), Failure> {
        let key = in_box().key;
        let lens = Lens::Sphere(Mark::nearest(f64::from(self.chance.random_range(2_i32..=8)) * 0.25));
        let piece = Piece { lens, number: 1 };
        let is = self.logbook.stock_of(&key, &self.declared)?.stock.get(&piece).map(|is| is.place.clone());
        let note = BoxChange::Note { piece: piece.clone(), text: format!("{}", self.chance.random_range(0..1000)) };
        let change = match (is, self.chance.random_range(0..3)) {
            (Some(Place::Box), 0) => BoxChange::Lost(piece),
            (Some(Place::Lost), _) => BoxChange::Found(piece),
            _ => note.clone(),
        };
        let (in_box, at) = (in_box(), Timestamp::now());
        match self.logbook.change_box(&in_box, &self.declared, &change, None, at) {
            // the second program on this logbook, or another seat, was first
            Err(LogbookError::Stock(_)) => self.logbook.change_box(&in_box, &self.declared, &note, None, at)?,
            done => done?,
        };
        Ok(())
    }

    fn amend(&mut self) -> Result<(), Failure> {
        match &self.closed {
            Some(exam) => {
                let amended = [Event::Amended("seen again".to_owned())];
                Ok(self.logbook.amend(exam, &amended, None, Timestamp::now())?)
            }
            None => self.change_the_box(),
        }
    }

    /// Says up to which entry the room has confirmed, where that is new.
    fn say_what_is_confirmed(&mut self) -> Result<(), Failure> {
        let me = self.caller.writer;
        let sent =
            Sent::of(self.logbook.path()).iter().find(|(writer, _)| *writer == me).map_or(0, |(_, number)| number);
        if sent > self.confirmed {
            let hash =
                self.logbook.hash_of(me, sent)?.ok_or_else(|| format!("entry {sent} was confirmed and is not here"))?;
            println!("confirmed {sent} {hash}");
            self.confirmed = sent;
        } else {
            println!("asked");
        }
        Ok(())
    }
}

/// What a room answered; nothing where it is away.
fn there<T>(answer: Result<T, RoomError>) -> Result<Option<T>, Failure> {
    match answer {
        Ok(answer) => Ok(Some(answer)),
        Err(error) if error.is_away() => Ok(None),
        Err(error) => Err(error.into()),
    }
}
