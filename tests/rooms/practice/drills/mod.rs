//! Drills: every item has one right answer, is marked so, and is right by another way of working it out.

mod outside;
mod progress;

use std::fmt::Write as _;

use crate::pictures::Album;

use dioptray::practice::drills::drawing::{on_step, within};
use dioptray::practice::drills::{Answer, Drill, Item, Level, Mark, Skill, Slip, items, mark};

/// Items of each drill and level in the gate; `every_item_of_many` does ten thousand.
const IN_THE_GATE: usize = 300;
const MANY: usize = 10_000;
const SEED: u64 = 20;

fn plainly_one_answer(item: &Item) -> Result<(), String> {
    let fails = |what: &str| Err(format!("{what}: {item:#?}"));
    let right = item.answer.write();
    if mark(item, &right) != Ok(Mark::Right) {
        return fails("its own answer is not right");
    }
    for also in item.answer.also() {
        if mark(item, &also) != Ok(Mark::Right) {
            return fails(&format!("{also} is not right"));
        }
    }
    for (slip, wrong) in &item.slips {
        match mark(item, &wrong.write()) {
            Ok(Mark::Wrong(told)) if told == *slip || item.slips.iter().any(|(other, _)| *other == told) => {}
            // a slip may give what cannot even be written in this notation
            Err(_) if matches!(item.answer, Answer::Acuity(..) | Answer::Size(_) | Answer::Prism(..)) => {}
            other => return fails(&format!("{} is marked {other:?}", wrong.write())),
        }
    }
    if let Some(reversed) = item.answer.with_other_sign()
        && mark(item, &reversed.write()) == Ok(Mark::Right)
    {
        return fails("the other sign is right too");
    }
    for (name, next) in neighbours(&item.answer) {
        if mark(item, &next) == Ok(Mark::Right) {
            return fails(&format!("{name}, {next}, is right too"));
        }
    }
    if item.ask.trim().is_empty() || item.working.is_empty() || item.given.is_empty() {
        return fails("something is empty");
    }
    Ok(())
}

