//! Lenses of a tray: which of them make a power, in which cells, and in which order they are changed.

use super::answer::{Answer, Choice};
use super::drawing::{
    WITHIN_POWER_D, axis_in_fives, dial, one_of, place, quarters, sign, sphere, steps_of, whole, written,
};
use super::item::{Item, Slip, d, lens, n, rx};
use super::table::{Level, Skill};
use crate::optics::notation::LensToken;
use crate::optics::vergence::net;
use crate::optics::{Base, Eye, Millimetres};
use crate::practice::draws::Draws;

/// The gap of the frame in these questions, in millimetres.
const GAP_MM: f64 = 4.0;

/// In what makes the power by marks alone, the difference has to be seen.
const FAR_OFF_D: f64 = 0.12;

/// Which lenses of a tray make a power.
pub fn stack(skill: Skill, draws: &mut Draws) -> Option<Item> {
    match skill.level {
        Level::One => two_spheres(skill, draws),
        Level::Two => sphere_and_cylinder(skill, draws),
        Level::Three => two_strong_plus_lenses(skill, draws),
    }
}

/// Different marks in quarters, the weakest first.
fn marks(draws: &mut Draws, count: usize, least: f64, most: f64) -> Vec<f64> {
    let mut marks: Vec<f64> = Vec::new();
    while marks.len() < count {
        let mark = quarters(draws, least, most);
        if !marks.contains(&mark) {
            marks.push(mark);
        }
    }
    marks.sort_by(f64::total_cmp);
    marks
}

fn spheres(marks: &[f64]) -> Vec<LensToken> {
    marks.iter().map(|&mark| LensToken::Sphere(mark)).collect()
}

fn lenses(lenses: &[LensToken]) -> Vec<String> {
    lenses.iter().map(lens).collect()
}

/// Level 1: two of six spheres of one sign, where no other two and no single one of them make it.
fn two_spheres(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let sign = sign(draws);
    let tray: Vec<f64> = marks(draws, 6, 0.25, 5.0).iter().map(|mark| sign * mark).collect();
    let (weak, strong) = (whole(draws, 0, 2) as usize, whole(draws, 3, 5) as usize);
    let wanted = tray[weak] + tray[strong];
    let pairs = (0..6).flat_map(|one| (one + 1..6).map(move |other| (one, other)));
    let ways = pairs.filter(|&(one, other)| tray[one] + tray[other] == wanted).count();
    if ways != 1 || tray.contains(&wanted) || tray[weak].abs() > 2.0 {
        return None;
    }
    let answer = [tray[strong], tray[weak]];
    Some(
        Item::new(
            skill,
            format!(
                "The tray has {}, one of each. Which two of them make {}? From cell 1 outward.",
                lenses(&spheres(&tray)).join(", "),
                d(wanted)
            ),
            Answer::Lenses(spheres(&answer)),
            0.0,
        )
        .given("tray", lenses(&spheres(&tray)))
        .given("wanted", d(wanted))
        .step(format!("{} and {} make {}; no other two of them do.", d(answer[0]), d(answer[1]), d(wanted)))
        .step(format!("The stronger one goes nearest the eye: {} {}.", d(answer[0]), d(answer[1])))
        .slip(Slip::Sign, Answer::Lenses(spheres(&answer.map(|mark| -mark)))),
    )
}

