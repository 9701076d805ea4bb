//! Items for a program, and as a sheet whose answers stand apart at the end.

use std::io::{self, Write};

use serde::ser::SerializeMap as _;
use serde::{Serialize, Serializer};

use crate::exam::cautions;
use crate::export::questions::{Answered, QuestionPages, QuestionPart};
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

/// Items of one drill that are asked on paper.
pub(super) struct Sheet {
    /// Which drill, how hard.
    pub skill: Skill,
    /// From which seed.
    pub seed: u64,
    /// The items.
    pub items: Vec<Item>,
}

impl Sheet {
    fn head(&self) -> String {
        let Self { skill, seed, .. } = self;
        format!("{}, level {}, seed {seed}", skill.drill.name(), skill.level.number())
    }

    fn part(&self) -> QuestionPart {
        let answered = |item: &Item| Answered { answer: item.answer.told(), working: item.working.clone() };
        QuestionPart {
            head: self.head(),
            about: self.skill.drill.about(),
            questions: self.items.iter().map(|item| item.ask.clone()).collect(),
            answers: self.items.iter().map(answered).collect(),
        }
    }
}

/// The sheets as pages, answers on pages of their own.
pub(super) fn pages(sheets: &[Sheet]) -> QuestionPages {
    QuestionPages {
        title: "PRACTICE: questions on refraction",
        parts: sheets.iter().map(Sheet::part).collect(),
        caution: cautions::IN_HELP,
    }
}

/// The questions alone.
pub(super) fn write_questions(out: &mut dyn Write, sheets: &[Sheet]) -> io::Result<()> {
    for (nth, sheet) in sheets.iter().enumerate() {
        if nth > 0 {
            writeln!(out, "\n")?;
        }
        writeln!(out, "{}: {}", sheet.head(), sheet.skill.drill.about())?;
        for (number, item) in (1..).zip(&sheet.items) {
            writeln!(out, "\n{number}. {}", item.ask)?;
        }
    }
    Ok(())
}

/// The answers alone, with their working.
pub(super) fn write_answers(out: &mut dyn Write, sheets: &[Sheet]) -> io::Result<()> {
    for (nth, sheet) in sheets.iter().enumerate() {
        if nth > 0 {
            writeln!(out, "\n")?;
        }
        writeln!(out, "Answers: {}", sheet.head())?;
        for (number, item) in (1..).zip(&sheet.items) {
            writeln!(out, "\n{number}. {}", item.answer.told())?;
            for step in &item.working {
                writeln!(out, "   {step}")?;
            }
        }
    }
    Ok(())
}
