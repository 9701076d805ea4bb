//! Details of an exam, accepting what is in the cells, closing, and beginning another.

use super::bench::walk;
use super::{Failure, pictures};
use crate::pictures::Album;

/// Some rows down on the details.
pub fn down(rows: usize) -> String {
    "<down>".repeat(rows)
}

/// The person and the distances; both eyes in their order, right first.
const PERSON: &str = "i<enter>K.M.<enter><enter>47<enter><enter>far<enter><enter>right<enter><enter>31.5<enter>\
                      <enter>29<enter><enter>-3.25<enter><enter>-1.00/-0.50x90<enter><enter>+0.75<enter>";

const LENSES: &str = "-4<enter>-0.75x30<enter>a<tab>-2.50<enter>a<tab>";

#[test]
fn details_are_typed_one_after_the_other() -> Result<(), Failure> {
    let album = Album::of("details");
    pictures(&album, "details-1-empty", "i")?;
    pictures(&album, "details-2-typing", &format!("i{}<enter>31", down(4)))?;
    pictures(&album, "details-3-person", PERSON)?;
    let acuities = "<enter>6/60<enter><enter>none<enter><enter>6/18<enter><enter>6/12+1<enter>";
    pictures(&album, "details-4-acuities", &format!("i{}{acuities}", down(12)))?;
    let record = "<enter>6/6-2<enter><enter>6/5<enter><enter>6/5<enter>";
    let prism =
        "<down><enter>2BI 1BU<enter><enter>3BO<enter><enter>+1.25<enter><enter>0.08<enter><enter>Reads at a desk.";
    pictures(&album, "details-5-record", &format!("{LENSES}i{}{record}{prism}<enter>", down(15)))
}

#[test]
fn what_cannot_be_a_detail_is_pointed_at() -> Result<(), Failure> {
    let album = Album::of("details");
    pictures(&album, "details-6-refused", &format!("i{}<enter>3.15<enter>", down(4)))?;
    let cases = [
        (1, "seven", "expected a number here: age is from 1 to 120 years"),
        (1, "4.5", "age 4.5 is not a whole number"),
        (1, "130", "age 130 is outside 1 to 120 years"),
        (2, "blurred", "write one of far, all, near, nothing"),
        (4, "31,5 cm", "only its unit may follow the number: pupillary distance of one eye is from 15 to 45 mm"),
        (4, "nan", "expected a number here: pupillary distance of one eye is from 15 to 45 mm"),
        (5, "-4.25/-0.75", "this cylinder has no axis"),
        (6, "-1.25", "addition -1.25 D is outside 0 to 20 D"),
        (9, "60", "chart distance 60 m is outside 0.5 to 10 m"),
        (12, "6/0", "no chart has this line"),
        (12, "0.5", "0.5 could be the decimal (6/12) or the logMAR (6/19)"),
        (12, "-0.1", "only a logMAR has a sign"),
        (9, "3 for 60", "chart distance 60 m is outside 0.5 to 10 m"),
        (18, "2B", "expected BU, BD, BI, BO"),
        (18, "2BI -1.00", "a prism is wanted here"),
        (18, "30BI 30BU", "prism 42.4"),
        (19, "-1.00", "addition -1 D is outside 0 to 20 D"),
    ];
    for (row, typed, message) in cases {
        let frame = walk(&format!("i{}<enter>{typed}<enter>", down(row)), "160x50")?;
        assert!(frame.contains(&format!("): {typed}")), "{typed} is lost in {frame}");
        let said = frame.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(frame.contains("! ") && said.contains(message), "{typed}: {message} is not in {frame}");
    }
    Ok(())
}

/// The typed line and the details read one figure alike.
#[test]
fn a_planned_vertex_is_read_alike_on_the_line_and_in_the_details() -> Result<(), Failure> {
    let detail = |typed: &str| walk(&format!("i{}<enter>{typed}<enter>", down(8)), "160x50");
    let line = |typed: &str| walk(&format!("v{typed}<enter>"), "160x50");
    for (typed, message) in [
        ("1e1", "numbers are written out, without exponents"),
        ("+12", "vertex distance is written without a sign: 12"),
        ("41", "vertex distance 41 mm is outside 0 to 40 mm"),
        ("far", "expected a number here: vertex distance is from 0 to 40 mm"),
    ] {
        for frame in [detail(typed)?, line(typed)?] {
            assert!(frame.contains(message), "{typed}: {message} is not in {frame}");
        }
    }
    for typed in ["12.5", "12,5", "12,5 mm"] {
        assert!(detail(typed)?.contains("12.5 mm"), "{typed}");
        assert!(line(typed)?.contains("glasses planned at 12.5 mm"), "{typed}");
    }
    Ok(())
}

