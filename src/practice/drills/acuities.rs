//! Acuities in another notation.

use libm::log10;

use super::answer::{Answer, said};
use super::drawing::one_of;
use super::item::{Item, Slip, n};
use super::table::{Level, Skill};
use crate::optics::notation::Style;
use crate::optics::{Acuity, AcuityNotation};
use crate::practice::draws::Draws;

/// Half a letter: one of five on a line is 0.02 logMAR.
const WITHIN_LOG_MAR: f64 = 0.01;

/// Lines whose figures are round over six metres, over twenty feet and as a decimal, by the lower figure over six metres.
const ROUND_6_M: [f64; 8] = [60.0, 30.0, 24.0, 15.0, 12.0, 7.5, 6.0, 3.0];

/// Tenths of logMAR that charts have, with the lower figure over six metres as they print it.
const TENTHS: [(i32, f64); 14] = [
    (-3, 3.0),
    (-2, 3.8),
    (-1, 4.8),
    (0, 6.0),
    (1, 7.5),
    (2, 9.5),
    (3, 12.0),
    (4, 15.0),
    (5, 19.0),
    (6, 24.0),
    (7, 30.0),
    (8, 38.0),
    (9, 48.0),
    (10, 60.0),
];

const LETTER_LOG_MAR: f64 = 0.02;

/// An acuity in another notation than it is given in.
pub fn acuity(skill: Skill, draws: &mut Draws) -> Option<Item> {
    match skill.level {
        Level::One => fraction_or_decimal(skill, draws),
        Level::Two => Some(log_mar(skill, draws)),
        Level::Three if draws.happens(0.5) => Some(nearer_chart(skill, draws)),
        Level::Three => letters(skill, draws),
    }
}

/// One of the notations that a question is about.
pub fn one_notation(draws: &mut Draws, which: impl Fn(AcuityNotation) -> bool) -> AcuityNotation {
    let those: Vec<AcuityNotation> = AcuityNotation::ALL.iter().copied().filter(|&notation| which(notation)).collect();
    one_of(draws, &those)
}

/// Whether it is the same fraction as the usual 6/12, written in another way.
fn keeps_the_fraction(notation: AcuityNotation) -> bool {
    match notation {
        AcuityNotation::SixMetres | AcuityNotation::TwentyFeet | AcuityNotation::Decimal => true,
        AcuityNotation::ThreeMetres | AcuityNotation::LogMar | AcuityNotation::Letters => false,
    }
}

/// Whether single letters show in it.
fn counts_letters(notation: AcuityNotation) -> bool {
    match notation {
        AcuityNotation::LogMar | AcuityNotation::Letters => true,
        AcuityNotation::SixMetres
        | AcuityNotation::ThreeMetres
        | AcuityNotation::TwentyFeet
        | AcuityNotation::Decimal => false,
    }
}

/// Level 1: over six metres, over twenty feet, as a decimal: the fraction stays the same.
fn fraction_or_decimal(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let line = one_of(draws, &ROUND_6_M);
    let (from, to) = (one_notation(draws, keeps_the_fraction), one_notation(draws, keeps_the_fraction));
    if from == to {
        return None;
    }
    let over = |notation: AcuityNotation| match notation {
        AcuityNotation::TwentyFeet => format!("20/{}", n(line * 20.0 / 6.0)),
        AcuityNotation::Decimal => format!("{} as a decimal", n(6.0 / line)),
        AcuityNotation::SixMetres | AcuityNotation::ThreeMetres | AcuityNotation::LogMar | AcuityNotation::Letters => {
            format!("6/{}", n(line))
        }
    };
    Some(
        Item::new(
            skill,
            format!("Write {} {}.", over(from), said(to)),
            Answer::Acuity(log10(line / 6.0), to),
            WITHIN_LOG_MAR,
        )
        .given("acuity", over(from).trim_end_matches(" as a decimal"))
        .given("from", from.name())
        .given("to", to.name())
        .step("The fraction is the same, whichever distance it is written over.")
        .step(format!("6/{} = 20/{} = {}.", n(line), n(line * 20.0 / 6.0), n(6.0 / line))),
    )
}