/// What lies a step away from the answer, as it would be typed.
fn neighbours(answer: &Answer) -> Vec<(&'static str, String)> {
    let off = |amount: f64| -> Vec<Answer> {
        [-amount, amount]
            .into_iter()
            .flat_map(|by| match answer {
                Answer::Dioptres(value) => vec![Answer::Dioptres(value + by)],
                Answer::Size(value) => vec![Answer::Size(value + by)],
                Answer::Power(power) => {
                    let form = power.minus_form();
                    let mut all = vec![dioptray::optics::SpheroCylinder { sphere: form.sphere + by, ..form }];
                    all.push(dioptray::optics::SpheroCylinder { cylinder: form.cylinder + by, ..form });
                    all.into_iter().map(|form| Answer::Power(form.power())).collect()
                }
                Answer::Form(form) => {
                    let mut all = vec![dioptray::optics::SpheroCylinder { sphere: form.sphere + by, ..*form }];
                    all.push(dioptray::optics::SpheroCylinder { cylinder: form.cylinder + by, ..*form });
                    all.into_iter().map(Answer::Form).collect()
                }
                Answer::Axis(_) | Answer::Prism(..) | Answer::Acuity(..) | Answer::Lenses(_) | Answer::Word(..) => {
                    Vec::new()
                }
            })
            .collect()
    };
    let quarters = off(0.25).into_iter().filter(|next| !matches!(next, Answer::Size(size) if *size < 0.0));
    let mut all: Vec<(&'static str, String)> = quarters.map(|next| ("a quarter away", next.write())).collect();
    match answer {
        // over the end of the dial and back
        Answer::Axis(degrees) => {
            all.extend([-1.0, 1.0].map(|by| ("a degree away", Answer::Axis(degrees + by).write())));
        }
        Answer::Prism(prism, eye) => {
            let more = dioptray::optics::Prism::polar(prism.amount() + 0.1, prism.base_deg());
            all.push(("a tenth away", Answer::Prism(more, *eye).write()));
        }
        Answer::Word(word, choices) => {
            all.extend(
                choices
                    .iter()
                    .filter(|choice| choice.word != *word)
                    .map(|choice| ("another word", choice.word.to_owned())),
            );
        }
        Answer::Dioptres(_)
        | Answer::Size(_)
        | Answer::Power(_)
        | Answer::Form(_)
        | Answer::Acuity(..)
        | Answer::Lenses(_) => {}
    }
    all
}

fn every_item(count: usize, check: impl Fn(&Item) -> Result<(), String>) -> Result<(), String> {
    Skill::all().flat_map(|skill| items(skill, SEED, count)).try_for_each(|item| check(&item))
}

#[test]
fn every_item_has_one_right_answer_and_no_step_beside_it_is_right() -> Result<(), String> {
    every_item(IN_THE_GATE, plainly_one_answer)
}

#[test]
fn every_item_is_right_by_another_way_of_working_it_out() -> Result<(), String> {
    every_item(IN_THE_GATE, outside::agrees)
}

/// What a slip would give, put in place of the answer, is not right by the other way either.
#[test]
fn the_other_way_of_working_it_out_finds_every_slip_that_would_do_harm() {
    let mut found = 0;
    for item in Skill::all().flat_map(|skill| items(skill, SEED, IN_THE_GATE)) {
        for (slip, wrong) in item.slips.iter().filter(|(slip, _)| slip.harms()) {
            // one that comes near to what is right is within the limits of the check too
            if !item.answer.accepts(wrong, 2.0 * item.within) {
                let spoilt = Item { answer: wrong.clone(), ..item.clone() };
                assert!(outside::agrees(&spoilt).is_err(), "{slip:?}: {spoilt:#?}");
                found += 1;
            }
        }
    }
    assert!(found > 10_000, "{found}");
}

#[test]
#[ignore = "ten thousand of each drill and level: `.ci/long drills`"]
fn every_item_of_many() -> Result<(), String> {
    every_item(MANY, |item| plainly_one_answer(item).and_then(|()| outside::agrees(item)))
}

#[test]
fn what_lies_near_half_way_is_not_asked_for() {
    assert_eq!(on_step(-9.115_385, 0.25), None);
    assert_eq!(on_step(-9.05, 0.25), Some(-9.0));
    assert_eq!(on_step(0.125, 0.25), None);
    // the unrounded result is right, the next step is not
    assert!(within(0.25) > 0.28 * 0.25 && within(0.25) < 0.125);
}

/// One item of each drill at each level: what a student meets, and that a seed means the same for ever.
#[test]
fn the_first_item_of_each_drill_at_each_level() {
    let mut page = String::new();
    for skill in Skill::all() {
        let item = &items(skill, 1, 1)[0];
        let _ = writeln!(page, "{} {}: {}", skill.drill.name(), skill.level.number(), item.ask);
        let also = item.answer.also().join(", ");
        let also = if also.is_empty() { also } else { format!("   or {also}") };
        let _ = writeln!(page, "   = {}{also}   within {:.3}", item.answer.write(), item.within);
        item.working.iter().for_each(|step| {
            let _ = writeln!(page, "     {step}");
        });
        for (slip, gives) in &item.slips {
            let _ = writeln!(page, "   {slip:?}: {}", gives.write());
        }
    }
    Album::of("drills").text("first_items", &page);
}

#[test]
fn the_first_items_are_the_same_however_many_are_drawn() {
    for skill in Skill::all() {
        assert_eq!(items(skill, 7, 3)[..], items(skill, 7, 30)[..3], "{skill:?}");
    }
}

#[test]
fn there_are_twenty_drills_each_found_by_its_name() {
    let names: Vec<&str> = Drill::ALL.iter().map(|drill| drill.name()).collect();
    let contract = "net stack transposition equivalent effective crossed axis meridian retinoscopy first-lens step clock \
                    cross-cylinder with-against addition order prentice acuity fault refer";
    assert_eq!(names.join(" "), contract);
    assert!(Drill::ALL.iter().all(|drill| Drill::named(drill.name()) == Some(*drill)));
    assert_eq!(Level::numbered(4), None);
}

fn first(drill: Drill, level: Level, which: impl Fn(&Item) -> bool) -> Result<Item, String> {
    items(Skill { drill, level }, 3, 200).into_iter().find(which).ok_or("no such item".to_owned())
}

#[test]
fn every_notation_of_the_contract_is_read_and_the_other_cylinder_form_of_a_power_is_right() -> Result<(), String> {
    let crossed = first(Drill::Crossed, Level::One, |item| item.answer.write().contains("x180"))?;
    let right = crossed.answer.write();
    let typographic = right.replace('-', "\u{2212}").replace('x', " \u{d7} ").replace('.', ",");
    let clinic = right.replace('/', "DS/").replace('x', "DCx").replace("planoDS", "plano");
    for typed in [right.clone(), typographic, clinic, crossed.answer.also()[0].clone()] {
        assert_eq!(mark(&crossed, &typed), Ok(Mark::Right), "{typed}");
    }
    // where a form is asked for, the other one is the slip of that name
    let transposition = first(Drill::Transposition, Level::Two, |_| true)?;
    let Answer::Form(form) = &transposition.answer else { return Err("not a form".to_owned()) };
    let given = Answer::Form(form.transposed()).write();
    assert_eq!(mark(&transposition, &given), Ok(Mark::Wrong(Slip::Form)));
    let stack = first(Drill::Stack, Level::Two, |_| true)?;
    let spaced = stack.answer.write().replace('x', " x ");
    assert_eq!(mark(&stack, &spaced), Ok(Mark::Right), "{spaced}");
    let backwards: Vec<String> = stack.answer.write().split(' ').rev().map(str::to_owned).collect();
    assert_eq!(mark(&stack, &backwards.join(" ")), Ok(Mark::Wrong(Slip::Order)));
    let acuity = first(Drill::Acuity, Level::One, |item| item.answer.write() == "6/12")?;
    assert_eq!(mark(&acuity, "12"), Ok(Mark::Right));
    assert!(mark(&acuity, "20/40").is_err(), "what was given is no answer");
    Ok(())
}

#[test]
fn what_is_no_answer_is_refused_with_what_would_be_one() -> Result<(), String> {
    let power = first(Drill::Net, Level::One, |_| true)?;
    let unsigned = power.answer.write().trim_start_matches(['+', '-']).to_owned();
    let refused = mark(&power, &unsigned).map_err(|error| error.to_string());
    assert!(refused.as_ref().is_err_and(|error| error.contains("sign")), "{refused:?}");
    let word = first(Drill::WithAgainst, Level::One, |_| true)?;
    let refused = mark(&word, "sideways").map_err(|error| error.to_string());
    assert_eq!(refused, Err("sideways is none of the answers: type with, against or neutral".to_owned()));
    Ok(())
}

#[test]
fn slips_are_told_apart() {
    let kinds = |drill, level| -> Vec<Slip> {
        let all = items(Skill { drill, level }, 5, 100);
        let slips = all.iter().flat_map(|item| item.slips.iter().map(move |(_, wrong)| (item, wrong)));
        slips.filter_map(|(item, wrong)| mark(item, &wrong.write()).ok().and_then(Mark::slip)).collect()
    };
    assert!(kinds(Drill::Net, Level::Two).iter().all(|slip| *slip == Slip::Vertex));
    assert!(kinds(Drill::Equivalent, Level::Three).iter().all(|slip| *slip == Slip::Eye));
    assert!(kinds(Drill::CrossCylinder, Level::Two).iter().all(|slip| *slip == Slip::Axis));
    assert!(kinds(Drill::Prentice, Level::Two).contains(&Slip::Sign));
    assert!(kinds(Drill::Prentice, Level::Three).contains(&Slip::Eye));
    assert!(kinds(Drill::Retinoscopy, Level::Three).contains(&Slip::Axis));
}
