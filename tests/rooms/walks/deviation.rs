//! A deviation that prisms neutralised, and the prism chosen from it, by keys.

use super::bench::walk;
use super::details::down;
use super::{Failure, pictures};
use crate::pictures::Album;

/// Seen by a Maddox rod, 6 in before the right eye far away, a reserve of 3.
fn measured() -> String {
    format!("i{}<enter>maddox<enter><enter>6BI<enter><down><enter>3<enter><esc>", down(30))
}

fn chosen(how: &str) -> String {
    format!("{}i{}<enter>{how}<enter><esc>", measured(), down(18))
}

#[test]
fn a_deviation_is_measured_and_its_prism_shared() -> Result<(), Failure> {
    let album = Album::of("deviation");
    pictures(&album, "deviation-1-typing", &format!("i{}<enter>6BI 2B", down(31)))?;
    pictures(&album, "deviation-2-measured", &format!("{}i{}", measured(), down(31)))?;
    pictures(&album, "deviation-3-offered", &format!("{}i{}", measured(), down(18)))?;
    let frame = walk(&format!("{}i{}", measured(), down(31)), "120x36")?;
    // two thirds of 6 less one third of 3 is 3, shared
    assert!(frame.contains("3 to the blur; Sheard: 1.5 in each"), "{frame}");
    pictures(&album, "deviation-4-sheard", &format!("{}i{}", chosen("sheard"), down(18)))?;
    pictures(&album, "deviation-5-written", &format!("-1<enter>a<tab>-2<enter>a<tab>{}=", chosen("half")))?;
    Ok(())
}

#[test]
fn what_is_chosen_has_its_base_for_each_eye() -> Result<(), Failure> {
    let vertical = format!("i{}<enter>2BU<enter><esc>i{}<enter>half<enter><esc>i{}", down(31), down(18), down(18));
    let frame = walk(&vertical, "120x36")?;
    assert!(frame.contains("1BU") && frame.contains("1BD"), "{frame}");
    let all = walk(&format!("{}i{}", chosen("all"), down(18)), "120x36")?;
    assert!(all.contains("6BI"), "{all}");
    Ok(())
}

/// The prism that stands in the second cell of the left eye: 2 out there is 0° on the dial.
#[test]
fn prisms_of_the_box_are_taken_from_the_cells() -> Result<(), Failure> {
    let keys = format!("<tab><right>2BO<enter>i{}<right><enter>cells<enter>", down(31));
    let frame = walk(&format!("{keys}<up>"), "120x36")?;
    assert!(frame.contains("2 out, 0°"), "{frame}");
    Ok(())
}

#[test]
fn what_cannot_be_chosen_is_refused() -> Result<(), Failure> {
    let cases = [
        (format!("i{}<enter>half<enter>", down(18)), "no deviation was neutralised far yet"),
        (format!("{}i{}<enter>half near<enter>", measured(), down(18)), "no deviation was neutralised near yet"),
        (format!("i{}<enter>6BI<enter><esc>i{}<enter>sheard<enter>", down(31), down(18)), "needs the reserve far"),
        (
            format!("{}i{}<enter>6BI 2BU<enter><esc>i{}<enter>sheard<enter>", measured(), down(31), down(18)),
            "has a vertical part",
        ),
        (format!("i{}<enter>rod<enter>", down(30)), "write one of maddox, cover"),
    ];
    for (keys, message) in cases {
        let frame = walk(&keys, "160x50")?;
        let said = frame.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.contains(message), "{keys}: {message} is not in {frame}");
    }
    Ok(())
}
