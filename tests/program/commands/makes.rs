//! `box coverage`, `box advise`, `box pack` and `box return`.

use std::fs;

use serde_json::{Value, json};

use super::room::{Room, Tested};

/// A box of some spheres and cylinders that makes enough to be packed from, under its own id.
const BOX: &str = "box: Makes\nid: makes-1\nlenses:\n  - {kind: sphere, powers: [\"±0.25 to ±2.00 by 0.25\"], each: 2}\n  - {kind: cylinder, powers: [\"-0.25 to -1.00 by 0.25\"], each: 2}\n  - {kind: occluder, each: 2}\nmissing: [\"-1.50 sphere x2\"]\nmeasured:\n  - {lens: \"-2.00 sphere #1\", power: -1.87}\n";

fn share(value: &Value) -> f64 {
    value.as_f64().unwrap_or(f64::NAN)
}

#[test]
fn what_a_box_makes_has_the_whole_grid_and_the_shares() -> Tested {
    let room = Room::new()?;
    let file = room.write("makes.yaml", BOX)?;
    let coverage = room.json(&["box", "coverage", "--box", &file])?;
    let grid = coverage["grid"].as_array().ok_or("no grid")?;
    assert_eq!(grid.len(), 161 * 25);
    let at = |sphere: f64, cylinder: f64| {
        grid.iter().find(|of| of["sphere"] == sphere && of["cylinder"] == cylinder).ok_or("not on the grid")
    };
    assert_eq!(at(0.0, 0.0)?["lenses"], 0);
    assert_eq!(at(-1.0, 0.0)?["lenses"], 1);
    assert_eq!(at(-1.0, -0.5)?["lenses"], 2);
    assert_eq!(at(-20.0, -6.0)?["lenses"], Value::Null);
    assert!(share(&at(-20.0, -6.0)?["miss"]) > 5.0 && share(&at(-1.0, -0.5)?["miss"]) < 0.06);
    for eyes in ["one_eye", "both_eyes"] {
        let shares: Vec<f64> = ["1", "2", "3", "4"].map(|lenses| share(&coverage[eyes][lenses])).to_vec();
        assert!(shares[0] > 0.1 && shares.is_sorted() && shares[3] < 1.0, "{eyes}: {shares:?}");
        assert!((1.0..4.0).contains(&share(&coverage[eyes]["mean"])), "{coverage}");
    }
    let kept_back = room.json(&["box", "coverage", "--box", &file, "--reserve"])?;
    assert!(share(&kept_back["both_eyes"]["2"]) < share(&coverage["both_eyes"]["2"]));
    // what the logbook knows counts
    room.json(&["box", "change", "--box", &file, "lost", "-1.00 sphere x2"])?;
    let after = room.json(&["box", "coverage", "--box", &file])?;
    assert!(share(&after["one_eye"]["1"]) < share(&coverage["one_eye"]["1"]));
    Ok(())
}

#[test]
fn the_map_and_the_csv_say_what_the_grid_says() -> Tested {
    let room = Room::new()?;
    let file = room.write("makes.yaml", BOX)?;
    let csv = room.file("makes.csv");
    let said = room.say(&[
        "box",
        "coverage",
        "--box",
        &file,
        "--map",
        "--zoom",
        "quarter",
        "--beside",
        &file,
        "--csv",
        csv.to_str().ok_or("odd path")?,
    ])?;
    assert_eq!(said.code, Some(0), "{}", said.err);
    let rows: Vec<&str> =
        said.out.lines().filter(|line| line.trim_start().starts_with(['0', '-']) && line.len() > 300).collect();
    assert_eq!(rows.len(), 25, "{}", said.out);
    let csv = fs::read_to_string(csv)?;
    let mut lines = csv.lines();
    assert_eq!(lines.next(), Some("sphere,cylinder,lenses,miss,lenses_both_eyes"));
    for line in lines.filter(|line| line.starts_with("-1.00,")) {
        let cells: Vec<&str> = line.split(',').collect();
        let row =
            rows.iter().find(|row| row.trim_start().starts_with(&format!("{} ", cells[1]))).ok_or("no such row")?;
        // each place has the figure of the box and that of the other, which is the same box here
        let figure: String = row.chars().skip(10 + 2 * 76).take(2).collect();
        let wanted = if cells[2].is_empty() { "." } else { cells[2] };
        assert_eq!(figure, wanted.repeat(2), "{line}: {row}");
    }
    Ok(())
}

