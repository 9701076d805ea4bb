//! The prism of a lens whose optical centre stands off the pupil (Prentice's rule).

use super::answer::Answer;
use super::drawing::{axis_in_fives, on_step, one_of, quarters, sign, whole, written};
use super::item::{Item, Slip, n, rx};
use super::table::{Level, Skill};
use crate::optics::{Base, Eye, Millimetres, Prism};
use crate::practice::draws::Draws;

/// Tenths are asked for: an answer is right within this, as a vector.
const WITHIN_PRISM: f64 = 0.06;
const TENTH: f64 = 0.1;
/// Less is not worth a question.
const LEAST_PRISM: f64 = 0.5;
/// Of more than this the base, rounded to a degree, could take the unrounded prism out of [`WITHIN_PRISM`].
const MOST_PRISM: f64 = 8.0;

/// The prism before one eye.
pub fn prentice(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let eye = one_of(draws, &Eye::BOTH);
    let away = |draws: &mut Draws| sign(draws) * f64::from(whole(draws, 2, 8));
    // from the pupil to the lens's centre: towards the nose of this eye, and up
    let (nasal_mm, up_mm) = match skill.level {
        Level::One => (0.0, away(draws)),
        Level::Two => (away(draws), 0.0),
        Level::Three => (away(draws), away(draws)),
    };
    let lens = match skill.level {
        Level::One | Level::Two => written(sign(draws) * quarters(draws, 1.0, 10.0), 0.0, 180.0),
        Level::Three => {
            written(sign(draws) * quarters(draws, 1.0, 8.0), -quarters(draws, 1.0, 4.0), axis_in_fives(draws))
        }
    };
    // towards the nose is to the examiner's right before the right eye
    let right_mm = match eye {
        Eye::Right => nasal_mm,
        Eye::Left => -nasal_mm,
    };
    let exact = Prism::induced(lens.power(), Millimetres(right_mm), Millimetres(up_mm));
    let (amount, base) = (on_step(exact.amount(), TENTH)?, on_step(exact.base_deg(), 1.0)?);
    if !(LEAST_PRISM..=MOST_PRISM).contains(&amount) {
        return None;
    }
    let answer = Prism::polar(amount, base);
    let place =
        |mm: f64, plus: &str, minus: &str| format!("{} mm {}", n(mm.abs()), if mm > 0.0 { plus } else { minus });
    let (sideways, upright) = (place(nasal_mm, "in", "out"), place(up_mm, "above", "below"));
    let from = match skill.level {
        Level::One => format!("stands {upright} the pupil"),
        Level::Two => format!("stands {sideways} from the pupil"),
        Level::Three => format!("stands {sideways} from and {upright} the pupil"),
    };
    let how = match skill.level {
        Level::One | Level::Two => "Amount and base, like 1.5BU, to a tenth.",
        Level::Three => "Amount to a tenth and base in degrees of your dial, like 1.5b225.",
    };
    let item = Item::new(
        skill,
        format!("Before the {eye} eye the optical centre of {} {from}. Which prism is that? {how}", rx(lens)),
        Answer::Prism(answer, eye),
        WITHIN_PRISM,
    )
    .given("eye", eye.to_string())
    .given("rx", rx(lens))
    .given("centre_in_mm", nasal_mm + 0.0)
    .given("centre_up_mm", up_mm + 0.0);
    let item = match skill.level {
        Level::One | Level::Two => {
            let mm = nasal_mm + up_mm;
            let towards = if lens.sphere > 0.0 { "towards" } else { "away from" };
            item.step(format!(
                "P = c F with c in centimetres: {} x {:.2} = {:.2}.",
                n(mm.abs() / 10.0),
                lens.sphere.abs(),
                exact.amount()
            ))
            .step(format!(
                "The base of this lens points {towards} its optical centre: {}.",
                named(Base::at(base as u16, eye))
            ))
        }
        Level::Three => {
            let power = lens.power();
            let (across, cross, upward) = (power.m + power.j0, power.j45, power.m - power.j0);
            item.step(format!(
                "Your dial: the centre lies {} cm to your right and {} cm up (minus: left, down).",
                n(right_mm / 10.0),
                n(up_mm / 10.0)
            ))
            .step(format!(
                "The lens is {across:+.2} sideways, {upward:+.2} up and down, with {cross:+.2} from one to the other: the oblique \
                 cylinder turns part of each."
            ))
            .step(format!(
                "Sideways {across:+.2} x {} and {cross:+.2} x {} make {:+.2}; up {cross:+.2} x {} and {upward:+.2} x {} make {:+.2}.",
                n(right_mm / 10.0),
                n(up_mm / 10.0),
                exact.x,
                n(right_mm / 10.0),
                n(up_mm / 10.0),
                exact.y
            ))
            .step(format!("Together {:.2} with the base at {:.0} degrees.", exact.amount(), exact.base_deg()))
        }
    };
    // who leaves the cross term out
    let power = lens.power();
    let straight = Prism { x: (power.m + power.j0) * right_mm / 10.0, y: (power.m - power.j0) * up_mm / 10.0 };
    Some(
        item.step(format!("{}.", Answer::Prism(answer, eye).write()))
            .slip(Slip::Sign, Answer::Prism(-answer, eye))
            .slip(Slip::Eye, Answer::Prism(Prism { x: -answer.x, ..answer }, eye))
            .slip(Slip::Arithmetic, Answer::Prism(straight, eye))
            .without_slips_that_are_right(),
    )
}

fn named(base: Base) -> String {
    match base {
        Base::Up => "up".to_owned(),
        Base::Down => "down".to_owned(),
        Base::In => "in".to_owned(),
        Base::Out => "out".to_owned(),
        Base::Degrees(degrees) => format!("at {degrees} degrees"),
    }
}
