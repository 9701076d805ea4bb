//! Tables of people.

use dioptray::keeping::{People, Wanted};

#[test]
fn a_table_of_ones_own_is_read_in_either_form() {
    let text = "# ours\nwho,Sphere,cylinder,eyes\na,-1.50,-0.5,2\nb,+1,0,1\nc,-2,+0.50,1\nd,plano,-0.25,3\n";
    let people = People::parse(text).unwrap();
    let of = |sphere: f64, cylinder: f64| Wanted { sphere, cylinder };
    // −2.00 with +0.50 is −1.50 with −0.50
    let rows: Vec<(Wanted, f64)> = people.wanted().iter().copied().zip(people.eyes().iter().copied()).collect();
    assert_eq!(rows, [(of(-1.5, -0.5), 3.0), (of(0.0, -0.25), 3.0), (of(1.0, 0.0), 1.0)]);
    assert_eq!(people.count(), 7.0);
    let without = People::parse("cylinder,sphere\n-0.5,-1\n-0.5,-1\n").unwrap();
    assert_eq!(without.eyes(), [2.0]);
}

#[test]
fn the_public_table_reads_as_the_one_that_comes_with_the_program() {
    let text = include_str!("../../../src/optics/refraction-counts.csv");
    assert_eq!(People::parse(text).unwrap(), People::counted());
}

#[test]
fn every_fault_of_a_table_is_said_with_its_line() {
    let said =
        |text: &str| -> Vec<String> { People::parse(text).unwrap_err().iter().map(ToString::to_string).collect() };
    assert_eq!(
        said("# a note\nsphere,cylinder,eyes\n-1,-0.5,1\nfar,-0.5,1\n-50,0,-2\n"),
        [
            "4: sphere `far`: expected a number here: prescribed power is from -40 to 40 D",
            "5: sphere `-50`: prescribed power -50 D is outside -40 to 40 D",
            "5: eyes `-2`: number of eyes -2 is outside 0 to 1000000000",
        ]
    );
    assert_eq!(said("rx\n-1\n"), ["1: the first line names the columns: sphere,cylinder,eyes (eyes may be left out)"]);
    assert_eq!(said("sphere,cylinder\n"), ["1: there is nobody in this table"]);
    assert_eq!(said("sphere,cylinder,eyes\n1,0,0\n"), ["1: there is nobody in this table"]);
}
