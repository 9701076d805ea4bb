//! Items for a program, and as a sheet whose answers stand apart at the end.

use std::io::{self, Write};

use serde::ser::SerializeMap as _;
use serde::{Serialize, Serializer};

use crate::practice::drills::{Given, Item, Skill};

/// One item for a program.
#[derive(Serialize)]
pub(super) struct ItemJson {
    ask: String,
    given: GivenJson,
    answer: String,
    also: Vec<String>,
    within: f64,
    working: String,
}

/// What is given, by name, in the order in which the question has it.
struct GivenJson(Vec<(&'static str, Given)>);

impl Serialize for GivenJson {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (name, given) in &self.0 {
            match given {
                Given::Figure(figure) => map.serialize_entry(name, figure)?,
                Given::Text(text) => map.serialize_entry(name, text)?,
                Given::List(list) => map.serialize_entry(name, list)?,
            }
        }
        map.end()
    }
}

impl ItemJson {
    pub(super) fn of(item: &Item) -> Self {
        Self {
            ask: item.ask.clone(),
            given: GivenJson(item.given.clone()),
            answer: item.answer.write(),
            also: item.answer.also(),
            within: item.within,
            working: item.working.join("\n"),
        }
    }
}

/// A sheet: the questions, and after them the answers with their working.
pub(super) fn write_sheet(out: &mut dyn Write, skill: Skill, seed: u64, items: &[Item]) -> io::Result<()> {
    let head = format!("{}, level {}, seed {seed}", skill.drill.name(), skill.level.number());
    writeln!(out, "{head}: {}", skill.drill.about())?;
    for (number, item) in (1..).zip(items) {
        writeln!(out, "\n{number}. {}", item.ask)?;
    }
    writeln!(out, "\n\nAnswers: {head}")?;
    for (number, item) in (1..).zip(items) {
        writeln!(out, "\n{number}. {}", item.answer.told())?;
        for step in &item.working {
            writeln!(out, "   {step}")?;
        }
    }
    Ok(())
}
