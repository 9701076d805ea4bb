//! Who may what: kept by the server, whatever a program asks.

use dioptray::room::link::Link;
use dioptray::room::prepare::Role;

use super::seat::Seat;
use super::server::SharedRoom;
use super::{Failure, Tested};

fn link(room: &SharedRoom, name: &str) -> Result<Link, Failure> {
    Ok(Link::connect(&room.address(name)?.parse()?, Some(&room.login(name)), None)?)
}

#[test]
fn no_login_reads_or_changes_a_table() -> Tested {
    let room =
        SharedRoom::new("tables", &[("k", Role::Keeper, None), ("t", Role::Teacher, None), ("r", Role::Reader, None)])?;
    let seat = Seat::joined("lane1", &room.login("a"), &room.address("a")?)?;
    seat.close_an_exam("K.M.")?;
    seat.round()?;
    for name in ["a", "k", "t", "r"] {
        let link = link(&room, name)?;
        for asked in [
            "SELECT * FROM room.entry",
            "UPDATE room.entry SET body = NULL",
            "DELETE FROM room.entry",
            "INSERT INTO room.login VALUES ('x', 'keeper', NULL)",
            "UPDATE room.writer SET head = 0",
            "TRUNCATE room.entry",
            "CREATE TABLE room.mine (a int)",
            "SELECT room.allow('x', 'keeper', NULL)",
            "DROP FUNCTION room.ship",
        ] {
            assert!(link.run(asked).is_err(), "{name}: {asked}");
        }
    }
    let rows = room.owner()?.call("SELECT count(*), count(body) FROM room.entry", &[])?;
    assert_eq!((rows[0].get::<_, i64>(0), rows[0].get::<_, i64>(1)), (1, 1));
    Ok(())
}

#[test]
fn a_reader_sends_nothing_and_a_keeper_reads_no_exam() -> Tested {
    let room = SharedRoom::new("roles", &[("k", Role::Keeper, None), ("r", Role::Reader, None)])?;
    let seat = Seat::joined("lane1", &room.login("a"), &room.address("a")?)?;
    seat.close_an_exam("K.M.")?;
    seat.round()?;
    let keeper = Seat::joined("desk", &room.login("k"), &room.address("k")?)?;
    assert_eq!(keeper.exams()?, []);
    let reader = Seat::joined("office", &room.login("r"), &room.address("r")?)?;
    assert_eq!(reader.exams()?.len(), 1);
    reader.close_an_exam("mine")?;
    let said = reader.say(&["room"])?;
    assert!(said.code == Some(1) && said.err.contains("the role reader may not do this"), "{said:?}");
    assert_eq!(reader.exams()?.len(), 2);
    Ok(())
}

#[test]
fn sites_see_their_own_records_and_a_login_of_none_sees_all() -> Tested {
    let room = SharedRoom::new("sites", &[("v", Role::Examiner, Some("valley")), ("r", Role::Reader, None)])?;
    let hillside = Seat::joined("lane1", &room.login("a"), &room.address("a")?)?;
    let valley = Seat::joined("lane9", &room.login("v"), &room.address("v")?)?;
    hillside.close_an_exam("of the hillside")?;
    valley.close_an_exam("of the valley")?;
    for seat in [&hillside, &valley, &hillside] {
        seat.round()?;
    }
    assert_eq!((hillside.exams()?.len(), valley.exams()?.len()), (1, 1));
    let all = Seat::joined("office", &room.login("r"), &room.address("r")?)?;
    assert_eq!(all.exams()?.len(), 2);
    let seats = hillside.round()?;
    let seats: Vec<&str> =
        seats["seats"].as_array().ok_or("no seats")?.iter().filter_map(|seat| seat["seat"].as_str()).collect();
    assert_eq!(seats, ["lane1"]);
    let said = Seat::new("lane8", &room.login("a"))?.say(&[
        "room",
        "join",
        &room.address("a")?,
        "--seat",
        "lane8",
        "--site",
        "valley",
    ])?;
    assert!(said.code == Some(1) && said.err.contains("belongs to the site hillside"), "{said:?}");
    Ok(())
}

#[test]
fn a_login_that_nobody_allowed_is_told_so() -> Tested {
    let room = SharedRoom::new("strangers", &[])?;
    room.owner()?.run("CREATE ROLE stranger LOGIN PASSWORD 'stranger'")?;
    let address = room.address("a")?.replace(&room.login("a"), "stranger");
    let said = Seat::new("lane1", "stranger")?.say(&["room", "join", &address, "--seat", "lane1"])?;
    assert!(
        said.code == Some(1) && said.err.contains("stranger is not allowed") && said.err.contains("room allow"),
        "{said:?}"
    );
    Ok(())
}
