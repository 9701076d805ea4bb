//! Which lens stands where: no two seats hold one piece, and the hand is right.

use std::collections::BTreeSet;

use dioptray::room::calls::{Home, counted_twice, hello, settle_counted};
use dioptray::room::holding::{Holds, give, take};
use dioptray::room::link::Link;
use dioptray::sharing::news::Holding;
use dioptray::sharing::{SeatName, WriterId};
use uuid::Uuid;

use super::server::SharedRoom;
use super::{Failure, Tested};

const BOX: &str = "id:hillside-1";

/// A seat that says hello.
fn seat(room: &SharedRoom, name: &str) -> Result<(Link, WriterId), Failure> {
    let link = Link::connect(&room.address("a")?.parse()?, Some(&room.login("a")), None)?;
    let writer = WriterId::new(Uuid::new_v4());
    let seat = SeatName::new(name)?;
    hello(&link, Home { writer, seat: &seat, site: None, machine: "" })?;
    Ok((link, writer))
}

fn holding(lens: &str, numbers: &[i32]) -> Holding {
    Holding { lens: lens.to_owned(), numbers: numbers.to_vec() }
}

#[test]
fn of_alike_pieces_the_second_seat_gets_the_other_and_the_third_is_told() -> Tested {
    let room = SharedRoom::new("alike", &[])?;
    let [(a, is_a), (b, is_b), (c, is_c)] = [seat(&room, "lane1")?, seat(&room, "lane2")?, seat(&room, "lane3")?];
    let wants = vec![holding("-2.00 sphere", &[1, 2])];
    let (mut of_a, mut of_b, mut of_c) = (Holds::default(), Holds::default(), Holds::default());
    for holds in [&mut of_a, &mut of_b, &mut of_c] {
        holds.want(BOX.to_owned(), wants.clone());
    }
    assert!(of_a.settle(&a, is_a)?.held.is_empty());
    let seen = of_b.settle(&b, is_b)?;
    assert_eq!((seen.held.len(), seen.counted_twice.len()), (1, 0));
    let rows = room.owner()?.call("SELECT number FROM room.held ORDER BY number", &[])?;
    assert_eq!(rows.iter().map(|row| row.get(0)).collect::<Vec<i32>>(), [1, 2]);
    // none is left, but it is in a hand: it stays, and both are told
    let seen = of_c.settle(&c, is_c)?;
    assert_eq!(seen.counted_twice, [("-2.00 sphere".to_owned(), "lane1".to_owned())]);
    let seen = of_a.settle(&a, is_a)?;
    assert_eq!(seen.counted_twice, [("-2.00 sphere".to_owned(), "lane3".to_owned())]);
    // given back it is free for another
    of_b.want(BOX.to_owned(), Vec::new());
    of_b.settle(&b, is_b)?;
    let rows = room.owner()?.call("SELECT number FROM room.held ORDER BY number", &[])?;
    assert_eq!(rows.iter().map(|row| row.get(0)).collect::<Vec<i32>>(), [1]);
    Ok(())
}

