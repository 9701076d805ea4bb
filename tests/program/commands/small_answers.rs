//! The small answers of `convert`, and what `net` and `retinoscopy` say beside the power.

use approx::assert_relative_eq;
use serde_json::{Value, json};

use super::room::{Room, Tested, assert_power};

#[track_caller]
fn assert_figure(found: &Value, expected: f64, within: f64) {
    let figure = found.as_f64().unwrap_or(f64::NAN);
    assert!((figure - expected).abs() <= within, "{found} is not {expected}");
}

#[test]
fn power_along_a_meridian() -> Tested {
    let room = Room::new()?;
    // a public teaching question set, flash cards 2261801 and 11666149; aboc.8m.com, page 12
    for (rx, meridian, along) in [
        ("+2.00/+3.50x135", "90", 3.75),
        ("-1.75/+5.00x45", "90", 0.75),
        ("+1.00/-4.00x60", "90", 0.0),
        ("-1.25/-2.00x180", "90", -3.25),
        ("+2.00/+5.00x30", "180", 3.25),
        ("+2.00/+5.00x30", "0", 3.25),
    ] {
        let answer = room.json(&["convert", rx, "--along", meridian])?;
        assert_eq!(answer.as_object().map(serde_json::Map::len), Some(1), "{answer}");
        assert_figure(&answer["along"], along, 1e-12);
    }
    Ok(())
}

#[test]
fn a_cross_to_a_prescription_and_back() -> Tested {
    let room = Room::new()?;
    // question from mrcophth, mock 8, station 5, gross; the order of the two is free
    for cross in [["180:+2.25", "90:+3.00"], ["90:+3,00", "0:+2.25"]] {
        let answer = room.json(&["convert", "--cross", cross[0], cross[1]])?;
        assert_power(&answer["power"], 3.00, -0.75, 90.0);
        assert_eq!(answer["nearest_quarter"], "+3.00/-0.75x90");
    }
    let plus = room.json(&["convert", "--cross", "180:+2.25", "90:+3.00", "--plus"])?;
    assert_power(&plus["plus_form"], 2.25, 0.75, 180.0);
    let back = room.json(&["convert", "+3.00/-0.75x90"])?;
    assert_eq!(back["cross"], json!([{"meridian": 90.0, "power": 3.0}, {"meridian": 180.0, "power": 2.25}]));
    let said = room.say(&["convert", "+3.00/-0.75x90"])?.out;
    assert!(said.contains("cross            +3.00 along 90, +2.25 along 180\n"), "{said}");
    Ok(())
}

#[test]
fn sums_differences_and_means() -> Tested {
    let room = Room::new()?;
    // The Indian Optician, May-June 2022, p. 105; board-review formula notes 2026; calculated (a public thread's -0.25x30 is wrong)
    for (rx, other, plus, sphere, cylinder, axis) in [
        ("+1.75/+0.50x45", "-2.25/-1.00x135", false, 0.0, -1.50, 135.0),
        ("plano/-2.50x155", "plano/+1.50x65", true, -2.50, 4.00, 65.0),
        ("plano/+2.00x120", "plano/-2.25x30", false, 2.00, -4.25, 30.0),
    ] {
        let asked = ["convert", rx, "--sum", other];
        let answer = room.json(&[&asked[..], if plus { &["--plus"] } else { &[] }].concat())?;
        assert_power(if plus { &answer["plus_form"] } else { &answer["power"] }, sphere, cylinder, axis);
    }
    // calculated: three of one kind, and what is taken off again
    assert_power(&room.json(&["convert", "-1", "--sum", "-1/-1x20", "--sum", "-1"])?["power"], -3.0, -1.0, 20.0);
    assert_power(&room.json(&["convert", "-3/-1x20", "--less", "-2"])?["power"], -1.0, -1.0, 20.0);
    assert_power(&room.json(&["convert", "-1", "--less", "-1/-1x20"])?["power"], 1.0, -1.0, 110.0);
    // Harris 1988: not the mean of the axes, 90
    assert_power(&room.json(&["convert", "-2/-1x10", "--mean", "-2/-1x170"])?["power"], -2.03, -0.94, 180.0);
    assert_power(&room.json(&["convert", "-1", "--mean", "-2", "--mean", "-6"])?["power"], -3.0, 0.0, 180.0);
    Ok(())
}

#[test]
fn the_residual_has_a_score() -> Tested {
    let room = Room::new()?;
    // method: Taylor and others, Eye 2011;25:1333; calculated
    let answer = room.json(&["convert", "-2.00/-1.00x100", "--residual", "-2.00/-1.00x90"])?;
    assert_power(&answer["power"], 0.17, -0.35, 50.0);
    assert_figure(&answer["score"], 0.17, 0.005);
    let answer = room.json(&["convert", "+1.25/-0.50x85", "--residual", "+1.50/-0.75x90"])?;
    let left = &answer["power"];
    assert_figure(&left["sphere"], 0.26, 0.005);
    assert_figure(&left["cylinder"], -0.27, 0.005);
    assert_figure(&left["axis"], 99.0, 0.5);
    assert_figure(&answer["score"], 0.26, 0.005);
    Ok(())
}

