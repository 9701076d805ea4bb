//! Retinoscopy: the eye's power from reversal, and how the reflex moves.

use super::answer::{Answer, Choice};
use super::drawing::{
    QUARTER_D, WITHIN_POWER_D, axis_in_fives, one_of, power_on_step, quarters, sign, sphere, written,
};
use super::item::{Item, Slip, d, rx};
use super::table::{Level, Skill};
use super::written::across;
use crate::optics::retinoscopy::{less_working_lens, working_lens};
use crate::optics::{Dioptres, Power};
use crate::practice::draws::Draws;

/// Distances at which one sits, in centimetres: their working lenses are quarters, but for 67 cm, where +1.50 is taken.
const USUAL_CM: [f64; 3] = [50.0, 67.0, 100.0];
const OTHER_CM: [f64; 5] = [40.0, 50.0, 67.0, 80.0, 100.0];

/// The eye's power from what reverses the reflex.
pub fn retinoscopy(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let distance_cm = match skill.level {
        Level::One | Level::Two => one_of(draws, &USUAL_CM),
        Level::Three => one_of(draws, &OTHER_CM),
    };
    let metres = distance_cm / 100.0;
    let lens = nearest_quarter_of(working_lens(metres));
    let first = sign(draws) * quarters(draws, 0.25, 6.0);
    let (meridian, second) = match skill.level {
        Level::One => (180.0, first),
        Level::Two => (one_of(draws, &[90.0, 180.0]), first + sign(draws) * quarters(draws, 0.5, 3.0)),
        Level::Three => (axis_in_fives(draws), first + sign(draws) * quarters(draws, 0.5, 3.0)),
    };
    let gross = Power::principal(meridian, Dioptres(first), Dioptres(second));
    // at level 3 the working lens stands in the frame in every other item, and is then not taken off again
    let is_in = skill.level == Level::Three && sign(draws) > 0.0;
    let exact = if is_in { gross } else { less_working_lens(gross, metres) };
    let answer = power_on_step(exact.minus_form(), QUARTER_D)?;
    // no power has no sign to be wrong
    if answer.power().blur_strength() < QUARTER_D {
        return None;
    }
    let off = sphere(lens);
    let wrong = if is_in { gross - off } else { gross };
    let other_way = gross + off;
    let found = match skill.level {
        Level::One => format!("the reflex reverses in every meridian with {}", d(first)),
        Level::Two => {
            format!(
                "the meridian {meridian} reverses with {}, the meridian {} with {}",
                d(first),
                across(meridian),
                d(second)
            )
        }
        // the streak lies across what it sweeps
        Level::Three => format!(
            "with the streak lying at {} it reverses with {}, with the streak at {meridian} with {}",
            across(meridian),
            d(first),
            d(second)
        ),
    };
    let in_frame = if is_in {
        format!("the working lens {} stands in a cell of its own, not counted in what follows", d(lens))
    } else {
        "no working lens is in the frame".to_owned()
    };
    let item = Item::new(
        skill,
        format!("You sit at {distance_cm} cm and {in_frame}; {found}. What is the eye's power?"),
        Answer::Power(answer.power()),
        WITHIN_POWER_D,
    )
    .given("distance_cm", distance_cm)
    .given("working_lens_in_frame", if is_in { "yes" } else { "no" });
    let item = match skill.level {
        Level::One => item.given("reverses_with", d(first)),
        Level::Two | Level::Three => item.given(
            "swept_meridians",
            vec![format!("{meridian}:{}", d(first)), format!("{}:{}", across(meridian), d(second))],
        ),
    };
    let item = match skill.level {
        Level::One => item,
        Level::Two => item.step(format!("Written out that is {}.", rx(gross.minus_form()))),
        Level::Three => item
            .step(format!(
                "A streak sweeps across where it lies: {} acts along {meridian}, {} along {}.",
                d(first),
                d(second),
                across(meridian)
            ))
            .step(format!("Written out that is {}.", rx(gross.minus_form()))),
    };
    let item = if is_in {
        item.step(format!(
            "The working lens {} is in the frame and comes out by itself: nothing is taken off.",
            d(lens)
        ))
    } else {
        item.step(format!("The working lens for {distance_cm} cm is {}: take it off the sphere.", d(lens)))
    };
    Some(
        item.step(format!("{}.", rx(answer)))
            .slip(Slip::Vertex, Answer::Power(wrong))
            .slip(Slip::Vertex, Answer::Power(other_way))
            .slip(Slip::Axis, Answer::Power(exact.turned(90.0)))
            .without_slips_that_are_right(),
    )
}

