//! A seat of one of many centres: it calls in and hangs up, and only what is closed leaves it.

use dioptray::room::link::Link;
use dioptray::room::prepare::Role;

use super::screen::Screen;
use super::seat::Seat;
use super::server::{Server, until};
use super::{Failure, Tested};

fn count(owner: &Link, what: &str) -> Result<i64, Failure> {
    Ok(owner.call(&format!("SELECT count(*) FROM {what}"), &[])?[0].get(0))
}

const CONNECTED: &str = "pg_stat_activity WHERE usename = 'a'";

#[test]
fn only_what_is_closed_is_sent_and_nobody_stays_on_the_line() -> Tested {
    let server = Server::start("")?;
    server.room("room", &[("a", Role::Examiner, Some("hillside"))])?;
    let owner = server.owner("room")?;
    let seat = Seat::new("lane1", "a")?;
    let said = seat.say(&["room", "join", &server.address("a", "room"), "--seat", "lane1", "--calls-in"])?;
    assert!(said.code == Some(0) && said.out.contains("nothing of an open exam leaves"), "{said:?}");
    seat.close_an_exam("first")?;
    let mut lane = Screen::of(&seat)?;
    until("the first exam", || Ok(count(&owner, "room.exam")? == 1))?;
    lane.wait_for("RIGHT EYE")?;
    lane.type_keys("\x1b-3\r")?;
    lane.wait_for("-3.00 in right 1")?;
    until("nobody on the line", || Ok(count(&owner, CONNECTED)? == 0))?;
    lane.type_keys("ai\rK.M.\r\x1b")?;
    lane.wait_for("K.M.")?;
    // several looks of a thread that would send each step
    std::thread::sleep(std::time::Duration::from_secs(1));
    for table in ["room.live_exam", "room.held", CONNECTED] {
        assert_eq!(count(&owner, table)?, 0, "{table}");
    }
    // closed, and there within a blink and not within five minutes
    lane.type_keys("Cy")?;
    until("the second exam", || Ok(count(&owner, "room.exam")? == 2))?;
    until("nobody on the line", || Ok(count(&owner, CONNECTED)? == 0))?;
    // away it says so, and the exam that is closed then is sent as the program ends or begins again
    server.kill()?;
    lane.type_keys("N\r")?;
    lane.wait_for("Exam 3 begins")?;
    lane.type_keys("-2\r")?;
    lane.wait_for("-2.00 in right 1")?;
    lane.type_keys("Cy")?;
    lane.wait_for("1 kept here")?;
    server.up()?;
    lane.end()?;
    let lane = Screen::of(&seat)?;
    let owner = server.owner("room")?;
    until("the third exam", || Ok(count(&owner, "room.exam")? == 3))?;
    lane.end()?;
    Ok(())
}

#[test]
fn an_exam_that_is_put_aside_is_open_to_nobody() -> Tested {
    let server = Server::start("")?;
    server.room("room", &[("a", Role::Examiner, None)])?;
    let owner = server.owner("room")?;
    let seat = Seat::joined("lane1", "a", &server.address("a", "room"))?;
    seat.close_an_exam("first")?;
    let mut lane = Screen::of(&seat)?;
    lane.wait_for("RIGHT EYE")?;
    lane.type_keys("\x1b-3\r")?;
    let open = || -> Result<Vec<i64>, Failure> {
        let rows = owner.call("SELECT number FROM room.live_exam ORDER BY number", &[])?;
        Ok(rows.iter().map(|row| row.get(0)).collect())
    };
    until("the open exam", || Ok(open()? == [2]))?;
    lane.type_keys("N\rn")?;
    lane.wait_for("Exam 3 begins")?;
    lane.type_keys("-2\r")?;
    lane.wait_for("-2.00 in right 1")?;
    until("the next exam alone", || Ok(open()? == [3]))?;
    lane.end()
}
