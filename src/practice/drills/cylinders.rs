//! Cylinders: two together, axes on the dial, the power along a meridian.

use super::answer::Answer;
use super::drawing::{
    QUARTER_D, WITHIN_AXIS_DEG, WITHIN_POWER_D, axis_in_fives, on_step, one_of, power_on_step, quarters, sign,
    steps_of, whole, written,
};
use super::item::{Item, Slip, d, minus, n, rx};
use super::table::{Level, Skill};
use super::written::across;
use crate::optics::Power;
use crate::optics::power::fold_axis;
use crate::practice::draws::Draws;

const HUNDREDTH_D: f64 = 0.01;

/// The figure that is asked for in hundredths may be off by as much as rounding on the way may do.
const WITHIN_HUNDREDTHS_D: f64 = 0.03;

/// Weaker astigmatism has no axis worth asking for.
const LEAST_CYLINDER_D: f64 = 0.50;

/// Two lenses one behind the other, taken as if they touched.
pub fn crossed(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let (one, other) = match skill.level {
        // axes alike or across each other: no doubled angle is needed
        Level::One => {
            let axis = one_of(draws, &[90.0, 180.0]);
            let one = written(0.0, -quarters(draws, 0.5, 3.0), axis);
            (one, written(0.0, sign(draws) * quarters(draws, 0.5, 3.0), one_of(draws, &[axis, across(axis)])))
        }
        // two minus cylinders, oblique to each other
        Level::Two => {
            let one = written(0.0, -quarters(draws, 0.5, 3.0), axis_in_fives(draws));
            let apart = f64::from(whole(draws, 3, 15) * 5);
            (one, written(0.0, -quarters(draws, 0.5, 3.0), fold_axis(one.axis + apart)))
        }
        // with spheres, of either sign
        Level::Three => {
            let drawn = |draws: &mut Draws| {
                written(
                    sign(draws) * quarters(draws, 0.25, 4.0),
                    sign(draws) * quarters(draws, 0.5, 3.0),
                    axis_in_fives(draws),
                )
            };
            (drawn(draws), drawn(draws))
        }
    };
    let (first, second) = (one.power(), other.power());
    let exact = first + second;
    let answer = match skill.level {
        Level::One => power_on_step(exact.minus_form(), QUARTER_D)?,
        Level::Two | Level::Three => power_on_step(exact.minus_form(), HUNDREDTH_D)?,
    };
    if answer.cylinder.abs() < LEAST_CYLINDER_D {
        return None;
    }
    let to = match skill.level {
        Level::One => "",
        Level::Two | Level::Three => " To two places and the whole degree.",
    };
    let parts = |name: &str, power: Power| {
        format!("{name}: M {:+.3}, J0 {:+.3}, J45 {:+.3}.", power.m, power.j0 + 0.0, power.j45 + 0.0)
    };
    let item = Item::new(
        skill,
        format!(
            "{} and {} stand one behind the other, so close that the gap does not count. Which sphero-cylinder are they \
             together?{to}",
            rx(one),
            rx(other)
        ),
        Answer::Power(answer.power()),
        WITHIN_POWER_D,
    )
    .given("lenses", vec![rx(one), rx(other)])
    .slip(Slip::Axis, Answer::Power(exact.turned(90.0)))
    .slip(Slip::Axis, Answer::Power(Power { j45: -exact.j45, ..exact }))
    .slip(Slip::Sign, Answer::Power(first - second));
    let item = match skill.level {
        Level::One => {
            let flat = |meridian: f64| {
                let (a, b) = (first.along(meridian), second.along(meridian));
                format!("Along {meridian} act {} and {}: {}.", d(a), d(b), d(a + b))
            };
            item.step(flat(180.0)).step(flat(90.0))
        }
        Level::Two | Level::Three => item
            .step("Add M = S + C/2, J0 = -C/2 cos 2A and J45 = -C/2 sin 2A by themselves.")
            .step(parts(&rx(one), first))
            .step(parts(&rx(other), second))
            .step(parts("Together", exact))
            .step(format!(
                "Half the cylinder is the root of J0 and J45 squared, {:.3}; the axis half the angle of (J0, J45), {:.1}.",
                exact.astigmatism(),
                exact.minus_form().axis
            )),
    };
    // where turning or mirroring changes nothing there is no such slip
    Some(item.without_slips_that_are_right().step(format!("{}.", rx(answer))))
}

/// Axes on the dial.
pub fn axis(skill: Skill, draws: &mut Draws) -> Option<Item> {
    match skill.level {
        Level::One => {
            let axis = axis_in_fives(draws);
            let answer = across(axis);
            let turn = if axis <= 90.0 { "+ 90" } else { "- 90" };
            Some(
                Item::new(
                    skill,
                    format!(
                        "A cylinder stands with its axis at {axis}. Along which meridian does its whole power act?"
                    ),
                    Answer::Axis(answer),
                    WITHIN_AXIS_DEG,
                )
                .given("axis_deg", axis)
                .step("Along its axis a cylinder has no power; across it, all of it.")
                .step(format!("{axis} {turn} = {answer}."))
                .slip(Slip::Axis, Answer::Axis(axis)),
            )
        }
        Level::Two => turned(skill, draws),
        Level::Three => left_by_a_cylinder_off_its_axis(skill, draws),
    }
}