#[test]
fn what_is_taken_off_for_the_chart_is_at_most_its_distance() -> Result<(), Failure> {
    // 1/d is 0.16 (less than a hundredth left off) at 6 m, 0.25 at 4 m, 0.33 at 3 m; what is offered is 1/d − 1/6
    let typed = |metres: &str, off: &str| {
        walk(&format!("-0.50<enter>ai{}<enter>{metres}<enter>{}<enter>{off}<enter>", down(9), down(10)), "160x50")
    };
    for (metres, most, beyond) in [("6", "0.16", "0.17"), ("4", "0.25", "0.26"), ("3", "0.33", "0.34"), ("6", "0", "2")]
    {
        let taken = typed(metres, most)?;
        let shown = format!("taken off for chart   {:.2} D", most.parse::<f64>()?);
        assert!(taken.contains(&shown), "{most} at {metres} m: {taken}");
        let refused = typed(metres, beyond)?.split_whitespace().collect::<Vec<_>>().join(" ");
        let why = format!("D: the chart stands at {metres} m");
        assert!(
            refused.contains("! what is taken off for the near chart") && refused.contains(&why),
            "{beyond}: {refused}"
        );
        assert!(refused.contains(&format!("): {beyond}")), "{beyond} is lost in {refused}");
    }
    let offered = |metres: &str| walk(&format!("i{}<enter>{metres}<enter>", down(9)), "160x50");
    for (metres, too_plus) in [("4", "0.08"), ("3", "0.17")] {
        let frame = offered(metres)?;
        assert!(frame.contains(&format!("(none; a chart at {metres} m calls for {too_plus} D)")), "{frame}");
    }
    Ok(())
}

#[test]
fn what_is_in_the_cells_is_accepted_and_can_be_taken_back() -> Result<(), Failure> {
    let album = Album::of("details");
    pictures(&album, "accept-1-right", "-4<enter>-0.75x30<enter>a")?;
    pictures(&album, "accept-2-turned-since", "-4<enter>-0.75x30<enter>a}")?;
    let taken_back = format!("{LENSES}i{}x", down(17));
    pictures(&album, "accept-3-taken-back", &taken_back)?;
    let covered = walk("-4<enter>oa", "120x36")?;
    assert!(covered.contains("! the right eye is covered"), "{covered}");
    let held = walk("-4<enter>h-0.25<enter>a", "120x36")?;
    assert!(held.contains("accepted for the right eye: -4.00, without what the hand holds"), "{held}");
    Ok(())
}

#[test]
fn a_frame_set_to_another_distance_says_what_it_induces() -> Result<(), Failure> {
    let album = Album::of("details");
    // Prentice's rule: 4.00 D decentred 0.4 cm is 1.6 Δ. A minus lens set too far out has its base towards the nose
    let apart =
        format!("-4<enter><tab>-4<enter><tab>i{}<enter>30<enter><enter>30<enter>{}<enter>34<enter>", down(4), down(2));
    pictures(&album, "induced-1-frame", &format!("{apart}<esc>"))?;
    pictures(&album, "induced-2-details", &apart)?;
    pictures(&album, "induced-3-with-a-prism", &format!("{apart}<esc><tab><right>2BO<enter>"))
}

#[test]
fn closing_asks_once_and_is_final() -> Result<(), Failure> {
    let album = Album::of("details");
    pictures(&album, "close-1-asked", &format!("{LENSES}C"))?;
    pictures(&album, "close-2-closed", &format!("{LENSES}Cy"))?;
    for left_open in ["Cn-0.25x", "C<esc>-0.25x"] {
        let frame = walk(&format!("{LENSES}{left_open}"), "120x36")?;
        assert!(!frame.contains("closed") && frame.contains("lens for right 1: -0.25x"), "{frame}");
    }
    let no_answer = walk(&format!("{LENSES}Cxy"), "120x36")?;
    assert!(no_answer.contains("! y does nothing here") && !no_answer.contains("closed"), "{no_answer}");
    let changed = walk(&format!("{LENSES}Cy-1<enter>"), "120x36")?;
    assert!(changed.contains("! this exam is closed: it can be amended, not changed"), "{changed}");
    Ok(())
}

#[test]
fn another_exam_begins_after_the_question() -> Result<(), Failure> {
    let album = Album::of("details");
    pictures(&album, "new-1-label", &format!("{LENSES}NZ.Z."))?;
    pictures(&album, "new-2-asked", &format!("{LENSES}NZ.Z.<enter>"))?;
    pictures(&album, "new-3-begun", &format!("{LENSES}NZ.Z.<enter>n"))?;
    let stays = walk(&format!("{LENSES}NZ.Z.<enter><esc>"), "120x36")?;
    assert!(!stays.contains("Z.Z.") && stays.contains("accepted"), "{stays}");
    Ok(())
}
