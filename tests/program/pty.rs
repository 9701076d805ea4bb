//! The screen in a real terminal: started, typed at, resized, ended in every way, and the terminal given back each time.
//!
//! Nothing sleeps: every wait is for something on the terminal, with a deadline.
#![cfg(unix)]

use std::error::Error;
use std::io::{Read, Write};
use std::num::NonZero;
use std::sync::{Arc, Condvar, Mutex, mpsc};
use std::time::{Duration, Instant};

use dioptray::exam::{CheckedStep, Exam, Opening};
use dioptray::frame::{FittedFrame, shipped::demo_frame};
use dioptray::kit::{Stock, shipped::demo_box};
use dioptray::practice::seat::{Seat, Who};
use dioptray::screen::settings::PixelProtocol;
use dioptray::screen::{ScreenStart, Settings, run};
use dioptray::session::{InMemory, Journal, SaveError, Session};
use portable_pty::{Child, CommandBuilder, ExitStatus, MasterPty, PtySize, native_pty_system};

pub type Failure = Box<dyn Error>;

pub const DEADLINE: Duration = Duration::from_secs(30);
/// What the screens below are to do.
const ROLE: &str = "DIOPTRAY_PTY_ROLE";
/// It has a practice eye and pictures in pixels, and cannot keep anything.
pub const BREAKS_IN_PIXELS: &str = "breaks in pixels";

/// The screen itself, in a process of its own; without a role there is nothing to do.
#[test]
fn the_screen_under_test() -> Result<(), Failure> {
    let Ok(role) = std::env::var(ROLE) else {
        return Ok(());
    };
    let journal: Box<dyn Journal> = if role == "runs" { Box::new(InMemory::default()) } else { Box::new(Breaks) };
    let fitted = FittedFrame::new(demo_frame()?, Stock::of(&demo_box()?));
    let (mut opening, mut settings) = (Opening::of(fitted), Settings::shipped()?);
    if role == BREAKS_IN_PIXELS {
        opening.sitter = Some(Seat::of(Who::Case { name: "kits/eyes/oblique.yaml".into(), seed: 7 })?.sitter());
        settings.pictures = Some(PixelProtocol::Kitty);
    }
    run(ScreenStart {
        session: Session::new(Exam::open(opening), journal),
        settings,
        choices: None,
        goes_on: None,
        cautions: false,
        offers_kit: false,
        learns: false,
        said: dioptray::screen::AtStart::default(),
        sends: None,
        reports_keys: true,
    })?;
    Ok(())
}

/// A fault of the program at its worst moment.
struct Breaks;

impl Journal for Breaks {
    #[expect(clippy::panic, reason = "the panic is what is tested")]
    fn save(&mut self, _step: &CheckedStep) -> Result<(), SaveError> {
        panic!("the journal broke");
    }

    fn lasts(&self) -> bool {
        true
    }
}

/// What has come out of the terminal, and whether it is over.
pub struct Seen {
    pub parser: vt100::Parser,
    /// Every byte of it, where they are asked for.
    pub bytes: Option<Vec<u8>>,
    over: bool,
}

pub struct Terminal {
    pub master: Box<dyn MasterPty + Send>,
    keyboard: Box<dyn Write + Send>,
    pub child: Box<dyn Child + Send + Sync>,
    pub seen: Arc<(Mutex<Seen>, Condvar)>,
    pub modes_before: u32,
}

pub fn size(columns: u16, rows: u16) -> PtySize {
    PtySize { rows, cols: columns, pixel_width: 0, pixel_height: 0 }
}

fn count(cells: u16) -> Result<NonZero<u16>, Failure> {
    NonZero::new(cells).ok_or_else(|| "a terminal without cells".into())
}

/// The screen of this test program in a role.
pub fn in_role(role: &str) -> Result<CommandBuilder, Failure> {
    let mut command = CommandBuilder::new(std::env::current_exe()?);
    command.args(["pty::the_screen_under_test", "--exact", "--nocapture", "--test-threads=1"]);
    command.env(ROLE, role);
    Ok(command)
}

impl Terminal {
    fn start(role: &str) -> Result<Self, Failure> {
        Self::run(in_role(role)?)
    }

