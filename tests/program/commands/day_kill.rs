//! A day against killed programs and two programs at once: nobody of the list is lost, nobody is seen twice.

use std::process::Stdio;
use std::time::Instant;

use serde_json::Value;

use super::room::{Room, Tested};

const CHILDREN: usize = 6;

/// Calls each child in, and lets it pass a screening.
fn passing() -> String {
    "D<enter>Ds77221<enter>".repeat(CHILDREN)
}

fn room_with_children() -> Result<Room, Box<dyn std::error::Error>> {
    let room = Room::new()?;
    room.json(&["day", "start", "--place", "School at Ford"])?;
    let lines: Vec<String> = (1..=CHILDREN).map(|number| format!("5B-{number},9,\n")).collect();
    let sheet = room.write("class.csv", &format!("label,age,note\n{}", lines.concat()))?;
    room.json(&["day", "add", "--from", &sheet])?;
    Ok(room)
}

/// The states of everybody, with how many exams there are and how many of them are closed.
fn stands(room: &Room) -> Result<(Vec<String>, usize, usize), Box<dyn std::error::Error>> {
    let list = room.json(&["day", "list"])?;
    let people = list["people"].as_array().ok_or("no people")?;
    let labels: Vec<String> = people.iter().map(|person| person["label"].to_string()).collect();
    let expected: Vec<String> = (1..=CHILDREN).map(|number| format!("\"5B-{number}\"")).collect();
    assert_eq!(labels, expected, "everybody is on the list once");
    let states = people.iter().map(|person| person["state"].as_str().unwrap_or_default().to_owned()).collect();
    let exams = room.json(&["exam", "list"])?;
    let exams = exams["exams"].as_array().ok_or("no exams")?;
    let of_the_day: Vec<&Value> = exams.iter().filter(|exam| exam["label"].is_string()).collect();
    let closed = of_the_day.iter().filter(|exam| exam["closed"].is_string()).count();
    Ok((states, of_the_day.len(), closed))
}

#[test]
fn killed_at_any_moment_nobody_of_the_day_is_lost() -> Tested {
    // how long all of it takes here, so that the kills fall into all of it
    let room = room_with_children()?;
    let begun = Instant::now();
    let said = room.say(&["--print", "--keys", &passing()])?;
    let whole = begun.elapsed();
    assert_eq!(said.code, Some(0), "{}", said.err);
    assert_eq!(stands(&room)?, (vec!["done".to_owned(); CHILDREN], CHILDREN, CHILDREN));

    let rounds = 16_u32;
    let mut midway = 0;
    for round in 1..=rounds {
        let room = room_with_children()?;
        let mut command = room.command(&["--print", "--keys", &passing()]);
        let mut child = command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null()).spawn()?;
        std::thread::sleep(whole * round / rounds);
        child.kill()?;
        child.wait()?;
        let (states, exams, closed) = stands(&room)?;
        let seen = states.iter().filter(|state| *state != "waits").count();
        assert_eq!(seen, exams, "round {round}: a call and its exam are there together: {states:?}");
        assert!(exams - closed <= 1, "round {round}: {states:?}");
        midway += usize::from(0 < exams && closed < CHILDREN);
        // whoever was in an exam goes on where it stood, and the rest of the day with them
        let said = room.say(&["--print", "--keys", "D"])?;
        assert_eq!(said.code, Some(0), "round {round}: {}", said.err);
        assert!(said.out.contains("5B-6"), "round {round}: {}", said.out);
    }
    // otherwise this has not tried what it is for
    assert!(midway >= 3, "only {midway} of {rounds} kills met a day midway");
    Ok(())
}

#[test]
fn two_programs_on_one_day_see_everybody_once() -> Tested {
    let room = room_with_children()?;
    let boxes = ["kits/boxes/full.yaml", "kits/boxes/spheres.yaml"];
    // each is at work on its own, and neither knows whom the other has called in meanwhile
    let (keys, mut running) = (passing(), Vec::new());
    for name in boxes {
        let mut command = room.command(&["--box", name, "--print", "--keys", &keys]);
        running.push(command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::piped()).spawn()?);
    }
    for child in running {
        let said = child.wait_with_output()?;
        assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    }
    let (states, exams, closed) = stands(&room)?;
    assert_eq!((exams, closed), (CHILDREN, CHILDREN), "{states:?}");
    assert_eq!(states, vec!["done"; CHILDREN], "nobody is called in twice");
    Ok(())
}