#[test]
fn what_a_seat_that_is_not_heard_has_another_may_take_over() -> Tested {
    let room = SharedRoom::new("quiet", &[])?;
    let [(a, is_a), (b, is_b), (c, is_c)] = [seat(&room, "lane1")?, seat(&room, "lane2")?, seat(&room, "lane3")?];
    let wants = vec![holding("-2.00 sphere", &[1])];
    let (mut of_a, mut of_b, mut of_c) = (Holds::default(), Holds::default(), Holds::default());
    for holds in [&mut of_a, &mut of_b, &mut of_c] {
        holds.want(BOX.to_owned(), wants.clone());
    }
    of_a.settle(&a, is_a)?;
    let quiet_for =
        |min: u32| format!("UPDATE room.seat SET heard = now() - interval '{min} minutes' WHERE name = 'lane1'");
    // not long enough: it is counted at both
    room.owner()?.run(&quiet_for(14))?;
    let seen = of_b.settle(&b, is_b)?;
    assert_eq!((seen.counted_twice.len(), seen.taken_over.len()), (1, 0));
    of_b.want(BOX.to_owned(), Vec::new());
    of_b.settle(&b, is_b)?;
    // by the time alone nothing is freed
    room.owner()?.run(&quiet_for(16))?;
    let held = of_b.settle(&b, is_b)?.held;
    assert_eq!(
        held.iter().map(|one| (one.seat.as_str(), one.not_heard_min)).collect::<Vec<_>>(),
        [("lane1", Some(16))]
    );
    let seen = of_c.settle(&c, is_c)?;
    assert_eq!(seen.taken_over, [("-2.00 sphere".to_owned(), "lane1".to_owned())]);
    assert!(seen.counted_twice.is_empty() && seen.held.is_empty(), "{seen:?}");
    // back, and with the lens still before the eye: the hand is right, and both are told
    hello(&a, Home { writer: is_a, seat: &SeatName::new("lane1")?, site: None, machine: "" })?;
    of_a.forget();
    assert_eq!(of_a.settle(&a, is_a)?.counted_twice, [("-2.00 sphere".to_owned(), "lane3".to_owned())]);
    let seen = of_c.settle(&c, is_c)?;
    assert_eq!(seen.counted_twice, [("-2.00 sphere".to_owned(), "lane1".to_owned())]);
    // somebody gets a line for each time, until it is settled
    let lines = counted_twice(&b, is_b)?;
    let seats: Vec<_> = lines.iter().map(|line| line.seats.clone()).collect();
    assert_eq!(seats, [["lane1", "lane2"], ["lane3", "lane1"]].map(|both| both.map(str::to_owned)));
    assert!(settle_counted(&b, is_b, lines[0].number)? && !settle_counted(&b, is_b, lines[0].number)?);
    assert_eq!(counted_twice(&b, is_b)?.len(), 1);
    Ok(())
}

#[test]
fn a_seat_that_comes_back_has_what_it_had() -> Tested {
    let room = SharedRoom::new("back", &[])?;
    let (link, me) = seat(&room, "lane1")?;
    let mut holds = Holds::default();
    holds.want(BOX.to_owned(), vec![holding("-2.00 sphere", &[1]), holding("+1.00 sphere", &[1])]);
    holds.settle(&link, me)?;
    // killed, and begun again with one lens out
    let mut again = Holds::default();
    again.want(BOX.to_owned(), vec![holding("-2.00 sphere", &[1])]);
    again.settle(&link, me)?;
    let rows = room.owner()?.call("SELECT lens FROM room.held", &[])?;
    assert_eq!(rows.iter().map(|row| row.get(0)).collect::<Vec<String>>(), ["-2.00 sphere"]);
    Ok(())
}

#[test]
fn twelve_seats_that_take_and_give_never_hold_one_piece_twice() -> Tested {
    let room = SharedRoom::new("twelve", &[])?;
    let seats: Vec<(Link, WriterId)> =
        (1..=12).map(|nth| seat(&room, &format!("lane{nth}"))).collect::<Result<_, Failure>>()?;
    // each seat looks after each taking: what it was given nobody else was given meanwhile
    let held = std::sync::Mutex::new(BTreeSet::new());
    let taken = std::sync::atomic::AtomicUsize::new(0);
    std::thread::scope(|scope| {
        let threads: Vec<_> = seats
            .into_iter()
            .map(|(link, me)| {
                let (held, taken) = (&held, &taken);
                scope.spawn(move || -> Result<(), String> {
                    for _ in 0..60 {
                        let got =
                            take(&link, me, BOX, "-2.00 sphere", &[1, 2, 3, 4]).map_err(|error| error.to_string())?;
                        let (Some(number), _) = got else {
                            give(&link, me, BOX, "-2.00 sphere", 1).map_err(|error| error.to_string())?;
                            continue;
                        };
                        taken.fetch_add(1, std::sync::atomic::Ordering::SeqCst);
                        let is_new = held.lock().map_err(|_| "broken")?.insert(number);
                        if !is_new {
                            return Err(format!("piece {number} is held twice"));
                        }
                        // long enough that another one would meet it
                        std::thread::sleep(std::time::Duration::from_millis(1));
                        held.lock().map_err(|_| "broken")?.remove(&number);
                        give(&link, me, BOX, "-2.00 sphere", number).map_err(|error| error.to_string())?;
                    }
                    Ok(())
                })
            })
            .collect();
        threads.into_iter().try_for_each(|thread| thread.join().map_err(|_| "a seat broke".to_owned())?)
    })?;
    assert!(taken.into_inner() > 100);
    Ok(())
}
