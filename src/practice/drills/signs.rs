//! Who is to be referred, by the signs that every print of the program names (IAPB school eye health guideline and hospital
//! triage pages).

use super::answer::{Answer, Choice};
use super::drawing::{one_of, whole};
use super::item::{Item, Slip};
use super::table::{Level, Skill};
use crate::practice::draws::Draws;

const AT_ONCE: &str = "at once";
const REFER: &str = "refer";
const GLASSES: &str = "glasses";

/// What can be done with somebody.
pub const WAYS: &[Choice] = &[
    Choice { word: AT_ONCE, also: &["refer at once", "without delay", "refer without delay"] },
    Choice { word: REFER, also: &[] },
    Choice { word: GLASSES, also: &["refract", "refraction"] },
];

/// Signs that cannot wait.
const WITHOUT_DELAY: [&str; 7] = [
    "the sight of one eye went suddenly this morning",
    "straight lines have been bent for some days",
    "there are flashes of light at one side since yesterday",
    "there are many new black spots before one eye",
    "a curtain has come over part of the sight",
    "one eye is red and hurts",
    "since last week everything is double",
];

/// Wishes and habits that change nothing.
const HARMLESS: [&str; 6] = [
    "the old glasses are scratched",
    "the frame pinches",
    "the old glasses are lost",
    "the new ones should be light",
    "the job is at a screen",
    "the last examination was five years ago",
];

/// Lines that are poor, by the lower figure over six metres.
const POOR: [u32; 4] = [18, 24, 36, 60];

/// Who goes where.
pub fn refer(skill: Skill, draws: &mut Draws) -> Option<Item> {
    let (word, person, why) = match skill.level {
        Level::One => told(draws),
        Level::Two => measured(draws),
        Level::Three => both(draws),
    };
    let item = Item::new(
        skill,
        format!("{person} Refer at once, refer, or glasses? Type at once, refer or glasses."),
        Answer::Word(word, WAYS),
        0.0,
    )
    .given("person", person)
    .step(why);
    // missing what must not wait is no slip of arithmetic, but it has no name among the slips of power
    Some(if word == AT_ONCE { item.slip(Slip::Arithmetic, Answer::Word(GLASSES, WAYS)) } else { item })
}

type Case = (&'static str, String, String);

/// Level 1: one thing that is said.
fn told(draws: &mut Draws) -> Case {
    let age = 10 * whole(draws, 2, 6) + 5;
    match whole(draws, 0, 2) {
        0 => {
            let sign = one_of(draws, &WITHOUT_DELAY);
            (
                AT_ONCE,
                format!("Somebody of {age} says: {sign}."),
                "A sign that somebody has to see who can treat the eye, without delay.".to_owned(),
            )
        }
        1 => {
            let child = whole(draws, 3, 9);
            (
                REFER,
                format!(
                    "A child of {child}: one eye has turned inward for as long as the mother knows; both eyes are quiet."
                ),
                "An eye that turns, above all in a child, is referred.".to_owned(),
            )
        }
        _ => {
            let wish = one_of(draws, &HARMLESS);
            (
                GLASSES,
                format!(
                    "Somebody of {age} sees the far side of the street less well every year, and through a pinhole well; {wish}."
                ),
                "Slowly blurred, better through a pinhole: a lens is missing.".to_owned(),
            )
        }
    }
}

/// Level 2: lines without, through the pinhole, with the best lenses.
fn measured(draws: &mut Draws) -> Case {
    let poor = one_of(draws, &POOR);
    match whole(draws, 0, 3) {
        0 => {
            let good = one_of(draws, &[6, 9]);
            (
                GLASSES,
                format!("Each eye reads 6/{poor} without a lens and 6/{good} through a pinhole; nothing else is said."),
                "The pinhole improves it: a lens will.".to_owned(),
            )
        }
        1 => (
            REFER,
            format!(
                "One eye reads 6/{poor} without a lens, 6/{poor} through a pinhole and 6/{poor} with every lens tried; it has been so for years."
            ),
            "An acuity that a pinhole does not improve is not for lenses.".to_owned(),
        ),
        2 => {
            let line = one_of(draws, &[12, 15, 18]);
            (
                REFER,
                format!(
                    "The best lenses give 6/{line} in each eye, from 6/60 without; it has come slowly over two years."
                ),
                "Eyes that do not reach 6/9 with the best lenses are referred.".to_owned(),
            )
        }
        _ => {
            let good = one_of(draws, &[5, 6]);
            (
                GLASSES,
                format!(
                    "Each eye reads 6/{poor} without a lens and 6/{good} with the best one; it has come slowly over two years."
                ),
                "The lens gives all that a healthy eye reads.".to_owned(),
            )
        }
    }
}

/// Level 3: what is measured speaks for one thing, what is said for another, or says nothing.
fn both(draws: &mut Draws) -> Case {
    let (word, person, why) = measured(draws);
    if draws.happens(0.5) {
        let sign = one_of(draws, &WITHOUT_DELAY);
        let why = "Whatever the lines say, this sign does not wait.".to_owned();
        (AT_ONCE, format!("{} Asked once more, the person says: {sign}.", without_an_end(&person)), why)
    } else {
        let wish = one_of(draws, &HARMLESS);
        (word, format!("{} Asked once more, the person says: {wish}.", without_an_end(&person)), why)
    }
}

/// Without what says that there is nothing more.
fn without_an_end(person: &str) -> String {
    person.replace("; nothing else is said.", ".")
}