/// Level 2: a sphere and a minus cylinder, the power written with a plus cylinder.
fn sphere_and_cylinder(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let wanted = written(sign(draws) * quarters(draws, 0.5, 4.0), -quarters(draws, 0.5, 2.5), axis_in_fives(draws));
    let turned = wanted.transposed();
    if turned.sphere == 0.0 {
        return None;
    }
    // what the plus form would want stands there too, so that only the tray's minus cylinders decide
    let mut tray_spheres =
        vec![wanted.sphere, turned.sphere, -wanted.sphere, wanted.sphere + 0.25 * one_of(draws, &[1.0, -1.0])];
    tray_spheres.sort_by(f64::total_cmp);
    tray_spheres.dedup();
    tray_spheres.retain(|mark| *mark != 0.0);
    let weaker = wanted.cylinder + 0.25;
    let cylinders = [weaker, wanted.cylinder, wanted.cylinder - 0.25];
    let answer =
        [LensToken::Sphere(wanted.sphere), LensToken::Cylinder { power: wanted.cylinder, axis: dial(wanted.axis) }];
    let with = |sphere: f64, axis: f64| {
        Answer::Lenses(vec![
            LensToken::Sphere(sphere),
            LensToken::Cylinder { power: wanted.cylinder, axis: dial(axis) },
        ])
    };
    let tray: Vec<String> = tray_spheres.iter().chain(&cylinders).map(|&mark| d(mark)).collect();
    let (of_spheres, of_cylinders) = (tray[..tray_spheres.len()].to_vec(), tray[tray_spheres.len()..].to_vec());
    Some(
        Item::new(
            skill,
            format!(
                "The tray has the spheres {} and the cylinders {}, one of each. Which sphere and which cylinder make {}? From \
                 cell 1 outward, the cylinder with its axis.",
                of_spheres.join(", "),
                of_cylinders.join(", "),
                rx(turned)
            ),
            Answer::Lenses(answer.to_vec()),
            0.0,
        )
        .given("spheres", of_spheres)
        .given("cylinders", of_cylinders)
        .given("wanted", rx(turned))
        .step(format!("The cylinders are minus: {} is {}.", rx(turned), rx(wanted)))
        .step(format!("Sphere in cell 1, cylinder in front of it: {}.", lenses(&answer).join(" ")))
        .slip(Slip::Axis, with(wanted.sphere, turned.axis))
        .slip(Slip::Axis, with(turned.sphere, turned.axis))
        .slip(Slip::Sign, with(-wanted.sphere, wanted.axis)),
    )
    .filter(Item::tells_slips_apart)
}

/// Level 3: two strong plus lenses a gap apart, which make more than their marks.
fn two_strong_plus_lenses(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let rear = quarters(draws, 8.0, 10.0);
    let front = quarters(draws, 5.0, 7.75);
    let gap = 2.0 * GAP_MM;
    let made = |front: f64| net(&[sphere(rear), sphere(front)], &[Millimetres(gap)]).m;
    // what is wanted is in quarters, as it is written
    let wanted = (made(front) * 4.0).round() / 4.0;
    let by_marks = wanted - rear;
    let tray: Vec<f64> = (-2..=2).map(|steps| front + 0.25 * f64::from(steps)).collect();
    let reach = tray.iter().filter(|&&mark| (made(mark) - wanted).abs() <= FAR_OFF_D).count();
    if (made(front) - wanted).abs() > WITHIN_POWER_D
        || reach != 1
        || (made(by_marks) - wanted).abs() <= FAR_OFF_D
        || !tray.contains(&by_marks)
    {
        return None;
    }
    let stack = |front: f64| Answer::Lenses(spheres(&[rear, front]));
    Some(
        Item::new(
            skill,
            format!(
                "{} stands in cell 1, and one lens more goes into cell 3, {} mm in front of it. The tray has {}. With which one \
                 is the net power {}? Both lenses, from cell 1 outward.",
                d(rear),
                n(gap),
                lenses(&spheres(&tray)).join(", "),
                d(wanted)
            ),
            stack(front),
            0.0,
        )
        .given("cell_1", d(rear))
        .given("tray", lenses(&spheres(&tray)))
        .given("gap_mm", gap)
        .given("wanted", d(wanted))
        .step(format!("{} less {} is {}: so much has to come to cell 1.", d(wanted), d(rear), d(by_marks)))
        .step(format!(
            "A lens {} mm in front has to be F / (1 + d F): {} / (1 + {} x {}) = {}.",
            n(gap),
            d(by_marks),
            n(gap / 1000.0),
            d(by_marks),
            d(by_marks / (1.0 + gap / 1000.0 * by_marks))
        ))
        .step(format!("The nearest is {}; with it the net is {}.", d(front), d(made(front))))
        .slip(Slip::Vertex, stack(by_marks)),
    )
}

