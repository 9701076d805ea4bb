//! The worst exams of an evaluation, question by question.

use std::io::{self, Write};

use serde::Serialize;

use super::questions::{QuestionJson, write_questions};
use crate::command::text;
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
            questions.push(QuestionJson::of(asked, &person.needs(), &[outcome.eye]));
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
        write_questions(out, &exam.questions)?;
    }
    Ok(())
}
