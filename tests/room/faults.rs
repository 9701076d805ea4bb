//! What breaks: the server, the wire, the seat, the logbook. What was confirmed is in the room once, and nothing hangs.

use std::time::{Duration, Instant};

use dioptray::room::prepare::Role;

use super::seat::Seat;
use super::server::{Server, SharedRoom};
use super::wire::{Proxy, Wire};
use super::{Failure, Tested};

/// Nothing of the program waits longer for a room.
const NOTHING_HANGS: Duration = Duration::from_secs(10);

/// A room on a server of its own, with one seat.
fn of_its_own() -> Result<(Server, Seat), Failure> {
    let server = Server::start("")?;
    server.room("room", &[("a", Role::Examiner, None), ("b", Role::Examiner, None)])?;
    let seat = Seat::joined("lane1", "a", &server.address("a", "room"))?;
    Ok((server, seat))
}

fn entries(server: &Server) -> Result<(i64, i64), Failure> {
    let rows = server.owner("room")?.call("SELECT count(*), count(DISTINCT (writer, number)) FROM room.entry", &[])?;
    Ok((rows[0].get(0), rows[0].get(1)))
}

#[test]
fn a_server_that_is_killed_frozen_or_put_back_has_everything_once_in_the_end() -> Tested {
    let (server, seat) = of_its_own()?;
    seat.close_an_exam("one")?;
    assert_eq!(seat.round()?["unsent"], 0);
    server.kill()?;
    seat.close_an_exam("two")?;
    let away = seat.round()?;
    assert_eq!((&away["there"], &away["unsent"]), (&false.into(), &1.into()));
    let said = seat.say(&["room"])?;
    assert!(said.out.contains("the room is away; 1 not sent yet"), "{said:?}");
    server.up()?;
    assert_eq!(seat.round()?["unsent"], 0);
    assert_eq!(entries(&server)?, (2, 2));

    server.freeze(true)?;
    seat.close_an_exam("three")?;
    let begun = Instant::now();
    let away = seat.round()?;
    assert!(begun.elapsed() < NOTHING_HANGS, "{:?}", begun.elapsed());
    assert_eq!((&away["there"], &away["unsent"]), (&false.into(), &1.into()));
    server.freeze(false)?;
    assert_eq!(seat.round()?["unsent"], 0);

    // an older backup: the last two entries are not in it
    server.owner("room")?.run(
        "DELETE FROM room.entry WHERE number > 1; DELETE FROM room.exam WHERE id NOT IN
             (SELECT encode(about, 'hex')::uuid FROM room.entry WHERE kind = 'exam');
         UPDATE room.writer SET head = 1, head_hash = (SELECT hash FROM room.entry WHERE number = 1)",
    )?;
    let said = seat.say(&["room"])?;
    assert!(said.out.contains("2 entries sent"), "{said:?}");
    assert_eq!(entries(&server)?, (3, 3));
    Ok(())
}

#[test]
fn a_wire_that_stalls_is_slow_or_cut_hangs_nobody_and_loses_nothing() -> Tested {
    let (server, seat) = of_its_own()?;
    let proxy = Proxy::to(server.port)?;
    let by_proxy = format!("postgresql://a@127.0.0.1:{}/room", proxy.port);
    for (nth, what) in [Wire::Stalls, Wire::IsSlow, Wire::HalfAMessage, Wire::IsCut].into_iter().enumerate() {
        seat.close_an_exam(&format!("exam {nth}"))?;
        proxy.does(what);
        let begun = Instant::now();
        let output = seat.command(&["room", "--json"]).env("DIOPTRAY_ROOM", &by_proxy).output()?;
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        assert!(begun.elapsed() < NOTHING_HANGS, "{what:?}: {:?}", begun.elapsed());
        assert!(output.status.success() && said.contains("\"there\":false"), "{what:?}: {output:?}");
        proxy.does(Wire::Passes);
    }
    let output = seat.command(&["room", "--json"]).env("DIOPTRAY_ROOM", &by_proxy).output()?;
    assert!(String::from_utf8_lossy(&output.stdout).contains("\"unsent\":0"), "{output:?}");
    assert_eq!(entries(&server)?, (4, 4));
    Ok(())
}

#[test]
fn a_seat_that_is_killed_at_any_moment_has_sent_each_entry_once() -> Tested {
    let room = SharedRoom::new("killed", &[])?;
    let seat = Seat::joined("lane1", &room.login("a"), &room.address("a")?)?;
    for round in 0..30_u64 {
        if round % 3 == 0 {
            seat.close_an_exam(&format!("exam {round}"))?;
        }
        let mut program = seat.command(&["room"]).stdout(std::process::Stdio::null()).spawn()?;
        std::thread::sleep(Duration::from_micros(700 * round));
        program.kill()?;
        program.wait()?;
        // what the room confirmed is of the logbook, each number once
        let owner = room.owner()?;
        let rows = owner.call("SELECT count(*), count(DISTINCT number), max(number) FROM room.entry", &[])?;
        let (all, numbers): (i64, i64) = (rows[0].get(0), rows[0].get(1));
        assert_eq!((all, numbers, rows[0].get::<_, Option<i64>>(2).unwrap_or(0)), (all, all, all));
    }
    assert_eq!(seat.round()?["unsent"], 0);
    let logbook = rusqlite::Connection::open(seat.logbook())?;
    let kept: Vec<(i64, Vec<u8>)> = logbook
        .prepare("SELECT number, hash FROM entry ORDER BY number")?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let rows = room.owner()?.call("SELECT number, hash FROM room.entry ORDER BY number", &[])?;
    let there: Vec<(i64, Vec<u8>)> = rows.iter().map(|row| (row.get(0), row.get(1))).collect();
    assert_eq!((kept.len(), kept), (10, there));
    Ok(())
}

