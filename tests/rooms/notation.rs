//! The notations of lenses, prescriptions and acuities: what is read, what is written, what is refused and where.

use std::error::Error;

use approx::assert_relative_eq;
use dioptray::optics::bounds::{
    ADDITION, AGE_YEARS, ALL, CLOCK_HOURS, EACH, NEAR_M, POWER, Range, SignRule, Steps, VERTEX_MM, WORKING_M,
};
use dioptray::optics::notation::{
    LensToken, NotationError, Style, eighth_of_mark, parse_figure, parse_lens, parse_power, parse_prescription,
    write_lens, write_power, write_prescription,
};
use dioptray::optics::{Acuity, AcuityNotation, Axis, Base, SpheroCylinder};
use proptest::prelude::*;

use crate::pictures::Album;

fn rx(sphere: f64, cylinder: f64, axis: f64) -> SpheroCylinder {
    SpheroCylinder { sphere, cylinder, axis }
}

fn cylinder(power: f64, axis: i32) -> LensToken {
    LensToken::Cylinder { power, axis: Axis::folded(axis) }
}

#[test]
fn every_accepted_form_of_a_lens_is_read() -> Result<(), NotationError> {
    let prism = |amount, base| LensToken::Prism { amount, base };
    let cases = [
        ("-4.25", LensToken::Sphere(-4.25)),
        ("\u{2212}4.25", LensToken::Sphere(-4.25)),
        ("+1", LensToken::Sphere(1.0)),
        ("-4.25DS", LensToken::Sphere(-4.25)),
        ("-4,25", LensToken::Sphere(-4.25)),
        ("-4.25 ds", LensToken::Sphere(-4.25)),
        ("-4.25D", LensToken::Sphere(-4.25)),
        ("-4.25 D", LensToken::Sphere(-4.25)),
        ("-4.25 SPH", LensToken::Sphere(-4.25)),
        ("-.50", LensToken::Sphere(-0.5)),
        ("+,25", LensToken::Sphere(0.25)),
        ("\u{221e}", LensToken::Sphere(0.0)),
        ("plano", LensToken::Sphere(0.0)),
        ("PLANO", LensToken::Sphere(0.0)),
        ("pl", LensToken::Sphere(0.0)),
        ("0", LensToken::Sphere(0.0)),
        ("-0.00", LensToken::Sphere(0.0)),
        ("+40", LensToken::Sphere(40.0)),
        ("  -4.25\t", LensToken::Sphere(-4.25)),
        ("-0.75x180", cylinder(-0.75, 180)),
        ("-0,75x180", cylinder(-0.75, 180)),
        ("-0.75 x 180", cylinder(-0.75, 180)),
        ("\u{2212}0.75\u{d7}180", cylinder(-0.75, 180)),
        ("+0.75X5", cylinder(0.75, 5)),
        ("-0.75x0", cylinder(-0.75, 180)),
        ("-.75 @ 90\u{b0}", cylinder(-0.75, 90)),
        ("-0.75x005", cylinder(-0.75, 5)),
        ("3BU", prism(3.0, Base::Up)),
        ("3BD", prism(3.0, Base::Down)),
        ("3BI", prism(3.0, Base::In)),
        ("0.5bo", prism(0.5, Base::Out)),
        ("3b225", prism(3.0, Base::Degrees(225))),
        ("3b0", prism(3.0, Base::Degrees(0))),
        ("3b359", prism(3.0, Base::Degrees(359))),
        ("occluder", LensToken::Accessory("occluder".to_owned())),
        ("maddox rod", LensToken::Accessory("maddox rod".to_owned())),
        (".", LensToken::Empty),
    ];
    for (text, expected) in cases {
        assert_eq!(parse_lens(text)?, expected, "{text}");
    }
    Ok(())
}