    pub fn run(command: CommandBuilder) -> Result<Self, Failure> {
        Self::run_in(command, size(120, 36), None)
    }

    /// The same with every byte kept, in a terminal of 120 by 36 characters that says how many pixels it has.
    pub fn run_heard(command: CommandBuilder, pixels: (u16, u16)) -> Result<Self, Failure> {
        let size = PtySize { pixel_width: pixels.0, pixel_height: pixels.1, ..size(120, 36) };
        Self::run_in(command, size, Some(Vec::new()))
    }

    fn run_in(mut command: CommandBuilder, size: PtySize, bytes: Option<Vec<u8>>) -> Result<Self, Failure> {
        let pair = native_pty_system().openpty(size)?;
        let modes_before = local_modes(pair.master.as_ref())?;
        command.env("TERM", "xterm-256color");
        command.env("RUST_BACKTRACE", "0");
        command.env_remove("NO_COLOR");
        command.env("LC_ALL", "C.UTF-8");
        let child = pair.slave.spawn_command(command)?;
        drop(pair.slave);
        let mut output = pair.master.try_clone_reader()?;
        let keyboard = pair.master.take_writer()?;
        let seen = Arc::new((
            Mutex::new(Seen { parser: vt100::Parser::new(count(36)?, count(120)?, 0), bytes, over: false }),
            Condvar::new(),
        ));
        let sees = Arc::clone(&seen);
        std::thread::spawn(move || {
            let mut bytes = [0; 4096];
            loop {
                let count = output.read(&mut bytes).unwrap_or(0);
                let Ok(mut seen) = sees.0.lock() else { return };
                seen.parser.process(&bytes[..count]);
                if let Some(heard) = &mut seen.bytes {
                    heard.extend_from_slice(&bytes[..count]);
                }
                seen.over = count == 0;
                sees.1.notify_all();
                if count == 0 {
                    return;
                }
            }
        });
        Ok(Self { master: pair.master, keyboard, child, seen, modes_before })
    }

    /// Waits until the terminal looks as it should; what it shows at the deadline is in the failure.
    pub fn wait(&self, what: &str, looks: impl Fn(&Seen) -> bool) -> Result<(), Failure> {
        let until = Instant::now() + DEADLINE;
        let mut seen = self.seen.0.lock().map_err(|_| "the reader broke")?;
        while !looks(&seen) {
            let Some(left) = until.checked_duration_since(Instant::now()) else {
                return Err(format!("no {what}; the terminal shows\n{}", seen.parser.screen().contents()).into());
            };
            (seen, _) = self.seen.1.wait_timeout(seen, left).map_err(|_| "the reader broke")?;
        }
        Ok(())
    }

    /// What the terminal shows now.
    pub fn contents(&self) -> Result<String, Failure> {
        Ok(self.seen.0.lock().map_err(|_| "the reader broke")?.parser.screen().contents())
    }

    pub fn wait_for(&self, text: &str) -> Result<(), Failure> {
        self.wait(&format!("`{text}`"), |seen| seen.parser.screen().contents().contains(text))
    }

    pub fn type_keys(&mut self, keys: &str) -> Result<(), Failure> {
        self.keyboard.write_all(keys.as_bytes())?;
        Ok(self.keyboard.flush()?)
    }

    /// The keyboard, for somebody else to type at.
    pub fn keyboard(&mut self) -> Box<dyn Write + Send> {
        std::mem::replace(&mut self.keyboard, Box::new(std::io::sink()))
    }

    pub fn resize(&self, columns: u16, rows: u16) -> Result<(), Failure> {
        let mut seen = self.seen.0.lock().map_err(|_| "the reader broke")?;
        seen.parser.screen_mut().set_size(count(rows)?, count(columns)?);
        drop(seen);
        Ok(self.master.resize(size(columns, rows))?)
    }

    pub fn signal(&self, signal: &str) -> Result<(), Failure> {
        let id = self.child.process_id().ok_or("no process")?;
        let sent = std::process::Command::new("kill").args([&format!("-{signal}"), &id.to_string()]).status()?;
        if sent.success() { Ok(()) } else { Err("the signal was not sent".into()) }
    }

