//! A practice eye in a real terminal: swept by itself, killed, gone on with, left.
#![cfg(target_os = "linux")]

use std::cell::RefCell;

use super::pty::{Failure, Seen, Terminal, local_modes, program};

fn practice(home: &std::path::Path, arguments: &[&str]) -> portable_pty::CommandBuilder {
    let mut command = program(home);
    command.args(arguments);
    command
}

#[test]
fn a_practice_eye_that_was_killed_goes_on_where_it_stood_and_the_terminal_is_given_back() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let mut terminal = Terminal::run(practice(folder.path(), &["practice", "--level", "2", "--seed", "7"]))?;
    terminal.wait_for("PRACTICE eye 1 of 1")?;
    terminal.type_keys("-1.25\r")?;
    terminal.wait_for("-1.25 in right 1")?;
    terminal.type_keys("V")?;
    terminal.wait_for("as this eye sees it")?;
    // the light in the pupil, swept by itself: it moves without a key, until a key stops it
    terminal.type_keys("VVV ")?;
    terminal.wait_for("the pupil, as you face the eye")?;
    // the rows of the picture, without what is said below it
    let picture = |seen: &Seen| seen.parser.screen().contents_formatted();
    let before = RefCell::new(String::new());
    terminal.wait("a first picture", |seen| {
        before.replace(picture(seen));
        true
    })?;
    for _ in 0..3 {
        terminal.wait("the streak somewhere else", |seen| picture(seen) != *before.borrow())?;
        terminal.wait("another picture", |seen| {
            before.replace(picture(seen));
            true
        })?;
    }
    terminal.type_keys(" n")?;
    terminal.wait_for("an examiner would see")?;
    terminal.signal("KILL")?;
    terminal.end()?;

    let mut terminal = Terminal::run(practice(folder.path(), &["practice"]))?;
    terminal.wait("the lens that was put in", |seen| {
        let shown = seen.parser.screen().contents();
        shown.contains("PRACTICE eye 1 of 1") && shown.contains("-1.25")
    })?;
    terminal.type_keys("q")?;
    terminal.wait("the terminal as it was", |seen| !seen.parser.screen().alternate_screen())?;
    assert_eq!(local_modes(terminal.master.as_ref())?, terminal.modes_before);
    let (status, _) = terminal.end()?;
    assert!(status.success(), "{status:?}");
    Ok(())
}