#[test]
fn every_accepted_form_of_a_prescription_is_read() -> Result<(), NotationError> {
    let cases = [
        ("-4.25/-0.75x180", rx(-4.25, -0.75, 180.0)),
        ("-4.25 -0.75 x 180", rx(-4.25, -0.75, 180.0)),
        ("-4.25 -0.75x180", rx(-4.25, -0.75, 180.0)),
        ("-4.25-0.75x180", rx(-4.25, -0.75, 180.0)),
        ("+1.00\u{2212}.75x20", rx(1.0, -0.75, 20.0)),
        ("-4.25 / -0.75 \u{d7} 180\u{b0}", rx(-4.25, -0.75, 180.0)),
        ("-4.25DS/-0.75DCx180", rx(-4.25, -0.75, 180.0)),
        ("-4.25 D -0.75 dc x 5", rx(-4.25, -0.75, 5.0)),
        ("-4.25 -.75 @ 180", rx(-4.25, -0.75, 180.0)),
        ("\u{221e}/-1.00x90", rx(0.0, -1.0, 90.0)),
        ("-4.25 SPH", rx(-4.25, 0.0, 180.0)),
        ("\u{2212}4.25 / \u{2212}0.75 \u{d7} 180", rx(-4.25, -0.75, 180.0)),
        ("plano/-1.00x90", rx(0.0, -1.0, 90.0)),
        ("pl -1.00x90", rx(0.0, -1.0, 90.0)),
        ("0/-1.00x90", rx(0.0, -1.0, 90.0)),
        ("+2.00/+5.00x30", rx(2.0, 5.0, 30.0)),
        ("-4.25DS", rx(-4.25, 0.0, 180.0)),
        ("-4.25", rx(-4.25, 0.0, 180.0)),
        ("-4,25/-0,75x180", rx(-4.25, -0.75, 180.0)),
        ("plano", rx(0.0, 0.0, 180.0)),
        ("-4.25/0.00x90", rx(-4.25, 0.0, 180.0)),
        ("-4.25/-0.75x0", rx(-4.25, -0.75, 180.0)),
    ];
    for (text, expected) in cases {
        assert_eq!(parse_prescription(text)?, expected, "{text}");
    }
    Ok(())
}

#[test]
fn marks_of_eighths_are_read_as_eighths_and_written_as_marks() -> Result<(), NotationError> {
    for whole in 0..40 {
        for (mark, eighth) in [("12", 0.125), ("37", 0.375), ("62", 0.625), ("87", 0.875)] {
            for sign in [1.0, -1.0] {
                let text = format!("{}{whole}.{mark}", if sign < 0.0 { '-' } else { '+' });
                let power = sign * (f64::from(whole) + eighth);
                assert_eq!(parse_power(&text)?, power, "{text}");
                assert_eq!(write_power(power, Style::Ascii), text);
            }
        }
    }
    // not marks of eighths: these stay what they are
    for power in [0.13, -0.38, 0.125, 2.5, -0.1, 0.1234, 12.0, 37.0] {
        assert_eq!(eighth_of_mark(power), power);
    }
    Ok(())
}

#[test]
fn powers_are_written_with_sign_and_two_places() {
    let cases =
        [(-4.25, "-4.25"), (1.0, "+1.00"), (0.0, "plano"), (-0.0, "plano"), (-0.004, "plano"), (-4.266, "-4.27")];
    for (power, text) in cases {
        assert_eq!(write_power(power, Style::Ascii), text);
    }
    assert_eq!(write_power(f64::NAN, Style::Ascii), "undefined");
    assert_eq!(write_power(-4.25, Style::Typographic), "\u{2212}4.25");
    assert_eq!(write_prescription(rx(-4.25, -0.75, 180.0), Style::Typographic), "\u{2212}4.25/\u{2212}0.75\u{d7}180");
    assert_eq!(write_prescription(rx(0.0, -1.0, 90.0), Style::Ascii), "plano/-1.00x90");
    assert_eq!(write_prescription(rx(-1.0, -1.0, 0.2), Style::Ascii), "-1.00/-1.00x180");
    assert_eq!(write_prescription(rx(-1.0, 0.001, 20.0), Style::Ascii), "-1.00");
}

/// Texts that no lens, prescription or acuity is written as, between bars.
const NO_LENS: &str = "|   |4.25|-|+|--4|-+4|- 4|.5|,|-.|-4.|-4,|-4.2.5|-1e1|+0x1F|0x90|nan|NaN|inf|-inf|+NaN|infinity|\
    -1_000|+40.25|-41|\u{2013}4.25|\u{2212}0.75\u{d7}190|-0.75x181|-0.75x-5|-0.75x90.5|-0.75x|-0.75x90x|-0.75x9O|x180|\
    \u{d7}180|-0.75 180|-4.25/-0.75x180|-4.25 -0.75x180|-4.25DSx90|-4.25SPHx90|-4.25DX|planox90|\u{221e}x90|+3BU|3B|3bx|3b360|3b22.5|3b-1|41BU|\
    0BU|3BU4|BU|b225|..|oc/cluder|-99999999999999999999999999999999999999999999|\u{663}|-4.25\u{0}";