    /// Waits for the end, and checks that the terminal is as it was before.
    pub fn end(mut self) -> Result<(ExitStatus, String), Failure> {
        let (sender, receiver) = mpsc::channel();
        let mut child = std::mem::replace(&mut self.child, Box::new(NoChild));
        std::thread::spawn(move || sender.send(child.wait()));
        let status = receiver.recv_timeout(DEADLINE).map_err(|_| "the screen does not end")??;
        let modes = local_modes(self.master.as_ref())?;
        self.wait("end of output", |seen| seen.over)?;
        let seen = self.seen.0.lock().map_err(|_| "the reader broke")?;
        let screen = seen.parser.screen();
        assert_eq!(modes, self.modes_before, "the line discipline is as it was");
        assert!(!screen.alternate_screen(), "the alternate screen is left");
        assert!(!screen.hide_cursor(), "the cursor is shown");
        assert!(!screen.bracketed_paste(), "pasting is as it was");
        assert_eq!(screen.mouse_protocol_mode(), vt100::MouseProtocolMode::None, "the mouse is let go");
        Ok((status, screen.contents()))
    }
}

pub fn local_modes(master: &dyn MasterPty) -> Result<u32, Failure> {
    Ok(master.get_termios().ok_or("no line discipline")?.local_flags.bits())
}

/// Stands in for a process that is waited for elsewhere.
#[derive(Debug)]
struct NoChild;

impl portable_pty::ChildKiller for NoChild {
    fn kill(&mut self) -> std::io::Result<()> {
        Ok(())
    }
    fn clone_killer(&self) -> Box<dyn portable_pty::ChildKiller + Send + Sync> {
        Box::new(Self)
    }
}

impl Child for NoChild {
    fn try_wait(&mut self) -> std::io::Result<Option<ExitStatus>> {
        Ok(None)
    }
    fn wait(&mut self) -> std::io::Result<ExitStatus> {
        Ok(ExitStatus::with_exit_code(0))
    }
    fn process_id(&self) -> Option<u32> {
        None
    }
}

#[test]
fn typed_at_and_left_by_its_key() -> Result<(), Failure> {
    let mut terminal = Terminal::start("runs")?;
    terminal.wait_for("RIGHT EYE")?;
    terminal.type_keys("-4\r-0.75x30\r")?;
    terminal.wait_for("-0.75x30 in right 3, because cell 1 holds -4.00")?;
    terminal.type_keys("w-4.25/-0.75x180\r1")?;
    terminal.wait_for("proposal 1 is in")?;
    terminal.type_keys("u")?;
    terminal.wait_for("undone")?;
    terminal.type_keys("q")?;
    let (status, _) = terminal.end()?;
    assert!(status.success(), "{status:?}");
    Ok(())
}

#[test]
fn a_pasted_lens_waits_for_enter_and_a_click_moves_the_focus() -> Result<(), Failure> {
    let mut terminal = Terminal::start("runs")?;
    terminal.wait_for("RIGHT EYE")?;
    terminal.type_keys("\u{1b}[200~-2.50\n\u{1b}[201~")?;
    terminal.wait_for("lens for right 1: -2.50")?;
    terminal.type_keys("\r")?;
    terminal.wait_for("-2.50 in right 1")?;
    // the first cell of the left eye, counted from 1 as terminals do
    terminal.type_keys("\u{1b}[<0;69;16M")?;
    terminal.wait_for("▸LEFT EYE")?;
    terminal.type_keys("q")?;
    terminal.end()?;
    Ok(())
}

#[test]
fn made_as_small_as_can_be_and_large_again() -> Result<(), Failure> {
    let mut terminal = Terminal::start("runs")?;
    terminal.wait_for("RIGHT EYE")?;
    terminal.type_keys("-4\r")?;
    terminal.wait_for("-4.00 in right 1")?;
    terminal.resize(40, 10)?;
    terminal.wait_for("needs 60x20")?;
    terminal.resize(1, 1)?;
    terminal.wait("one character", |seen| seen.parser.screen().contents().trim().chars().count() == 1)?;
    terminal.resize(80, 24)?;
    terminal.wait_for("▸)( -4.00")?;
    terminal.type_keys("q")?;
    terminal.end()?;
    Ok(())
}