#[test]
fn people_are_those_of_a_table_or_of_the_exams() -> Tested {
    let room = Room::new()?;
    let file = room.write("makes.yaml", BOX)?;
    let people = room.write("people.csv", "sphere,cylinder,eyes\n-1.00,0,3\n-1.50,0,1\n")?;
    let coverage = room.json(&["box", "coverage", "--box", &file, "--people", &people])?;
    assert_eq!(coverage["eyes"], 4.0);
    assert_eq!((&coverage["one_eye"]["1"], &coverage["one_eye"]["2"]), (&json!(0.75), &json!(1.0)));
    let bad = room.write("bad.csv", "sphere,cylinder\n-1.00,0\nfar,0\n-1.00,near\n")?;
    let said = room.say(&["box", "coverage", "--box", &file, "--people", &bad])?;
    assert_eq!((said.code, said.out.as_str()), (Some(1), ""));
    assert_eq!(
        said.err,
        format!(
            "{bad}:3: sphere `far`: expected a number here: prescribed power is from -40 to 40 D\n\
             {bad}:4: cylinder `near`: expected a number here: prescribed power is from -40 to 40 D\n"
        )
    );
    let said = room.say(&["box", "coverage", "--box", &file, "--people", "exams"])?;
    assert_eq!(said.code, Some(1));
    assert!(said.err.contains("no exam with the box Makes has a prescription yet"), "{}", said.err);
    Ok(())
}

#[test]
fn what_to_buy_begins_with_what_is_lacking_and_keeps_to_prices() -> Tested {
    let room = Room::new()?;
    let file = room.write("makes.yaml", BOX)?;
    let advice = room.json(&["box", "advise", "--box", &file, "--pieces", "8"])?;
    let buy = advice["buy"].as_array().ok_or("nothing to buy")?;
    let lens = |at: usize| buy[at]["lens"].as_str().unwrap_or_default();
    assert_eq!((lens(0), lens(1), lens(2)), ("0.25 cross cylinder", "pinhole", "-1.50 sphere"), "{advice}");
    assert_eq!((&buy[2]["pieces"], &buy[2]["why"]), (&json!(2), &json!("2 are lost")));
    let gains: f64 = buy.iter().map(|of| share(&of["gains"])).sum();
    let (now, then) = (share(&advice["now"]["both_eyes"]["2"]), share(&advice["then"]["both_eyes"]["2"]));
    assert!((now + gains - then).abs() < 1e-9 && share(&advice["bound"]) >= then, "{advice}");
    let prices = room.write("prices.csv", "lens,price\n-1.50 sphere,5\npinhole,3\n-1.25 cylinder,\n")?;
    let advice = room.json(&["box", "advise", "--box", &file, "--prices", &prices, "--budget", "12"])?;
    let bought: Vec<(&Value, &Value)> =
        advice["buy"].as_array().ok_or("nothing")?.iter().map(|of| (&of["lens"], &of["price"])).collect();
    assert_eq!(bought, [(&json!("pinhole"), &json!(3.0))], "ten for the pair is more than is left");
    let bad = room.write("bad.csv", "lens,price\n-1.50 sphere,dear\n-1.50 ball,2\npinhole,1\npinhole,2\n")?;
    let said = room.say(&["box", "advise", "--box", &file, "--prices", &bad])?;
    let lines: Vec<&str> = said.err.lines().collect();
    assert_eq!((said.code, lines.len()), (Some(1), 3), "{}", said.err);
    assert!(lines[0].starts_with(&format!("{bad}:2: price `dear`: ")), "{}", said.err);
    assert!(lines[1].starts_with(&format!("{bad}:3: `-1.50 ball` is not the name of a lens")), "{}", said.err);
    assert_eq!(lines[2], format!("{bad}:5: pinhole stands in this list twice"));
    let said = room.say(&["box", "advise", "--box", &file, "--prices", &prices, "--budget", "99999999999"])?;
    assert_eq!(said.code, Some(1));
    assert!(said.err.starts_with("error: --budget: "), "which figure is wrong is not said: {}", said.err);
    Ok(())
}

