//! Steps of the subjective refraction: first lens, noticeable step, fan, cross cylinder, addition.

use super::acuities::one_notation;
use super::answer::Answer;
use super::drawing::{
    QUARTER_D, WITHIN_AXIS_DEG, WITHIN_POWER_D, axis_in_fives, on_step, one_of, quarters, sign, whole, within, written,
};
use super::item::{Item, Slip, d, n, rx};
use super::table::{Level, Skill};
use super::written::across;
use crate::exam::Complaint;
use crate::optics::notation::Style;
use crate::optics::power::fold_axis;
use crate::optics::{Acuity, AcuityNotation};
use crate::practice::draws::Draws;

/// A lens that is one of a table.
const WITHIN_TABLE_D: f64 = 0.01;

/// What somebody says, and how a question puts it.
const SAYS: [(Complaint, &str); 3] = [
    (Complaint::FarBlur, "far things are blurred, near ones clear"),
    (Complaint::BlurEverywhere, "everything is blurred, far and near"),
    (Complaint::NearOnly, "only near things are blurred"),
];

/// How much of the chart is read, by the lower figure over six metres, in words; none reads no letter.
const READS: [(Option<f64>, &str); 4] = [
    (None, "no letter of the chart"),
    (Some(60.0), "the top letter only"),
    (Some(18.0), "half-way down the chart"),
    (Some(7.5), "nearly all of the chart"),
];

/// Lines of a chart by the lower figure over six metres that plainly belong to one row of the table.
const LINES: [f64; 7] = [60.0, 24.0, 18.0, 15.0, 12.0, 7.5, 6.0];

/// From this lower figure over six metres on only the top of the chart is read, and from the second on half of it.
const TOP_FROM_6_M: f64 = 42.0;
const HALF_FROM_6_M: f64 = 10.5;

/// The table of first lenses (common practice, no source). It stands here by itself: what is taught has no way into how the guide
/// refracts, and a test holds the two side by side.
fn of_the_table(denominator: Option<f64>, far_blur: bool, print_at_nose: bool) -> f64 {
    let reads_top_at_most = denominator.is_none_or(|line| line >= TOP_FROM_6_M);
    let reads_nearly_all = denominator.is_some_and(|line| line < HALF_FROM_6_M);
    match (reads_top_at_most, far_blur) {
        _ if reads_nearly_all => 0.50,
        (true, true) if print_at_nose => -8.00,
        (true, true) => -2.00,
        (true, false) => 2.00,
        (false, true) => -1.00,
        (false, false) => 1.00,
    }
}

/// The first turn of the axis in degrees for a cylinder (from memory, common practice): under 0.50 by 20, to 0.75 by 10, to 1.75 by
/// 5, above by 3.
fn first_turn_deg(cylinder_d: f64) -> f64 {
    match cylinder_d.abs() {
        weak if weak < 0.50 => 20.0,
        weak if weak <= 0.75 => 10.0,
        middling if middling <= 1.75 => 5.0,
        _ => 3.0,
    }
}

/// The lens to show first, by the table.
pub fn first_lens(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let (complaint, says) = one_of(draws, &SAYS);
    let (denominator, reads) = match skill.level {
        Level::One => {
            let (denominator, words) = one_of(draws, &READS);
            (denominator, words.to_owned())
        }
        Level::Two => {
            let line = one_of(draws, &LINES);
            (Some(line), Acuity::of_6_m(line).write(AcuityNotation::SixMetres, Style::Ascii))
        }
        Level::Three => {
            let line = one_of(draws, &LINES);
            let notation =
                one_notation(draws, |notation| notation == AcuityNotation::LogMar || is_turned_round(notation));
            (Some(line), in_notation(Acuity::of_6_m(line), notation))
        }
    };
    // nobody whose far sight is poor says that only near things are blurred
    if complaint == Complaint::NearOnly && denominator.is_none_or(|line| line > 9.0) {
        return None;
    }
    // who reads no letter and sees far blur is asked for near print
    let print_at_nose = denominator.is_none() && complaint == Complaint::FarBlur && sign(draws) > 0.0;
    let print = if print_at_nose { ", and holds print at the nose" } else { "" };
    let age = (skill.level == Level::Three).then(|| whole(draws, 15, 70));
    let somebody = age.map_or_else(|| "Somebody".to_owned(), |age| format!("Somebody of {age}"));
    let answer = of_the_table(denominator, complaint == Complaint::FarBlur, print_at_nose);
    let item = Item::new(
        skill,
        format!("{somebody} says that {says}, and reads {reads}{print}. Which sphere do you show first?"),
        Answer::Dioptres(answer),
        WITHIN_TABLE_D,
    )
    .given("says", says)
    .given("reads", reads)
    .given("print_at_nose", if print_at_nose { "yes" } else { "no" });
    let item = match skill.level {
        Level::One => item,
        Level::Two | Level::Three => item.step(match denominator {
            Some(line) if line >= 60.0 => "That is the top of the chart at most.",
            Some(line) if line >= 12.0 => "That is about half-way down the chart.",
            _ => "That is nearly all of the chart.",
        }),
    };
    let why = if answer == 0.5 {
        "Who reads nearly all is shown +0.50 first, to see that it is not accepted."
    } else if answer < 0.0 {
        "Far blur alone speaks for minus, the more the less is read."
    } else {
        "Not far blur alone: plus first, the more the less is read. Refused it costs nothing, and it finds the long-sighted."
    };
    Some(item.step(format!("{why} {}.", d(answer))))
}