#[test]
fn prism_off_the_centre() -> Tested {
    let room = Room::new()?;
    // nfos.org, answers 13a: 2 mm below the centre of +8.50; centre 5 mm out, -3.25; centre 4 mm below the pupil, +7.75
    for (arguments, amount, base) in [
        (["+8.50", "--at", "0,-2", "right"], 1.7, 90.0),
        (["-3.25", "--decentre", "-5,0", "right"], 1.625, 0.0),
        (["-3.25", "--decentre", "5,0", "left"], 1.625, 180.0),
        (["+7.75", "--decentre", "0,-4", "left"], 3.1, 270.0),
        (["+7.75", "--at", "+0;4,0", "left"], 3.1, 270.0),
    ] {
        let [rx, option, place, eye] = arguments;
        let prism = &room.json(&["convert", rx, option, place, "--eye", eye])?["prism"];
        assert_figure(&prism["amount"], amount, 1e-9);
        assert_figure(&prism["base"], base, 1e-9);
    }
    let said = room.say(&["convert", "-3.25", "--decentre", "5,0", "--eye", "left"])?.out;
    assert!(said.contains("base 1.63 in") || said.contains("base 1.62 in"), "{said}");
    // tionet.in, Indian Optician 9-10/2022, p. 112: 2 Δ down where the centre lies along the axis; the cross term decides the side
    for (place, vertical) in [("-3.85,-6.67", -2.0), ("-3,85,-6,67", -2.0), ("3.85,-6.67", -2.67)] {
        let prism = &room.json(&["convert", "+3.00/+2.00x60", "--decentre", place])?["prism"];
        let (amount, base) = (prism["amount"].as_f64().ok_or("no amount")?, prism["base"].as_f64().ok_or("no base")?);
        assert_relative_eq!(amount * libm::sin(base.to_radians()), vertical, epsilon = 0.005);
    }
    Ok(())
}

#[test]
fn prism_between_two_eyes_at_a_reading_level() -> Tested {
    let room = Room::new()?;
    // flash cards 2261801 and 11666149
    for (right, left, at) in
        [("-3.00/-2.00x180", "-2.75/-2.50x90", "0,-8"), ("-4.00/+2.00x60", "-3.00/+3.00x45", "0,-9")]
    {
        for (rx, other, eye, base) in [(right, left, "right", -1.0), (left, right, "left", 1.0)] {
            let answer = room.json(&["convert", rx, "--at", at, "--other", other, "--eye", eye])?;
            let apart = &answer["apart"];
            let (amount, at) = (apart["amount"].as_f64().ok_or("no amount")?, apart["base"].as_f64().ok_or("no base")?);
            assert_relative_eq!(amount * libm::sin(at.to_radians()), base * 1.8, epsilon = 1e-9);
        }
    }
    // both eyes look as far in: equal lenses pull apart sideways by twice what one does, and not vertically
    let answer = room.json(&["convert", "+4.00", "--at", "2,-8", "--other", "+4.00"])?;
    assert_figure(&answer["apart"]["amount"], 1.6, 1e-9);
    assert_figure(&answer["apart"]["base"], 180.0, 1e-9);
    Ok(())
}

#[test]
fn a_prism_is_split_between_two_eyes() -> Tested {
    let room = Room::new()?;
    // common practice, no source: half before each eye, in and out alike, up against down
    let half = |amount: f64, base: f64| json!({"amount": amount, "base": base});
    let out = room.json(&["net", "6BO", "--split"])?;
    assert_eq!(out["split"], json!({"right": half(3.0, 180.0), "left": half(3.0, 0.0)}));
    let up = room.json(&["net", "4BU", "--split", "--eye", "left"])?;
    assert_eq!(up["split"], json!({"right": half(2.0, 270.0), "left": half(2.0, 90.0)}));
    assert_eq!(room.json(&["net", "4BU"])?.get("split"), None);
    let by_centre = room.json(&["convert", "+4.00", "--decentre", "0,10", "--split"])?;
    assert_eq!(by_centre["split"], json!({"right": half(2.0, 90.0), "left": half(2.0, 270.0)}));
    let said = room.say(&["net", "6BO", "2BU", "--split"])?.out;
    assert!(
        said.contains("(base 3.00 out with 1.00 up, ") && said.contains("(base 3.00 out with 1.00 down, "),
        "{said}"
    );
    Ok(())
}

