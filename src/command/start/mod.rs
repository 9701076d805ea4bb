//! `dioptray` alone: the screen, or one frame of it as text.

use std::collections::BTreeSet;
use std::io::{self, IsTerminal as _, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context as _, bail};
use clap::{Args, ValueEnum};
use serde::Serialize;

use super::exams::records::writing_of;
use super::json::write_line;
use super::{Context, Outcome, files, note, values};
use crate::exam::{Event, Exam, Opening};
use crate::frame::FittedFrame;
use crate::kit::shipped::full_box;
use crate::kit::{Stock, read_box};
use crate::practice::examination::known_at_the_door;
use crate::practice::seat::{Seat, Who};
use crate::screen::settings::Settings;
use crate::screen::settings::choices::Choices;
use crate::screen::{AtStart, PrintForm, ScreenStart, Size, Surroundings, is_there, print, run, run_lines};
use crate::session::{BeginError, Beginning, Begun, Session, practising};
use crate::sharing::news::SendsOn;

/// The file beside the logbook that keeps what was chosen on the screen.
const CHOICES: &str = "choices.yaml";

/// The arguments of the screen.
#[derive(Debug, Clone, PartialEq, Default, Args)]
#[command(next_help_heading = "Options of the screen")]
#[expect(clippy::struct_excessive_bools, reason = "each is a flag of its own on the command line")]
pub struct Start {
    /// The box file; without it, the box that was used last, or the demo box.
    #[arg(long = "box", value_name = "FILE", value_parser = values::path())]
    box_file: Option<PathBuf>,
    /// The frame file; without it, the frame that was used last, or the demo frame.
    #[arg(long = "frame", value_name = "FILE", value_parser = values::path())]
    frame_file: Option<PathBuf>,
    /// Who examines: kept with each new exam and written on its record; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
    /// Begin a new exam; one that is still open is put aside.
    #[arg(long)]
    new: bool,
    /// Keep nothing, even if a logbook is named: for a day when it cannot be written.
    #[arg(long)]
    no_logbook: bool,
    /// Keys to begin with, like "-4<enter>" or "<tab>x<backspace>"; needs --print.
    #[arg(long, value_name = "KEYS", requires = "print", value_parser = values::text())]
    keys: Option<String>,
    /// Speak line by line, without a drawing: for a screen reader, a braille line or a pipe. Each line typed is keys, as --keys
    /// takes them, and what it leaves typed is taken; an empty line is enter.
    #[arg(long, conflicts_with = "print")]
    plain_lines: bool,
    /// Print the last frame, or with --as recording all of them, and leave; nothing is kept unless a logbook is named.
    #[arg(long)]
    print: bool,
    /// How the frame is printed; needs --print.
    #[arg(long = "as", value_name = "FORM", requires = "print", value_enum)]
    form: Option<Form>,
    /// Columns and rows of the frame that is printed, 120x36 when not said; needs --print.
    #[arg(long, value_name = "SIZE", requires = "print")]
    size: Option<Size>,
}

/// Which practice eye sits there.
#[derive(Debug, Clone)]
pub struct Sits {
    /// Who, and which of several, where that is known.
    pub who: Who,
    /// Which of several, from 1; if not given, the first that has not ended.
    pub station: Option<u16>,
    /// Whether one that was left comes before it.
    pub goes_on: bool,
    /// Whether somebody is led through a first exam.
    pub learns: bool,
}

/// With what an exam begins.
enum With {
    /// Some events.
    Events(Vec<Event>),
    /// A practice eye.
    Practice(Sits),
}

impl With {
    /// Whether somebody is led through a first exam.
    fn learns(&self) -> bool {
        match self {
            Self::Events(_) => false,
            Self::Practice(sits) => sits.learns,
        }
    }
}

/// How a frame is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Form {
    /// Plain text; so it is when nothing is said.
    Text,
    /// Text with the colours that a terminal understands.
    Ansi,
    /// A picture.
    Svg,
    /// All frames, a key after the other, to be played in a terminal: asciicast, version 2.
    Recording,
}

impl Form {
    /// As the screen prints it.
    pub fn printed(self) -> PrintForm {
        match self {
            Self::Text => PrintForm::Text,
            Self::Ansi => PrintForm::Ansi,
            Self::Svg => PrintForm::Svg,
            Self::Recording => PrintForm::Recording,
        }
    }
}

