//! What `net`, `convert` and `retinoscopy` answer.

use approx::assert_relative_eq;
use serde_json::{Value, json};
use std::error::Error;

use super::room::{Room, TWO_CELLS, Tested, assert_power};

#[test]
fn net_follows_the_frame() -> Tested {
    let room = Room::new()?;
    let frame = room.write("frame.yaml", TWO_CELLS)?;
    // calculated from the step-along formula: 2/(1 − 0.0075·2) + 10 and so on
    for (rear, front, sphere) in
        [("+10", "+2", 12.03), ("+2", "+10", 12.81), ("-10", "-2", -11.97), ("-2", "-10", -11.30)]
    {
        let answer = room.json(&["net", "--frame", &frame, rear, front])?;
        assert_power(&answer["net"], sphere, 0.0, 180.0);
        let marked = rear.parse::<f64>()? + front.parse::<f64>()?;
        assert_power(&answer["marked"], marked, 0.0, 180.0);
    }
    let answer = room.json(&["net", "--frame", &frame, "-9.00", "-2.00x180"])?;
    let net = &answer["net"];
    for (field, value) in [("m", &net["m"]), ("j0", &net["j0"]), ("j45", &net["j45"])] {
        assert!(value.is_f64(), "{field} is missing in {net}");
    }
    assert_eq!(answer["prism"], json!({"amount": 0.0, "base": 0.0}));
    Ok(())
}

#[test]
fn lenses_and_options_stand_in_any_order() -> Tested {
    let room = Room::new()?;
    let expected = room.json(&["net", "--eye", "left", "-4.25", ".", "-0.75x180"])?;
    for arguments in [
        &["net", "-4.25", ".", "-0.75x180", "--eye", "left"][..],
        &["net", "-4.25", "--eye", "left", "pl", "-0.75x0"],
        &["net", "--eye=left", "--", "-4.25", ".", "-0.75 x 180"],
        &["net", "\u{2212}4.25", ".", "\u{2212}0.75\u{d7}180", "--eye", "left"],
    ] {
        let said = room.say(&[&["--json"], arguments].concat())?;
        assert_eq!(serde_json::from_str::<Value>(&said.out)?, expected, "{arguments:?}: {}", said.err);
    }
    Ok(())
}

#[test]
fn the_cornea_is_at_the_vertex_distance() -> Tested {
    let room = Room::new()?;
    let answer = room.json(&["net", "--vertex", "12", "-9.00", ".", "-2.00x180"])?;
    let at = |vertex: &str| -> Result<f64, Box<dyn Error>> {
        let answer = room.json(&["net", "--vertex", vertex, "-10.00"])?;
        answer["cornea"]["sphere"].as_f64().ok_or_else(|| "no sphere".into())
    };
    assert!(answer["cornea"]["sphere"].as_f64() > answer["net"]["sphere"].as_f64());
    assert_relative_eq!(at("12")?, -8.93, epsilon = 0.005);
    assert_relative_eq!(at("0")?, -10.0, epsilon = 1e-12);
    Ok(())
}

#[test]
fn bases_follow_the_eye() -> Tested {
    let room = Room::new()?;
    for (eye, lens, base) in [
        ("right", "3BI", 0.0),
        ("left", "3BI", 180.0),
        ("right", "3BO", 180.0),
        ("left", "3BO", 0.0),
        ("left", "3b225", 225.0),
    ] {
        let prism = &room.json(&["net", "--eye", eye, lens])?["prism"];
        assert_relative_eq!(prism["base"].as_f64().ok_or("no base")?, base, epsilon = 1e-9);
        assert_relative_eq!(prism["amount"].as_f64().ok_or("no amount")?, 3.0, epsilon = 1e-9);
    }
    Ok(())
}

#[test]
fn behind_an_occluder_there_is_no_net() -> Tested {
    let room = Room::new()?;
    let answer = room.json(&["net", "-3.00", "occluder"])?;
    assert_eq!((&answer["net"], &answer["cornea"], &answer["occluded"]), (&Value::Null, &Value::Null, &json!(true)));
    assert_power(&answer["marked"], -3.0, 0.0, 180.0);
    assert_eq!(room.json(&["net", "-3.00", "pinhole"])?.get("occluded"), None);
    assert!(room.say(&["net", "-3.00", "occluder"])?.out.contains("net              occluded"));
    Ok(())
}

#[test]
fn convert_transposes_and_moves() -> Tested {
    let room = Room::new()?;
    // eyeandcontacts.com, "Glasses or spectacle power" (2021)
    let answer = room.json(&["convert", "+2.50/-1.50x170", "--plus"])?;
    assert_eq!(answer["nearest_quarter"], "+1.00/+1.50x80");
    assert_power(&answer["power"], 2.50, -1.50, 170.0);
    assert_power(&answer["plus_form"], 1.00, 1.50, 80.0);
    // optominsight.com, "Simple transposition"
    let answer = room.json(&["convert", "+1.00 +1.00 x 90"])?;
    assert_eq!(answer["nearest_quarter"], "+2.00/-1.00x180");
    assert_power(&answer["power"], 2.0, -1.0, 180.0);
    // calculated, F/(1 − dF)
    assert_power(&room.json(&["convert", "-10.00", "--from", "12", "--to", "0"])?["power"], -8.93, 0.0, 180.0);
    assert_power(&room.json(&["convert", "+10.00", "--from", "12"])?["power"], 11.36, 0.0, 180.0);
    // odquestions.com, demo 10
    assert_power(&room.json(&["convert", "+5.00", "--to", "20"])?["power"], 4.55, 0.0, 180.0);
    Ok(())
}

#[test]
fn retinoscopy_takes_the_working_distance_off() -> Tested {
    let room = Room::new()?;
    // question from mrcophth, mock 8, station 5; calculated
    let meridians = ["--meridian", "180:+2.25", "--meridian", "90:+3.00"];
    let answer = room.json(&[&["retinoscopy", "--distance", "0.6666666666666667"], &meridians[..]].concat())?;
    assert_power(&answer["power"], 1.50, -0.75, 90.0);
    Ok(())
}

#[test]
fn no_number_is_minus_zero() -> Tested {
    let room = Room::new()?;
    for arguments in [
        &["net", "-4.25", ".", "-0.75x90"][..],
        &["net", "-0.00", "3BD"],
        &["net", "3BO", "3BI"],
        &["convert", "-0.00/-0.50x90"],
        &["convert", "plano/-0.00x90"],
        &["retinoscopy", "--distance", "1", "--meridian", "90:+1.00", "--meridian", "180:+1.00"],
    ] {
        let text = room.say(&[arguments, &["--json"]].concat())?.out;
        assert!(!text.contains("-0.0,") && !text.contains("-0.0}"), "{text}");
    }
    Ok(())
}
