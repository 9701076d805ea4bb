//! What is refused, with which exit code, and what stands where.

use super::room::{Room, Tested};

#[test]
fn input_at_fault_is_exit_1_with_nothing_on_standard_output() -> Tested {
    let room = Room::new()?;
    let small_box = room.small_box()?;
    let bad = room.write("bad.yaml", "box: Bad\nlenses:\n  - kind: sfere\n    powers: [\"+1\"]\n    each: 0\n")?;
    let cases: &[(&[&str], &str)] = &[
        (&["net", "-0.75x190"], "error: lens 1: axis 190° is outside 0 to 180°\n  -0.75x190\n        ^^^\n"),
        (
            &["net", "-4", "\u{2212}0.75\u{d7}190"],
            "error: lens 2: axis 190° is outside 0 to 180°\n  \u{2212}0.75\u{d7}190\n        ^^^\n",
        ),
        (&["net", "-inf"], "error: lens 1: expected a lens here"),
        (&["net", "nan"], "error: lens 1: this is not the power of a lens\n  nan\n  ^^^\n"),
        (&["net", "+41"], "error: lens 1: power 41 D is outside -40 to 40 D"),
        (&["net", "ocluder"], "did you mean `occluder`?"),
        (&["net", ".", ".", ".", ".", "-1"], "error: 5 lenses and empty cells for 4 cells: Four-cell adjustable has 4"),
        (&["net", "--vertex", "41", "-1"], "error: vertex distance 41 mm is outside 0 to 40 mm\n"),
        (&["net", "--vertex", "-1", "-1"], "error: vertex distance -1 mm is outside 0 to 40 mm\n"),
        (&["net", "--vertex", "+12", "-1"], "error: vertex distance is written without a sign: 12\n  +12\n  ^^^\n"),
        (&["net", "--vertex", "1e1", "-1"], "error: numbers are written out, without exponents\n  1e1\n   ^^\n"),
        (&["net", "--frame", "no-such-frame.yaml", "-1"], "no-such-frame.yaml:1:1: "),
        (&["convert", "-4.25/-0.75"], "error: this cylinder has no axis"),
        (&["convert", "-4.25x180"], "error: an axis without a cylinder"),
        (&["convert", "-1", "--along", "190"], "error: axis 190° is outside 0 to 180°"),
        (&["convert", "-1", "--sum", "-1/-2"], "error: --sum: this cylinder has no axis"),
        (&["convert", "-1", "--residual", "4"], "error: --residual: a power needs its sign: write +4 or -4"),
        (&["convert", "-1", "--tilt", "31"], "error: tilt 31° is outside 0 to 30°"),
        (&["convert", "-1", "--face-form", "-5"], "error: tilt -5° is outside 0 to 30°"),
        (&["convert", "-1", "--add", "-1"], "error: addition -1 D is outside 0 to 20 D"),
        (&["convert", "-1", "--decentre", "41,0"], "error: --decentre 41,0: place 41 mm is outside -40 to 40 mm"),
        (&["convert", "-1", "--at", "5"], "error: --at 5: write x and y with a comma between"),
        (&["convert", "-1", "--at", "1,2,3"], "error: --at 1,2,3: write x and y with a comma between"),
        (&["convert", "-1", "--at", "0,-8", "--other", "-1x20"], "error: --other: an axis without a cylinder"),
        (&["convert", "--cross", "180:+1", "80:+1"], "not at right angles: with 180 goes 90"),
        (&["convert", "--cross", "+1", "90:+1"], "error: meridian +1: write the meridian, a colon and the power"),
        (
            &["convert", "-1", "--from", "12", "--accommodation", "40"],
            "error: near distance 40 m is outside 0.1 to 2 m: 0.4 m?",
        ),
        (
            &["convert", "+25.00", "--from", "40", "--accommodation", "0.4"],
            "error: the light comes to a focus exactly on",
        ),
        (&["convert", "--sheard", "9", "12"], "error: phoria 9: write which way and how much"),
        (&["convert", "--sheard", "exo:41", "12"], "error: phoria exo:41: phoria 41 Δ is outside 0 to 40 Δ"),
        (&["convert", "--sheard", "exo:9", "61"], "error: reserve 61 Δ is outside 0 to 60 Δ"),
        (&["convert", "+25.00", "--from", "40"], "error: a lens of this power has its focus exactly there"),
        (&["convert", "+25.00/-1.00x90", "--from", "40"], "error: a lens of this power has its focus exactly there"),
        (&["convert", "-1.00", "--from", "nan"], "error: expected a number here: vertex distance is from 0 to 40 mm"),
        (
            &["retinoscopy", "--distance", "1", "--meridian", "180:+1.00", "--meridian", "80:+1.00"],
            "not at right angles",
        ),
        (
            &["retinoscopy", "--distance", "0", "--meridian", "180:+1.00", "--meridian", "90:+1.00"],
            "error: working distance 0 m is outside 0.1 to 2 m",
        ),
        (
            &["retinoscopy", "--distance", "1", "--meridian", "181:+1.00", "--meridian", "91:+1.00"],
            "meridian 181:+1.00: axis 181° is outside 0 to 180°",
        ),
        (&["retinoscopy", "--distance", "1", "--meridian", "+1.00", "--meridian", "90:+1.00"], "a colon and the power"),
        (&["stack", "--box", &small_box, "--right", "-4.25/-0.75"], "error: right eye: this cylinder has no axis"),
        (&["stack", "--box", &small_box, "--left", "x"], "error: left eye: expected a power here"),
        (
            &["stack", "--box", &small_box, "--right", "-1", "--within", "-1"],
            "error: miss -1 D is outside 0.005 to 2 D",
        ),
        (&["stack", "--box", &small_box, "--right", "-1", "--within", "0.004"], "error: miss 0.004 D is outside"),
        (
            &["stack", "--box", &small_box, "--right", "-1", "--within", "2.01"],
            "error: miss 2.01 D is outside 0.005 to 2 D",
        ),
        (&["stack", "--box", "no-such-box.yaml", "--right", "-1"], "no-such-box.yaml:1:1: "),
        (&["stack", "--box", &small_box, "--lines", "no-such-lines.txt"], "no-such-lines.txt: cannot be opened"),
        (&["box", "list", "--box", &bad], "bad.yaml:3:"),
        (&["box", "change", "--box", &small_box, "lost", "-9.00 sphere"], "the box Invented has no -9.00 sphere"),
        (
            &["box", "change", "--box", &small_box, "found", "-1.00 sphere"],
            "-1.00 sphere #1 is in the box, so it cannot be found",
        ),
        (
            &["box", "change", "--box", &small_box, "measured", "-1.00 sphere"],
            "after the lens comes its measured power",
        ),
    ];
    for (arguments, message) in cases {
        for json in [&[][..], &["--json"]] {
            let said = room.say(&[arguments, json].concat())?;
            assert_eq!((said.code, said.out.as_str()), (Some(1), ""), "{arguments:?} said {}", said.err);
            assert!(said.err.contains(message), "{arguments:?} said {}", said.err);
        }
    }
    Ok(())
}

