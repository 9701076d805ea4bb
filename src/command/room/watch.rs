//! `dioptray room watch`: a teacher looks on.

use std::io::{self, IsTerminal as _, Write};
use std::time::Duration;

use anyhow::bail;
use clap::Args;
use serde::Serialize;
use tokio::sync::mpsc::unbounded_channel;

use crate::command::files::{logbook_path, settings_folder as folder};
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::exam::Exam;
use crate::room::joining::Caller;
use crate::room::link::{Link, Woken};
use crate::room::watching::{OpenThere, open_exams};
use crate::screen::settings::Settings;
use crate::screen::{AtStart, PrintForm, ScreenStart, Size, print};
use crate::session::Session;

/// Looked at this often, for what a hint missed.
const LOOKS_EVERY: Duration = Duration::from_secs(5);
/// Many steps of a class are one look.
const LOOKS_AT_MOST_EVERY: Duration = Duration::from_millis(100);
/// After the room was away it is called again this often.
const CALLS_EVERY: Duration = Duration::from_secs(2);
/// Clears a terminal and goes to its first place (ECMA-48: ED and CUP).
const FROM_THE_TOP: &str = "\x1b[2J\x1b[H";

/// The arguments of `dioptray room watch`.
#[derive(Debug, Args)]
#[command(after_help = format!("{WATCH}\n\n{CAUTION}"))]
pub struct Watch {
    /// The seat to look on at; without one, a line for each exam that is open.
    #[arg(value_name = "SEAT", value_parser = values::text())]
    seat: Option<String>,
    /// Look once, and leave.
    #[arg(long)]
    once: bool,
    /// Columns and rows of what is drawn, 120x36 when not said.
    #[arg(long, value_name = "SIZE")]
    size: Option<Size>,
}

const WATCH: &str = "Examples:
  dioptray room watch
  dioptray room watch lane3 --size 80x24

It shows the student's exam as it stands, after each of their steps. What the student has typed and not confirmed is not seen, nor what \
is open on their screen besides. It needs a login with the role teacher.";

#[derive(Serialize)]
struct OpenJson {
    seat: String,
    exam: i64,
    by: Option<String>,
    opened: String,
    steps: i64,
}

impl Watch {
    /// Looks on until it is interrupted.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let caller = Caller::of(&logbook_path(context)?, folder())?;
        if context.json && (self.seat.is_some() || !self.once) {
            bail!("--json lists the exams that are open, once: give it with --once and without a seat");
        }
        let (_for_ever, mut asked) = unbounded_channel::<()>();
        let mut followed: Option<OpenThere> = None;
        loop {
            let (mut link, _) = match caller.connect() {
                Err(error) if error.is_away() && !self.once => {
                    show(out, &format!("{error}\n"))?;
                    std::thread::sleep(CALLS_EVERY);
                    continue;
                }
                connected => connected?,
            };
            link.listen_to_steps()?;
            loop {
                let looked = self.look(&link, &mut followed, context, out);
                if self.once {
                    return looked.map(|()| Outcome::Done);
                }
                looked?;
                if !link.rest(LOOKS_AT_MOST_EVERY).is_empty() {
                    continue;
                }
                match link.wait(&mut asked, LOOKS_EVERY) {
                    Woken::Broken | Woken::Left => break,
                    Woken::Asked(()) | Woken::Knocked(_) | Woken::Nothing => {}
                }
            }
        }
    }

    fn look(
        &self,
        link: &Link,
        followed: &mut Option<OpenThere>,
        context: &Context,
        out: &mut dyn Write,
    ) -> anyhow::Result<()> {
        let open = open_exams(link)?;
        let Some(seat) = &self.seat else {
            if context.json {
                let lines: Vec<OpenJson> = open.iter().map(OpenJson::of).collect();
                return Ok(write_line(out, &lines)?);
            }
            return show(out, &listed(&open));
        };
        let Some(there) = open.into_iter().find(|exam| exam.seat == *seat) else {
            *followed = None;
            return show(out, &format!("no exam is open at {seat}\n"));
        };
        // what is known of it already is not asked for again
        let exam = match followed.take().filter(|known| known.is(&there)) {
            Some(known) => followed.insert(known),
            None => followed.insert(there),
        };
        let shown = drawn(exam.as_it_stands(link)?, exam, self.size.unwrap_or_default())?;
        show(out, &shown)
    }
}

/// Writes what is seen now in place of what was seen before, where there is a screen to do that on.
fn show(out: &mut dyn Write, text: &str) -> anyhow::Result<()> {
    if io::stdout().is_terminal() {
        out.write_all(FROM_THE_TOP.as_bytes())?;
    }
    out.write_all(text.as_bytes())?;
    Ok(out.flush()?)
}

fn listed(open: &[OpenThere]) -> String {
    if open.is_empty() {
        return "no exam is open at any seat\n".to_owned();
    }
    let line = |exam: &OpenThere| {
        let by = exam.by.as_deref().map_or_else(String::new, |by| format!(", {by}"));
        let ago = exam.ago_s / 60.0;
        let heard = if ago < 1.0 { String::new() } else { format!(", nothing new for {ago:.0} min") };
        format!("{}: exam {}{by}, {} steps{heard}\n", exam.seat, exam.number, exam.step_count)
    };
    open.iter().map(line).collect()
}

fn drawn(exam: Exam, of: &OpenThere, size: Size) -> anyhow::Result<String> {
    let options = ScreenStart {
        session: Session::looked_on(exam),
        settings: Settings::own()?,
        choices: None,
        goes_on: None,
        cautions: false,
        offers_kit: false,
        learns: false,
        said: AtStart {
            notes: Vec::new(),
            hints: vec![format!("looking on at {}-{}: nothing can be changed", of.seat, of.number)],
        },
        sends: None,
        reports_keys: false,
    };
    Ok(print(options, "", size, PrintForm::Text)?)
}

impl OpenJson {
    fn of(exam: &OpenThere) -> Self {
        Self {
            seat: exam.seat.clone(),
            exam: exam.number,
            by: exam.by.clone(),
            opened: exam.opened.clone(),
            steps: exam.step_count,
        }
    }
}