/// Whether the fraction over six metres is written another way.
fn is_turned_round(notation: AcuityNotation) -> bool {
    match notation {
        AcuityNotation::TwentyFeet | AcuityNotation::Decimal => true,
        AcuityNotation::SixMetres | AcuityNotation::ThreeMetres | AcuityNotation::LogMar | AcuityNotation::Letters => {
            false
        }
    }
}

/// An acuity with the word of its notation, so that it can be read alone.
fn in_notation(acuity: Acuity, notation: AcuityNotation) -> String {
    let written = acuity.write(notation, Style::Ascii);
    match notation {
        AcuityNotation::LogMar if !written.to_lowercase().contains("log") => format!("{written} logMAR"),
        AcuityNotation::Decimal if !written.contains("dec") => format!("{written} decimal"),
        AcuityNotation::Letters if !written.contains("let") => format!("{written} letters"),
        AcuityNotation::SixMetres
        | AcuityNotation::ThreeMetres
        | AcuityNotation::TwentyFeet
        | AcuityNotation::Decimal
        | AcuityNotation::LogMar
        | AcuityNotation::Letters => written,
    }
}

/// That of 3/60: nobody is refracted in larger steps.
const LARGEST_STEP_D: f64 = 4.0;

/// The step that is just noticed: the lower figure over six metres by 30 (low-vision teaching notes: over twenty feet by 100).
pub fn step(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let at_m = match skill.level {
        Level::One | Level::Two => 6.0,
        Level::Three => one_of(draws, &[1.0, 2.0, 3.0]),
    };
    let line = match skill.level {
        Level::One => one_of(draws, &[60.0, 36.0, 30.0, 24.0, 15.0, 7.5]),
        Level::Two => one_of(draws, &[150.0, 120.0, 90.0, 75.0, 60.0, 45.0, 36.0, 30.0, 24.0, 15.0, 7.5]),
        Level::Three => one_of(draws, &[60.0, 45.0, 36.0, 30.0, 24.0, 22.5, 15.0, 12.0, 9.0, 7.5]),
    };
    let true_line = line * 6.0 / at_m;
    let exact = true_line / 30.0;
    if exact > LARGEST_STEP_D {
        return None;
    }
    let answer = on_step(exact, QUARTER_D)?;
    let reads = match skill.level {
        Level::One | Level::Three => Acuity::of_6_m(line).write(AcuityNotation::SixMetres, Style::Ascii),
        Level::Two => {
            let notation = one_notation(draws, is_turned_round);
            in_notation(Acuity::of_6_m(line), notation)
        }
    };
    let chart = if at_m < 6.0 {
        format!(" The chart is made for 6 m and hangs at {} m; the line is as the chart prints it.", n(at_m))
    } else {
        String::new()
    };
    let item = Item::new(
        skill,
        format!("Somebody reads {reads}.{chart} What is the smallest step of sphere, to the nearest quarter, that can just be noticed?"),
        Answer::Size(answer),
        within(QUARTER_D),
    )
    .given("reads", reads.clone())
    .given("chart_at_m", at_m);
    let item = match skill.level {
        Level::One => item,
        Level::Two => item.step(format!("{reads} is 6/{}.", n(true_line))),
        Level::Three => item
            .step(format!(
                "From {} m its letters look {} times as large: truly 6/{}.",
                n(at_m),
                n(6.0 / at_m),
                n(true_line)
            ))
            .slip(Slip::Vertex, Answer::Size(line / 30.0)),
    };
    Some(item.step(format!("{} / 30 = {exact:.2}, to the nearest quarter {answer:.2}.", n(true_line))))
        .filter(Item::tells_slips_apart)
}