#[test]
fn wrong_usage_is_exit_2_with_nothing_on_standard_output() -> Tested {
    let room = Room::new()?;
    let cases: &[&[&str]] = &[
        &["nett"],
        &["net"],
        &["net", "-4.25", "--jsno"],
        &["net", "--eye", "middle", "-1"],
        &["net", "--vertex", "far", "-1"],
        &["convert"],
        &["convert", "-1", "-2"],
        &["convert", "-1", "--sum", "-1", "--mean", "-1"],
        &["convert", "-1", "--tilt", "5", "--face-form", "5"],
        &["convert", "-1", "--less", "-1", "--less", "-1"],
        &["convert", "-1", "--from", "12", "--add", "+2"],
        &["convert", "-1", "--along", "90", "--centres"],
        &["convert", "-1", "--residual", "-1", "--at", "0,1"],
        &["convert", "-1", "--decentre", "0,1", "--at", "0,1"],
        &["convert", "-1", "--along", "90", "--plus"],
        &["convert", "-1", "--at", "0,1", "--plus"],
        &["convert", "-1", "--accommodation", "0.4"],
        &["convert", "-1", "--accommodation", "0.4", "--from", "12", "--to", "0"],
        &["convert", "-1", "--other", "-1"],
        &["convert", "-1", "--decentre", "0,1", "--other", "-1"],
        &["convert", "-1", "--at", "0,1", "--other", "-1", "--add", "+2"],
        &["convert", "-1", "--other", "-1", "--along", "90"],
        &["convert", "-1", "--other", "-1", "--centres"],
        &["convert", "-1", "--eye", "left"],
        &["convert", "-1", "--eye", "left", "--along", "90"],
        &["convert", "-1", "--split", "--residual", "-1"],
        &["convert", "-1", "--accommodation", "0.4", "--add", "+2"],
        &["convert", "-1", "--accommodation", "0.4", "--to", "2"],
        &["convert", "-1", "--split"],
        &["convert", "-1", "--at", "0,1", "--other", "-1", "--split"],
        &["convert", "-1", "--cross", "180:+1", "90:+1"],
        &["convert", "--cross", "180:+1"],
        &["convert", "--sheard", "exo:9"],
        &["convert", "-1", "--sheard", "exo:9", "12"],
        &["convert", "--sheard", "exo:9", "12", "--cross", "180:+1", "90:+1"],
        &["convert", "--sheard", "exo:9", "12", "--along", "90"],
        &["convert", "--sheard", "exo:9", "12", "--add", "+1"],
        &["stack", "--right", "-1"],
        &["stack", "--box", "box.yaml"],
        &["stack", "--box", "box.yaml", "--right", "--json"],
        &["stack", "--box", "box.yaml", "--right", "-1", "--lines", "-"],
        &["stack", "--box", "box.yaml", "--right", "-1", "--max-lenses", "0"],
        &["stack", "--box", "box.yaml", "--right", "-1", "--limit", "0"],
        &["retinoscopy", "--distance", "1", "--meridian", "180:+1.00"],
        &["retinoscopy", "--meridian", "180:+1.00", "--meridian", "90:+1.00"],
        &["box", "change", "--box", "box.yaml", "eaten", "-1.00 sphere"],
        &["box", "change", "--box", "box.yaml", "lost", "-1.00 sphere", "--to", "K.M."],
        &["box", "schema", "drawer"],
        &["exam"],
        &["exam", "show"],
        &["exam", "show", "K.M."],
        &["exam", "show", "1", "2"],
        &["exam", "export", "1"],
        &["exam", "export", "1", "--as", "fax"],
        &["exam", "export", "1", "--as", "card", "--force"],
        &["completions", "tea"],
    ];
    for arguments in cases {
        let said = room.say(arguments)?;
        assert_eq!((said.code, said.out.as_str()), (Some(2), ""), "{arguments:?} said {}", said.err);
        assert!(said.err.starts_with("error: "), "{arguments:?} said {}", said.err);
    }
    Ok(())
}