#[test]
fn a_bag_has_what_is_always_in_it_and_as_many_pieces_as_were_asked_for() -> Tested {
    let room = Room::new()?;
    let file = room.write("makes.yaml", BOX)?;
    let things = room.write("things.txt", "# with every bag\nchart\nnear card\n")?;
    let pack = |more: &[&str]| room.json(&[&["box", "pack", "--box", &file, "--minutes", "0.01"], more].concat());
    let bag = pack(&["--pieces", "16", "--always", "occluder", "+1.00 sphere x2", "--things", &things])?;
    let take = bag["take"].as_array().ok_or("empty")?;
    let pieces =
        |lens: &str| take.iter().find(|of| of["lens"] == lens).map_or(0, |of| of["pieces"].as_u64().unwrap_or(0));
    assert_eq!(take.iter().filter_map(|of| of["pieces"].as_u64()).sum::<u64>(), 16, "{bag}");
    assert_eq!((pieces("occluder"), pieces("+1.00 sphere"), &bag["pieces"]), (1, 2, &json!(16)));
    assert_eq!(bag["things"], json!(["chart", "near card"]));
    assert!((share(&bag["share"]) - share(&bag["both_eyes"]["2"])).abs() < 1e-9, "{bag}");
    assert!(share(&bag["bound"]) >= share(&bag["share"]) && share(&bag["share"]) > 0.1, "{bag}");
    let lose = bag["lose"].as_array().ok_or("nothing to lose")?;
    assert!(lose.iter().all(|of| share(&of["share"]) > 0.0) && !lose.is_empty());
    // the smallest bag for a share
    let smallest = pack(&["--share", "0.15", "--always", "none"])?;
    assert!(share(&smallest["share"]) >= 0.15 && smallest["pieces"].as_u64() < Some(16), "{smallest}");
    let refused = room.say(&["box", "pack", "--box", &file, "--pieces", "2"])?;
    assert_eq!((refused.code, refused.out.as_str()), (Some(1), ""));
    assert!(refused.err.contains("always in it are 9 pieces already"), "{}", refused.err);
    let refused = room.say(&["box", "pack", "--box", &file, "--pieces", "9", "--always", "slit"])?;
    assert_eq!(refused.err, "error: always in it: slit: the box has 0 of it at hand\n");
    let refused = room.say(&["box", "pack", "--box", &file, "--share", "0.99"])?;
    assert!(refused.err.contains("the whole box does not make 99.0 %"), "{}", refused.err);
    Ok(())
}