/// The fan: the minus axis is 30 times the lower hour of the clearest line, and the line itself lies across it.
pub fn clock(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let hour = whole(draws, 1, 6);
    // the next line up, 6 and then 1
    let next = hour % 6 + 1;
    let line = |hour: i32, upper_first: bool| {
        if upper_first { format!("{} to {hour}", hour + 6) } else { format!("{hour} to {}", hour + 6) }
    };
    let upper_first = skill.level == Level::Three;
    let between = skill.level != Level::One && (skill.level == Level::Two || sign(draws) > 0.0);
    let hours = f64::from(hour) + if between { 0.5 } else { 0.0 };
    let axis = fold_axis(30.0 * hours);
    let lies = across(axis);
    let named = if between {
        format!(
            "the lines from {} and from {} are equally clear, clearer than the others",
            line(hour, upper_first),
            line(next, upper_first)
        )
    } else {
        format!("the line from {} is the clearest", line(hour, upper_first))
    };
    let (question, answer) = match skill.level {
        Level::One | Level::Two => ("At which axis does the minus cylinder go?", axis),
        Level::Three => ("You face the person. At how many degrees of your dial does what is clearest lie?", lies),
    };
    let item = Item::new(
        skill,
        format!("Fogged before the fan the person says: {named}. {question}"),
        Answer::Axis(answer),
        WITHIN_AXIS_DEG,
    )
    .given(
        "clearest",
        if between { vec![line(hour, upper_first), line(next, upper_first)] } else { vec![line(hour, upper_first)] },
    )
    .step(if between && hour == 6 {
        "Half-way between 6 (or 0) and 1 is the hour 0.5.".to_owned()
    } else {
        format!("The lower hour is {}.", n(hours))
    })
    .step(format!("The minus axis is 30 times the lower hour: {axis}."));
    let item = match skill.level {
        Level::One | Level::Two => item.slip(Slip::Axis, Answer::Axis(lies)),
        Level::Three => item
            .step(format!("The line itself lies across it, at {lies}: the person's clock is mirrored to you."))
            .slip(Slip::Axis, Answer::Axis(axis))
            .slip(Slip::Axis, Answer::Axis(fold_axis(90.0 - 30.0 * hours))),
    };
    Some(item.slip(Slip::Axis, Answer::Axis(fold_axis(-axis))).without_slips_that_are_right())
}

/// The cross cylinder: more or less cylinder, the axis turned towards the minus axis that is preferred, the equivalent kept.
pub fn cross_cylinder(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let start = written(sign(draws) * quarters(draws, 0.25, 5.0), -quarters(draws, 0.75, 3.5), axis_in_fives(draws));
    let more = sign(draws) > 0.0;
    let preferred = if more { "minus" } else { "plus" };
    match skill.level {
        Level::One => {
            let answer = start.cylinder - if more { 0.25 } else { -0.25 };
            let other = start.cylinder + if more { 0.25 } else { -0.25 };
            Some(
                Item::new(
                    skill,
                    format!(
                        "{} stands before the eye. With the cross cylinder along its axis, the position with the {preferred} axis \
                         there is preferred. Which minus cylinder do you show next, a quarter away?",
                        rx(start)
                    ),
                    Answer::Dioptres(answer),
                    WITHIN_TABLE_D,
                )
                .given("stands", rx(start))
                .given("preferred_along_axis", preferred)
                .step(format!("The {preferred} axis along the cylinder's axis asks for {} minus cylinder.", if more { "more" } else { "less" }))
                .step(format!("{} becomes {}.", d(start.cylinder), d(answer)))
                .slip(Slip::Sign, Answer::Dioptres(other)),
            )
        }
        Level::Two => {
            let turn = first_turn_deg(start.cylinder);
            let (minus_axis, answer, other) = if more {
                (start.axis + 45.0, start.axis + turn, start.axis - turn)
            } else {
                (start.axis - 45.0, start.axis - turn, start.axis + turn)
            };
            let [minus_axis, answer, other] = [minus_axis, answer, other].map(fold_axis);
            Some(
                Item::new(
                    skill,
                    format!(
                        "{} stands before the eye. The handle of the cross cylinder lies along the axis; the position with its minus \
                         axis at {minus_axis} is preferred. You turn the cylinder by {turn} degrees. To which axis?",
                        rx(start)
                    ),
                    Answer::Axis(answer),
                    WITHIN_AXIS_DEG,
                )
                .given("stands", rx(start))
                .given("preferred_minus_axis_deg", minus_axis)
                .given("turn_deg", turn)
                .step(format!("A minus axis is turned towards the minus axis that is preferred: from {} towards {minus_axis}.", start.axis))
                .step(format!("{} degrees that way is {answer}.", n(turn)))
                .slip(Slip::Axis, Answer::Axis(other)),
            )
        }
        Level::Three => {
            let change = if more { -0.50 } else { 0.50 };
            let cylinder = start.cylinder + change;
            let answer = written(start.sphere - change / 2.0, cylinder, start.axis);
            let sphere_left = written(start.sphere, cylinder, start.axis);
            let other = written(start.sphere + change / 2.0, start.cylinder - change, start.axis);
            let times = if more { "twice -0.25 of cylinder was added" } else { "twice 0.25 of cylinder was taken away" };
            Some(
                Item::new(
                    skill,
                    format!(
                        "{} stood before the eye. With the cross cylinder along its axis the {preferred} axis was preferred again and \
                         again, and {times}. What stands before the eye when the spherical equivalent is kept?",
                        rx(start)
                    ),
                    Answer::Power(answer.power()),
                    WITHIN_POWER_D,
                )
                .given("stood", rx(start))
                .given("preferred_along_axis", preferred)
                .step(format!("Cylinder: {} becomes {}.", d(start.cylinder), d(cylinder)))
                .step(format!(
                    "For every 0.50 of cylinder the sphere goes 0.25 the other way: {} becomes {}.",
                    d(start.sphere),
                    d(answer.sphere)
                ))
                .step(format!("{}.", rx(answer)))
                .slip(Slip::Arithmetic, Answer::Power(sphere_left.power()))
                .slip(Slip::Sign, Answer::Power(other.power())),
            )
        }
    }
    .filter(Item::tells_slips_apart)
}

