//! A terminal that goes away, stalls, is asked back, lies about its size, or takes more than it should; and files that are full.
//!
//! Nothing sleeps: every wait is for something that the program does, with a deadline.
#![cfg(target_os = "linux")]

use std::io::{Read, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::mpsc;
use std::time::Instant;

use portable_pty::{CommandBuilder, ExitStatus, native_pty_system};

use super::pty::{DEADLINE, Failure, Terminal, local_modes, program, size};

/// Asks again and again until it is so.
pub fn until(what: &str, mut holds: impl FnMut() -> bool) -> Result<(), Failure> {
    let deadline = Instant::now() + DEADLINE;
    while !holds() {
        if Instant::now() > deadline {
            return Err(format!("not {what}").into());
        }
        std::thread::yield_now();
    }
    Ok(())
}

/// What is said of a step that could not be kept.
const REFUSED: &str = "not saved, so not done";

/// Whether a process is stopped, as by ctrl-z.
pub fn is_stopped(process: u32) -> bool {
    let stat = std::fs::read_to_string(format!("/proc/{process}/stat")).unwrap_or_default();
    stat.rsplit(')').next().is_some_and(|rest| rest.trim_start().starts_with('T'))
}

#[test]
fn suspended_by_key_or_signal_it_gives_the_terminal_back_and_goes_on_where_it_was() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let mut terminal = Terminal::run(program(folder.path()))?;
    terminal.wait_for("RIGHT EYE")?;
    terminal.type_keys(" -4\r")?;
    terminal.wait_for("-4.00 in right 1")?;
    let process = terminal.child.process_id().ok_or("no process")?;
    for by_key in [true, false] {
        if by_key {
            terminal.type_keys("\u{1a}")?;
        } else {
            terminal.signal("TSTP")?;
        }
        until("stopped", || is_stopped(process))?;
        terminal.wait("the terminal as it was", |seen| !seen.parser.screen().alternate_screen())?;
        assert_eq!(local_modes(terminal.master.as_ref())?, terminal.modes_before);
        terminal.signal("CONT")?;
        terminal.wait("the screen again", |seen| {
            let screen = seen.parser.screen();
            screen.alternate_screen() && screen.contents().contains("-4.00")
        })?;
        terminal.type_keys("<")?;
        terminal.wait_for("< does nothing here")?;
        terminal.type_keys("\u{c}")?;
    }
    terminal.type_keys("q")?;
    let (status, _) = terminal.end()?;
    assert!(status.success(), "{status:?}");
    Ok(())
}

/// A program on a terminal of which nobody reads more than the first bytes.
fn unread(mut command: CommandBuilder) -> Result<(Box<dyn portable_pty::Child + Send + Sync>, impl Sized), Failure> {
    let pair = native_pty_system().openpty(size(120, 36))?;
    command.env("TERM", "xterm-256color");
    command.env("LC_ALL", "C.UTF-8");
    let child = pair.slave.spawn_command(command)?;
    drop(pair.slave);
    let mut output = pair.master.try_clone_reader()?;
    let mut some = [0; 64];
    let came = output.read(&mut some)?;
    assert!(came > 0);
    Ok((child, (pair.master, output)))
}

fn ended(mut child: Box<dyn portable_pty::Child + Send + Sync>) -> Result<ExitStatus, Failure> {
    let (sender, receiver) = mpsc::channel();
    std::thread::spawn(move || sender.send(child.wait()));
    Ok(receiver.recv_timeout(DEADLINE).map_err(|_| "it does not end")??)
}

#[test]
fn a_terminal_that_is_gone_without_a_hang_up_ends_it() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    // in a session of its own the terminal is not its terminal, and no hang-up comes
    let inner = program(folder.path());
    let mut command = CommandBuilder::new("setsid");
    command.arg("--wait");
    command.args(inner.get_argv().iter().cloned());
    command.env("HOME", folder.path());
    command.env_remove("DIOPTRAY_LOGBOOK");
    let (child, terminal) = unread(command)?;
    drop(terminal);
    assert!(!ended(child)?.success());
    Ok(())
}

#[test]
fn asked_twice_it_ends_while_the_terminal_takes_nothing() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let (child, _stalled) = unread(program(folder.path()))?;
    let process = child.process_id().ok_or("no process")?.to_string();
    for _ in 0..2 {
        Command::new("kill").args(["-TERM", &process]).status()?;
    }
    assert!(!ended(child)?.success());
    Ok(())
}

#[test]
fn a_signal_is_heard_before_what_was_typed() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let mut terminal = Terminal::run(program(folder.path()))?;
    terminal.wait_for("RIGHT EYE")?;
    let mut keyboard = terminal.keyboard();
    // far more than can be done before the deadline; what the terminal does not take waits outside
    std::thread::spawn(move || {
        let keys = b"-4\rx".repeat(1000);
        while keyboard.write_all(&keys).is_ok() {}
    });
    // put in or taken out, as it happens
    terminal.wait_for("right 1")?;
    terminal.signal("TERM")?;
    let (status, _) = terminal.end()?;
    assert!(!status.success(), "{status:?}");
    Ok(())
}

