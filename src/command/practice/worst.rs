//! The worst exams of an evaluation, question by question.

use std::io::{self, Write};

use serde::Serialize;

use crate::command::text;
use crate::exam::Answer;
use crate::optics::notation::Style;
use crate::optics::{AcuityNotation, Eye};
use crate::practice::Evaluation;
use crate::practice::evaluation::{Evaluated, Outcome};
use crate::practice::examination::{Asked, LeadError};

/// One exam.
#[derive(Debug, Serialize)]
pub(super) struct WorstJson {
    person: u64,
    eye: String,
    age: u8,
    needs: String,
    written: Option<String>,
    m_off: Option<f64>,
    questions: Vec<QuestionJson>,
}

/// One question of it.
#[derive(Debug, Serialize)]
struct QuestionJson {
    procedure: String,
    eye: Option<String>,
    /// What is missing with what is shown, the person's need less what stands before the eye.
    missing: Option<String>,
    stands: Option<String>,
    asked: String,
    answer: String,
    remarks: Vec<String>,
}

impl WorstJson {
    /// The worst exams: those in which nothing was written first, then by the error of the equivalent.
    pub(super) fn of(evaluation: &Evaluation, evaluated: &Evaluated, count: usize) -> Result<Vec<Self>, LeadError> {
        let mut outcomes: Vec<&Outcome> = evaluated.outcomes.iter().collect();
        let off = |outcome: &Outcome| outcome.m_off_d().map_or(f64::INFINITY, f64::abs);
        outcomes.sort_by(|one, other| off(other).total_cmp(&off(one)));
        outcomes.into_iter().take(count).map(|outcome| Self::led(evaluation, outcome)).collect()
    }

    fn led(evaluation: &Evaluation, outcome: &Outcome) -> Result<Self, LeadError> {
        let person = evaluation.person(outcome.person);
        let mut questions = Vec::new();
        evaluation.exam_of(outcome.person, &mut |asked: &Asked<'_>| {
            let presentation = asked.presentation;
            let seen = presentation.question.is_about_what_is_seen();
            let at_work = presentation.eye.unwrap_or(outcome.eye);
            let stands = asked.standing.to[at_work];
            let missing = person.eyes[at_work].needs - stands;
            questions.push(QuestionJson {
                procedure: presentation.procedure.map_or_else(|| "what next".to_owned(), |name| name.to_string()),
                eye: presentation.eye.map(|eye: Eye| eye.to_string()),
                missing: seen.then(|| text::power(missing)),
                stands: seen.then(|| text::power(stands)),
                asked: presentation.say.to_string(),
                answer: said(asked),
                remarks: presentation.remarks.iter().map(|remark| remark.sentence().to_string()).collect(),
            });
        })?;
        Ok(Self {
            person: outcome.person,
            eye: outcome.eye.to_string(),
            age: outcome.age_years,
            needs: text::power(outcome.needs),
            written: outcome.written.map(|written| text::power(written.power())),
            m_off: outcome.m_off_d(),
            questions,
        })
    }
}

/// The answer as its key says it, or as it was typed.
fn said(asked: &Asked<'_>) -> String {
    let Some(answer) = asked.answer else { return "passed over".to_owned() };
    let chosen = asked.presentation.choices.iter().find(|choice| choice.answer == answer);
    match (chosen, answer) {
        (Some(choice), _) => choice.label.to_string(),
        (None, Answer::Read(acuity)) => acuity.write(AcuityNotation::SixMetres, Style::Ascii),
        (None, other) => format!("{other:?}"),
    }
}

/// Writes them for people.
pub(super) fn write_worst(out: &mut dyn Write, worst: &[WorstJson]) -> io::Result<()> {
    for exam in worst {
        let written = exam.written.as_deref().unwrap_or("nothing");
        let off = exam.m_off.map_or_else(String::new, |off| format!(", M off by {off:+.2}"));
        writeln!(
            out,
            "\nperson {}, {} years, {} eye: needs {}, written {written}{off}",
            exam.person, exam.age, exam.eye, exam.needs
        )?;
        let mut procedure = String::new();
        for question in &exam.questions {
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
    }
    Ok(())
}