const NO_PRESCRIPTION: &str = "|-4.25/|-4.25/-0.75|-4.25 -0.75|-4.25/x180|-4.25x180|-0.75x180|-4.25 @ 180|-4.250.75x180|\
    -4.25/-0.75x190|-4.25/-0.75x180 add +2.00|-4.25/0.75x180|-4.25/-0.75x12.5|-4.25 SPH/-0.75x180|-4.25/-0.75/180|-4.25/-0.75x180\u{b0}\u{b0}|\
    -4.25/-40.25x180|-4.25//-0.75x180|-4.25/plano|\u{2212}4.25 / \u{2212}0.75 \u{d7} 181|nan/-0.75x180|-4.25/infx180|\
    -4.25/-1e0x180";
const NO_ACUITY: &str = "|6|0|6/0|0/12|5/1|6/|6/1|6/-12|6/12-|6/12-2.5|6/12-10|6/12+0|6/12 2|6/12-2-1|-0.5|+0.5|3logMAR|\
    0.3log|0.3 logMARx|nan|20/1e3|\u{2212}0.6logMAR|six|0.5|12|-6/12|0 decimal|-0.5 decimal|101 letters|70.5 letters|\
    -5 letters|85 letters-2|CF 1|NL|cf-2|1/400";

/// Every refusal with its text, or the text that should have been refused.
fn refusals<T: std::fmt::Debug>(texts: &str, read: impl Fn(&str) -> Result<T, NotationError>) -> String {
    let each = texts.split('|').map(|text| match read(text) {
        Ok(value) => format!("NOT REFUSED: {text:?} was read as {value:?}\n\n"),
        Err(refusal) => format!("{refusal}\n\n"),
    });
    let report: String = each.collect();
    assert!(!report.contains("NOT REFUSED"), "{report}");
    report
}

#[test]
fn what_cannot_be_read_is_refused_with_the_place() {
    let album = Album::of("refused");
    album.text("refused_lenses", &refusals(NO_LENS, parse_lens));
    album.text("refused_prescriptions", &refusals(NO_PRESCRIPTION, parse_prescription));
    album.text("refused_acuities", &refusals(NO_ACUITY, str::parse::<Acuity>));
}

#[test]
fn acuities_are_read_and_written_in_every_notation() -> Result<(), NotationError> {
    // 6/12 = 20/40 = 0.5, 6/60 = 20/200 = 0.1: Holladay, J Refract Surg 1997;13:388-391 (table)
    let half = ["6/12", "3/6", "20/40", "0.5", "0.30logMAR", "70 letters"];
    let one = ["6/6", "3/3", "20/20", "1.0", "0.00logMAR", "85 letters"];
    let cases = [
        ("6/12", half),
        ("20/40", half),
        ("0.5", half),
        ("0.3logMAR", half),
        ("70 letters", half),
        ("4/8", half),
        ("0,5 decimal", half),
        ("6/6", one),
        ("0,5", half),
        ("1", one),
        ("85 Letters", one),
        ("6/60-2", ["6/60-2", "3/30-2", "20/200-2", "0.1-2", "1.00logMAR-2", "33 letters"]),
        ("6/9 +1", ["6/9+1", "3/4.5+1", "20/30+1", "0.67+1", "0.18logMAR+1", "77 letters"]),
        ("6/18", ["6/18", "3/9", "20/60", "0.33", "0.48logMAR", "61 letters"]),
        ("\u{2212}0.1logMAR \u{2212}2", ["6/4.8-2", "3/2.4-2", "20/16-2", "1.25-2", "-0.10logMAR-2", "88 letters"]),
        ("6/5", ["6/5", "3/2.5", "20/16.67", "1.2", "-0.08logMAR", "89 letters"]),
        ("0.2 logMAR", ["6/9.5", "3/4.75", "20/32", "0.63", "0.20logMAR", "75 letters"]),
        ("6/6,5", ["6/6.5", "3/3.25", "20/21.67", "0.92", "0.03logMAR", "83 letters"]),
        // no score of letters goes below 0
        ("1/120", ["6/720", "3/360", "20/2400", "0.0083", "2.08logMAR", "2.08logMAR"]),
        ("none", ["no letter"; 6]),
        ("No letter", ["no letter"; 6]),
        ("cf", ["CF"; 6]),
        ("HM", ["HM"; 6]),
        ("PL", ["PL"; 6]),
        ("LP", ["PL"; 6]),
        ("NPL", ["NPL"; 6]),
        ("nlp", ["NPL"; 6]),
        ("counting fingers", ["CF"; 6]),
    ];
    for (text, written) in cases {
        assert_eq!(written.len(), AcuityNotation::ALL.len(), "a notation is not written here");
        let acuity = Acuity::read(text, AcuityNotation::Decimal, None)?;
        for (notation, expected) in AcuityNotation::ALL.iter().zip(written) {
            assert_eq!(acuity.write(*notation, Style::Ascii), expected, "{text} as {notation:?}");
        }
    }
    Ok(())
}

