//! What is written in another way: the other cylinder form, the spherical equivalent.

use super::answer::Answer;
use super::drawing::{axis_in_fives, one_of, quarters, sign, steps_of, whole, written};
use super::item::{Item, Slip, d, rx};
use super::table::{Level, Skill};
use crate::optics::SpheroCylinder;
use crate::optics::power::fold_axis;
use crate::practice::draws::Draws;

/// Sphere and cylinder on these steps are exact: only rounding may be off.
const EXACT_D: f64 = 0.01;

/// The same power with the cylinder of the other sign.
pub fn transposition(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let start = match skill.level {
        // round figures, minus to plus, axis upright or flat
        Level::One => {
            let cylinder = -quarters(draws, 0.5, 2.0);
            written(sign(draws) * steps_of(draws, 0.5, 1.0, 5.0), cylinder, one_of(draws, &[90.0, 180.0]))
        }
        // either way, any axis
        Level::Two => written(
            sign(draws) * quarters(draws, 0.25, 6.0),
            sign(draws) * quarters(draws, 0.25, 4.0),
            axis_in_fives(draws),
        ),
        // the sphere goes through zero or becomes it, eighths, any degree
        Level::Three => {
            let cylinder = sign(draws) * steps_of(draws, 0.125, 0.5, 5.0);
            let sphere = -cylinder + cylinder.signum() * steps_of(draws, 0.125, -0.5, 0.375);
            written(sphere + 0.0, cylinder, f64::from(whole(draws, 1, 180)))
        }
    };
    let answer = start.transposed();
    let sphere_kept = SpheroCylinder { sphere: start.sphere, ..answer };
    let asked = if start.cylinder < 0.0 { "plus" } else { "minus" };
    let turn = if start.axis <= 90.0 { "+ 90" } else { "- 90" };
    let mut item =
        Item::new(skill, format!("Write {} with a {asked} cylinder.", rx(start)), Answer::Form(answer), EXACT_D)
            .given("rx", rx(start))
            .given("form", asked)
            .step(format!("Sphere: {} and {} make {}.", d(start.sphere), d(start.cylinder), d(answer.sphere)))
            .step(format!("Cylinder: the other sign, {}.", d(answer.cylinder)))
            .step(format!("Axis: {} {turn} = {}.", start.axis, answer.axis))
            .step(format!("{} is the same lens.", rx(answer)))
            .slip(Slip::Axis, Answer::Form(SpheroCylinder { axis: start.axis, ..answer }))
            .slip(Slip::Sign, Answer::Form(SpheroCylinder { cylinder: start.cylinder, ..answer }));
    if sphere_kept.sphere != answer.sphere {
        item = item.slip(Slip::Arithmetic, Answer::Form(sphere_kept));
    }
    Some(item)
}

/// The spherical equivalent, of one eye or as a difference of the two.
pub fn equivalent(skill: Skill, draws: &mut Draws) -> Option<Item> {
    match skill.level {
        Level::One => {
            let start = written(
                sign(draws) * quarters(draws, 0.5, 5.0),
                -steps_of(draws, 0.5, 0.5, 3.0),
                one_of(draws, &[90.0, 180.0]),
            );
            of_one_eye(skill, start)
        }
        Level::Two => {
            // an odd number of quarters halved is an eighth; the form may be either
            let cylinder = sign(draws) * (steps_of(draws, 0.5, 0.0, 3.0) + 0.25);
            let start = written(sign(draws) * quarters(draws, 0.25, 6.0), cylinder, axis_in_fives(draws));
            of_one_eye(skill, start)
        }
        Level::Three => of_two_eyes(skill, draws),
    }
}

fn of_one_eye(skill: Skill, start: SpheroCylinder) -> Option<Item> {
    let half = start.cylinder / 2.0;
    let answer = start.sphere + half;
    let eighths = if (answer * 4.0).fract() == 0.0 { "" } else { " Eighths are written as on lenses: -2.12, -2.37." };
    (answer != 0.0).then(|| {
        Item::new(
            skill,
            format!("What is the spherical equivalent of {}?{eighths}", rx(start)),
            Answer::Dioptres(answer),
            EXACT_D,
        )
        .given("rx", rx(start))
        .step(format!("Half the cylinder is {}.", d(half)))
        .step(format!("{} and {} make {}.", d(start.sphere), d(half), d(answer)))
        .slip(Slip::Sign, Answer::Dioptres(start.sphere - half))
    })
}

/// Level 3: the right eye's equivalent less the left one's, one of them written with a plus cylinder.
fn of_two_eyes(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let mut drawn = |form: f64| {
        written(sign(draws) * quarters(draws, 0.5, 4.0), form * steps_of(draws, 0.5, 0.5, 3.0), axis_in_fives(draws))
    };
    let (one, other) = (drawn(-1.0), drawn(1.0));
    let (right, left) = if sign(draws) > 0.0 { (one, other) } else { (other, one) };
    let of = |rx: SpheroCylinder| rx.sphere + rx.cylinder / 2.0;
    let answer = of(right) - of(left);
    (answer.abs() >= 0.5).then(|| {
        Item::new(
            skill,
            format!(
                "Right {}, left {}. By how much is the right eye's spherical equivalent more plus than the left one's? Minus \
                 when it is less plus.",
                rx(right),
                rx(left)
            ),
            Answer::Dioptres(answer),
            EXACT_D,
        )
        .given("right", rx(right))
        .given("left", rx(left))
        .step(format!("Right: {} and half of {} make {}.", d(right.sphere), d(right.cylinder), d(of(right))))
        .step(format!("Left: {} and half of {} make {}.", d(left.sphere), d(left.cylinder), d(of(left))))
        .step(format!("Right less left: {}.", d(answer)))
        .slip(Slip::Eye, Answer::Dioptres(-answer))
    })
}

/// Whether an axis written so is the one across.
pub fn across(axis: f64) -> f64 {
    fold_axis(axis + 90.0)
}
