//! `dioptray room`: many machines, one record.

mod erase;
mod exams;
mod keep;
mod settle;
mod take_over;
mod watch;

use std::io::Write;
use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};
use jiff::Timestamp;
use serde::Serialize;

use crate::command::boxes::unsettled_of_all;
use crate::command::context::CAUTION;
use crate::command::files::{logbook_path, settings_folder as folder};
use crate::command::json::write_line;
use crate::command::{Context, Outcome, note, values};
use crate::kit::document::fault::counted;
use crate::logbook::Logbook;
use crate::room::address::Address;
use crate::room::calls::{SeatThere, Welcome, counted_twice, heads, seats};
use crate::room::erasing::erasures;
use crate::room::error::RoomError;
use crate::room::exchange::{Exchanged, unsent};
use crate::room::joined::Joined;
use crate::room::joining::{Caller, connect, join, leave};
use crate::room::prepare::{Role, allow, prepare};
use crate::room::sent::Sent;
use crate::session::erasing::erase_what_was_agreed;
use crate::sharing::{Heads, SeatName};

/// Clocks that differ by more are told.
const CLOCKS_DIFFER_S: f64 = 60.0;

/// The arguments of `dioptray room`.
#[derive(Debug, Args)]
#[command(after_help = format!("{ROOM}\n\n{CAUTION}"))]
pub struct Rooms {
    #[command(subcommand)]
    command: Option<RoomCommand>,
}

const ROOM: &str = "Examples:
  dioptray room
  dioptray room --json

Without a command it sends what the room has not, takes in what is new there, and says who is in the room.

A room is one PostgreSQL database that several logbooks share. Every logbook stays whole without it: what is done is kept here first, \
and sent after. Labels and findings go to the computer of the room: only to one that your clinic chose, under the rules that hold \
where you work. There is no field for a name; keep names out of labels.";

const PREPARE: &str = "Example:
  dioptray room prepare postgresql://roomkeeper@localhost/room

Run it again after an update of Dioptray. The README has every step, the certificate among them (A room).";

const ALLOW: &str = "Examples:
  dioptray room allow postgresql://roomkeeper@localhost/room lane3 --as examiner --site hillside
  dioptray room allow postgresql://roomkeeper@localhost/room office --as reader

The database makes the login and keeps its password: `createuser --pwprompt lane3`.";

const JOIN: &str = "Example:
  dioptray room join postgresql://lane3@clinic.example/room --seat lane3 --certificate room.pem

The password stands alone in a file that only you can read: one that DIOPTRAY_ROOM_PASSWORD_FILE names, or room.password in the folder \
of the settings. Off this computer the connection is always encrypted, and who answers is checked. Which room was joined is kept \
beside the logbook; DIOPTRAY_ROOM names another address of the same room.";

const LEAVE: &str = "Example:
  dioptray room leave

What was sent stays in the room, and the name is given to nobody else.";

#[derive(Debug, Subcommand)]
enum RoomCommand {
    /// Make the tables of a room in a database, or bring them up to date; as the owner of the database.
    #[command(after_help = format!("{PREPARE}\n\n{CAUTION}"))]
    Prepare(AtAddress),
    /// Let a login of the database do what a role may; as the owner of the database.
    #[command(after_help = format!("{ALLOW}\n\n{CAUTION}"))]
    Allow(Allow),
    /// Join a room with this logbook.
    #[command(after_help = format!("{JOIN}\n\n{CAUTION}"))]
    Join(Join),
    /// Send what is left, and leave the room.
    #[command(after_help = format!("{LEAVE}\n\n{CAUTION}"))]
    Leave,
    /// Say that you have looked at a lens that was counted at two seats.
    Settle(settle::Settle),
    /// List exams that the room has, by seat, site, day or examiner, without fetching them.
    Exams(exams::Exams),
    /// Let go of what was found in exams that are older than so many years; as the owner of the database.
    Keep(keep::Keep),
    /// Erase a closed exam for good, in the room and at every seat: one login asks, another one agrees.
    Erase(erase::Erase),
    /// Go on here with the exam that is open at another seat: its lenses, findings and answers so far, as an exam of this seat.
    TakeOver(take_over::TakeOver),
    /// Look on at exams that are open, as a teacher; nothing can be changed. It goes on until it is interrupted.
    Watch(watch::Watch),
}

#[derive(Debug, Args)]
struct AtAddress {
    /// The room: postgresql://LOGIN@COMPUTER/DATABASE.
    #[arg(value_name = "ADDRESS", value_parser = values::text())]
    address: String,
    /// The certificate by which the computer is known, or of whoever signed it (PEM).
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    certificate: Option<PathBuf>,
}

