//! Which slip was made between what was found and what was written.

use super::answer::{Answer, Choice};
use super::drawing::{axis_in_fives, one_of, quarters, sign, written};
use super::item::{Item, rx};
use super::table::{Level, Skill};
use crate::optics::power::fold_axis;
use crate::optics::quarter::nearest_quarter;
use crate::optics::vergence::at_vertex;
use crate::optics::{Eye, Eyes, Millimetres, SpheroCylinder};
use crate::practice::draws::Draws;

const SIGN: Choice = Choice { word: "sign", also: &["wrong sign"] };
const EYES: Choice = Choice { word: "eyes", also: &["eye", "wrong eye", "exchanged"] };
const AXIS: Choice = Choice { word: "axis", also: &["axis across", "across"] };
const MIRROR: Choice = Choice { word: "mirror", also: &["mirrored", "axis mirrored"] };
const TRANSPOSITION: Choice = Choice { word: "transposition", also: &["transposed", "form"] };
const WORKING: Choice = Choice { word: "working", also: &["working lens"] };
const VERTEX: Choice = Choice { word: "vertex", also: &["vertex distance"] };

/// The slips of each level.
pub const LEVEL_1: &[Choice] = &[SIGN, EYES, AXIS];
/// With those that leave the figures alone and change what they mean.
pub const LEVEL_2: &[Choice] = &[SIGN, EYES, AXIS, MIRROR, TRANSPOSITION];
/// With those that change figures by something from elsewhere.
pub const LEVEL_3: &[Choice] = &[SIGN, EYES, AXIS, MIRROR, TRANSPOSITION, WORKING, VERTEX];

/// Two slips that come nearer to each other than this, or to what was found, are not told apart.
const APART_D: f64 = 0.30;
/// Sat at 67 cm.
const WORKING_D: f64 = 1.50;
const VERTEX_MM: f64 = 12.0;

fn what(word: &str) -> &'static str {
    match word {
        "sign" => "one sphere with the other sign",
        "eyes" => "each eye has the other one's",
        "axis" => "one axis across",
        "mirror" => "one axis mirrored, 180 less it",
        "transposition" => "one cylinder's sign alone turned",
        "working" => "+1.50 for 67 cm still in both",
        _ => "both as at the cornea",
    }
}

/// What is written when this slip is made; `eye` is where it is made, if it is made in one.
fn slipped(found: &Eyes<SpheroCylinder>, word: &str, eye: Eye) -> Eyes<SpheroCylinder> {
    let one = |change: &dyn Fn(SpheroCylinder) -> SpheroCylinder| {
        Eyes::from_fn(|here| if here == eye { change(found[here]) } else { found[here] })
    };
    match word {
        "sign" => one(&|rx| SpheroCylinder { sphere: -rx.sphere, ..rx }),
        "eyes" => Eyes::from_fn(|here| found[here.other()]),
        "axis" => one(&|rx| SpheroCylinder { axis: fold_axis(rx.axis + 90.0), ..rx }),
        "mirror" => one(&|rx| SpheroCylinder { axis: fold_axis(-rx.axis), ..rx }),
        "transposition" => one(&|rx| SpheroCylinder { cylinder: -rx.cylinder, ..rx }),
        "working" => Eyes::from_fn(|here| SpheroCylinder { sphere: found[here].sphere + WORKING_D, ..found[here] }),
        _ => Eyes::from_fn(|here| {
            nearest_quarter(at_vertex(found[here].power(), Millimetres(VERTEX_MM), Millimetres(0.0)), 1)
        }),
    }
}

fn apart(one: &Eyes<SpheroCylinder>, other: &Eyes<SpheroCylinder>) -> f64 {
    Eye::BOTH.iter().map(|&eye| one[eye].power().miss(other[eye].power())).fold(0.0, f64::max)
}

/// Which slip was made.
pub fn fault(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let choices = match skill.level {
        Level::One => LEVEL_1,
        Level::Two => LEVEL_2,
        Level::Three => LEVEL_3,
    };
    let choice = one_of(draws, choices);
    // a change of vertex distance is seen in strong powers alone
    let most = if skill.level == Level::Three { 10.0 } else { 4.0 };
    let strong = sign(draws);
    let mut drawn = || {
        let side = if skill.level == Level::Three { strong } else { sign(draws) };
        let least = if skill.level == Level::Three { 5.0 } else { 0.5 };
        written(side * quarters(draws, least, most), -quarters(draws, 0.5, 2.5), axis_in_fives(draws))
    };
    let found = Eyes::new(drawn(), drawn());
    let eye = one_of(draws, &Eye::BOTH);
    let wrong = slipped(&found, choice.word, eye);
    // every other slip, in either eye, writes something else, and the slip itself changes something
    let others = choices.iter().filter(|other| other.word != choice.word);
    let told_apart = others
        .flat_map(|other| Eye::BOTH.map(|eye| slipped(&found, other.word, eye)))
        .all(|other| apart(&other, &wrong) >= APART_D);
    if !told_apart || apart(&found, &wrong) < APART_D {
        return None;
    }
    // from level 2 on the card may have the other cylinder form, which is no slip
    let turned = skill.level != Level::One && choice.word != "transposition" && draws.happens(0.5);
    let card = if turned { wrong.map(SpheroCylinder::transposed) } else { wrong };
    let at = if skill.level == Level::Three { " at 12 mm, where the glasses will sit" } else { "" };
    let forms = if skill.level == Level::One { "" } else { " Either cylinder form is right by itself." };
    let named: Vec<String> = choices.iter().map(|choice| format!("{} ({})", choice.word, what(choice.word))).collect();
    let item = Item::new(
        skill,
        format!(
            "Found{at}: right {}, left {}. The card says: right {}, left {}.{forms} Which slip was made: {}?",
            rx(found[Eye::Right]),
            rx(found[Eye::Left]),
            rx(card[Eye::Right]),
            rx(card[Eye::Left]),
            named.join(", ")
        ),
        Answer::Word(choice.word, choices),
        0.0,
    )
    .given("found_right", rx(found[Eye::Right]))
    .given("found_left", rx(found[Eye::Left]))
    .given("card_right", rx(card[Eye::Right]))
    .given("card_left", rx(card[Eye::Left]));
    let item = if turned {
        item.step(format!(
            "With minus cylinders the card says: right {}, left {}.",
            rx(wrong[Eye::Right]),
            rx(wrong[Eye::Left])
        ))
    } else {
        item
    };
    Some(item.step(format!("{}: {}.", choice.word, what(choice.word))))
}