/// Level 2: to and from logMAR.
fn log_mar(skill: Skill, draws: &mut Draws) -> Item {
    let (tenths, line) = one_of(draws, &TENTHS);
    let exact = f64::from(tenths) / 10.0;
    let written = Acuity::of_6_m(line).write(AcuityNotation::SixMetres, Style::Ascii);
    let to_log_mar = draws.happens(0.5);
    let item = if to_log_mar {
        Item::new(
            skill,
            format!("Write {written} {}.", said(AcuityNotation::LogMar)),
            Answer::Acuity(exact, AcuityNotation::LogMar),
            WITHIN_LOG_MAR,
        )
        .given("acuity", written)
        .given("from", AcuityNotation::SixMetres.name())
        .given("to", AcuityNotation::LogMar.name())
    } else {
        Item::new(
            skill,
            format!("Write {exact:.1} logMAR {}.", said(AcuityNotation::SixMetres)),
            Answer::Acuity(exact, AcuityNotation::SixMetres),
            WITHIN_LOG_MAR,
        )
        .given("acuity", format!("{exact:.1}logMAR"))
        .given("from", AcuityNotation::LogMar.name())
        .given("to", AcuityNotation::SixMetres.name())
    };
    let other_sign =
        Answer::Acuity(-exact, if to_log_mar { AcuityNotation::LogMar } else { AcuityNotation::SixMetres });
    item.step(format!(
        "MAR = {} / 6 = {:.2}, its logarithm {:.2}: lines of a chart are tenths.",
        n(line),
        line / 6.0,
        log10(line / 6.0)
    ))
    .step("6/6 is 0.0, 6/12 is 0.3, 6/60 is 1.0; better than 6/6 is below zero.")
    .slip(Slip::Sign, other_sign)
    .without_slips_that_are_right()
}

/// Level 3: a line of a chart that hangs nearer than it is made for.
fn nearer_chart(skill: Skill, draws: &mut Draws) -> Item {
    let (tenths, line) = one_of(draws, &TENTHS[3..]);
    let at_m = one_of(draws, &[3.0, 1.5]);
    // half the distance is 0.3 logMAR, a quarter of it 0.6, to 0.002
    let more = log10(6.0 / at_m);
    let exact = f64::from(tenths) / 10.0 + more;
    let written = Acuity::of_6_m(line).write(AcuityNotation::SixMetres, Style::Ascii);
    Item::new(
            skill,
            format!(
                "A chart made for 6 m hangs at {} m. The person reads the line that it prints as {written}. Write the true acuity {}.",
                n(at_m),
                said(AcuityNotation::LogMar)
            ),
            Answer::Acuity((exact * 10.0).round() / 10.0, AcuityNotation::LogMar),
            WITHIN_LOG_MAR,
        )
        .given("acuity", written.clone())
        .given("chart_at_m", at_m)
        .given("to", AcuityNotation::LogMar.name())
        .step(format!("{written} is {:.1} logMAR.", f64::from(tenths) / 10.0))
        .step(format!("From {} m letters look {} times as large: {more:.2} more.", n(at_m), n(6.0 / at_m)))
        .step(format!("{exact:.1} logMAR."))
        .slip(Slip::Vertex, Answer::Acuity(f64::from(tenths) / 10.0, AcuityNotation::LogMar))
        .slip(Slip::Sign, Answer::Acuity(f64::from(tenths) / 10.0 - more, AcuityNotation::LogMar))
}

/// Level 3: letters missed or gained, as logMAR or as a score.
fn letters(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let (tenths, line) = one_of(draws, &TENTHS[1..]);
    let missed: i32 = one_of(draws, &[-2, -1, 1, 2]);
    let exact = f64::from(tenths) / 10.0 - LETTER_LOG_MAR * f64::from(missed);
    let notation = one_notation(draws, counts_letters);
    let written = format!("{}{missed:+}", Acuity::of_6_m(line).write(AcuityNotation::SixMetres, Style::Ascii));
    let score = 85.0 - 50.0 * exact;
    let item = Item::new(
        skill,
        format!("Write {written} {}. A line has five letters.", said(notation)),
        // half a letter would be none
        Answer::Acuity(exact, notation),
        WITHIN_LOG_MAR - 0.001,
    )
    .given("acuity", written)
    .given("to", notation.name())
    .step(format!("The line is {:.1} logMAR; a letter is 0.02.", f64::from(tenths) / 10.0))
    .step(format!(
        "{} letters {}: {exact:.2} logMAR.",
        missed.abs(),
        if missed > 0 { "more than the line, so better, which is less" } else { "missed, so worse, which is more" }
    ))
    .slip(Slip::Sign, Answer::Acuity(f64::from(tenths) / 10.0 + LETTER_LOG_MAR * f64::from(missed), notation));
    Some(match notation {
        AcuityNotation::Letters => item.step(format!("85 - 50 x {exact:.2} = {score:.0} letters.")),
        AcuityNotation::LogMar
        | AcuityNotation::SixMetres
        | AcuityNotation::ThreeMetres
        | AcuityNotation::TwentyFeet
        | AcuityNotation::Decimal => item,
    })
    .filter(|_| (0.0..=100.0).contains(&score))
}
