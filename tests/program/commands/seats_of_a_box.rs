//! One box at two seats: what the commands say of it once parcels were read, settling, and handing over.

use serde_json::json;

use super::room::{Room, Tested};

const LENS: &str = "-2.00 sphere #1";

/// A room with the file of the box that both seats have.
fn room() -> Result<Room, Box<dyn std::error::Error>> {
    let room = Room::new()?;
    let text = std::fs::read_to_string("kits/boxes/outreach.yaml")?;
    std::fs::write(room.file("box.yaml"), text.replace("box: Hillside outreach", "box: Hillside\nid: hillside"))?;
    Ok(room)
}

fn path(room: &Room, name: &str) -> Result<String, Box<dyn std::error::Error>> {
    Ok(room.file(name).to_str().ok_or("odd path")?.to_owned())
}

/// `dioptray box WORDS`, with the box named.
fn of_box(room: &Room, words: &[&str]) -> Result<(i32, String), Box<dyn std::error::Error>> {
    let file = path(room, "box.yaml")?;
    let words: Vec<&str> = [&["box", words[0], "--box", file.as_str()], &words[1..]].concat();
    let said = room.say(&words)?;
    Ok((said.code.ok_or("killed")?, format!("{}{}", said.out, said.err)))
}

/// Has one seat read all that another one wrote.
fn carry(from: &Room, seat: &str, to: &Room) -> Tested {
    let parcel = path(from, &format!("{seat}.parcel"))?;
    let written = from.say(&["parcel", "write", &parcel, "--seat", seat])?;
    assert_eq!(written.code, Some(0), "{}", written.err);
    let read = to.say(&["parcel", "read", &parcel, "--trust"])?;
    assert_eq!(read.code, Some(0), "{}", read.err);
    std::fs::remove_file(&parcel)?;
    Ok(())
}

#[test]
fn two_seats_settle_a_lens_that_both_lent() -> Tested {
    let (lane3, team) = (room()?, room()?);
    assert_eq!(of_box(&lane3, &["change", "lent", LENS, "--to", "Clinic 3"])?.0, 0);
    assert_eq!(of_box(&team, &["change", "lent", LENS, "--to", "Clinic 4"])?.0, 0);
    assert_eq!(of_box(&team, &["change", "lost", "-3.00 sphere #1"])?.0, 0);
    assert_eq!(of_box(&lane3, &["settle"])?.1, "Hillside: nothing is unsettled\n");
    carry(&team, "teamB", &lane3)?;
    let open = "-2.00 sphere #1, in two places: lent to Clinic 3, noted here; lent to Clinic 4, noted at teamB\n";
    assert_eq!(of_box(&lane3, &["settle"])?.1, open);
    let (_, list) = of_box(&lane3, &["list"])?;
    assert!(list.contains("-3.00 sphere #1: lost, noted at teamB\n"), "{list}");
    assert!(list.contains(&format!("unsettled: {open}")), "{list}");
    let file = path(&lane3, "box.yaml")?;
    let json = lane3.json(&["box", "list", "--box", &file])?;
    let lens = json["lenses"].as_array().and_then(|all| all.iter().find(|of| of["lens"] == "-2.00 sphere"));
    assert_eq!(lens.map(|of| of["in_two_places"].clone()), Some(1.into()));
    assert_eq!(json["noted_elsewhere"], json!([{"piece": "-3.00 sphere #1", "place": "lost", "noted_at": "teamB"}]));
    assert_eq!((&json["unsettled"][0]["piece"], &json["unsettled"][0]["about"]), (&LENS.into(), &"place".into()));
    assert_eq!(json["unsettled"][0]["said"][1]["seat"], "teamB");
    let (_, boxes) = (0, lane3.say(&["boxes"])?.out);
    assert!(boxes.contains(", 1 unsettled, "), "{boxes}");
    let (_, history) = of_box(&lane3, &["history", LENS])?;
    assert!(history.lines().any(|line| line.contains("lent to Clinic 4") && line.ends_with(", at teamB")), "{history}");
    // it is proposed nowhere: no stack takes it while the other one is away too
    assert_eq!(of_box(&lane3, &["change", "lent", "-2.00 sphere #2", "--to", "Clinic 5"])?.0, 0);
    let stack = lane3.say(&["stack", "-2.00", "--box", &file])?.out;
    assert!(!stack.contains("-2.00 sphere #"), "{stack}");

    let (code, said) = of_box(&lane3, &["settle", "-3.00 sphere", "in-box"])?;
    assert_eq!(code, 1);
    assert!(said.contains("of -3.00 sphere no place is unsettled: name the piece"), "{said}");
    let (code, said) = of_box(&lane3, &["settle", LENS, "lane 3"])?;
    assert_eq!(code, 1);
    assert!(said.contains("where is it: in-box, lost, or at a seat?"), "{said}");
    let settled = lane3.json(&["box", "settle", "--box", &file, "-2.00 sphere", "teamB"])?;
    assert_eq!(settled, json!({"box": "Hillside", "change": "settled", "piece": LENS}));
    assert_eq!(of_box(&lane3, &["settle"])?.1, "Hillside: nothing is unsettled\n");
    carry(&lane3, "lane3", &team)?;
    let (_, list) = of_box(&team, &["list"])?;
    assert!(!list.contains("unsettled") && !list.contains("-2.00 sphere #1"), "at this seat it is here: {list}");
    Ok(())
}

#[test]
fn a_box_is_handed_over_and_back() -> Tested {
    let (lane3, team) = (room()?, room()?);
    let file = path(&lane3, "box.yaml")?;
    let handed = lane3.json(&["box", "hand-over", "--box", &file, "--to", "teamB"])?;
    assert_eq!(handed, json!({"box": "Hillside", "handed_over_to": "teamB"}));
    let (code, said) = of_box(&lane3, &["change", "lost", LENS])?;
    assert_eq!(code, 1);
    assert!(said.contains("the box Hillside is handed over to teamB, which alone changes it"), "{said}");
    assert_eq!(lane3.json(&["box", "list", "--box", &file])?["handed_over_to"], json!(["teamB"]));
    let boxes = lane3.say(&["boxes"])?.out;
    assert!(boxes.contains(", handed over to teamB, "), "{boxes}");
    carry(&lane3, "lane3", &team)?;
    // before it has a name it is not that seat
    assert_eq!(of_box(&team, &["change", "lost", LENS])?.0, 1);
    assert_eq!(team.say(&["parcel", "write", &path(&team, "first")?, "--seat", "teamB"])?.code, Some(0));
    assert_eq!(of_box(&team, &["change", "lost", LENS])?.0, 0);
    assert_eq!(of_box(&team, &["hand-over", "--back"])?.1, "Hillside: handed back\n");
    carry(&team, "teamB", &lane3)?;
    let (_, list) = of_box(&lane3, &["list"])?;
    assert!(list.contains("-2.00 sphere #1: lost, noted at teamB") && !list.contains("handed over"), "{list}");
    assert_eq!(of_box(&lane3, &["change", "found", LENS])?.0, 0);
    // neither to nor back
    assert_eq!(of_box(&lane3, &["hand-over"])?.0, 2);
    // a slip of handing over is taken back
    assert_eq!(of_box(&lane3, &["hand-over", "--to", "teamB"])?.0, 0);
    assert_eq!(of_box(&lane3, &["undo"])?.1, "Hillside: a slip: handed over to teamB\n");
    assert_eq!(of_box(&lane3, &["change", "lost", LENS])?.0, 0);
    Ok(())
}