fn nearest_quarter_of(lens: Dioptres) -> f64 {
    (lens.0 / QUARTER_D).round() * QUARTER_D
}

/// How the reflex moves.
pub const MOVES: &[Choice] = &[
    Choice { word: "with", also: &[] },
    Choice { word: "against", also: &[] },
    Choice { word: "neutral", also: &["neither", "reversal"] },
];

/// A reflex that moves less plainly than this is not asked about.
const PLAIN_D: f64 = 0.40;
/// What reverses it all but exactly: 1/0.67 is 1.4925.
const REVERSED_D: f64 = 0.01;

/// How the reflex moves in the swept meridian: *with* while plus is missing there.
pub fn with_against(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let distance_cm = one_of(draws, &USUAL_CM);
    let lens = nearest_quarter_of(working_lens(distance_cm / 100.0));
    let needs_sphere = sign(draws) * quarters(draws, 0.0, 5.0);
    let needs = match skill.level {
        Level::One => written(needs_sphere, 0.0, 180.0),
        Level::Two => written(needs_sphere, -quarters(draws, 0.5, 3.0), one_of(draws, &[90.0, 180.0])),
        Level::Three => written(needs_sphere, -quarters(draws, 0.75, 3.0), axis_in_fives(draws)),
    };
    let stands = match skill.level {
        Level::One => 0.0,
        Level::Two => sign(draws) * quarters(draws, 0.5, 5.0),
        // between the two meridians, so that where the streak lies decides
        Level::Three => {
            let middle = needs.sphere + lens + needs.cylinder / 2.0;
            (middle / QUARTER_D + one_of(draws, &[-1.0, 0.0, 1.0])).round() * QUARTER_D + 0.0
        }
    };
    let swept = match skill.level {
        Level::One => 180.0,
        Level::Two | Level::Three => one_of(draws, &[needs.axis, across(needs.axis)]),
    };
    let missing = needs.power() + sphere(working_lens(distance_cm / 100.0).0 - stands);
    let word_of = |along: f64| {
        let acts = missing.along(along);
        match acts {
            _ if acts.abs() < REVERSED_D => Some("neutral"),
            _ if acts >= PLAIN_D => Some("with"),
            _ if acts <= -PLAIN_D => Some("against"),
            _ => None,
        }
    };
    let word = word_of(swept)?;
    let other = word_of(across(swept))?;
    if skill.level == Level::Three && word == other {
        return None;
    }
    let before =
        if stands == 0.0 { "nothing stands before it".to_owned() } else { format!("{} stands before it", d(stands)) };
    let streak = match skill.level {
        Level::One => String::new(),
        Level::Two => format!(" You sweep along {swept}."),
        Level::Three => format!(" The streak lies at {}.", across(swept)),
    };
    let along = needs.power().along(swept);
    let wants = along + lens;
    let mut item = Item::new(
        skill,
        format!(
            "An eye needs {}; {before}. You sit at {distance_cm} cm.{streak} How does the reflex move: with, against or neutral?",
            rx(needs)
        ),
        Answer::Word(word, MOVES),
        0.0,
    )
    .given("needs", rx(needs))
    .given("stands", d(stands))
    .given("distance_cm", distance_cm);
    if skill.level != Level::One {
        item = item.given("swept_meridian_deg", swept);
    }
    if skill.level == Level::Three {
        item = item.step(format!("A streak lying at {} sweeps along {swept}.", across(swept)));
    }
    let item = item
        .step(format!("Along the sweep the eye needs {}; from {distance_cm} cm {} reverses it.", d(along), d(wants)))
        .step(if stands == 0.0 {
            format!("Nothing stands there: {} is missing.", d(wants))
        } else {
            format!("{} stands there: {} is missing.", d(stands), d(wants - stands))
        })
        .step(match word {
            "with" => "Plus is missing: with.".to_owned(),
            "against" => "There is too much plus: against.".to_owned(),
            _ => "Nothing is missing: neutral.".to_owned(),
        });
    let reversed = match word {
        "with" => Some("against"),
        "against" => Some("with"),
        _ => None,
    };
    // a word can tell of one slip only: along the other meridian where the streak is the matter, else the sign
    Some(match (skill.level, reversed) {
        (Level::Three, _) => item.slip(Slip::Axis, Answer::Word(other, MOVES)),
        (Level::One | Level::Two, Some(reversed)) => item.slip(Slip::Sign, Answer::Word(reversed, MOVES)),
        (Level::One | Level::Two, None) => item,
    })
}