#[test]
fn a_terminal_that_says_it_is_endless_is_drawn_as_far_as_anybody_sees() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let mut terminal = Terminal::run(program(folder.path()))?;
    terminal.wait_for("RIGHT EYE")?;
    terminal.master.resize(size(u16::MAX, u16::MAX))?;
    terminal.type_keys(" -4\r")?;
    terminal.resize(120, 36)?;
    terminal.wait_for("-4.00 in right 1")?;
    terminal.type_keys("q")?;
    terminal.end()?;
    Ok(())
}

/// Whoever reads the keys begins to listen later than the first frame is drawn.
#[test]
fn a_resize_while_it_starts_is_not_lost() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    for _ in 0..12 {
        let terminal = Terminal::run(program(folder.path()))?;
        terminal.wait("the screen taken", |seen| seen.parser.screen().alternate_screen())?;
        terminal.resize(80, 24)?;
        // what ends the top line of the large one is beyond the edge of the small one
        terminal.wait("the small screen", |seen| {
            let top = seen.parser.screen().rows(0, 80).next().unwrap_or_default();
            top.contains("chart") && top.contains("Exam")
        })?;
        terminal.signal("TERM")?;
        terminal.end()?;
    }
    Ok(())
}

/// A reader that hears only that something new has come forgets keys that came together with a resize.
#[test]
fn keys_that_come_with_a_resize_are_not_forgotten() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let mut terminal = Terminal::run(program(folder.path()))?;
    terminal.wait_for("RIGHT EYE")?;
    terminal.type_keys(" ")?;
    for round in 0..60_u16 {
        let typed = format!("lens for right 1: -{round} ");
        for columns in [100, 120, 110, 120] {
            terminal.resize(columns, 36)?;
        }
        terminal.type_keys(&format!("-{round}"))?;
        terminal.wait_for(&typed)?;
        terminal.type_keys("\u{7f}\u{7f}\u{7f}\u{1b}")?;
        terminal.wait("no line", |seen| !seen.parser.screen().contents().contains("lens for right 1"))?;
    }
    terminal.type_keys("q")?;
    terminal.end()?;
    Ok(())
}

#[test]
fn a_limit_on_the_size_of_files_is_told_like_a_full_disk() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let inner = program(folder.path());
    let mut command = CommandBuilder::new("sh");
    command.args(["-c", "ulimit -f 400; exec \"$0\" \"$@\""]);
    command.args(inner.get_argv().iter().cloned());
    command.env("HOME", folder.path());
    command.env_remove("DIOPTRAY_LOGBOOK");
    let mut terminal = Terminal::run(command)?;
    terminal.wait_for("RIGHT EYE")?;
    terminal.type_keys(" ")?;
    // a lens in and out again, one after the other, until one cannot be kept
    for (keys, done) in [("-4\r", "-4.00 in right 1"), ("x", "back in the box")].into_iter().cycle().take(4000) {
        terminal.type_keys(keys)?;
        terminal.wait(done, |seen| {
            let shown = seen.parser.screen().contents();
            shown.contains(done) || shown.contains(REFUSED)
        })?;
        if terminal.contents()?.contains(REFUSED) {
            terminal.wait_for("the disk is full")?;
            terminal.signal("TERM")?;
            let (status, _) = terminal.end()?;
            assert!(!status.success(), "it is the signal that ends it: {status:?}");
            return Ok(());
        }
    }
    Err("the limit is never reached".into())
}

/// The answer of the disk comes later than the frame, and is shown when it comes, without any key.
#[test]
fn a_disk_that_fails_is_said_when_it_is_known() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let inner = program(folder.path());
    let mut command = CommandBuilder::new("strace");
    command.args(["-f", "-qq", "-o", "/dev/null", "-e", "trace=fdatasync"]);
    command.args(["-e", "inject=fdatasync:error=EIO:delay_enter=500000"]);
    command.args(inner.get_argv().iter().cloned());
    command.env("HOME", folder.path());
    command.env_remove("DIOPTRAY_LOGBOOK");
    let mut terminal = Terminal::run(command)?;
    terminal.wait_for("RIGHT EYE")?;
    terminal.wait_for("NOT YET ON THE DISK")?;
    terminal.type_keys(" q")?;
    terminal.end()?;
    Ok(())
}

