//! Pictures in pixels in a real terminal: on every way out of the page and of the program none of them stays behind.
#![cfg(target_os = "linux")]

use std::collections::BTreeSet;
use std::path::Path;

use portable_pty::{CommandBuilder, PtySize};

use super::pty::{BREAKS_IN_PIXELS, Failure, Seen, Terminal, in_role, program, size};
use super::terminal::{is_stopped, until};

/// A practice eye on a screen whose settings name a protocol.
fn practice(home: &Path, pictures: &str) -> Result<CommandBuilder, Failure> {
    let settings = home.join(".config").join("dioptray");
    std::fs::create_dir_all(&settings)?;
    std::fs::write(settings.join("settings.yaml"), format!("pictures: {pictures}\n"))?;
    let mut command = program(home);
    command.args(["practice", "--eye", "oblique", "--seed", "1"]);
    for name in ["KITTY_WINDOW_ID", "TERM_PROGRAM", "TMUX", "STY"] {
        command.env_remove(name);
    }
    Ok(command)
}

fn heard(seen: &Seen) -> String {
    String::from_utf8_lossy(seen.bytes.as_deref().unwrap_or_default()).into_owned()
}

/// How many pictures were sent under a number, and which a terminal keeps that has read this.
fn kept(heard: &str) -> (usize, BTreeSet<&str>) {
    let mut kept = BTreeSet::new();
    let mut sent = 0;
    for command in heard.split("\u{1b}_G").skip(1) {
        let keys = command.split([';', '\u{1b}']).next().unwrap_or_default();
        let id = keys.split(',').find_map(|key| key.strip_prefix("i=")).unwrap_or_default();
        // no answer is asked for, of any of them
        assert!(keys.contains("q=2"), "{keys}");
        if keys.contains("a=T") {
            sent += 1;
            kept.insert(id);
        } else if keys.contains("a=d,d=I") {
            kept.remove(id);
        }
    }
    (sent, kept)
}

/// Waits until a terminal that keeps pictures keeps as many as this, after at least one more was sent if some are kept.
fn wait_for_kept(terminal: &Terminal, sent_before: &mut usize, pictures: usize) -> Result<(), Failure> {
    let before = *sent_before;
    terminal.wait(&format!("{pictures} pictures that are kept"), |seen| {
        let heard = heard(seen);
        let (sent, kept) = kept(&heard);
        kept.len() == pictures && (pictures == 0 || sent > before)
    })?;
    let seen = terminal.seen.0.lock().map_err(|_| "the reader broke")?;
    *sent_before = kept(&heard(&seen)).0;
    Ok(())
}

#[test]
fn a_terminal_keeps_no_picture_longer_than_it_is_shown() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let mut terminal = Terminal::run_heard(practice(folder.path(), "kitty")?, (1200, 720))?;
    let mut sent = 0;
    terminal.wait_for("PRACTICE eye 1 of 1")?;
    for (keys, pictures) in
        [("-1.25\rV", 1), ("V", 15), ("VV", 1), ("V", 1), ("?", 0), ("?", 1), ("\u{1b}", 0), ("V", 1)]
    {
        terminal.type_keys(keys)?;
        wait_for_kept(&terminal, &mut sent, pictures)?;
    }
    // to the shell and back
    terminal.type_keys("\u{1a}")?;
    terminal.wait("the terminal as it was", |seen| !seen.parser.screen().alternate_screen())?;
    let process = terminal.child.process_id().ok_or("no process")?;
    until("stopped", || is_stopped(process))?;
    wait_for_kept(&terminal, &mut sent, 0)?;
    terminal.signal("CONT")?;
    wait_for_kept(&terminal, &mut sent, 1)?;
    terminal.resize(100, 30)?;
    wait_for_kept(&terminal, &mut sent, 1)?;
    terminal.type_keys("\u{c}")?;
    wait_for_kept(&terminal, &mut sent, 1)?;
    // a lens while a picture is shown, and out with it
    terminal.type_keys("-2.00x40\r")?;
    wait_for_kept(&terminal, &mut sent, 1)?;
    let seen = std::sync::Arc::clone(&terminal.seen);
    terminal.type_keys("q")?;
    let (status, _) = terminal.end()?;
    assert!(status.success(), "{status:?}");
    let all = heard(&*seen.0.lock().map_err(|_| "the reader broke")?);
    assert!(kept(&all).1.is_empty(), "the last is deleted when the program ends");
    assert_eq!(
        all.matches("\u{1b}[?2026h").count(),
        all.matches("\u{1b}[?2026l").count() - 2,
        "and one at each giving back"
    );
    Ok(())
}

