//! Two screens on one room, as two people sit at them.

use std::thread;
use std::time::{Duration, Instant};

use dioptray::room::prepare::Role;

use super::erasing::holds;
use super::screen::Screen;
use super::seat::Seat;
use super::server::{Server, until};
use super::{Failure, Tested};

/// A seat at whose screen an exam has begun.
fn begun(seat: &Seat) -> Result<Screen, Failure> {
    // the cautions stand at the first start only
    seat.close_an_exam("first")?;
    let mut screen = Screen::of(seat)?;
    screen.wait_for("RIGHT EYE")?;
    screen.type_keys("\x1b")?;
    Ok(screen)
}

#[test]
fn a_lens_is_seen_at_the_other_seat_and_a_dead_server_is_three_words_on_the_top_line() -> Tested {
    let server = Server::start("")?;
    server.room("room", &[("a", Role::Examiner, None), ("b", Role::Examiner, None), ("t", Role::Teacher, None)])?;
    let one = Seat::joined("lane1", "a", &server.address("a", "room"))?;
    let other = Seat::joined("lane2", "b", &server.address("b", "room"))?;
    let (mut lane1, mut lane2) = (begun(&one)?, begun(&other)?);
    lane1.type_keys("-3\r")?;
    lane1.wait_for("-3.00 in right 1")?;
    let seen = lane2.wait("-3.00 taken elsewhere", |shown| shown.contains("-3.00 •s"))?;
    assert!(seen < Duration::from_secs(5), "found by asking, not by a hint: {seen:?}");
    // both pieces are at lane1 now; a third in a hand counts all the same
    lane1.type_keys("\t-3\r")?;
    lane2.wait_for("-3.00 ss")?;
    lane2.type_keys("-3\r")?;
    lane2.wait_for("-3.00 sphere is counted at lane1 and here")?;
    assert!(lane2.shows().contains("-3.00  "), "{}", lane2.shows());
    lane1.wait_for("-3.00 sphere is counted at lane2 and here")?;
    // a teacher looks on, once what was done is sent
    until("both exams in the room", || {
        let rows = server.owner("room")?.call("SELECT count(*) FROM room.live_exam", &[])?;
        Ok(rows[0].get::<_, i64>(0) == 2)
    })?;
    let desk = Seat::joined("desk", "t", &server.address("t", "room"))?;
    let said = desk.say(&["room", "watch", "lane2", "--once"])?;
    assert!(said.code == Some(0) && said.out.contains("looking on at lane2-2"), "{said:?}");

    server.kill()?;
    lane1.wait_for("room away 0 min")?;
    lane1.type_keys("x")?;
    lane1.wait_for("back in the box")?;
    lane1.wait_for("others' lenses as of")?;
    server.up()?;
    lane1.wait("the room", |shown| !shown.contains("room away"))?;
    lane2.wait_for("-3.00 Rs")?;
    for lane in [lane1, lane2] {
        lane.end()?;
    }
    Ok(())
}

#[test]
fn a_seat_that_comes_back_to_an_exam_is_told_that_its_lens_was_taken_over() -> Tested {
    let server = Server::start("")?;
    server.room("room", &[("a", Role::Examiner, None), ("b", Role::Examiner, None)])?;
    let one = Seat::joined("lane1", "a", &server.address("a", "room"))?;
    let other = Seat::joined("lane2", "b", &server.address("b", "room"))?;
    let (mut lane1, mut lane2) = (begun(&one)?, begun(&other)?);
    lane1.type_keys("-3\r\t-3\r")?;
    lane2.wait_for("-3.00 ss")?;
    drop(lane1);
    // longer than whoever ends waits for the room
    thread::sleep(Duration::from_secs(1));
    server.owner("room")?.run("UPDATE room.seat SET heard = now() - interval '20 min' WHERE name = 'lane1'")?;
    lane2.type_keys("-3\r")?;
    lane2.wait_for("-3.00 sphere was counted at lane1, which is not heard")?;
    // it is told once the question is answered that stands at the start
    let mut lane1 = Screen::of(&one)?;
    lane1.wait_for("was not closed")?;
    thread::sleep(Duration::from_secs(1));
    assert!(!lane1.shows().contains("is counted at"), "{}", lane1.shows());
    lane1.type_keys("y")?;
    lane1.wait_for("-3.00 sphere is counted at lane2 and here")?;
    lane2.wait_for("-3.00 sphere is counted at lane1 and here")?;
    for lane in [lane1, lane2] {
        lane.end()?;
    }
    Ok(())
}