#[derive(Debug, Args)]
struct Allow {
    #[command(flatten)]
    room: AtAddress,
    /// The login, which the database has already.
    #[arg(value_name = "LOGIN", value_parser = values::text())]
    login: String,
    /// What it may do.
    #[arg(long = "as", value_name = "ROLE", value_enum)]
    role: RoleName,
    /// The site whose records it may see; every one if not given.
    #[arg(long, value_name = "SITE", value_parser = values::text())]
    site: Option<String>,
}

#[derive(Debug, Args)]
struct Join {
    #[command(flatten)]
    room: AtAddress,
    /// What others call this logbook: a letter, then letters or digits, at most 12. It is never given twice in a room.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    seat: String,
    /// The site that this seat is at.
    #[arg(long, value_name = "SITE", value_parser = values::text())]
    site: Option<String>,
    /// Go on under an identity of its own, where another copy of this logbook went on too. What was written here since they parted
    /// is sent as written by this seat.
    #[arg(long)]
    as_new: bool,
    /// Call in after each closed exam and every five minutes, and hang up. Exams that are open and lenses before an eye are not told:
    /// for many centres that keep their records in one place.
    #[arg(long)]
    calls_in: bool,
}

/// What a login may do in a room.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum RoleName {
    /// Sends what its logbook has, takes pieces, reads the records of its site.
    Examiner,
    /// Stock and changes of boxes; no exam.
    Keeper,
    /// Looks on at exams that are open, besides.
    Teacher,
    /// Reads records.
    Reader,
}

impl RoleName {
    fn role(self) -> Role {
        match self {
            Self::Examiner => Role::Examiner,
            Self::Keeper => Role::Keeper,
            Self::Teacher => Role::Teacher,
            Self::Reader => Role::Reader,
        }
    }
}

#[derive(Serialize)]
struct RoomJson {
    room: String,
    there: bool,
    unsent: i64,
    clock_differs_s: Option<f64>,
    seats: Vec<SeatJson>,
    unsettled: usize,
    counted_twice: Vec<settle::CountedTwiceJson>,
    /// What somebody asks to have erased, and what was.
    erasures: Vec<erase::ErasureJson>,
}

#[derive(Serialize)]
struct SeatJson {
    seat: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    site: Option<String>,
    heard: Option<String>,
    head: i64,
    gone: bool,
}

impl Rooms {
    /// Runs the subcommand.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        match self.command {
            None => status(context, out),
            Some(RoomCommand::Prepare(owner)) => {
                let (address, link) = owner.link()?;
                prepare(&link)?;
                writeln!(out, "the room is ready in {} at {}", address.database, address.host)?;
                Ok(Outcome::Done)
            }
            Some(RoomCommand::Allow(asked)) => {
                let (_, link) = asked.room.link()?;
                allow(&link, &asked.login, asked.role.role(), asked.site.as_deref())?;
                let site = asked.site.map_or_else(|| "every site".to_owned(), |site| format!("the site {site}"));
                writeln!(out, "{} is {} of {site}", asked.login, asked.role.role().name())?;
                Ok(Outcome::Done)
            }
            Some(RoomCommand::Join(asked)) => asked.run(context, out),
            Some(RoomCommand::Exams(asked)) => asked.run(context, out),
            Some(RoomCommand::Keep(asked)) => asked.run(context, out),
            Some(RoomCommand::Erase(asked)) => asked.run(context, out),
            Some(RoomCommand::TakeOver(asked)) => asked.run(context, out),
            Some(RoomCommand::Settle(asked)) => asked.run(context, out),
            Some(RoomCommand::Watch(watch)) => watch.run(context, out),
            Some(RoomCommand::Leave) => {
                let (seat, exchanged) = leave(&logbook_path(context)?, folder())?;
                writeln!(out, "{}; {seat} left the room. What it sent stays there", in_words(exchanged))?;
                Ok(Outcome::Done)
            }
        }
    }
}

impl AtAddress {
    fn link(&self) -> Result<(Address, crate::room::link::Link), RoomError> {
        let address: Address = self.address.parse()?;
        let link = connect(&address, self.certificate.as_deref(), folder().as_deref())?;
        Ok((address, link))
    }
}

impl Join {
    fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let path = logbook_path(context)?;
        let certificate = self.room.certificate.as_deref().map(std::path::absolute).transpose()?;
        let address: Address = self.room.address.parse().map_err(RoomError::from)?;
        let seat = SeatName::new(&self.seat)?;
        let (site, calls_in) = (self.site, self.calls_in);
        let joined = Joined { address, seat, site, certificate, calls_in };
        let seat = joined.seat.clone();
        let (welcome, exchanged) = join(&path, joined, self.as_new, folder())?;
        say_if_clocks_differ(&welcome);
        let site = welcome.site.map_or_else(String::new, |site| format!(" at {site}"));
        writeln!(out, "this logbook is {seat}{site} in the room; {}", in_words(exchanged))?;
        if self.calls_in {
            writeln!(
                out,
                "It calls in after each closed exam and every five minutes; nothing of an open exam leaves this computer."
            )?;
        }
        writeln!(out, "Labels and findings are sent to it. Keep names out of labels.")?;
        Ok(Outcome::Done)
    }
}

