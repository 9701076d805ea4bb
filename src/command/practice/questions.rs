//! An exam of a practice eye, question by question.

use std::io::{self, Write};

use serde::Serialize;

use crate::command::text;
use crate::optics::{AcuityNotation, CylinderForm, Eye, Eyes, Power};
use crate::practice::examination::Asked;
use crate::screen::answer_words;

/// One question of an exam.
#[derive(Debug, Serialize)]
pub(super) struct QuestionJson {
    procedure: String,
    eye: Option<String>,
    /// What is missing with what is shown, the person's need less what stands before the eye.
    missing: Option<String>,
    stands: Option<String>,
    asked: String,
    answer: String,
    remarks: Vec<String>,
}

impl QuestionJson {
    /// A question with its answer, asked of somebody who needs this; `examined` are the eyes that are shown where both are
    /// open.
    pub(super) fn of(asked: &Asked<'_>, needs: &Eyes<Power>, examined: &[Eye]) -> Self {
        let presentation = asked.presentation;
        let seen = presentation.question.is_about_what_is_seen();
        let at_work = presentation.eye.as_ref().map_or(examined, std::slice::from_ref);
        let stands = |eye: Eye| asked.standing.to[eye];
        Self {
            procedure: presentation.procedure.map_or_else(|| "what next".to_owned(), |name| name.to_string()),
            eye: presentation.eye.map(|eye: Eye| eye.to_string()),
            missing: seen.then(|| before(at_work, |eye| needs[eye] - stands(eye))),
            stands: seen.then(|| before(at_work, stands)),
            // where nothing is said to the person, what the examiner is to do
            asked: Some(presentation.say.to_string())
                .filter(|say| !say.is_empty())
                .unwrap_or_else(|| presentation.instruction.to_string()),
            answer: said(asked),
            remarks: presentation.remarks.iter().map(|remark| remark.sentence().to_string()).collect(),
        }
    }
}

/// A power before each of these eyes; the eye is named where there are two.
fn before(eyes: &[Eye], power: impl Fn(Eye) -> Power) -> String {
    match eyes {
        [eye] => text::power(power(*eye)),
        eyes => eyes.iter().map(|&eye| format!("{eye} {}", text::power(power(eye)))).collect::<Vec<_>>().join(", "),
    }
}

/// The answer as its key says it, or as it was typed.
fn said(asked: &Asked<'_>) -> String {
    let Some(answer) = asked.answer else { return "skipped".to_owned() };
    answer_words::answer(answer, &asked.presentation.choices, CylinderForm::Minus, AcuityNotation::SixMetres)
}

/// Writes them for people.
pub(super) fn write_questions(out: &mut dyn Write, questions: &[QuestionJson]) -> io::Result<()> {
    let mut procedure = String::new();
    for question in questions {
        let of = question.eye.as_ref().map_or_else(String::new, |eye| format!(", {eye} eye"));
        let now = format!("{}{of}", question.procedure);
        if now != procedure {
            writeln!(out, "  {now}")?;
            procedure = now;
        }
        let stands = match (&question.stands, &question.missing) {
            (Some(stands), Some(missing)) => format!("{stands} stands, {missing} missing: "),
            _ => String::new(),
        };
        writeln!(out, "    {stands}{} -> {}", question.asked, question.answer)?;
        for remark in &question.remarks {
            writeln!(out, "      ! {remark}")?;
        }
    }
    Ok(())
}
