//! What stays on under the frame, where the frame sits and how it is tilted, by keys.

use super::bench::walk;
use super::details::down;
use super::{Failure, pictures};
use crate::pictures::Album;

/// A contact lens on the right eye, glasses on the left, the frame measured at 13 mm.
fn declared() -> String {
    format!("i{}<enter>contact -3.00<enter><enter>glasses -2.00 at 10<enter><enter>13<enter><esc>", down(26))
}

#[test]
fn over_refraction_and_total_stand_side_by_side() -> Result<(), Failure> {
    let album = Album::of("under-frame");
    pictures(&album, "under-1-typing", &format!("i{}<enter>contact -3", down(26)))?;
    pictures(&album, "under-2-details", &format!("{}i{}", declared(), down(26)))?;
    let keys = format!("{}-8<enter>a<tab>+1.50<enter>a<tab>", declared());
    pictures(&album, "under-3-frame", &keys)?;
    pictures(&album, "under-4-prescription", &format!("{keys}="))?;
    for size in ["80x24", "120x36", "60x20"] {
        let frame = walk(&keys, size)?;
        // right: -8 / 1.104 = -7.2464, with -3 -10.2464, / 0.8668 = -11.82; left, 3 mm: 1.5 / 0.9955 = 1.5068, with -2 -0.4932,
        // / 0.99852 = -0.49
        assert!(frame.contains("total -11.82") && frame.contains("total -0.49"), "{size}\n{frame}");
    }
    let taken_back = walk(&format!("{keys}i{}<enter>none<enter><enter>none<enter><esc>", down(26)), "120x36")?;
    assert!(!taken_back.contains("total"), "{taken_back}");
    Ok(())
}

#[test]
fn a_tilted_stack_has_a_line_of_its_own_beyond_6_d() -> Result<(), Failure> {
    let album = Album::of("under-frame");
    let tilt = |degrees: &str| format!("i{}<enter>{degrees}<enter><esc>", down(28));
    // courses.durhamtech.edu, lens_tilt: -10.00 tilted 10 degrees is -10.10/-0.31x180
    let keys = format!("{}-10<enter>", tilt("10"));
    pictures(&album, "under-5-tilted", &keys)?;
    for size in ["80x24", "120x36"] {
        let frame = walk(&keys, size)?;
        assert!(frame.contains("tilted 10°: -10.10/-0.31x180"), "{size}\n{frame}");
    }
    let weak = walk(&format!("{}-6<enter>", tilt("10")), "120x36")?;
    assert!(!weak.contains("tilted"), "{weak}");
    let none = walk(&format!("{}-10<enter>", tilt("0")), "120x36")?;
    assert!(!none.contains("tilted"), "{none}");
    let form = walk(&format!("i{}<enter>10<enter><esc>-10<enter>", down(29)), "120x36")?;
    assert!(form.contains("face form 10°: -10.10/-0.31x90"), "{form}");
    Ok(())
}

/// −8.00 was put in by hand: the prescription is written only once the frame's distance was asked for.
#[test]
fn the_guide_asks_how_far_the_frame_stands_before_it_writes() -> Result<(), Failure> {
    let album = Album::of("under-frame");
    let keys = "-8<enter>gcgs";
    pictures(&album, "under-6-asked", keys)?;
    // at 80x24 nothing stands beside the guide's words
    let frame = walk(keys, "80x24")?;
    assert!(frame.contains("stands from the cornea") && frame.contains("-8.00 is changed by 0.06 D"), "{frame}");
    let answered = walk(&format!("{keys}14<enter>"), "120x36")?;
    assert!(answered.contains("vertex 14 mm"), "{answered}");
    let passed_over = walk(&format!("{keys}9"), "120x36")?;
    assert!(passed_over.contains("vertex 12 mm") && !passed_over.contains("stands from the cornea"), "{passed_over}");
    Ok(())
}

#[test]
fn what_cannot_be_so_is_refused() -> Result<(), Failure> {
    let cases = [
        (26, "-3.00", "say what stays on"),
        (26, "contact -3 at 2", "leave its distance out"),
        (26, "glasses -3 at 14", "the frame stands at 12 mm, behind these glasses"),
        (27, "50", "vertex distance 50 mm is outside 0 to 40 mm"),
        (28, "31", "tilt 31° is outside 0 to 30°"),
    ];
    for (row, typed, message) in cases {
        let frame = walk(&format!("i{}<enter>{typed}<enter>", down(row)), "160x50")?;
        let said = frame.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.contains(message), "{typed}: {message} is not in {frame}");
    }
    let behind = walk(&format!("{}i{}<enter>9<enter>", declared(), down(27)), "160x50")?;
    assert!(behind.contains("the frame cannot stand behind them"), "{behind}");
    Ok(())
}
