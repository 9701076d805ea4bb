//! What is said to others, and to whom it matters: nobody waits for the five seconds after which everybody looks.

use std::time::Duration;

use dioptray::exam::{Detail, Event, Exam, Opening};
use dioptray::frame::FittedFrame;
use dioptray::frame::shipped::demo_frame;
use dioptray::kit::Stock;
use dioptray::kit::shipped::demo_box;
use dioptray::logbook::{BeganWith, Logbook, NamedBox, OpenExam};
use dioptray::room::here::{Due, Here};
use dioptray::room::hint::Hint;
use dioptray::room::joining::Caller;
use dioptray::room::link::{Link, Woken};
use dioptray::room::prepare::Role;
use dioptray::sharing::Heads;
use dioptray::sharing::news::{Holding, Told};
use tokio::sync::mpsc::unbounded_channel;
use uuid::Uuid;

use super::seat::Seat;
use super::server::SharedRoom;
use super::{Failure, Tested};

/// A seat as the thread that sends has it.
fn caller(seat: &Seat) -> Result<Caller, Failure> {
    std::fs::copy(seat.file("password"), seat.file("room.password"))?;
    Ok(Caller::of(&seat.logbook(), Some(seat.folder.path().to_owned()))?)
}

/// Somebody who listens.
fn listener(room: &SharedRoom) -> Result<Link, Failure> {
    let link = Link::connect(&room.address("b")?.parse()?, Some(&room.login("b")), None)?;
    link.listen_to_steps()?;
    Ok(link)
}

/// The next thing that is heard.
fn heard(link: &mut Link) -> Result<Hint, Failure> {
    let (_for_ever, mut asked) = unbounded_channel::<()>();
    match link.wait(&mut asked, Duration::from_secs(10)) {
        Woken::Knocked(hints) if hints.len() == 1 => Ok(hints[0]),
        other => Err(format!("not one hint: {other:?}").into()),
    }
}

/// An exam that is open in the logbook of a seat.
struct Open {
    logbook: Logbook,
    kept: OpenExam,
    exam: Exam,
}

impl Open {
    fn at(seat: &Seat) -> Result<Self, Failure> {
        let mut logbook = Logbook::open(&seat.logbook())?;
        let declared = demo_box()?;
        let opening = Opening::of(FittedFrame::new(demo_frame()?, Stock::of(&declared)));
        let in_box = NamedBox::new(Some("hillside-1"), &declared.name);
        let with = BeganWith { in_box, applied: Heads::default(), by: None, procedures_version: 1 };
        let kept = logbook.begin_exam(&opening, &with, "2026-03-01T09:30:00Z".parse()?)?;
        Ok(Self { logbook, kept, exam: Exam::open(opening) })
    }

    fn step(&mut self, label: &str) -> Tested {
        let checked = self.exam.check(vec![Event::Detail(Detail::Label(label.to_owned()))])?;
        self.logbook.append(&mut self.kept, &checked, None, "2026-03-01T09:31:00Z".parse()?)?;
        self.exam.accept(checked);
        Ok(())
    }

    fn told(&self) -> Told {
        Told::Kept { exam: Some(self.kept.number().0) }
    }
}