#[test]
fn prism_by_sheard() -> Tested {
    let room = Room::new()?;
    // public teaching pages
    for (phoria, reserve, eye, amount, base) in [
        ("exo:9", "12", "right", 2.0, 0.0),
        ("exo:9", "12", "left", 2.0, 180.0),
        ("eso:3", "8", "right", 0.0, 0.0),
        ("eso:6", "3", "right", 3.0, 180.0),
        ("Exo:6", "3", "right", 3.0, 0.0),
    ] {
        let prism = &room.json(&["convert", "--sheard", phoria, reserve, "--eye", eye])?["prism"];
        assert_figure(&prism["amount"], amount, 1e-9);
        assert_figure(&prism["base"], base, 1e-9);
    }
    Ok(())
}

#[test]
fn tilted_lenses_and_reading_glasses() -> Tested {
    let room = Room::new()?;
    // courses.durhamtech.edu, lens_tilt; a public thread, 19909
    let plus = room.json(&["convert", "+15.00", "--tilt", "10", "--plus"])?;
    assert_power(&plus["plus_form"], 15.15, 0.47, 180.0);
    assert_power(&room.json(&["convert", "-10.00", "--tilt", "10"])?["power"], -10.10, -0.31, 180.0);
    assert_power(&room.json(&["convert", "-10.00", "--face-form", "10"])?["power"], -10.10, -0.31, 90.0);
    // flash cards
    for addition in ["+2.00", "2.00", "2"] {
        let reading = room.json(&["convert", "-0.50/-0.25x180", "--add", addition])?;
        assert_power(&reading["power"], 1.50, -0.25, 180.0);
        assert_eq!(reading["nearest_quarter"], "+1.50/-0.25x180");
    }
    // one change, then one question: -3 and +2 at 8 mm below the centre
    let prism = &room.json(&["convert", "-3.00", "--add", "+2.00", "--at", "0,-10"])?["prism"];
    assert_figure(&prism["amount"], 1.0, 1e-9);
    assert_figure(&prism["base"], 270.0, 1e-9);
    Ok(())
}

#[test]
fn accommodation_and_centres() -> Tested {
    let room = Room::new()?;
    // calculated from V/(1 - dV)
    let answer = room.json(&["convert", "-5.00", "--from", "12", "--accommodation", "0.33"])?;
    assert_figure(&answer["accommodation"], 2.61, 0.005);
    assert_figure(&answer["without_glasses"], 2.92, 0.005);
    // ANSI Z80.1-2015, quick reference
    let answer = room.json(&["convert", "-2.00/-2.00x180", "--centres"])?;
    assert_figure(&answer["centres"]["horizontal_mm"], 3.35, 1e-9);
    assert_figure(&answer["centres"]["vertical_mm"], 1.0, 1e-9);
    assert_eq!(room.json(&["convert", "plano", "--centres"])?["centres"]["vertical_mm"], Value::Null);
    Ok(())
}

#[test]
fn equivalent_and_nearest_quarter_stand_in_the_text() -> Tested {
    let room = Room::new()?;
    let said = room.say(&["convert", "-1.62/+1.75x115"])?.out;
    // NFOS module 8, answers, no. 10: the cylinder stays 1.75
    assert!(said.contains("equivalent       -0.75\n"), "{said}");
    assert!(
        said.contains("nearest quarter  plano/-1.75x25\n") || said.contains("nearest quarter  +0.25/-1.75x25\n"),
        "{said}"
    );
    // NFOS module 9a: a zero cylinder is left off; a power half-way between two quarters is none that has one
    assert_eq!(room.json(&["convert", "+2.12"])?["nearest_quarter"], "+2.25");
    let said = room.say(&["net", "-4.00", "-0.25", "-0.75x180"])?.out;
    assert!(said.contains("equivalent       -4.62\n") && said.contains("nearest quarter  -4.25/-0.75x180\n"), "{said}");
    assert!(!room.say(&["net", "-4.00", "occluder"])?.out.contains("nearest"));
    // facts of retinoscopy at 67 cm: 1/0.67 is 1.49, and the quarter steps are those of two thirds of a metre
    let meridians = ["--meridian", "180:+2.25", "--meridian", "90:+3.00"];
    let said = room.say(&[&["retinoscopy", "--distance", "0.67"], &meridians[..]].concat())?.out;
    for row in ["gross            +3.00/-0.75x90\n", "nearest quarter  +1.50/-0.75x90\n", "equivalent       +1.13\n"] {
        assert!(said.contains(row), "{said}");
    }
    let asked = room.say(&[&["retinoscopy", "--distance", "67"], &meridians[..]].concat())?;
    assert_eq!((asked.code, asked.out.as_str()), (Some(1), ""));
    assert!(asked.err.contains("0.67 m?"), "{}", asked.err);
    Ok(())
}

