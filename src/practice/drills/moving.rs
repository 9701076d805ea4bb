//! Powers that move along the axis: the net of a stack, and a power at another vertex distance.

use super::answer::Answer;
use super::drawing::{
    QUARTER_D, WITHIN_QUARTER_POWER_D, axis_in_fives, on_step, one_of, power_on_step, quarters, sign, sphere, steps_of,
    whole, within, written,
};
use super::item::{Item, Slip, d, n, rx};
use super::table::{Level, Skill};
use super::written::across;
use crate::optics::vergence::{at_vertex, net, towards_eye};
use crate::optics::{Millimetres, Power};
use crate::practice::draws::Draws;

/// Distances from cell to cell that frames have, in millimetres.
const GAPS_MM: [f64; 4] = [3.5, 4.0, 5.0, 6.0];

/// A slip has to be off by more than this, or the distance would not be what is drilled.
const FAR_OFF_D: f64 = 0.20;

/// What stands in the cells, and what it makes at cell 1.
pub fn net_of_stack(skill: Skill, draws: &mut Draws) -> Option<Item> {
    match skill.level {
        Level::One | Level::Two => net_of_spheres(skill, draws),
        Level::Three => net_with_cylinder(skill, draws),
    }
}

/// Level 1: a strong lens in cell 2 and a weak one in cell 1. Level 2: three spheres, the strongest outermost.
fn net_of_spheres(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let gap = one_of(draws, &GAPS_MM);
    let strong = sign(draws) * steps_of(draws, 0.5, 8.0, 14.0);
    let weak = sign(draws) * quarters(draws, 0.25, 1.0);
    let marks = match skill.level {
        Level::One => vec![weak, strong],
        Level::Two | Level::Three => vec![weak, sign(draws) * steps_of(draws, 0.5, 2.0, 5.0), strong],
    };
    let gaps: Vec<Millimetres> = marks.iter().skip(1).map(|_| Millimetres(gap)).collect();
    let powers: Vec<Power> = marks.iter().map(|&mark| sphere(mark)).collect();
    let exact = net(&powers, &gaps).m;
    let answer = on_step(exact, QUARTER_D)?;
    let sum: f64 = marks.iter().sum();
    if (exact - sum).abs() < FAR_OFF_D || answer == 0.0 {
        return None;
    }
    let mut item = Item::new(
        skill,
        format!(
            "From cell 1 outward stand {}, {} mm from cell to cell. What is the net power at cell 1, to the nearest quarter?",
            marks.iter().map(|&mark| d(mark)).collect::<Vec<_>>().join(", "),
            n(gap)
        ),
        Answer::Dioptres(answer),
        within(QUARTER_D),
    )
    .given("lenses", marks.iter().map(|&mark| d(mark)).collect::<Vec<_>>())
    .given("gap_mm", gap)
    .slip(Slip::Vertex, Answer::Dioptres(sum));
    item = item.step(format!("Light meets cell {} first: {}.", marks.len(), d(strong)));
    let mut vergence = strong;
    for (cell, &mark) in marks.iter().enumerate().rev().skip(1) {
        let moved = towards_eye(sphere(vergence), Millimetres(gap)).m;
        item = item.step(format!(
            "{} mm nearer the eye it is {} / (1 - {} x {}) = {}.",
            n(gap),
            d(vergence),
            n(gap / 1000.0),
            d(vergence),
            d(moved)
        ));
        vergence = moved + mark;
        item = item.step(format!("In cell {}: {} and {} make {}.", cell + 1, d(moved), d(mark), d(vergence)));
    }
    Some(item.step(format!("To the nearest quarter {}; the marks alone add up to {}.", d(answer), d(sum))))
}

