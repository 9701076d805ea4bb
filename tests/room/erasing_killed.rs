//! The server, or a seat, killed while an exam is erased: it is asked for or agreed to, never half, and no byte is left in the end.

use std::process::Stdio;
use std::thread;
use std::time::Duration;

use dioptray::room::prepare::Role;

use super::erasing::holds;
use super::seat::Seat;
use super::server::{Server, until};
use super::{Failure, Tested};

const WHY: &str = "entered for the wrong person";

/// A server with a room, of which lane1 has these closed exams, lane2 has fetched them, and a keeper asks.
struct Desks {
    server: Server,
    lane1: Seat,
    lane2: Seat,
    keeper: Seat,
}

impl Desks {
    fn new(exams: usize) -> Result<Self, Failure> {
        let server = Server::start("")?;
        server.room("room", &[("a", Role::Examiner, None), ("b", Role::Examiner, None), ("k", Role::Keeper, None)])?;
        let lane1 = Seat::joined("lane1", "a", &server.address("a", "room"))?;
        let lane2 = Seat::joined("lane2", "b", &server.address("b", "room"))?;
        let keeper = Seat::joined("desk", "k", &server.address("k", "room"))?;
        for nth in 1..=exams {
            lane1.close_an_exam(&label(nth))?;
        }
        lane1.round()?;
        lane2.round()?;
        Ok(Self { server, lane1, lane2, keeper })
    }

    fn asks_for(&self, nth: usize) -> Tested {
        let said = self.keeper.say(&["room", "erase", &format!("lane1-{nth}"), "--why", WHY])?;
        assert_eq!(said.code, Some(0), "{said:?}");
        Ok(())
    }

    /// Whether it is agreed to, where the room is sound: the whole exam there and only asked for, or agreed to and nothing of it.
    fn is_agreed(&self, nth: usize) -> Result<bool, Failure> {
        let sql = "SELECT x.agreed IS NOT NULL, x.place IS NOT NULL, bool_or(e.body IS NOT NULL), bool_or(e.label IS NOT NULL)
                   FROM room.erasure AS x JOIN room.entry AS e ON e.about = uuid_send(x.exam) WHERE x.number = $1 GROUP BY 1, 2";
        let rows = self.server.owner("room")?.call(sql, &[&i64::try_from(nth)?])?;
        let [row] = rows.as_slice() else { return Err("it is not asked for".into()) };
        let (agreed, placed, body, label): (bool, bool, bool, bool) = (row.get(0), row.get(1), row.get(2), row.get(3));
        assert_eq!((placed, body, label), (agreed, !agreed, !agreed), "exam {nth} is half erased");
        Ok(agreed)
    }

    /// Nothing of it at either seat, once each has started again.
    fn is_gone_at_both(&self, nth: usize) -> Tested {
        for seat in [&self.lane1, &self.lane2] {
            seat.round()?;
            assert!(!holds(seat, label(nth).as_bytes())?, "{} has bytes of exam {nth}", seat.name);
            assert!(holds(seat, label(0).as_bytes())?, "{} has lost another", seat.name);
            let said = seat.say(&["logbook", "check"])?;
            assert!(said.code == Some(0) && !said.err.contains("free part"), "{said:?}");
        }
        Ok(())
    }
}

/// A label that stands in no other; the first exam of all is never erased.
fn label(nth: usize) -> String {
    if nth <= 1 { "Stays".to_owned() } else { format!("Quill{nth:02}feather") }
}

fn agree(seat: &Seat, nth: usize) -> std::process::Command {
    let mut command = seat.command(&["room", "erase", &format!("lane1-{nth}"), "--agree", "--yes"]);
    command.stdout(Stdio::null()).stderr(Stdio::null());
    command
}

