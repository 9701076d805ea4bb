//! `dioptray room`: many machines, one record.

mod at_address;
mod erase;
mod exams;
mod keep;
mod said;
mod settle;
mod status;
mod take_over;
mod watch;

use std::io::Write;

use clap::{Args, Subcommand, ValueEnum};

use self::at_address::AtAddress;
use self::said::{in_words, say_if_clocks_differ};
use self::status::status;
use crate::command::context::CAUTION;
use crate::command::files::{logbook_path, settings_folder as folder};
use crate::command::{Context, Outcome, values};
use crate::room::address::Address;
use crate::room::error::RoomError;
use crate::room::joined::Joined;
use crate::room::joining::{join, leave};
use crate::room::prepare::{Role, allow, prepare};
use crate::sharing::SeatName;

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