#[test]
fn a_fault_of_the_program_gives_the_terminal_back_and_is_reported() -> Result<(), Failure> {
    let mut terminal = Terminal::start("breaks")?;
    terminal.wait_for("RIGHT EYE")?;
    terminal.type_keys("-4\r")?;
    let (status, shown) = terminal.end()?;
    assert!(!status.success());
    assert!(shown.contains("the journal broke"), "{shown}");
    Ok(())
}

#[test]
fn ended_from_outside() -> Result<(), Failure> {
    for signal in ["TERM", "HUP", "INT"] {
        let terminal = Terminal::start("runs")?;
        terminal.wait_for("RIGHT EYE")?;
        terminal.signal(signal)?;
        let (status, _) = terminal.end()?;
        assert!(!status.success(), "{signal}: {status:?}");
    }
    Ok(())
}

/// The program itself on a logbook of its own, with nothing else of this machine's user.
pub fn program(folder: &std::path::Path) -> CommandBuilder {
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_dioptray"));
    command.arg("--logbook");
    command.arg(folder.join("logbook"));
    command.env("HOME", folder);
    command.env_remove("XDG_CONFIG_HOME");
    command.env_remove("DIOPTRAY_LOGBOOK");
    command
}

#[test]
fn killed_in_the_middle_of_every_step_of_the_guide_it_goes_on_there() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    // what is typed, and what the guide then asks
    let steps = [
        (" gy1", "none of these"),
        ("1", "How old are you?"),
        ("42\r", "blurred far away only"),
        ("1", "3 3 m"),
        ("6", "the right eye in mm"),
        ("31.5\r", "the left eye in mm"),
        ("31\r", "no glasses"),
        ("1", "What do you do close up"),
        ("4", "neither, or not known"),
        ("3", "RIGHT EYE, other covered"),
        ("8", "LEFT EYE, other covered"),
        ("7", "1 right: first lens"),
        ("1", "Hold +1.00"),
        ("8", "1 right: best vision sphere"),
        ("1", "step 1 "),
        ("8", "step 2 "),
        ("3", "step 3 "),
    ];
    let mut asked = "RIGHT EYE";
    for (keys, then) in steps {
        let mut terminal = Terminal::run(program(folder.path()))?;
        terminal.wait_for(asked)?;
        terminal.type_keys(keys)?;
        terminal.wait_for(then)?;
        terminal.signal("KILL")?;
        let mut child = std::mem::replace(&mut terminal.child, Box::new(NoChild));
        child.wait()?;
        asked = then;
    }
    Terminal::run(program(folder.path()))?.wait_for(asked)
}

#[test]
fn ctrl_c_ends_an_evaluation_with_what_it_has() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let figures = folder.path().join("figures.json");
    // far more than are examined before the deadline; the answer goes to a file, what is beside it to the terminal
    let mut command = CommandBuilder::new("sh");
    command.args([
        "-c",
        "exec \"$0\" practice evaluate --eyes 1000000 --json > \"$1\"",
        env!("CARGO_BIN_EXE_dioptray"),
    ]);
    command.arg(&figures);
    command.env("HOME", folder.path());
    command.env_remove("DIOPTRAY_LOGBOOK");
    let mut terminal = Terminal::run(command)?;
    terminal.wait("an exam that is done", |seen| {
        let shown = seen.parser.screen().contents();
        shown.contains(" of 1000000 exams") && !shown.contains(" 0 of 1000000 exams")
    })?;
    terminal.type_keys("\u{3}")?;
    let (status, shown) = terminal.end()?;
    assert!(status.success(), "{status:?}: {shown}");
    let figures: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(figures)?)?;
    let eyes = figures["eyes"].as_u64().ok_or("no eyes")?;
    assert!((1..1_000_000).contains(&eyes), "{eyes}");
    // wherever the terminal breaks the line
    let words = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("note: stopped by Ctrl-c") && words.contains(&format!("of the {eyes} eyes")), "{shown}");
    Ok(())
}