#[test]
fn programs_that_send_one_logbook_at_one_moment_send_it_once() -> Tested {
    let room = SharedRoom::new("together", &[])?;
    let seat = Seat::joined("lane1", &room.login("a"), &room.address("a")?)?;
    let other = Seat::joined("lane2", &room.login("b"), &room.address("b")?)?;
    for round in 0..4 {
        for number in 0..3 {
            seat.close_an_exam(&format!("exam {round}.{number}"))?;
            other.close_an_exam(&format!("other {round}.{number}"))?;
        }
        other.round()?;
        let programs: Vec<_> = (0..8)
            .map(|_| seat.command(&["room"]).stdout(std::process::Stdio::null()).spawn())
            .collect::<Result<_, _>>()?;
        for mut program in programs {
            assert!(program.wait()?.success());
        }
        let rows = room.owner()?.call("SELECT count(*), count(DISTINCT (writer, number)) FROM room.entry", &[])?;
        let there = 6 * (round + 1);
        assert_eq!((rows[0].get::<_, i64>(0), rows[0].get::<_, i64>(1)), (there, there));
        // and what the other one closed came here once
        assert_eq!(seat.exams()?.len(), usize::try_from(there)?);
    }
    Ok(())
}

#[test]
fn an_image_of_a_laptop_on_a_second_machine_needs_a_name_of_its_own_and_sends_nothing_twice() -> Tested {
    let room = SharedRoom::new("imaged", &[])?;
    let seat = Seat::joined("lane1", &room.login("a"), &room.address("a")?)?;
    seat.close_an_exam("one")?;
    seat.round()?;
    let image = seat.copied()?;
    // the second machine is another one than the logbook was made on
    rusqlite::Connection::open(image.logbook())?.execute("UPDATE writer SET machine = 'another'", [])?;
    let said = image.say(&["room"])?;
    assert!(
        said.code == Some(1) && said.err.contains("the seat lane1 is taken") && said.err.contains("copied"),
        "{said:?}"
    );
    let said = image.say(&["room", "join", &room.address("a")?, "--seat", "lane4"])?;
    assert!(said.code == Some(0) && said.out.contains("0 entries sent"), "{said:?}");
    for (each, label) in [(&seat, "two"), (&image, "two of the image")] {
        each.close_an_exam(label)?;
        assert_eq!(each.round()?["unsent"], 0);
    }
    seat.round()?;
    assert!(seat.exams()?.contains(&(Some("lane4".to_owned()), 2, "two of the image".to_owned())));
    // what the first one wrote under the name that both had comes to the second one like anybody's
    assert!(image.exams()?.contains(&(Some("lane1".to_owned()), 2, "two".to_owned())));
    assert_eq!((seat.exams()?.len(), image.exams()?.len()), (3, 3));
    let rows = room.owner()?.call("SELECT count(*), count(DISTINCT about) FROM room.entry", &[])?;
    assert_eq!((rows[0].get::<_, i64>(0), rows[0].get::<_, i64>(1)), (3, 3));
    Ok(())
}

#[test]
fn a_clock_that_is_a_day_off_is_told_and_orders_nothing() -> Tested {
    let room = SharedRoom::new("clocks", &[])?;
    let address = room.address("a")?;
    let seat = Seat::joined("lane1", &room.login("a"), &address)?;
    let here = seat.round()?["clock_differs_s"].as_f64().ok_or("no clock")?;
    assert!(here.abs() < 30.0, "{here}");
    // the server's clock cannot be turned here: its answer is, as if it were a day ahead
    room.owner()?.run(
        "ALTER FUNCTION room.hello RENAME TO hello_now;
         CREATE FUNCTION room.hello(a uuid, b text, c text, d text)
         RETURNS TABLE (form int, site text, role text, clock float8) LANGUAGE sql SECURITY DEFINER AS
         $$ SELECT form, site, role, clock + 86400 FROM room.hello_now(a, b, c, d) $$;
         GRANT EXECUTE ON FUNCTION room.hello TO PUBLIC",
    )?;
    seat.close_an_exam("one")?;
    let said = seat.say(&["room"])?;
    assert!(said.err.contains("s behind the room's") && said.out.contains("1 entry sent"), "{said:?}");
    Ok(())
}