#[test]
fn a_server_that_is_killed_while_somebody_agrees_has_it_asked_for_or_agreed_to() -> Tested {
    let desks = Desks::new(5)?;
    // in the middle, for certain: what is erased there is blanked, and the last statement waits
    desks.asks_for(2)?;
    let holds_up = desks.server.owner("room")?;
    holds_up.run("BEGIN; LOCK TABLE room.live_exam IN SHARE MODE")?;
    let mut agreeing = agree(&desks.lane2, 2).spawn()?;
    let looks = desks.server.owner("room")?;
    until("it waits", || {
        let waits = "SELECT count(*) FROM pg_locks WHERE NOT granted AND relation = 'room.live_exam'::regclass";
        Ok(looks.call(waits, &[])?[0].get::<_, i64>(0) > 0)
    })?;
    desks.server.kill()?;
    assert_eq!(agreeing.wait()?.code(), Some(1));
    drop((holds_up, looks));
    desks.server.up()?;
    assert!(!desks.is_agreed(2)?, "what was not committed counts");
    assert!(holds(&desks.lane1, label(2).as_bytes())? && holds(&desks.lane2, label(2).as_bytes())?);
    assert_eq!(agree(&desks.lane2, 2).status()?.code(), Some(0));
    desks.is_gone_at_both(2)?;
    // and at whatever moment from the first on, until it is agreed to
    let mut killed = 0;
    for nth in 3..=5 {
        desks.asks_for(nth)?;
        for wait in (0..8_u64).map(|round| round * (8 + nth as u64)) {
            let mut agreeing = agree(&desks.lane1, nth).spawn()?;
            thread::sleep(Duration::from_millis(wait));
            desks.server.kill()?;
            let said = agreeing.wait()?.code();
            desks.server.up()?;
            let agreed = desks.is_agreed(nth)?;
            killed += usize::from(said != Some(0));
            assert!(agreed || said != Some(0), "exam {nth} was said to be erased");
            if agreed {
                break;
            }
        }
        if !desks.is_agreed(nth)? {
            assert_eq!(agree(&desks.lane1, nth).status()?.code(), Some(0));
        }
        desks.is_gone_at_both(nth)?;
    }
    assert!(killed >= 2, "{killed} kills met somebody who agreed");
    Ok(())
}

#[test]
fn a_seat_that_is_killed_while_it_agrees_has_it_whole_or_erased_and_finishes_at_its_next_start() -> Tested {
    let desks = Desks::new(10)?;
    let (mut whole, mut erased) = (0, 0);
    for nth in 2..=10 {
        desks.asks_for(nth)?;
        // the exam is its own, or another's
        let seat = if nth % 2 == 0 { &desks.lane1 } else { &desks.lane2 };
        let mut agreeing = agree(seat, nth).spawn()?;
        // before the room is asked, at some moment, or while it erases here what was agreed to there
        match nth % 4 {
            0 => {}
            1 => thread::sleep(Duration::from_millis(15 + nth as u64 * 6)),
            _ => {
                until("it is agreed to", || desks.is_agreed(nth))?;
                thread::sleep(Duration::from_millis(nth as u64 * 2));
            }
        }
        agreeing.kill()?;
        agreeing.wait()?;
        // at the seat that has it, it is there whole or erased; what the room says comes with the next round
        for (seat, name) in [(&desks.lane1, nth.to_string()), (&desks.lane2, format!("lane1-{nth}"))] {
            let shown = seat.say(&["exam", "show", &name])?;
            let is_whole = shown.code == Some(0) && shown.out.contains(&label(nth));
            assert!(is_whole || shown.err.contains("was erased: entered for the wrong person"), "{shown:?}");
            let said = seat.say(&["logbook", "check"])?;
            assert_eq!(said.code, Some(0), "{said:?}");
        }
        if desks.is_agreed(nth)? {
            erased += 1;
        } else {
            whole += 1;
            assert_eq!(agree(seat, nth).status()?.code(), Some(0));
        }
        desks.is_gone_at_both(nth)?;
    }
    assert!(whole >= 1 && erased >= 3, "killed before it was agreed to: {whole}, after: {erased}");
    Ok(())
}