#[test]
fn letters_missed_make_the_acuity_worse() -> Result<(), Box<dyn Error>> {
    let whole = "6/12".parse::<Acuity>()?.log_mar().ok_or("no line")?;
    let missed = "6/12-2".parse::<Acuity>()?.log_mar().ok_or("no line")?;
    let gained = "6/12+1".parse::<Acuity>()?.log_mar().ok_or("no line")?;
    assert_relative_eq!(missed, whole + 0.04, epsilon = 1e-12);
    assert_relative_eq!(gained, whole - 0.02, epsilon = 1e-12);
    Ok(())
}

#[test]
fn standard_lines_are_a_tenth_of_log_mar_apart() -> Result<(), Box<dyn Error>> {
    let lines: Vec<Acuity> = Acuity::standard_lines().collect();
    assert_eq!(lines.len(), 14);
    for (tenths, line) in (-3i32..).zip(&lines) {
        assert_relative_eq!(line.log_mar().ok_or("no line")?, f64::from(tenths) / 10.0, epsilon = 0.006);
        assert_eq!(line.nearest_standard_line(), Some(*line));
    }
    assert_eq!("6/18".parse::<Acuity>()?.nearest_standard_line(), Some("6/19".parse()?));
    assert_eq!("6/9-3".parse::<Acuity>()?.nearest_standard_line(), Some("6/9.5".parse()?));
    assert_eq!(Acuity::NoLetter.nearest_standard_line(), None);
    Ok(())
}

fn quarter_prescription() -> impl Strategy<Value = SpheroCylinder> {
    (-320i32..=320, -320i32..=320, 1i32..=180).prop_map(|(sphere, cylinder, axis)| {
        let axis = if cylinder == 0 { 180 } else { axis };
        rx(f64::from(sphere) / 8.0, f64::from(cylinder) / 8.0, f64::from(axis))
    })
}

fn style() -> impl Strategy<Value = Style> {
    proptest::sample::select(Style::ALL)
}

/// Any figure that a row of the table permits, by its row.
fn permitted() -> impl Strategy<Value = (Range, f64)> {
    (0..ALL.len(), 0.0..=1.0f64).prop_map(|(row, share)| {
        let row = ALL[row];
        // two places at most, as people write figures
        let steps = match row.steps {
            Steps::Any => 100.0,
            Steps::Halves => 2.0,
            Steps::Whole => 1.0,
        };
        (row, ((row.least + share * (row.most - row.least)) * steps).round() / steps)
    })
}

/// A figure as it is typed for a row.
fn typed(row: &Range, value: f64) -> String {
    let sign = if row.sign == SignRule::Needed && value > 0.0 { "+" } else { "" };
    format!("{sign}{value}")
}

#[test]
fn every_row_has_a_name_of_its_own_and_limits_that_it_permits() {
    for row in ALL {
        assert_eq!(ALL.iter().filter(|other| other.name == row.name).count(), 1, "{}", row.name);
        assert!(row.check(row.least).is_ok() && row.check(row.most).is_ok(), "{}", row.name);
        assert!(row.least < row.most && !row.name.is_empty());
    }
}