#[test]
fn a_bag_goes_out_as_a_box_of_its_own_and_comes_back_one_short() -> Tested {
    let room = Room::new()?;
    let file = room.write("makes.yaml", BOX)?;
    let out = room.file("ford.yaml");
    let out_file = out.to_str().ok_or("odd path")?;
    let check_out = [
        "box",
        "pack",
        "--box",
        &file,
        "--pieces",
        "14",
        "--minutes",
        "0.01",
        "--always",
        "occluder",
        "-2.00 sphere x2",
        "--name",
        "Ford bag",
        "--check-out",
        "--to",
        "School at Ford",
        "--until",
        "2026-12-04",
        "--out",
        out_file,
    ];
    let bag = room.json(&check_out)?;
    let id = bag["checked_out"]["id"].as_str().ok_or("not checked out")?;
    assert!(id.starts_with("ford-bag-"), "{id}");
    assert_eq!(bag["checked_out"]["pieces"], 14);
    // the bag is a box: what is off its mark says so there too
    let listed = room.json(&["box", "list", "--box", out_file])?;
    let sum = |list: &Value, part: &str| {
        list["lenses"].as_array().map_or(0, |lenses| lenses.iter().filter_map(|of| of[part].as_u64()).sum::<u64>())
    };
    assert_eq!((&listed["box"], sum(&listed, "free")), (&json!("Ford bag"), 14));
    assert!(fs::read_to_string(&out)?.contains("-1.87"), "the measured power of -2.00 sphere #1 is not in the bag");
    let loans = room.json(&["box", "loans", "--box", &file])?;
    let loans = loans["loans"].as_array().ok_or("no loans")?;
    assert_eq!(loans.len(), 14);
    assert!(loans.iter().all(|of| of["to"] == "School at Ford" && of["until"] == "2026-12-04"), "{loans:?}");
    // the same file is not written over, and nothing is lent for it
    let refused = room.say(&check_out)?;
    assert_eq!((refused.code, refused.out.as_str()), (Some(1), ""), "{}", refused.err);
    assert_eq!(sum(&room.json(&["box", "list", "--box", &file])?, "lent"), 14);
    let refused = room.say(&["box", "return", "--box", &file, "no-such-bag"])?;
    assert_eq!(
        refused.err,
        "error: no bag `no-such-bag` was checked out of the box Makes: `box loans` says what is away\n"
    );
    let refused = room.say(&["box", "return", "--box", &file, id, "--but", "+2.00 cylinder"])?;
    assert_eq!(refused.code, Some(1), "{}", refused.out);
    let back = room.json(&["box", "return", "--box", &file, id, "--but", "-2.00 sphere #2"])?;
    assert_eq!(back["changes"].as_array().map(Vec::len), Some(14), "{back}");
    let after = room.json(&["box", "list", "--box", &file])?;
    // two were missing before
    assert_eq!((sum(&after, "lent"), sum(&after, "lost")), (0, 3));
    let again = room.say(&["box", "return", "--box", &file, id])?;
    assert!(again.err.contains("is away any more"), "{}", again.err);
    // one entry, so that it is taken back as one
    room.json(&["box", "undo", "--box", &file])?;
    assert_eq!(sum(&room.json(&["box", "list", "--box", &file])?, "lent"), 14);
    Ok(())
}