fn in_words(exchanged: Exchanged) -> String {
    let sent = counted(exchanged.sent, "entry", "entries");
    format!("{sent} sent, {} new here", exchanged.new)
}

/// By how many seconds the clock here is ahead of that of the room.
fn ahead_s(welcome: &Welcome) -> f64 {
    Timestamp::now().as_millisecond() as f64 / 1000.0 - welcome.clock_s
}

fn say_if_clocks_differ(welcome: &Welcome) {
    let ahead = ahead_s(welcome);
    if ahead.abs() > CLOCKS_DIFFER_S {
        let way = if ahead > 0.0 { "ahead of" } else { "behind" };
        note(format_args!(
            "the clock of this computer is {:.0} s {way} the room's: times are kept as they are here, and nothing is ordered by them",
            ahead.abs()
        ));
    }
}

fn status(context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    let caller = Caller::of(&logbook_path(context)?, folder())?;
    let round = caller.connect().and_then(|(link, welcome)| {
        let exchanged = caller.exchange(&link)?;
        let mut there = Heads::default();
        heads(&link, caller.writer)?.iter().for_each(|known| there.learn(known.writer, known.number));
        let twice: Vec<_> = counted_twice(&link, caller.writer)?.into_iter().map(Into::into).collect();
        Ok((welcome, exchanged, there, seats(&link, caller.writer)?, twice, erasures(&link)?))
    });
    erase_what_was_agreed(&mut Logbook::open(&caller.path)?).iter().for_each(note);
    let logbook = Logbook::open_read_only(&caller.path)?;
    let (round, why) = match round {
        Ok(round) => (Some(round), None),
        Err(error) if error.is_away() => (None, Some(error)),
        Err(error) => return Err(error.into()),
    };
    let last_heard = Sent::of(&caller.path);
    let unsettled = unsettled_of_all(&logbook)?;
    let unsent = unsent(&logbook, round.as_ref().map_or(&last_heard, |(_, _, there, ..)| there))?;
    if let Some(why) = &why {
        note(why);
    }
    if context.json {
        let room = caller.joined.address.to_string();
        let there = round.is_some();
        let (clock_differs_s, seats, counted_twice, erasures) = match round {
            Some((welcome, _, _, seats, twice, erasures)) => {
                let erasures = erasures.iter().map(erase::ErasureJson::of).collect();
                (Some(ahead_s(&welcome)), seats.iter().map(SeatJson::of).collect(), twice, erasures)
            }
            None => (None, Vec::new(), Vec::new(), Vec::new()),
        };
        write_line(out, &RoomJson { room, there, unsent, clock_differs_s, seats, unsettled, counted_twice, erasures })?;
        return Ok(Outcome::Done);
    }
    writeln!(out, "{} in the room {}", caller.joined.seat, caller.joined.address)?;
    let Some((welcome, exchanged, _, seats, twice, erasures)) = round else {
        writeln!(out, "the room is away; {unsent} not sent yet, all kept here")?;
        return Ok(Outcome::Done);
    };
    say_if_clocks_differ(&welcome);
    writeln!(out, "{}; {unsent} not sent yet", in_words(exchanged))?;
    if unsettled > 0 {
        writeln!(out, "{} to settle: `dioptray boxes` says in which box", counted(unsettled, "lens", "lenses"))?;
    }
    for twice in &twice {
        writeln!(out, "{}", twice.in_words())?;
    }
    for seat in &seats {
        let site = seat.site.as_deref().map_or_else(String::new, |site| format!(" at {site}"));
        writeln!(out, "  {}{site}: {}, {}", seat.name, counted(seat.head as usize, "entry", "entries"), heard(seat))?;
    }
    erase::write_list(out, &erasures)?;
    Ok(Outcome::Done)
}

fn heard(seat: &SeatThere) -> String {
    let ago = match seat.ago_s {
        ago if ago < 60.0 => "heard just now".to_owned(),
        ago if ago < 5400.0 => format!("not heard for {:.0} min", ago / 60.0),
        ago if ago < 48.0 * 3600.0 => format!("not heard for {:.0} h", ago / 3600.0),
        ago => format!("not heard for {:.0} days", ago / 86400.0),
    };
    if seat.is_gone { "left the room".to_owned() } else { ago }
}

/// A time of the server's clock, from seconds since 1970 (UTC).
fn time(at_s: f64) -> Option<String> {
    Timestamp::from_millisecond((at_s * 1000.0) as i64).ok().map(|at| at.to_string())
}

impl SeatJson {
    fn of(seat: &SeatThere) -> Self {
        Self {
            seat: seat.name.clone(),
            site: seat.site.clone(),
            heard: time(seat.heard_s),
            head: seat.head,
            gone: seat.is_gone,
        }
    }
}