#[derive(Serialize)]
struct Printed {
    frame: Vec<String>,
}

impl Start {
    /// Whether anything was said that is for the screen.
    pub fn is_asked(&self) -> bool {
        *self != Self::default()
    }

    /// The same with a new exam that begins with some events.
    pub fn run_new(self, first: Vec<Event>, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        Self { new: true, ..self }.run_with(With::Events(first), context, out)
    }

    /// The same with the exam of a practice eye: of this one, or of the one that was left.
    pub fn run_practice(self, sits: Sits, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        self.run_with(With::Practice(sits), context, out)
    }

    /// Opens the screen, or prints a frame of it.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        self.run_with(With::Events(Vec::new()), context, out)
    }

    fn run_with(self, with: With, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let mut settings = Settings::own()?;
        let surroundings = Surroundings::here();
        // A printed frame goes to whoever called us: what the default logbook holds is not theirs.
        let keeps_nothing = self.no_logbook || self.print && context.logbook.is_none();
        let choices = if keeps_nothing {
            None
        } else {
            let path = files::logbook_path(context)?.with_file_name(CHOICES);
            Some(Choices::load(&path, &settings))
        };
        if let Some(choices) = &choices {
            settings = choices.applied();
        }
        if !self.print {
            if context.json {
                bail!("--json answers in JSON, the screen does not: give it with --print or a command");
            }
            // an exam that stands open is not touched for a screen that cannot be
            if !self.plain_lines {
                is_there().context("the screen")?;
            }
            surroundings.adapt(&mut settings);
        }
        let learns = with.learns();
        let (mut begun, first) = match with {
            With::Events(first) => (self.begun(&settings, context, keeps_nothing)?, first),
            With::Practice(sits) => self.sat(sits, &settings, context, keeps_nothing)?,
        };
        let untouched = first.is_empty();
        begun.session.take(first)?;
        files::say(&begun.notes);
        let mut said = AtStart { notes: choices.iter().flat_map(Choices::unread).collect(), hints: Vec::new() };
        said.notes.iter().for_each(note);
        for noted in &begun.notes {
            let to = if noted.is_a_hint() { &mut said.hints } else { &mut said.notes };
            to.push(noted.to_string());
        }
        // whoever names a kit has one, and a program that speaks by lines waits for no offer
        let names_a_kit = self.box_file.is_some() || self.frame_file.is_some();
        let offers_kit = begun.first && untouched && !keeps_nothing && !names_a_kit && !self.print && !self.plain_lines;
        let sends = if self.print || keeps_nothing { None } else { sends_on(&files::logbook_path(context)?) };
        let mut options = ScreenStart {
            session: begun.session,
            settings,
            choices,
            goes_on: begun.goes_on,
            cautions: begun.first,
            offers_kit,
            learns,
            said,
            sends,
            reports_keys: surroundings.reports_keys(),
        };
        if self.plain_lines {
            run_lines(options, io::stdin().lock(), out)?;
            return Ok(Outcome::Done);
        }
        if !self.print {
            run(options).context("the screen")?;
            return Ok(Outcome::Done);
        }
        // The keys are for the exam, not for putting the cautions away or saying once more that it goes on.
        (options.cautions, options.goes_on, options.said) = (false, None, AtStart::default());
        let form = self.form.map_or(PrintForm::Text, Form::printed);
        let frame = print(options, self.keys.as_deref().unwrap_or_default(), self.size.unwrap_or_default(), form)?;
        if context.json {
            write_line(out, &Printed { frame: frame.lines().map(str::to_owned).collect() })?;
        } else {
            out.write_all(frame.as_bytes())?;
        }
        Ok(Outcome::Done)
    }

    fn beginning(&self, settings: &Settings) -> Beginning {
        Beginning {
            box_file: self.box_file.clone(),
            frame_file: self.frame_file.clone(),
            new: self.new,
            carries_over: None,
            writing: writing_of(settings, self.by.clone()),
        }
    }

    /// The exam of a practice eye to begin with, and with what it begins.
    fn sat(
        &self,
        sits: Sits,
        settings: &Settings,
        context: &Context,
        keeps_nothing: bool,
    ) -> anyhow::Result<(Begun, Vec<Event>)> {
        let begun = |session| Begun { session, goes_on: None, notes: Vec::new(), first: false };
        let beginning = self.beginning(settings);
        let real = if keeps_nothing { None } else { Some(files::logbook_path(context)?) };
        let by_code = sits.who.is_coded();
        if let (Some(real), true) = (&real, (sits.goes_on || by_code) && !self.new)
            && let Some(session) = beginning.last_sitting(real)?
        {
            let sitter = session.exam().opening().sitter.as_ref();
            let is_of_code = sitter.is_some_and(|sitter| sitter.who == sits.who.to_string());
            if !by_code || is_of_code && sits.station.is_none() {
                return Ok((begun(session), Vec::new()));
            }
        }
        let ended = match &real {
            Some(real) => practising::ended(&practising::practice_logbook(real), &sits.who.to_string())?,
            None => BTreeSet::new(),
        };
        let seat = match sits.who {
            Who::Coded(code) => {
                let next = || (1..=code.of).find(|station| !ended.contains(station));
                let Some(station) = sits.station.or_else(next) else {
                    bail!("all {} eyes of this code are done: `dioptray practice hand-in` hands them in", code.of)
                };
                Seat::coded(code, station)?
            }
            who @ (Who::Drawn { .. } | Who::Case { .. }) => Seat::of(who)?,
        };
        let declared = self.box_file.as_deref().map_or_else(full_box, read_box)?;
        let fitted = FittedFrame::new(files::frame(self.frame_file.as_deref())?, Stock::of(&declared));
        if let Who::Coded(code) = &seat.who {
            code.fits(&fitted.stock, &fitted.frame)?;
        }
        let opening = Opening { fitted, sitter: Some(seat.sitter()) };
        let session = match real {
            Some(real) => beginning.sit(&real, opening)?,
            None => Session::in_memory(Exam::open(opening)),
        };
        Ok((begun(session), known_at_the_door(&seat.person).into_iter().map(Event::Detail).collect()))
    }

    /// The exam to begin with, in the logbook or in memory alone.
    fn begun(&self, settings: &Settings, context: &Context, keeps_nothing: bool) -> anyhow::Result<Begun> {
        let mut beginning = self.beginning(settings);
        let begun = if keeps_nothing {
            beginning.in_memory().map(|session| Begun { session, goes_on: None, notes: Vec::new(), first: true })
        } else {
            let path = files::logbook_path(context)?;
            let begun = beginning.in_logbook(&path);
            let known = begun.as_ref().err().and_then(BeginError::known_by_name);
            match known.filter(|_| !self.print && io::stdin().is_terminal()) {
                Some((name, id)) => {
                    beginning.carries_over = Some(is_the_same(name, id)?);
                    beginning.in_logbook(&path)
                }
                None => begun,
            }
        };
        // faults as they stand, so that editors find the places
        begun.map_err(|error| error.into_faults().map_or_else(Into::into, Into::into))
    }
}