#[test]
fn what_was_noted_of_a_bag_while_it_was_away_is_noted_of_the_box_when_it_is_back() -> Tested {
    let room = Room::new()?;
    let file = room.write("makes.yaml", BOX)?;
    let out = room.file("ford.yaml");
    let bag_file = out.to_str().ok_or("odd path")?;
    // a lens of which the box declares none, off its mark: the bag has to know it
    room.json(&["box", "change", "--box", &file, "added", "+7.25 sphere"])?;
    room.json(&["box", "change", "--box", &file, "measured", "+7.25 sphere #1", "+7.12"])?;
    room.json(&["box", "change", "--box", &file, "marked", "-2.00 sphere #1", "notch"])?;
    let always = ["occluder", "-2.00 sphere x2", "+7.25 sphere", "+1.00 sphere x2"];
    let pack =
        ["box", "pack", "--box", &file, "--pieces", "14", "--minutes", "0.01", "--name", "Ford bag", "--check-out"];
    let out_to = ["--to", "Ford", "--out", bag_file, "--always"];
    let bag = room.json(&[&pack[..], &out_to, &always].concat())?;
    let id = bag["checked_out"]["id"].as_str().ok_or("not checked out")?;
    let kept = fs::read_to_string(&out)?;
    assert!(kept.contains("+7.25 sphere #1") && kept.contains("+7.12"), "the measured power is not in the bag: {kept}");
    let history = |lens: &str| -> Result<Vec<(String, String)>, Box<dyn std::error::Error>> {
        let answer = room.json(&["box", "history", "--box", &file, lens])?;
        let lines = answer["history"].as_array().ok_or("no history")?;
        let text = |line: &Value, of: &str| line[of].as_str().unwrap_or_default().to_owned();
        Ok(lines.iter().map(|line| (text(line, "event"), text(line, "says"))).collect())
    };
    let last = |lens: &str| -> Result<(String, String), Box<dyn std::error::Error>> {
        Ok(history(lens)?.pop().ok_or_else(|| format!("nothing of {lens}"))?)
    };
    let marked = json!([{"piece": "-2.00 sphere #1", "mark": "notch"}]);
    assert_eq!(room.json(&["box", "list", "--box", bag_file])?["marked"], marked, "its mark goes with it");
    room.json(&["box", "change", "--box", bag_file, "marked", "-2.00 sphere #1", "red dot"])?;
    room.json(&["box", "change", "--box", bag_file, "lost", "-2.00 sphere #2"])?;
    room.json(&["box", "change", "--box", bag_file, "damaged", "occluder", "--note", "bent"])?;
    room.json(&["box", "change", "--box", bag_file, "measured", "+1.00 sphere #2", "+1.12"])?;
    room.json(&["box", "change", "--box", bag_file, "added", "pinhole"])?;
    let back = room.say(&["box", "return", "--box", &file, id])?;
    assert_eq!(back.code, Some(0), "{}", back.err);
    assert_eq!(last("pinhole")?.0, "added");
    assert!(back.err.contains("-2.00 sphere #2: lost, says what was noted of Ford bag"), "{}", back.err);
    assert_eq!(last("-2.00 sphere #2")?.0, "lost");
    assert_eq!(last("-2.00 sphere #1")?, ("marked".to_owned(), "red dot".to_owned()));
    assert_eq!(last("occluder #1")?, ("damaged".to_owned(), "bent".to_owned()));
    assert_eq!(last("+1.00 sphere #2")?, ("measured".to_owned(), "marked +1.00, measured +1.12, +0.12 off".to_owned()));
    // its pieces are in one place: nothing more is noted of the bag
    let boxes = room.json(&["boxes"])?;
    let of_the_bag =
        boxes["boxes"].as_array().and_then(|all| all.iter().find(|one| one["id"] == id)).ok_or("no bag")?;
    assert_eq!((&of_the_bag["pieces"], &of_the_bag["back_in"]), (&json!(0), &json!("Makes")));
    let refused = room.say(&["box", "change", "--box", bag_file, "lost", "occluder"])?;
    assert_eq!((refused.code, refused.out.as_str()), (Some(1), ""));
    assert_eq!(refused.err, "error: the bag Ford bag is back in Makes: note it there, with its file\n");
    // undone, the bag is away again
    room.json(&["box", "undo", "--box", &file])?;
    room.json(&["box", "change", "--box", bag_file, "mended", "occluder"])?;
    // brought back piece by piece, it is back too
    let away = room.json(&["box", "loans", "--box", &file])?;
    let away: Vec<&str> =
        away["loans"].as_array().ok_or("no loans")?.iter().filter_map(|of| of["piece"].as_str()).collect();
    assert_eq!(away.len(), 14);
    // of which only one came back, that one is not in the bag any more
    let free = |lens: Option<&str>| -> Result<u64, Box<dyn std::error::Error>> {
        let listed = room.json(&["box", "list", "--box", bag_file])?;
        let lenses = listed["lenses"].as_array().ok_or("no lenses")?.iter();
        let of = lenses.filter(|of| lens.is_none_or(|lens| of["lens"] == lens));
        Ok(of.filter_map(|of| of["free"].as_u64()).sum())
    };
    let before = free(None)?;
    assert_eq!(free(Some("-2.00 sphere"))?, 1, "one of two is lost");
    room.json(&["box", "change", "--box", &file, "returned", "-2.00 sphere #1"])?;
    assert_eq!((free(Some("-2.00 sphere"))?, free(None)?), (0, before - 1));
    let gone = room.say(&["box", "change", "--box", bag_file, "lost", "-2.00 sphere #1"])?;
    assert_eq!(gone.code, Some(1), "{}", gone.out);
    assert!(gone.err.contains("-2.00 sphere #1 is in the box makes-1"), "{}", gone.err);
    let counted = room.json(&["boxes"])?;
    let counted = counted["boxes"].as_array().and_then(|all| all.iter().find(|one| one["id"] == id)).cloned();
    assert_eq!(counted.ok_or("no bag")?["pieces"], json!(before), "the lost one is still of the bag");
    // a slip of the box has it in the bag again
    room.json(&["box", "undo", "--box", &file])?;
    assert_eq!(free(None)?, before);
    room.json(&[&["box", "change", "--box", &file, "returned"][..], &away].concat())?;
    assert_eq!(free(None)?, 1, "what came into the bag alone is still there");
    assert_eq!(room.say(&["box", "change", "--box", bag_file, "lost", "occluder"])?.err, refused.err);
    Ok(())
}
