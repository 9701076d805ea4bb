//! The arguments of the program, and the command that they name.

use std::io::{self, Write};
use std::path::PathBuf;
use std::sync::LazyLock;

use clap::error::ErrorKind;
use clap::{CommandFactory, Parser, Subcommand};

use super::boxes::SheetFaults;
use super::context::{CAUTION, Context, Outcome, WrongUsage};
use super::{
    acuity, boxes, completions, convert, day, exams, learn, logbook, man, net, parcel, practice, retinoscopy, stack,
    start, values,
};
use crate::exam::cautions;
use crate::kit::document::Faults;
use crate::kit::document::fault::shown;

/// Refraction with a trial frame and a box of loose lenses. Without a command it opens the screen.
#[derive(Debug, Parser)]
#[command(name = "dioptray", version, long_version = VERSION.as_str(), after_help = format!("{EXIT_CODES}\n\n{CAUTION} {}", cautions::REFER_IN_HELP))]
pub struct Cli {
    /// The logbook file; by default it lies in your data folder.
    #[arg(long, global = true, value_name = "FILE", env = LOGBOOK, hide_env_values = true, display_order = 900, value_parser = values::path())]
    logbook: Option<PathBuf>,
    /// Answer in JSON, numbers in full precision.
    #[arg(long, global = true, display_order = 901)]
    json: bool,
    #[command(flatten)]
    start: start::Start,
    #[command(subcommand)]
    command: Option<Command>,
}

/// The version, and the commit where the build names it in `DIOPTRAY_COMMIT`, as that of the packages does.
static VERSION: LazyLock<String> = LazyLock::new(|| {
    let commit = option_env!("DIOPTRAY_COMMIT").filter(|commit| !commit.is_empty());
    let commit = commit.map_or_else(String::new, |commit| format!(" ({commit})"));
    format!("{}{commit}", env!("CARGO_PKG_VERSION"))
});

/// The variable that names the logbook where no option does.
const LOGBOOK: &str = "DIOPTRAY_LOGBOOK";

const EXIT_CODES: &str = "Examples:
  dioptray --box kits/boxes/outreach.yaml --frame kits/frames/four-cell.yaml
  dioptray --keys \"-4<enter>\" --print --size 80x24
  dioptray net -4.25 . -0.75x180

Exit codes: 0 done; 1 the input is at fault (message on standard error, nothing on standard \
output); 2 wrong usage; 3 done, but no stack reaches the wanted power.

Axes are degrees on the dial as the examiner sees it: 0 at the right, anticlockwise, the same for both eyes.";

/// What the program can do without its screen.
#[derive(Debug, Subcommand)]
enum Command {
    /// True power of a stack of lenses: marked sum, net at cell 1, at the cornea, prism.
    Net(net::Net),
    /// Transpose, move, add up and compare prescriptions; prism, tilt, near and centres of what they make.
    Convert(Box<convert::Convert>),
    /// Which lenses to stack for a wanted power, from those the box has.
    Stack(stack::Stack),
    /// Power from the reversals of two perpendicular meridians, less the working distance.
    Retinoscopy(retinoscopy::Retinoscopy),
    /// One acuity in every notation.
    Acuity(acuity::Acuities),
    /// Check, list or change a box of trial lenses.
    Box(boxes::Boxes),
    /// Every box that the logbook knows.
    Boxes(boxes::AllBoxes),
    /// List, show or export the exams of the logbook.
    Exam(exams::Exams),
    /// A day of many people: begin it, list it, end it.
    Day(day::Days),
    /// Copy or check the logbook as a whole.
    Logbook(logbook::Logbooks),
    /// What this logbook wrote, in a file that is carried to other seats, and theirs read here.
    Parcel(parcel::Parcels),
    /// One record with other seats, on PostgreSQL: join a room, see who is in it, leave it.
    #[cfg(feature = "room")]
    Room(super::room::Rooms),
    /// Practice eyes: lead a named case, ask an eye, or measure the guide on many.
    Practice(practice::Practice),
    /// A first exam, step by step: for whoever has never held a trial lens.
    Learn(learn::Learn),
    /// Completions for a shell.
    Completions(completions::Completions),
    /// The manual pages.
    Man(man::Man),
}

impl Cli {
    /// Parses the arguments of the program; powers like `-0.75x180` are not options.
    pub fn from_arguments() -> Self {
        Self::parse_from(values::marked(std::env::args_os()))
    }

    /// Runs the command and writes its answer.
    ///
    /// # Errors
    /// When the input is at fault, or the answer cannot be written.
    pub fn run(self, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let nameless = self.logbook.as_ref().is_some_and(|file| file.as_os_str().is_empty());
        // a variable that is set to nothing names no file; an option that is given nothing was meant to
        if nameless && std::env::var_os(LOGBOOK).is_none_or(|named| !named.is_empty()) {
            let message = "--logbook names no file: give it the name of one".to_owned();
            Self::command().error(ErrorKind::InvalidValue, message).exit();
        }
        let context = Context { json: self.json, logbook: self.logbook.filter(|_| !nameless) };
        let done = match self.command {
            None => self.start.run(&context, out),
            Some(_) if self.start.is_asked() => Err(WrongUsage {
                kind: ErrorKind::ArgumentConflict,
                message: "options of the screen stand without a command; those of a command follow it".to_owned(),
            }
            .into()),
            Some(command) => command.run(&context, out),
        };
        if let Err(error) = &done
            && let Some(wrong) = error.downcast_ref::<WrongUsage>()
        {
            Self::command().error(wrong.kind, &wrong.message).exit();
        }
        done
    }
}

impl Command {
    fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        match self {
            Self::Net(net) => net.run(context, out),
            Self::Convert(convert) => convert.run(context, out),
            Self::Stack(stack) => stack.run(context, out),
            Self::Retinoscopy(retinoscopy) => retinoscopy.run(context, out),
            Self::Acuity(acuity) => acuity.run(context, out),
            Self::Box(boxes) => boxes.run(context, out),
            Self::Boxes(boxes) => boxes.run(context, out),
            Self::Exam(exams) => exams.run(context, out),
            Self::Day(days) => days.run(context, out),
            Self::Logbook(logbook) => logbook.run(context, out),
            Self::Parcel(parcels) => parcels.run(context, out),
            #[cfg(feature = "room")]
            Self::Room(rooms) => rooms.run(context, out),
            Self::Practice(practice) => practice.run(context, out),
            Self::Learn(learn) => learn.run(context, out),
            Self::Completions(completions) => completions.run(&mut Cli::command(), context, out),
            Self::Man(man) => man.run(Cli::command(), context, out),
        }
    }
}

/// The message of an error for standard error; faults of a file stand as they are, so that editors find the places.
pub fn explain(error: &anyhow::Error) -> String {
    let faults = error.downcast_ref::<Faults>().map(ToString::to_string);
    faults.or_else(|| error.downcast_ref::<SheetFaults>().map(ToString::to_string)).unwrap_or_else(|| {
        // what was given may hold what a terminal would obey
        format!("error: {}", harmless(&format!("{error:#}")))
    })
}

/// A text of several lines in which no character controls a terminal or turns the order of others.
fn harmless(text: &str) -> String {
    text.split('\n').map(shown).collect::<Vec<_>>().join("\n")
}

/// Whether the reader of our output has gone away.
pub fn is_closed_pipe(error: &anyhow::Error) -> bool {
    let io_error = error.downcast_ref::<io::Error>();
    io_error.is_some_and(|error| error.kind() == io::ErrorKind::BrokenPipe)
}