/// Level 2: turned over the end of the dial.
fn turned(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let by = f64::from(whole(draws, 2, 16) * 5);
    let anticlockwise = sign(draws) > 0.0;
    // it goes over 180 one way or the other
    let axis =
        if anticlockwise { 180.0 - by + steps_of(draws, 5.0, 5.0, by) } else { steps_of(draws, 5.0, 5.0, by - 5.0) };
    let (sum, answer) =
        if anticlockwise { (axis + by, fold_axis(axis + by)) } else { (axis - by, fold_axis(axis - by)) };
    let way = if anticlockwise { "anticlockwise" } else { "clockwise" };
    let fold = if anticlockwise { "less 180" } else { "and 180" };
    Some(
        Item::new(
            skill,
            format!(
                "You face the person. The axis stands at {axis}; you turn it {by} degrees {way} as you see it. Where does it \
                 stand then?"
            ),
            Answer::Axis(answer),
            WITHIN_AXIS_DEG,
        )
        .given("axis_deg", axis)
        .given("turned_deg", by)
        .given("way", way)
        .step("The dial goes anticlockwise as you face it: anticlockwise adds, clockwise takes off.")
        .step(format!("{axis} {} {by} = {sum}; {fold}: {answer}.", if anticlockwise { "+" } else { "-" }))
        .slip(Slip::Axis, Answer::Axis(fold_axis(if anticlockwise { axis - by } else { axis + by }))),
    )
    .filter(Item::tells_slips_apart)
}

/// Level 3: the axis of what a cylinder of the right power at the wrong axis leaves: 45 degrees and half the error beyond its
/// own (IACLE Contact Lens Course, module 3, lecture 3.3, appendix B, 1993), on the far side from where it should stand.
fn left_by_a_cylinder_off_its_axis(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let cylinder = -quarters(draws, 0.75, 3.0);
    let wanted = axis_in_fives(draws);
    // even, so that half of it is whole degrees
    let off = sign(draws) * f64::from(whole(draws, 3, 15) * 2);
    let stands = fold_axis(wanted + off);
    let missing = written(0.0, cylinder, wanted).power() - written(0.0, cylinder, stands).power();
    let answer = on_step(missing.minus_form().axis, 1.0)?;
    let towards = if off > 0.0 { "less" } else { "and" };
    let lens = |axis: f64| rx(written(0.0, cylinder, axis)).trim_start_matches("plano/").to_owned();
    Some(
        Item::new(
            skill,
            format!(
                "The eye wants {}; the lens stands at {stands}. At which axis would the minus cylinder stand that is still \
                 missing?",
                lens(wanted)
            ),
            Answer::Axis(fold_axis(answer)),
            WITHIN_AXIS_DEG,
        )
        .given("wanted", lens(wanted))
        .given("stands_at_deg", stands)
        .step(format!("The lens is {} degrees off.", off.abs()))
        .step(format!(
            "What is missing is a cross cylinder with its minus axis 45 degrees from half-way between the two, on the side \
             where the axis should go: half-way is {}, {towards} 45 is {}.",
            n(fold_axis(wanted + off / 2.0)),
            n(fold_axis(answer))
        ))
        .step(format!("In full {} is missing.", minus(missing)))
        .slip(Slip::Axis, Answer::Axis(across(answer)))
        .slip(Slip::Axis, Answer::Axis(wanted)),
    )
    .filter(Item::tells_slips_apart)
}

/// The power along one meridian.
pub fn meridian(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let (start, away) = match skill.level {
        Level::One => (
            written(sign(draws) * quarters(draws, 0.5, 5.0), -quarters(draws, 0.5, 3.0), one_of(draws, &[90.0, 180.0])),
            one_of(draws, &[0.0, 90.0]),
        ),
        // the shares that are known by heart: a quarter, half, three quarters
        Level::Two => (
            written(sign(draws) * quarters(draws, 0.5, 5.0), -quarters(draws, 0.5, 4.0), axis_in_fives(draws)),
            one_of(draws, &[30.0, 45.0, 60.0, 120.0, 135.0, 150.0]),
        ),
        Level::Three => (
            written(
                sign(draws) * quarters(draws, 0.5, 6.0),
                sign(draws) * quarters(draws, 1.0, 4.0),
                f64::from(whole(draws, 1, 180)),
            ),
            f64::from(whole(draws, 2, 34) * 5),
        ),
    };
    let along = fold_axis(start.axis + away);
    let exact = start.power().along(along);
    let answer = on_step(exact, HUNDREDTH_D)?;
    let (share, across_it) = (libm::pow(libm::sin(away.to_radians()), 2.0), start.power().along(across(along)));
    if answer.abs() < 0.1 {
        return None;
    }
    let to = if skill.level == Level::One { "" } else { " To two places." };
    let item = Item::new(
        skill,
        format!("What is the power of {} along {along}?{to}", rx(start)),
        Answer::Dioptres(answer),
        WITHIN_HUNDREDTHS_D,
    )
    .given("rx", rx(start))
    .given("along_deg", along)
    .step(format!("{along} is {} degrees from the axis.", angle(away)))
    .step(format!(
        "There the cylinder acts with sin^2 of that, {:.0} % of it: {}.",
        100.0 * share,
        d(start.cylinder * share)
    ))
    .step(format!("{} and {} make {}.", d(start.sphere), d(start.cylinder * share), d(answer)))
    .slip(Slip::Axis, Answer::Dioptres(across_it))
    .slip(Slip::Sign, Answer::Dioptres(start.sphere - start.cylinder * share));
    // half-way between axis and across the power is the same: no slip then
    Some(item.without_slips_that_are_right())
}

/// An angle as the smaller one, 0 to 90.
fn angle(away: f64) -> f64 {
    let turn = away.rem_euclid(180.0);
    turn.min(180.0 - turn)
}