/// What is written above the screen is not seen on it.
#[test]
fn what_has_to_be_said_at_the_start_stands_on_the_screen() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let logbook = folder.path().join("logbook");
    let mut terminal = Terminal::run(program(folder.path()))?;
    terminal.wait_for("RIGHT EYE")?;
    terminal.type_keys(" -4\r")?;
    terminal.wait_for("-4.00 in right 1")?;
    terminal.type_keys("q")?;
    terminal.end()?;
    let kept = rusqlite::Connection::open(&logbook)?;
    kept.execute(
        "INSERT INTO step (exam, number, at, format, events) VALUES (1, 2, '2026-03-01T09:30:00Z', 1, '[{\"newer\":1}]')",
        [],
    )?;
    // as a program leaves it that is killed, when its log is lost
    kept.execute("INSERT INTO in_use (one) VALUES (1)", [])?;
    drop(kept);
    std::fs::write(folder.path().join("choices.yaml"), "theme: [")?;
    let mut terminal = Terminal::run(program(folder.path()))?;
    let said =
        ["exam 1 was not closed and is not offered", "what it had added last is not", "what was chosen on the screen"];
    // a line breaks where there is no more room
    let flat = |shown: &str| shown.split_whitespace().collect::<Vec<_>>().join(" ");
    for text in said {
        terminal.wait(text, |seen| flat(&seen.parser.screen().contents()).contains(text))?;
    }
    terminal.resize(80, 24)?;
    // only the smaller screen has no room for all of it
    let (more, last) = ("more below", "may be able to read it");
    terminal.wait_for(more)?;
    loop {
        // a screen that is drawn anew is empty for a while
        terminal.wait("a line below or the last", |seen| {
            let shown = seen.parser.screen().contents();
            shown.contains(more) || flat(&shown).contains(last)
        })?;
        let before = terminal.contents()?;
        if flat(&before).contains(last) {
            break;
        }
        terminal.type_keys("\u{1b}[B")?;
        terminal.wait("the next line", |seen| seen.parser.screen().contents() != before)?;
    }
    let bottom = "Press any key.";
    // the key that puts it away is the first of a lens
    terminal.type_keys("-3\r")?;
    terminal.wait_for("-3.00 in right 1")?;
    assert!(!terminal.contents()?.contains(bottom));
    terminal.type_keys("T")?;
    terminal.wait_for("this choice is not saved")?;
    terminal.type_keys("q")?;
    terminal.end()?;
    assert_eq!(std::fs::read_to_string(folder.path().join("choices.yaml"))?, "theme: [");
    Ok(())
}

#[test]
fn the_first_start_alone_offers_a_box_and_a_frame_of_ones_own() -> Result<(), Failure> {
    const OFFER: &str = "a frame of your own";
    let folder = tempfile::tempdir()?;
    let mut command = program(folder.path());
    command.cwd(folder.path());
    let mut terminal = Terminal::run(command)?;
    terminal.wait_for(OFFER)?;
    terminal.type_keys("f")?;
    terminal.wait_for("new frame (")?;
    terminal.type_keys("Clinic from half-eye\r\r\r\r\r\r\r\r")?;
    terminal.wait_for("Clinic is written: ")?;
    terminal.type_keys("q")?;
    terminal.end()?;
    let mut terminal = Terminal::run(program(folder.path()))?;
    terminal.wait_for("Clinic")?;
    terminal.type_keys("-4\r")?;
    terminal.wait_for("-4.00 in right 1")?;
    assert!(!terminal.contents()?.contains(OFFER));
    terminal.type_keys("q")?;
    terminal.end()?;
    let other = tempfile::tempdir()?;
    let mut command = program(other.path());
    command.args(["--box", "kits/boxes/full.yaml"]);
    let mut terminal = Terminal::run(command)?;
    terminal.wait_for("Press any key.")?;
    assert!(!terminal.contents()?.contains(OFFER), "whoever names a box has one");
    terminal.type_keys(" q")?;
    terminal.end()?;
    Ok(())
}

#[test]
fn two_figures_that_are_pasted_are_not_one() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let mut terminal = Terminal::run(program(folder.path()))?;
    terminal.wait_for("RIGHT EYE")?;
    terminal.type_keys(" \u{1b}[200~4\n5\u{1b}[201~")?;
    terminal.wait_for("lens for right 1: 4 5")?;
    terminal.wait("the cursor where the next character goes", |seen| {
        let screen = seen.parser.screen();
        let (row, column) = screen.cursor_position();
        !screen.hide_cursor() && screen.contents_between(row, 0, row, column).ends_with("right 1: 4 5")
    })?;
    terminal.type_keys("\r")?;
    terminal.wait_for("! ")?;
    terminal.type_keys("\u{1b}q")?;
    terminal.end()?;
    Ok(())
}

#[test]
fn without_a_terminal_the_open_exam_is_left_alone() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let mut terminal = Terminal::run(program(folder.path()))?;
    terminal.wait_for("RIGHT EYE")?;
    terminal.type_keys(" -4\r")?;
    terminal.wait_for("-4.00 in right 1")?;
    terminal.type_keys("q")?;
    terminal.end()?;
    let listed =
        || -> Result<String, Failure> { Ok(String::from_utf8(run(folder.path(), &["exam", "list"])?.stdout)?) };
    let before = listed()?;
    let refused = run(folder.path(), &["--new"])?;
    assert!(!refused.status.success());
    assert!(String::from_utf8_lossy(&refused.stderr).contains("needs a terminal"), "{refused:?}");
    assert_eq!(listed()?, before);
    Ok(())
}

fn run(folder: &Path, arguments: &[&str]) -> Result<std::process::Output, Failure> {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dioptray"));
    command.args(arguments).arg("--logbook").arg(folder.join("logbook")).env("HOME", folder);
    Ok(command.stdin(Stdio::null()).output()?)
}