/// The answers about a lens that is changed.
pub const FIRST: &[Choice] =
    &[Choice { word: "in", also: &["put in", "new in"] }, Choice { word: "out", also: &["take out", "old out"] }];

/// Which lens stands in which cell, and what comes first when a lens is changed.
///
/// Strongest sphere in the rear cell, the cylinder in the rearmost front cell that turns, prism before it (teaching notes on
/// trial frames); a plus lens stays until the next one is in, a minus lens comes out before (common practice, no source).
pub fn order(skill: Skill, draws: &mut Draws) -> Option<Item> {
    if skill.level == Level::One && sign(draws) > 0.0 {
        return which_first(skill, draws);
    }
    let mut strengths = marks(draws, 2, 0.5, 8.0);
    strengths.reverse();
    let signed: Vec<f64> = match skill.level {
        Level::One => {
            let sign = sign(draws);
            strengths.iter().map(|mark| sign * mark).collect()
        }
        Level::Two | Level::Three => strengths.iter().map(|mark| sign(draws) * mark).collect(),
    };
    let mut answer = spheres(&signed);
    if skill.level != Level::One {
        let power = -steps_of(draws, 0.25, 0.5, 5.0);
        answer.push(LensToken::Cylinder { power, axis: dial(axis_in_fives(draws)) });
    }
    if skill.level == Level::Three {
        // a base with a name
        let base = Base::at(90 * place(draws, 4) as u16, Eye::Right);
        answer.push(LensToken::Prism { amount: f64::from(whole(draws, 1, 6)), base });
    }
    let mut shuffled = answer.clone();
    shuffled.rotate_left(1 + place(draws, answer.len() - 1));
    if answer.len() > 2 && sign(draws) > 0.0 {
        shuffled.swap(0, 1);
    }
    let turning = if answer.len() > 2 { " Cells 1 and 2 do not turn, the others do." } else { "" };
    let why = match skill.level {
        Level::One => "the stronger sphere nearest the eye, where no gap changes it",
        Level::Two => {
            "the stronger sphere nearest the eye, whatever its sign, then the other; the cylinder where cells turn"
        }
        Level::Three => {
            "the stronger sphere nearest the eye, whatever its sign, then the other; the cylinder in the first cell that turns, the \
             prism in front of all"
        }
    };
    Some(
        Item::new(
            skill,
            format!("Write these from cell 1 outward: {}.{turning}", lenses(&shuffled).join(", ")),
            Answer::Lenses(answer.clone()),
            0.0,
        )
        .given("lenses", lenses(&shuffled))
        .step(format!("{}: {why}.", lenses(&answer).join(" "))),
    )
}

fn which_first(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let sign = sign(draws);
    let (from, to) = (sign * quarters(draws, 0.5, 8.0), sign * quarters(draws, 0.5, 8.0));
    let (word, why) = if sign > 0.0 {
        ("in", "A plus lens stays until the next one is in: with less plus the eye would accommodate.")
    } else {
        ("out", "A minus lens comes out before the next one goes in: with both the eye would have too much minus.")
    };
    (from != to).then(|| {
        Item::new(
            skill,
            format!(
                "{} stands before the eye and {} is to take its place; a cell beside it is free. What comes first, the new lens in \
                 or the old one out? Type in or out.",
                d(from),
                d(to)
            ),
            Answer::Word(word, FIRST),
            0.0,
        )
        .given("stands", d(from))
        .given("next", d(to))
        .step(why)
    })
}