#[test]
fn a_lens_and_a_step_are_said_to_the_others_at_once_and_an_exam_is_sent_once() -> Tested {
    let room = SharedRoom::new("hints", &[])?;
    let seat = Seat::joined("lane1", &room.login("a"), &room.address("a")?)?;
    let mut open = Open::at(&seat)?;
    let caller = caller(&seat)?;
    let (mut link, _) = caller.connect()?;
    link.listen()?;
    let mut other = listener(&room)?;
    let mut of_no_steps = Link::connect(&room.address("b")?.parse()?, Some(&room.login("b")), None)?;
    of_no_steps.listen()?;
    let (tells, hears) = unbounded_channel();
    let mut here = Here::new(hears);
    let mut send = |told: Told| -> Result<Due, Failure> {
        tells.send(told)?;
        let due = here.hear_all();
        here.send(&caller, &link, Role::Examiner, due)?;
        Ok(due)
    };
    let piece = Holding { lens: "-2.00 sphere".to_owned(), numbers: vec![1] };
    let holds = |all: &[Holding]| Told::Holds { in_box: "id:hillside-1".to_owned(), all: all.to_vec() };
    assert_eq!(send(holds(std::slice::from_ref(&piece)))?, Due { held: true, ..Due::default() });
    assert_eq!(heard(&mut other)?, Hint::Held);
    // it is there already: nothing is said
    send(holds(std::slice::from_ref(&piece)))?;
    assert_eq!(other.rest(Duration::from_millis(300)), []);
    send(holds(&[]))?;
    assert_eq!(heard(&mut other)?, Hint::Held);

    let sizes = "SELECT octet_length(opening), (SELECT count(*) FROM room.live_step) FROM room.live_exam";
    let there = || -> Result<(i32, i64), Failure> {
        let rows = room.owner()?.call(sizes, &[])?;
        Ok(rows.first().map(|row| (row.get(0), row.get(1))).ok_or("no exam there")?)
    };
    open.step("A")?;
    send(open.told())?;
    let Hint::Step { exam, last: 1 } = heard(&mut other)? else { return Err("no step is said".into()) };
    let (opening, 1) = there()? else { return Err("one step".into()) };
    open.step("B")?;
    send(open.told())?;
    assert_eq!(heard(&mut other)?, Hint::Step { exam, last: 2 });
    assert_eq!(there()?, (opening, 2));
    // a room that lost it gets all of it again, in order
    room.owner()?.run("DELETE FROM room.live_exam")?;
    open.step("C")?;
    send(open.told())?;
    assert_eq!(there()?, (opening, 3));
    assert_eq!(heard(&mut other)?, Hint::Step { exam, last: 3 });
    assert_eq!(of_no_steps.rest(Duration::from_millis(300)), [Hint::Held]);
    // whoever said it does not hear it
    assert_eq!(link.rest(Duration::from_millis(300)), []);
    assert_eq!(Due::of_hints(&[Hint::Step { exam, last: 3 }]), Due::default());
    Ok(())
}

#[test]
fn what_another_copy_has_open_is_not_mixed_with_it() -> Tested {
    let room = SharedRoom::new("copies", &[])?;
    let seat = Seat::joined("lane1", &room.login("a"), &room.address("a")?)?;
    let mut open = Open::at(&seat)?;
    open.step("A")?;
    let caller = caller(&seat)?;
    let (link, _) = caller.connect()?;
    let (tells, hears) = unbounded_channel();
    let mut here = Here::new(hears);
    tells.send(open.told())?;
    let due = here.hear_all();
    here.send(&caller, &link, Role::Examiner, due)?;
    // the room has it of another logbook now
    room.owner()?.run("UPDATE room.live_exam SET home = gen_random_uuid()")?;
    open.step("B")?;
    tells.send(open.told())?;
    let due = here.hear_all();
    here.send(&caller, &link, Role::Examiner, due)?;
    let steps = room.owner()?.call("SELECT count(*) FROM room.live_step", &[])?;
    assert_eq!(steps[0].get::<_, i64>(0), 1);
    Ok(())
}

#[test]
fn what_is_told_while_much_is_put_away_does_not_wait_for_it() -> Tested {
    let room = SharedRoom::new("meanwhile", &[])?;
    let a = Seat::joined("lane1", &room.login("a"), &room.address("a")?)?;
    let b = Seat::joined("lane2", &room.login("b"), &room.address("b")?)?;
    for label in ["A", "B", "C"] {
        a.close_an_exam(label)?;
    }
    a.round()?;
    let mut looked = 0;
    let caller = caller(&b)?;
    let (link, _) = caller.connect()?;
    let done = caller.exchange_while(&link, &mut || {
        looked += 1;
        Ok(())
    })?;
    assert_eq!(done.new, 3);
    // once for the answer of the room, and at least once while the exams are checked and put away
    assert!(looked >= 2, "looked {looked} times");
    Ok(())
}

#[test]
fn a_hint_wakes_whoever_waits() -> Tested {
    let room = SharedRoom::new("wakes", &[])?;
    let a = Seat::joined("lane1", &room.login("a"), &room.address("a")?)?;
    let mut other = listener(&room)?;
    a.close_an_exam("A")?;
    a.round()?;
    assert_eq!(heard(&mut other)?, Hint::Entries);
    Ok(())
}

#[test]
fn hints_come_as_they_were_sent_and_what_is_not_known_is_something() {
    let step = Hint::Step { exam: Uuid::from_u128(7), last: 12 };
    for hint in [Hint::Entries, Hint::Held, step, Hint::TakenOver, Hint::Other] {
        assert_eq!(Hint::from_text(&hint.text()), hint);
    }
    assert_eq!(Hint::from_text("step of another kind"), Hint::Other);
}