#[test]
fn ended_from_outside_or_by_a_fault_it_leaves_no_picture() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    for by_fault in [false, true] {
        let command = if by_fault { in_role(BREAKS_IN_PIXELS)? } else { practice(folder.path(), "kitty")? };
        let mut terminal = Terminal::run_heard(command, (0, 0))?;
        terminal.wait_for("PRACTICE eye 1 of 1")?;
        terminal.type_keys("V")?;
        wait_for_kept(&terminal, &mut 0, 1)?;
        let seen = std::sync::Arc::clone(&terminal.seen);
        if by_fault {
            terminal.type_keys("-4\r")?;
        } else {
            terminal.signal("TERM")?;
        }
        let (status, shown) = terminal.end()?;
        assert!(!status.success());
        assert_eq!(shown.contains("the journal broke"), by_fault, "{shown}");
        let all = heard(&*seen.0.lock().map_err(|_| "the reader broke")?);
        assert!(kept(&all).1.is_empty(), "by a fault: {by_fault}");
        // the picture goes before what lies under the screen comes back
        let deleted = all.rfind("\u{1b}_Ga=d").ok_or("nothing was deleted")?;
        assert!(deleted < all.rfind("\u{1b}[?1049l").ok_or("the alternate screen is not left")?);
    }
    Ok(())
}

/// The sizes that the pictures of a stream say they have, in pixels.
fn rasters(heard: &str) -> Vec<(u16, u16)> {
    let size = |picture: &str| {
        let said = picture.split_once("q\"1;1;")?.1.split_once('#')?.0;
        let (columns, rows) = said.split_once(';')?;
        Some((columns.parse().ok()?, rows.parse().ok()?))
    };
    heard.split("\u{1b}P").skip(1).filter_map(size).collect()
}

#[test]
fn sixels_are_as_large_as_their_cells_and_words_are_drawn_over_them() -> Result<(), Failure> {
    let folder = tempfile::tempdir()?;
    let mut terminal = Terminal::run_heard(practice(folder.path(), "sixel")?, (120 * 8, 36 * 17))?;
    terminal.wait_for("PRACTICE eye 1 of 1")?;
    terminal.type_keys("-1.25\rV")?;
    let last = |seen: &Seen| rasters(&heard(seen)).last().copied();
    let is_of = |size: Option<(u16, u16)>, wide: u16, high: u16| {
        size.is_some_and(|(columns, rows)| columns % (2 * wide) == 0 && rows == columns / (2 * wide) * high)
    };
    terminal.wait("a fan in characters of 8 by 17", |seen| is_of(last(seen), 8, 17))?;
    // the same rows and columns in larger characters: the terminal is asked again
    terminal.master.resize(PtySize { pixel_width: 120 * 11, pixel_height: 36 * 23, ..size(120, 36) })?;
    terminal.wait("a fan in characters of 11 by 23", |seen| is_of(last(seen), 11, 23))?;
    terminal.type_keys("?")?;
    terminal.wait_for("keys that work now")?;
    terminal.wait("half blocks below the help", |seen| seen.parser.screen().contents().contains('▀'))?;
    terminal.type_keys("q\u{1b}q")?;
    let (status, _) = terminal.end()?;
    assert!(status.success(), "{status:?}");
    Ok(())
}

/// Nobody's terminal gets a picture or a question that was not asked for; the page says that there is a setting, where the
/// terminal's own variables speak for it.
#[test]
fn without_the_setting_nothing_is_sent_and_the_page_may_say_that_there_is_one() -> Result<(), Failure> {
    for (variable, value, said) in [
        ("KITTY_WINDOW_ID", "1", Some("pictures: kitty")),
        ("TERM_PROGRAM", "WezTerm", Some("pictures: iterm2")),
        ("TERM_PROGRAM", "another", None),
    ] {
        let folder = tempfile::tempdir()?;
        let mut command = practice(folder.path(), "off")?;
        command.env(variable, value);
        let mut terminal = Terminal::run_heard(command, (1200, 720))?;
        terminal.wait_for("PRACTICE eye 1 of 1")?;
        terminal.type_keys("V")?;
        terminal.wait_for("as this eye sees it")?;
        // the key that does nothing says so when the frame of the one before is whole
        terminal.type_keys("<")?;
        terminal.wait_for("< does nothing here")?;
        assert!(terminal.contents()?.contains('▀'), "half blocks");
        let shown = terminal.contents()?.split_whitespace().collect::<Vec<_>>().join(" ");
        match said {
            Some(setting) => assert!(shown.contains(setting), "{shown}"),
            None => assert!(!shown.contains("pictures:"), "{shown}"),
        }
        let seen = std::sync::Arc::clone(&terminal.seen);
        terminal.type_keys("q")?;
        terminal.end()?;
        let all = heard(&*seen.0.lock().map_err(|_| "the reader broke")?);
        // pictures, what makes a frame one, and what asks for an answer: of the terminal, its size, its characters' size
        for never in [
            "\u{1b}_G",
            "\u{1b}P",
            "\u{1b}]1337",
            "?2026",
            "\u{1b}[c",
            "\u{1b}[0c",
            "\u{1b}[14t",
            "\u{1b}[16t",
            "\u{1b}[18t",
            "\u{1b}[5n",
            "\u{1b}[6n",
        ] {
            assert!(!all.contains(never), "{never:?}");
        }
    }
    Ok(())
}
