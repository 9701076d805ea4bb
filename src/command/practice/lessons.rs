//! `dioptray practice lessons`: the lessons that come with the program, and one of them in order.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use super::cases::its_own_or;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::export::wrapping::wrapped_to_columns;
use crate::practice::lessons::shipped::lessons;
use crate::practice::lessons::{Lesson, LessonEye, LessonStep, read_lesson};

/// The arguments of `dioptray practice lessons`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Lessons {
    /// One lesson, by its name or its file: what comes after what. Without it, all that come with the program.
    #[arg(value_name = "NAME|FILE", value_parser = values::path())]
    lesson: Option<PathBuf>,
}

const EXAMPLES: &str = "Examples:
  dioptray practice lessons
  dioptray practice lessons first-spheres

A lesson of your own is a YAML file like those in kits/lessons.";

/// How wide the sentences are, in columns, and how far in they stand.
const WIDE: usize = 76;
const INDENT: &str = "    ";

#[derive(Serialize)]
struct LessonsJson<'a> {
    lessons: Vec<LessonLineJson<'a>>,
}

#[derive(Serialize)]
struct LessonLineJson<'a> {
    name: &'a str,
    note: Option<&'a str>,
    steps: usize,
}

#[derive(Serialize)]
struct LessonJson<'a> {
    #[serde(flatten)]
    line: LessonLineJson<'a>,
    pass: Option<f64>,
    minutes: Option<f64>,
    order: Vec<StepJson<'a>>,
}

#[derive(Serialize)]
struct StepJson<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    say: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    command: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    minutes: Option<f64>,
}

impl<'a> From<&'a Lesson> for LessonLineJson<'a> {
    fn from(lesson: &'a Lesson) -> Self {
        Self { name: &lesson.name, note: lesson.note.as_deref(), steps: lesson.steps.len() }
    }
}

impl Lessons {
    /// Lists them, or shows one.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        match &self.lesson {
            Some(named) => show(&find(named)?, folder(named), context, out)?,
            None => list(context, out)?,
        }
        Ok(Outcome::Done)
    }
}

/// The folder from which the files of a lesson are named.
pub(super) fn folder(lesson: &Path) -> &Path {
    lesson.parent().unwrap_or(Path::new(""))
}

/// The shipped lesson of this name, or the one that a file declares.
pub(super) fn find(name_or_file: &Path) -> anyhow::Result<Lesson> {
    let shipped = lessons()?;
    let names: Vec<&str> = shipped.iter().map(|lesson| lesson.name.as_str()).collect();
    match its_own_or(name_or_file, &names, "lesson")? {
        Some(place) => Ok(shipped[place].clone()),
        None => Ok(read_lesson(name_or_file)?),
    }
}

fn list(context: &Context, out: &mut dyn Write) -> anyhow::Result<()> {
    let lessons = lessons()?;
    if context.json {
        write_line(out, &LessonsJson { lessons: lessons.iter().map(LessonLineJson::from).collect() })?;
        return Ok(());
    }
    let widest = lessons.iter().map(|lesson| lesson.name.len()).max().unwrap_or(0);
    for lesson in &lessons {
        writeln!(out, "{:widest$}  {}", lesson.name, lesson.note.as_deref().unwrap_or_default())?;
    }
    Ok(())
}

fn show(lesson: &Lesson, folder: &Path, context: &Context, out: &mut dyn Write) -> anyhow::Result<()> {
    if context.json {
        let order = lesson.steps.iter().map(|step| match step {
            LessonStep::Say(said) => StepJson { say: Some(said), command: None, minutes: None },
            LessonStep::Drill { .. } => StepJson { say: None, command: command(step, folder), minutes: None },
            LessonStep::Eye { minutes, .. } => {
                StepJson { say: None, command: command(step, folder), minutes: minutes.or(lesson.minutes) }
            }
        });
        let order = order.collect();
        write_line(out, &LessonJson { line: lesson.into(), pass: lesson.pass_d, minutes: lesson.minutes, order })?;
        return Ok(());
    }
    write_lesson(lesson, folder, out)?;
    Ok(())
}

fn write_lesson(lesson: &Lesson, folder: &Path, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "{}", lesson.name)?;
    for line in wrapped_to_columns(lesson.note.as_deref().unwrap_or_default(), WIDE) {
        writeln!(out, "{line}")?;
    }
    if let Some(pass_d) = lesson.pass_d {
        writeln!(out, "pass line: {pass_d:.2} D left in any meridian")?;
    }
    for (number, step) in (1..).zip(&lesson.steps) {
        writeln!(out)?;
        match step {
            LessonStep::Say(said) => {
                for (nth, line) in wrapped_to_columns(said, WIDE - INDENT.len()).iter().enumerate() {
                    let before = if nth == 0 { format!("{number:>2}. ") } else { INDENT.to_owned() };
                    writeln!(out, "{before}{line}")?;
                }
            }
            LessonStep::Drill { .. } => writeln!(out, "{number:>2}. {}", command(step, folder).unwrap_or_default())?,
            LessonStep::Eye { minutes, .. } => {
                let time =
                    minutes.or(lesson.minutes).map_or_else(String::new, |minutes| format!("  ({minutes} minutes)"));
                writeln!(out, "{number:>2}. {}{time}", command(step, folder).unwrap_or_default())?;
            }
        }
    }
    Ok(())
}

/// What is typed for a step; `None` where it only says something.
fn command(step: &LessonStep, folder: &Path) -> Option<String> {
    Some(match step {
        LessonStep::Say(_) => return None,
        LessonStep::Drill { skill, items } => {
            format!("dioptray practice drill {} --level {} --items {items}", skill.drill.name(), skill.level.number())
        }
        LessonStep::Eye { who: LessonEye::Shipped(name), .. } => format!("dioptray practice --eye {name}"),
        LessonStep::Eye { who: LessonEye::File(file), .. } => {
            format!("dioptray practice --eye {}", folder.join(file).display())
        }
        LessonStep::Eye { who: LessonEye::Drawn { level, seed }, .. } => {
            let seed = seed.map_or_else(String::new, |seed| format!(" --seed {seed}"));
            format!("dioptray practice --level {}{seed}", level.number())
        }
    })
}