#[test]
fn a_figure_is_refused_with_its_name_its_limits_and_the_place() {
    let cases = [
        ("60", NEAR_M, "near distance 60 m is outside 0.1 to 2 m: 0.6 m?\n  60\n  ^^"),
        ("67", WORKING_M, "working distance 67 m is outside 0.1 to 2 m: 0.67 m?\n  67\n  ^^"),
        ("66,67", WORKING_M, "working distance 66.67 m is outside 0.1 to 2 m: 0.6667 m?\n  66,67\n  ^^^^^"),
        ("5", NEAR_M, "near distance 5 m is outside 0.1 to 2 m\n  5\n  ^"),
        ("0,05", WORKING_M, "working distance 0.05 m is outside 0.1 to 2 m\n  0,05\n  ^^^^"),
        ("300", AGE_YEARS, "age 300 is outside 1 to 120 years\n  300\n  ^^^"),
        ("4,5 years", AGE_YEARS, "age 4.5 is not a whole number\n  4,5 years\n  ^^^"),
        ("2.25", CLOCK_HOURS, "hour of the clock 2.25 is not a whole number or a half\n  2.25\n  ^^^^"),
        ("100", EACH, "count 100 is outside 1 to 99\n  100\n  ^^^"),
        ("2 m", EACH, "nothing may follow the number: count is from 1 to 99\n  2 m\n    ^"),
        ("+12", VERTEX_MM, "vertex distance is written without a sign: 12\n  +12\n  ^^^"),
        ("-1", VERTEX_MM, "vertex distance -1 mm is outside 0 to 40 mm\n  -1\n  ^^"),
        ("1e1", VERTEX_MM, "numbers are written out, without exponents\n  1e1\n   ^^"),
        (
            " 12 cm",
            VERTEX_MM,
            "only its unit may follow the number: vertex distance is from 0 to 40 mm\n   12 cm\n      ^^",
        ),
        ("far", VERTEX_MM, "expected a number here: vertex distance is from 0 to 40 mm\n  far\n  ^^^"),
        ("1.25", POWER, "a power needs its sign: write +1.25 or -1.25\n  1.25\n  ^^^^"),
        ("\u{2212}1", ADDITION, "addition -1 D is outside 0 to 20 D\n  \u{2212}1\n  ^^"),
    ];
    for (text, row, message) in cases {
        let said = parse_figure(text, &row).map_err(|error| error.to_string());
        assert_eq!(said, Err(message.to_owned()), "{text} as {}", row.name);
    }
}