/// Asks in the terminal, before the screen opens, whether a box with an `id` is the one that the logbook knows by its name.
fn is_the_same(name: &str, id: &str) -> io::Result<bool> {
    loop {
        eprint!(
            "The logbook knows a box by the name {name}, and this file now has the id {id}.\n\
             Is it the same box? y: what is known of it goes over to the id, n: it is another box. "
        );
        let mut line = String::new();
        if io::stdin().read_line(&mut line)? == 0 {
            return Err(io::ErrorKind::UnexpectedEof.into());
        }
        match line.trim() {
            "y" | "Y" => return Ok(true),
            "n" | "N" => return Ok(false),
            _ => {}
        }
    }
}

/// Whoever sends on what is kept, where the logbook joined a room. That nothing is known of the room is said, and stops nobody.
#[cfg(feature = "room")]
fn sends_on(logbook: &Path) -> Option<Box<dyn SendsOn>> {
    use crate::room::{joined::Joined, joining::Caller, sender::Sender};
    let caller = match Joined::of(logbook) {
        Ok(None) => return None,
        Ok(Some(_)) => Caller::of(logbook, files::settings_folder()),
        Err(error) => Err(error),
    };
    caller.map_err(note).ok().map(|caller| Box::new(Sender::start(caller)) as Box<dyn SendsOn>)
}

/// Built without rooms, nobody sends anything on.
#[cfg(not(feature = "room"))]
fn sends_on(_logbook: &Path) -> Option<Box<dyn SendsOn>> {
    None
}