#[test]
fn a_keeper_and_a_reader_at_a_screen_are_refused_nothing_that_they_did_not_ask() -> Tested {
    let server = Server::start("")?;
    server.room("room", &[("k", Role::Keeper, None), ("r", Role::Reader, None)])?;
    for (name, login, held) in [("desk", "k", 1), ("office", "r", 0)] {
        let seat = Seat::joined(name, login, &server.address(login, "room"))?;
        let mut screen = Screen::of(&seat)?;
        screen.wait_for("before you start")?;
        screen.type_keys("\x1b-3\r")?;
        screen.wait_for("-3.00 in right 1")?;
        // two looks of the thread at least
        thread::sleep(Duration::from_secs(1));
        screen.type_keys("]")?;
        thread::sleep(Duration::from_secs(1));
        assert!(!screen.shows().contains("room refuses"), "{}", screen.shows());
        let owner = server.owner("room")?;
        let rows = owner.call("SELECT (SELECT count(*) FROM room.held), (SELECT count(*) FROM room.live_exam)", &[])?;
        assert_eq!((rows[0].get::<_, i64>(0), rows[0].get::<_, i64>(1)), (held, 0));
        screen.end()?;
        owner.run("DELETE FROM room.held")?;
    }
    Ok(())
}

#[test]
fn a_room_that_is_frozen_holds_up_no_key_and_no_end() -> Tested {
    let server = Server::start("")?;
    server.room("room", &[("a", Role::Examiner, None)])?;
    let seat = Seat::joined("lane1", "a", &server.address("a", "room"))?;
    seat.close_an_exam("first")?;
    let mut lane = Screen::of(&seat)?;
    lane.wait_for("RIGHT EYE")?;
    lane.type_keys("\x1b-3\r")?;
    lane.wait_for("-3.00 in right 1")?;
    server.freeze(true)?;
    for (keys, shown) in [("x", "back in the box"), ("-2\r", "-2.00 in right 1"), ("u", "undone")] {
        lane.type_keys(keys)?;
        assert!(lane.wait_for(shown)? < Duration::from_secs(2));
    }
    lane.wait_for("room away")?;
    let begun = Instant::now();
    lane.end()?;
    assert!(begun.elapsed() < Duration::from_secs(3), "{:?}", begun.elapsed());
    Ok(())
}