/// The mean amplitude of accommodation in dioptres at an age in years (Hofstetter: 18.5 - 0.30 age).
fn hofstetter_mean_d(age_years: i32) -> f64 {
    18.5 - 0.30 * f64::from(age_years)
}

/// From this age on half of the amplitude is used, two thirds below it (Millodot, *Dictionary of Optometry*, 7th ed.).
const HALF_FROM_YEARS: i32 = 52;

/// Weaker ones are not worth a pair of glasses (common practice, no source).
const LEAST_ADDITION_D: f64 = 0.75;

/// The tentative addition: what the distance asks for, less the part of the amplitude that is used.
pub fn addition(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let distance_cm = one_of(draws, &[25.0, 33.0, 40.0, 50.0]);
    let needed = 100.0 / distance_cm;
    let age = match skill.level {
        Level::One | Level::Two => whole(draws, 45, 60),
        // nobody of just that age: whether 52 itself is below or above is not said
        Level::Three => one_of(draws, &[44, 45, 46, 47, 48, 49, 50, 51, 53, 54, 55, 56, 57, 58, 59, 60]),
    };
    let amplitude = match skill.level {
        Level::One => quarters(draws, 0.5, 4.0),
        Level::Two | Level::Three => hofstetter_mean_d(age),
    };
    let share = match skill.level {
        Level::Three if age < HALF_FROM_YEARS => 2.0 / 3.0,
        Level::One | Level::Two | Level::Three => 0.5,
    };
    let used = share * amplitude;
    let exact = needed - used;
    let answer = on_step(exact, QUARTER_D)?;
    if answer < LEAST_ADDITION_D {
        return None;
    }
    let (who, rule) = match skill.level {
        Level::One => (
            format!(
                "An eye can accommodate {amplitude:.2} D; the task lies at {distance_cm} cm, and half of the amplitude is to be used."
            ),
            "half",
        ),
        Level::Two => (
            format!(
                "Somebody of {age} reads at {distance_cm} cm. The amplitude is Hofstetter's mean, 18.5 - 0.30 x age, and half of it is \
                 to be used."
            ),
            "half",
        ),
        Level::Three => (
            format!(
                "Somebody of {age} reads at {distance_cm} cm. The amplitude is Hofstetter's mean; two thirds of it are used below 52 \
                 years, half above."
            ),
            if age < HALF_FROM_YEARS { "two thirds" } else { "half" },
        ),
    };
    let item = Item::new(
        skill,
        format!("{who} What is the tentative addition, to the nearest quarter?"),
        Answer::Size(answer),
        within(QUARTER_D),
    )
    .given("near_cm", distance_cm);
    let item = match skill.level {
        Level::One => item.given("amplitude_d", amplitude),
        Level::Two | Level::Three => {
            item.given("age_years", f64::from(age)).step(format!("Amplitude: 18.5 - 0.30 x {age} = {amplitude:.2}."))
        }
    };
    let item = item
        .given("share_used", rule)
        .step(format!("{distance_cm} cm ask for 100 / {distance_cm} = {needed:.2}."))
        .step(format!("Used is {rule} of {amplitude:.2}, {used:.2}."))
        .step(format!("{needed:.2} - {used:.2} = {exact:.2}, to the nearest quarter {answer:.2}."))
        .slip(Slip::Arithmetic, Answer::Size(needed - amplitude));
    Some(item.without_slips_that_are_right())
}
