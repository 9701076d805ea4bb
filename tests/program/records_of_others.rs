//! Exams of other seats on the screen: listed behind one's own, read, exported, and nothing else.

use std::error::Error;
use std::fs;
use std::path::PathBuf;
use std::process::Command;

use crate::pictures::Album;
use crate::records::Desk;

type Failure = Box<dyn Error>;

/// A command that has to work.
fn done(desk: &Desk, arguments: &[&str]) -> Result<String, Failure> {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dioptray"));
    command.args(["--logbook", "logbook.db"]).args(arguments).current_dir(desk.folder.path());
    let output = command.env("XDG_CONFIG_HOME", desk.folder.path().join("config")).env("TZ", "UTC").output()?;
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    Ok(String::from_utf8(output.stdout)?)
}

/// A parcel of a seat with one closed exam.
fn parcel(seat: &str, of: &str) -> Result<(Desk, PathBuf), Failure> {
    let desk = Desk { folder: tempfile::tempdir()? };
    desk.walk(&format!("-3.25<enter>-0.50x120<enter>a<tab>-3.00<enter>ai<enter>{of}<enter><esc>Cy"), "80x24")?;
    done(&desk, &["parcel", "write", "a.parcel", "--seat", seat])?;
    let file = desk.folder.path().join("a.parcel");
    Ok((desk, file))
}

/// A desk with three exams of its own, and those of these seats.
fn desk(seats: &[(&str, &str)]) -> Result<Desk, Failure> {
    let desk = Desk::with_two_exams()?;
    for (seat, of) in seats {
        let (_there, file) = parcel(seat, of)?;
        done(&desk, &["parcel", "read", "--trust", file.to_str().ok_or("odd path")?])?;
    }
    Ok(desk)
}

#[test]
fn they_are_listed_behind_ones_own_and_read() -> Result<(), Failure> {
    let album = Album::of("records");
    let desk = desk(&[("teamB", "Q.R."), ("lane3", "P.O.")])?;
    desk.pictures(&album, "records-8-others-list", "e<down><down><down>")?;
    desk.pictures(&album, "records-9-others-read", "e<down><down><down><enter>")?;
    // the numbers of one's own are as they were, and they come first
    let listed = desk.walk("e", "160x36")?;
    let named = |line: &str| Some(line.split_whitespace().next()?.trim_start_matches('▸').to_owned());
    let exams: Vec<String> = listed.lines().filter(|line| line.contains(" 20")).filter_map(named).collect();
    assert_eq!(exams, ["3", "2", "1", "lane3-1", "teamB-1"], "{listed}");
    assert!(listed.contains("3 exams, the latest first, then 2 of other seats"), "{listed}");
    Ok(())
}

#[test]
fn they_are_found_by_seat() -> Result<(), Failure> {
    let desk = desk(&[("teamB", "Q.R."), ("lane3", "P.O.")])?;
    for (search, there, not_there) in [
        ("lane3", "P.O.", "Q.R."),
        ("TEAMB-1", "Q.R.", "P.O."),
        ("q.r.", "teamB-1", "P.O."),
        ("lane3 p.o.", "lane3-1", "Q.R."),
    ] {
        let found = desk.walk(&format!("e/{search}<enter>"), "120x36")?;
        assert!(found.contains(there) && !found.contains(not_there) && !found.contains("K.M."), "{search}: {found}");
    }
    let none = desk.walk("e/lane4<enter>", "120x36")?;
    assert!(none.contains("! no exam has `lane4`"), "{none}");
    Ok(())
}

#[test]
fn nothing_is_added_to_them_and_their_files_are_named_by_seat() -> Result<(), Failure> {
    let desk = desk(&[("lane3", "P.O.")])?;
    let before = done(&desk, &["--json", "exam", "show", "lane3-1"])?;
    let own_before = done(&desk, &["--json", "exam", "show", "1"])?;
    let read = "e<down><down><down><enter>";
    for key in ["a", "b", "u"] {
        let refused = desk.walk(&format!("{read}{key}"), "120x36")?;
        assert!(refused.contains("exam lane3-1 is of another seat and can only be read"), "{key}: {refused}");
    }
    assert_eq!(done(&desk, &["--json", "exam", "show", "lane3-1"])?, before);
    assert_eq!(done(&desk, &["--json", "exam", "show", "1"])?, own_before);
    for (key, name, holds) in [
        ("c", "exam-lane3-1-card.txt", "EXAM LANE3-1"),
        ("m", "exam-lane3-1.md", "exam lane3-1"),
        ("v", "exam-lane3-1.csv", "lane3-1,"),
    ] {
        let frame = desk.walk(&format!("{read}{key}"), "300x36")?;
        assert!(frame.contains(name), "{frame}");
        let written = fs::read_to_string(desk.folder.path().join(name))?;
        assert!(written.to_uppercase().contains(&holds.to_uppercase()), "{written}");
    }
    // nothing of them is offered to be gone on with
    let next = desk.walk("", "120x36")?;
    assert!(next.lines().next().is_some_and(|top| top.contains("Exam 3")), "{next}");
    Ok(())
}

#[test]
fn a_long_name_takes_the_room_of_the_time_and_never_of_a_power() -> Result<(), Failure> {
    let desk = desk(&[("gatehouse123", "P.O.")])?;
    let list = desk.walk("e<down><down><down>", "80x24")?;
    let line = list.lines().find(|line| line.contains("gatehouse123-1")).ok_or("it is not listed")?;
    assert!(line.contains("−3.25/−0.50×120") && line.contains("−3.00"), "{list}");
    let own = list.lines().find(|line| line.contains("K.M.")).ok_or("it is not listed")?;
    assert!(own.contains("−4.00/−0.75×30") && own.contains("−2.50"), "{list}");
    assert!(list.contains("began 20"), "it is said of the chosen one: {list}");
    Ok(())
}

#[test]
fn a_damaged_file_of_theirs_is_said_and_ones_own_are_listed() -> Result<(), Failure> {
    let desk = Desk::with_two_exams()?;
    fs::write(desk.folder.path().join("others-logbook.db"), "not a logbook")?;
    let list = desk.walk("e", "160x36")?;
    assert!(list.contains("exams of other seats are left out") && list.contains("K.M."), "{list}");
    Ok(())
}