#[test]
fn an_exam_that_is_open_goes_on_at_another_seat_and_the_first_is_told() -> Tested {
    let server = Server::start("")?;
    server.room("room", &[("a", Role::Examiner, None), ("b", Role::Examiner, None)])?;
    let one = Seat::joined("lane1", "a", &server.address("a", "room"))?;
    let other = Seat::joined("lane2", "b", &server.address("b", "room"))?;
    for seat in [&one, &other] {
        seat.close_an_exam("first")?;
    }
    let mut lane1 = Screen::of(&one)?;
    lane1.wait_for("RIGHT EYE")?;
    lane1.type_keys("\x1b-3\r")?;
    lane1.wait_for("-3.00 in right 1")?;
    lane1.type_keys("\t+2\r")?;
    lane1.wait_for("+2.00 in left 1")?;
    lane1.type_keys("x")?;
    lane1.wait_for("back in the box")?;
    // each step is sent a moment after it is drawn
    until("three steps in the room", || {
        let rows = server.owner("room")?.call("SELECT count(*) FROM room.live_step", &[])?;
        Ok(rows[0].get::<_, i64>(0) == 3)
    })?;
    // nobody reads of an exam what is not taken over
    assert!(other.say(&["room", "watch", "lane1", "--once"])?.err.contains("the role examiner may not"));
    let in_box = other.file("box.yaml");
    let take = ["room", "take-over", "lane1", "--box", Seat::path(&in_box)?, "--print", "--size", "120x36"];
    let taken = other.say(&take)?;
    assert!(taken.code == Some(0) && taken.out.contains("Exam 2"), "{taken:?}");
    let net = |shown: &str| {
        let line = shown.lines().find(|line| line.contains("cornea")).unwrap_or_default().to_owned();
        line.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    // what stands before each eye there stands before it here
    assert_eq!(net(&taken.out), net(&lane1.shows()));
    assert!(net(&taken.out).contains("cornea -2.90") && net(&taken.out).contains("cornea plano"), "{}", taken.out);
    lane1.wait_for("lane2 goes on with this exam")?;
    lane1.type_keys("-1\r")?;
    lane1.wait_for("-1.00 in left 1")?;
    let record = other.say(&["exam", "show", "2"])?.out;
    assert!(record.contains("begun at lane1 as exam 2, taken over here"), "{record}");
    assert_eq!(other.json(&["exam", "show", "2"])?["label"], one.json(&["exam", "show", "2"])?["label"]);
    assert_ne!(other.json(&["exam", "show", "2"])?["id"], one.json(&["exam", "show", "2"])?["id"]);
    let none = other.say(&["room", "take-over", "lane9", "--print"])?;
    assert!(none.code == Some(1) && none.err.contains("no exam is open at lane9"), "{none:?}");
    lane1.end()
}

#[test]
fn an_exam_that_is_erased_while_it_is_read_is_left_with_words_at_the_next_key() -> Tested {
    let server = Server::start("")?;
    server.room("room", &[("a", Role::Examiner, None), ("b", Role::Examiner, None), ("k", Role::Keeper, None)])?;
    let one = Seat::joined("lane1", "a", &server.address("a", "room"))?;
    let other = Seat::joined("lane2", "b", &server.address("b", "room"))?;
    let keeper = Seat::joined("desk", "k", &server.address("k", "room"))?;
    for label in ["Quillfeath", "Stays"] {
        one.close_an_exam(label)?;
    }
    other.close_an_exam("at lane2")?;
    one.round()?;
    other.round()?;
    // one reads the record, another has only the list of all exams before the eyes
    let (mut own, mut list, mut read) = (Screen::of(&one)?, Screen::of(&other)?, Screen::with_another_box(&other)?);
    for screen in [&mut own, &mut list, &mut read] {
        screen.wait_for("RIGHT EYE")?;
        screen.type_keys("\x1b")?;
        screen.type_keys("e")?;
        screen.wait_for("Quillfeath")?;
    }
    own.type_keys("/Quillfeath\r")?;
    own.wait_for("1 of ")?;
    own.type_keys("\r")?;
    own.wait_for("exam 1, closed: it can be amended")?;
    read.type_keys("/Quillfeath\r")?;
    read.wait_for("1 of ")?;
    read.type_keys("\r")?;
    read.wait_for("exam lane1-1, of another seat")?;
    assert_eq!(keeper.say(&["room", "erase", "lane1-1", "--why", "entered for the wrong person"])?.code, Some(0));
    // as another program on the same logbook
    let said = one.say(&["room", "erase", "1", "--agree", "--yes"])?;
    assert!(said.code == Some(0) && said.err.contains("exam 1 was erased"), "{said:?}");
    until("nothing of it at lane2", || Ok(!holds(&other, b"Quillfeath")?))?;
    for (screen, name) in [(&mut own, "exam 1"), (&mut read, "lane1-1")] {
        // what is on the glass stays until somebody does something
        screen.type_keys("\x1b[B")?;
        screen.wait_for(&format!("{name} was erased: entered for the wrong"))?;
        screen.wait("the list", |shown| shown.contains("1 of ") && !shown.contains("closed: it can"))?;
        // nor is it read when it is opened once more
        screen.type_keys("\r")?;
        screen.wait_for(&format!("{name} was erased: entered for the wrong"))?;
        screen.type_keys("/\r")?;
        screen.wait("the list without it", |shown| !shown.contains("Quillfeath") && shown.contains("erased"))?;
    }
    list.type_keys("\x1b[B")?;
    list.wait("the list without it", |shown| !shown.contains("Quillfeath") && shown.contains("erased"))?;
    for screen in [own, list, read] {
        screen.end()?;
    }
    for seat in [&one, &other] {
        assert!(!holds(seat, b"Quillfeath")?);
        assert_eq!(seat.say(&["logbook", "check"])?.code, Some(0));
    }
    Ok(())
}