proptest! {
    #[test]
    fn a_permitted_figure_is_read_with_point_or_comma_and_with_its_unit((row, value) in permitted()) {
        let text = typed(&row, value);
        let expected = if row.marked { eighth_of_mark(value) } else { value };
        let minus = text.replace('-', "\u{2212}");
        let units = row.unit.typed().iter().flat_map(|unit| [format!("{text}{unit}"), format!("{text} {}", unit.to_uppercase())]);
        for text in [text.clone(), text.replace('.', ","), minus, format!(" {text} ")].into_iter().chain(units) {
            prop_assert_eq!(parse_figure(&text, &row), Ok(expected), "{} as {}", text, row.name);
        }
    }

    #[test]
    fn a_figure_beyond_its_limits_is_refused_with_them((row, _) in permitted(), beyond in 1u32..10_000, below: bool) {
        let beyond = f64::from(beyond) / 4.0;
        let value = if below { row.least - beyond } else { row.most + beyond };
        let said = parse_figure(&typed(&row, value), &row).map_err(|error| error.problem().to_owned());
        let limits = format!("outside {} to {}{}", row.least, row.most, row.unit.behind());
        prop_assert!(said.clone().is_err_and(|said| said.starts_with(row.name) && said.contains(&limits)), "{:?}", said);
    }

    #[test]
    fn what_is_written_is_read_again(prescription in quarter_prescription(), style in style()) {
        prop_assert_eq!(parse_prescription(&write_prescription(prescription, style)), Ok(prescription));
    }

    #[test]
    fn a_written_lens_is_read_again(eighths in 1i32..=320, minus: bool, axis in 1i32..=180, base in 0u16..360, style in style()) {
        let size = f64::from(eighths) / 8.0;
        let power = if minus { -size } else { size };
        let lenses = [
            LensToken::Sphere(power),
            cylinder(power, axis),
            LensToken::Prism { amount: size, base: Base::Degrees(base) },
            LensToken::Prism { amount: size, base: Base::In },
        ];
        for lens in lenses {
            prop_assert_eq!(parse_lens(&write_lens(&lens, style)), Ok(lens));
        }
    }

    #[test]
    fn no_text_breaks_the_readers_and_every_caret_stands_in_its_text(text in "[-+−×x/0-9. eEbBuUdDsSNnaAplog\t\u{0}😀眼,]{0,12}") {
        let refusals = [
            parse_lens(&text).err(),
            parse_prescription(&text).err(),
            text.parse::<Acuity>().err(),
            parse_power(&text).err(),
        ];
        for refusal in refusals.into_iter().flatten() {
            prop_assert!(text.get(refusal.place()).is_some(), "{:?} in {text:?}", refusal.place());
            prop_assert_eq!(refusal.text(), text.as_str());
            prop_assert_eq!(refusal.to_string().lines().count(), 3);
        }
    }

    #[test]
    fn a_power_that_is_read_lies_in_its_range(text in "[-+]?[0-9]{1,3}([.,][0-9]{1,3})?") {
        if let Ok(power) = parse_power(&text) {
            prop_assert!(POWER.contains(power));
            prop_assert!(power == 0.0 || text.starts_with(['-', '+']));
        }
    }

    #[test]
    fn a_written_acuity_is_read_again(hundredths in -47i32..=198, letters in -9i8..=9, notation in proptest::sample::select(AcuityNotation::ALL), style in style()) {
        let mar = 10f64.powf(f64::from(hundredths) / 100.0);
        let acuity = Acuity::Line { mar, letters };
        let written = acuity.write(notation, style);
        let again = Acuity::read(&written, notation, None).map_err(|e| TestCaseError::fail(format!("{e}")))?;
        let Some((_, read_letters)) = again.line() else {
            return Err(TestCaseError::fail("a line became none"));
        };
        // a score has its letters counted in
        prop_assert!(read_letters == letters || written.ends_with(" letters"), "{written}");
        // half a letter: what two or three written places and the figures of standard lines can hold
        let (read, was) = (again.log_mar().unwrap_or(f64::NAN), acuity.log_mar().unwrap_or(f64::NAN));
        prop_assert!((read - was).abs() < 0.015, "{was} became {read}");
    }
}

/// What is displayed for a text that is not a lens: what is wrong, the text, and carets under the place.
fn refusal_of_lens(text: &str) -> String {
    parse_lens(text).map_or_else(|error| error.to_string(), |lens| format!("was read as {lens:?}"))
}

#[test]
fn the_caret_stands_under_the_place_after_characters_of_several_bytes() {
    assert_eq!(refusal_of_lens("−0.75×190"), "axis 190° is outside 0 to 180°\n  −0.75×190\n        ^^^");
}

#[test]
fn a_missing_character_is_pointed_at_after_the_text() {
    let refusal = "expected the axis here, in whole degrees from 1 to 180\n  −0.75×\n        ^";
    assert_eq!(refusal_of_lens("−0.75×"), refusal);
}

#[test]
fn wide_characters_take_two_columns_and_tabs_one() {
    let refusal = "the name of a lens has letters, figures and spaces only\n  眼 !\n     ^";
    assert_eq!(refusal_of_lens("眼 !"), refusal);
    let refusal = "axis 190° is outside 0 to 180°\n  -0.75 x 190\n          ^^^";
    assert_eq!(refusal_of_lens("-0.75\tx\t190"), refusal);
}

#[test]
fn a_long_text_is_shortened_around_the_place() {
    let text = format!("{}!{}", "a".repeat(500), "b".repeat(500));
    let (a, b) = ("a".repeat(40), "b".repeat(40));
    let refusal = format!("the name of a lens has letters, figures and spaces only\n  …{a}!{b}…\n  {:41}^", "");
    assert_eq!(refusal_of_lens(&text), refusal);
}