/// Level 3: a cylinder in cell 1, a strong sphere in cell 2, another cylinder of the same axis in cell 3.
fn net_with_cylinder(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let gap = one_of(draws, &GAPS_MM);
    let axis = axis_in_fives(draws);
    let strong = sign(draws) * steps_of(draws, 0.5, 8.0, 14.0);
    let (inner, outer) = (-quarters(draws, 0.25, 1.5), -quarters(draws, 2.0, 4.0));
    let powers = [written(0.0, inner, axis).power(), sphere(strong), written(0.0, outer, axis).power()];
    let exact = net(&powers, &[Millimetres(gap), Millimetres(gap)]);
    let answer = power_on_step(exact.minus_form(), QUARTER_D)?;
    let sum: Power = powers.into_iter().sum();
    if exact.miss(sum) < FAR_OFF_D {
        return None;
    }
    let lenses = [rx(powers[0].minus_form()), d(strong), rx(powers[2].minus_form())]
        .map(|lens| lens.trim_start_matches("plano/").to_owned());
    let across = across(axis);
    let step = |vergence: f64| towards_eye(sphere(vergence), Millimetres(gap)).m;
    let along = step(strong);
    let behind = step(outer);
    let acting = step(behind + strong);
    Some(
        Item::new(
            skill,
            format!(
                "From cell 1 outward stand {}, {} mm from cell to cell. What is the net power at cell 1, sphere and cylinder \
                 to the nearest quarter?",
                lenses.join(", "),
                n(gap)
            ),
            Answer::Power(answer.power()),
            WITHIN_QUARTER_POWER_D,
        )
        .given("lenses", lenses.to_vec())
        .given("gap_mm", gap)
        .slip(Slip::Vertex, Answer::Power(sum))
        .step(format!("Both axes stand at {axis}: take that meridian and the one across it, {across}, by itself."))
        .step(format!(
            "Along {axis} no cylinder acts: {} / (1 - {} x {}) = {} at cell 1.",
            d(strong),
            n(gap / 1000.0),
            d(strong),
            d(along)
        ))
        .step(format!(
            "Along {across}: {} is {} at cell 2, with {} it is {}, and {} at cell 1; with {} it is {}.",
            d(outer),
            d(behind),
            d(strong),
            d(behind + strong),
            d(acting),
            d(inner),
            d(acting + inner)
        ))
        .step(format!(
            "That is {}, to the nearest quarter {}; the marks alone say {}.",
            rx(exact.minus_form()),
            rx(answer),
            rx(sum.minus_form())
        )),
    )
}

/// A power that is wanted at another distance from the cornea.
pub fn effective(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let from = f64::from(whole(draws, 10, 16));
    let to = match skill.level {
        Level::One => 0.0,
        Level::Two => f64::from(whole(draws, 8, 18)),
        Level::Three => one_of(draws, &[0.0, 6.0, 8.0, 18.0, 20.0]),
    };
    let strong = sign(draws) * quarters(draws, 5.0, 14.0);
    let start = match skill.level {
        Level::One | Level::Two => written(strong, 0.0, 180.0),
        Level::Three => written(strong, -quarters(draws, 1.0, 3.5), axis_in_fives(draws)),
    };
    let exact = at_vertex(start.power(), Millimetres(from), Millimetres(to));
    let other_way = at_vertex(start.power(), Millimetres(to), Millimetres(from));
    let answer = power_on_step(exact.minus_form(), QUARTER_D)?;
    if exact.miss(start.power()) < FAR_OFF_D {
        return None;
    }
    let place = if to == 0.0 { "at the cornea".to_owned() } else { format!("{} mm from the cornea", n(to)) };
    let (right, left_out, turned, limit) = if start.cylinder == 0.0 {
        let all = [answer.sphere, start.sphere, other_way.m].map(Answer::Dioptres);
        let [right, left_out, turned] = all;
        (right, left_out, turned, within(QUARTER_D))
    } else {
        let all = [answer.power(), start.power(), other_way].map(Answer::Power);
        let [right, left_out, turned] = all;
        (right, left_out, turned, WITHIN_QUARTER_POWER_D)
    };
    let what = if start.cylinder == 0.0 { "" } else { ", sphere and cylinder" };
    let mut item = Item::new(
        skill,
        format!(
            "{} was found {} mm from the cornea. Which power does the same {place}{what} to the nearest quarter?",
            rx(start),
            n(from)
        ),
        right,
        limit,
    )
    .given("rx", rx(start))
    .given("from_mm", from)
    .given("to_mm", to)
    .slip(Slip::Vertex, left_out)
    .slip(Slip::Vertex, turned);
    let moved_m = (from - to) / 1000.0;
    let nearer = if moved_m > 0.0 { "nearer the eye" } else { "farther from the eye" };
    item = item.step(format!(
        "The new place is {} mm {nearer}: F / (1 - d F) with d = {} m.",
        n((from - to).abs()),
        n(moved_m)
    ));
    let meridians: Vec<(String, f64)> = if start.cylinder == 0.0 {
        vec![(String::new(), start.sphere)]
    } else {
        let across = across(start.axis);
        vec![
            (format!("Along {}: ", start.axis), start.sphere),
            (format!("Along {across}: "), start.sphere + start.cylinder),
        ]
    };
    for (name, power) in meridians {
        let moved = power / (1.0 - moved_m * power);
        let sign = if moved_m < 0.0 { "+" } else { "-" };
        item =
            item.step(format!("{name}{} / (1 {sign} {} x {}) = {}.", d(power), n(moved_m.abs()), d(power), d(moved)));
    }
    Some(item.step(format!("To the nearest quarter {}.", rx(answer))))
}