#[test]
fn strong_prisms_come_with_a_caution() -> Tested {
    let room = Room::new()?;
    // Thompson and Guyton, Ophthalmology 1983: 40 and 5 make 59; 45 is wrong, and never stands alone
    for lenses in [["40BO", "5BO"], ["12BU", "12BO"]] {
        let said = room.say(&["net", lenses[0], lenses[1]])?.out;
        assert!(said.contains("caution          Strong prisms do not add") && said.contains("make 59"), "{said}");
        assert!(room.json(&["net", lenses[0], lenses[1]])?["caution"].is_string());
    }
    for lenses in [["40BO", "-1.00"], ["12BU", "8BU"]] {
        assert!(!room.say(&["net", lenses[0], lenses[1]])?.out.contains("caution"));
        assert_eq!(room.json(&["net", lenses[0], lenses[1]])?.get("caution"), None);
    }
    Ok(())
}

/// Each step of the working, checked where its source works it out: every figure of an answer stands at the end of its steps.
#[test]
fn working_leads_to_the_answer() -> Tested {
    let room = Room::new()?;
    let cases: &[(&[&str], &[&str])] = &[
        // eyeandcontacts.com, "Glasses or spectacle power" (2021)
        (&["convert", "+2.50/-1.50x170", "--plus"], &["+2.50 - 1.50 = +1.00", "170 - 90: +1.00/+1.50x80"]),
        // flash cards 2261801
        (&["convert", "+2.00/+3.50x135", "--along", "90"], &["(90 - 135) = 0.5000", "+2.00 + 1.75 = +3.75"]),
        // CLSA EyeWitness, Spring 2011, p. 27
        (&["convert", "+5.00", "--from", "12"], &["+5.00 / (1 - 0.012 x 5.00) = +5.32"]),
        (
            &["convert", "--cross", "180:+2.25", "90:+3.00"],
            &["the sphere, +3.00", "-0.75, its axis along the first: +3.00/-0.75x90"],
        ),
        (
            &["convert", "+1.75/+0.50x45", "--sum", "-2.25/-1.00x135"],
            &["M -0.75, J0 0.00, J45 -0.75", "-2 x 0.75 = -1.50", "-0.75 + 0.75 = 0.00", "J45: 135"],
        ),
        (&["convert", "-2/-1x100", "--residual", "-2/-1x90"], &["0.00 + 0.17 = 0.17"]),
        (
            &["convert", "+3.00/+2.00x60", "--at", "-3.85,-6.67"],
            &["cross term Fxy = -C sin A cos A = -0.87", "= +2.00"],
        ),
        (&["convert", "-3/-2x180", "--at", "0,-8", "--other", "-2.75/-2.50x90"], &["= -4.00", "= -2.20", "up -1.80"]),
        (&["convert", "+15.00", "--tilt", "10", "--plus"], &["+15.00 x 1.0101 = +15.15", "+15.15 x 0.0311 = +0.47"]),
        (&["convert", "-0.50/-0.25x180", "--add", "+2.00"], &["-0.50 + 2.00 = +1.50"]),
        (&["convert", "-5", "--from", "12", "--accommodation", "0.33"], &["= -4.72", "= -7.32", "+2.61"]),
        (&["convert", "-2", "--centres"], &["6.7 / 2.00 = 3.35 mm", "3.3 / 2.00 = 1.65 mm"]),
        (&["convert", "--sheard", "exo:9", "12"], &["2/3 x 9 - 1/3 x 12 = +2.00"]),
        (
            &["retinoscopy", "--distance", "0.5", "--meridian", "180:+2.25", "--meridian", "90:+3.00"],
            &["1 / 0.5 m = +2.00", "+3.00 - 2.00 = +1.00"],
        ),
        (&["net", "+10.00", "occluder"], &["no light comes through"]),
        // calculated: two cells of the frame that comes with the program, 3.5 mm apart
        (
            &["net", "+10.00", "+2.00"],
            &["cell 2 has +2.00: +2.00", "+2.00 / (1 - 0.0035 x 2.00) = +2.01", "that comes to it: +12.01"],
        ),
    ];
    for (arguments, steps) in cases {
        let said = room.say(&[arguments, &["--working"][..]].concat())?;
        assert_eq!(said.code, Some(0), "{}", said.err);
        for step in *steps {
            assert!(said.out.contains(step), "{arguments:?}: no {step} in\n{}", said.out);
        }
        assert!(
            said.out.contains(&room.say(arguments)?.out) || arguments[0] == "net",
            "the answer stays below its working"
        );
        assert!(room.json(&[arguments, &["--working"][..]].concat())?["working"].is_array());
        assert_eq!(room.json(arguments)?.get("working"), None);
    }
    Ok(())
}
