//! Glasses that came back, as they are entered on the screen: one thing after the other, each beside what was ordered.

use super::words;
use crate::exam::Order;
use crate::exam::came_back::GlassesQuestion;
use crate::exam::came_back::asked::{AnswerFault, GlassesDraft};
use crate::exam::order::OrderedLens;
use crate::optics::{CylinderForm, Eye};

/// What is entered of glasses that came back.
#[derive(Debug, Clone, PartialEq)]
pub struct GlassesForm {
    /// The exam that they were made by.
    pub exam: u64,
    /// What was answered so far.
    pub draft: GlassesDraft,
    /// Each answer as it was typed, in the order of [`GlassesQuestion::ALL`]; empty where nothing was measured, `None` where it
    /// was not asked yet.
    answers: [Option<String>; GlassesQuestion::ALL.len()],
    /// The chosen row: a question, or after them what notes it.
    pub chosen: usize,
    /// Whether it is shown; put aside it keeps what was entered.
    pub shown: bool,
}

impl GlassesForm {
    /// An empty one.
    pub fn of(exam: u64) -> Self {
        Self { exam, draft: GlassesDraft::default(), answers: std::array::from_fn(|_| None), chosen: 0, shown: true }
    }

    /// The question that is chosen; `None` on the row that notes it.
    pub fn question(&self) -> Option<GlassesQuestion> {
        GlassesQuestion::ALL.get(self.chosen).copied()
    }

    /// The answer to a question as it was typed; `None` where it was not asked yet.
    pub fn answer(&self, question: GlassesQuestion) -> Option<&str> {
        let place = GlassesQuestion::ALL.iter().position(|of| *of == question)?;
        self.answers[place].as_deref()
    }

    /// The same with an answer, the next question chosen.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn answered(&self, question: GlassesQuestion, text: &str) -> Result<Self, AnswerFault> {
        let draft = self.draft.answer(question, text)?;
        let mut form = Self { draft, ..self.clone() };
        if let Some(place) = GlassesQuestion::ALL.iter().position(|of| *of == question) {
            form.answers[place] = Some(text.to_owned());
            form.chosen = place + 1;
        }
        Ok(form)
    }

    /// Whether every question was asked.
    pub fn is_through(&self) -> bool {
        self.answers.iter().all(Option::is_some)
    }
}

/// What was ordered, beside the answer; empty where nothing was.
pub fn ordered(order: &Order, question: GlassesQuestion, form: CylinderForm) -> String {
    let lens = |eye: Eye| order.eyes[eye].lens();
    let two = |of: &dyn Fn(&OrderedLens) -> Option<String>| {
        let of = Eye::BOTH.map(|eye| lens(eye).and_then(of));
        if of.iter().all(Option::is_none) {
            return String::new();
        }
        of.map(|figure| figure.unwrap_or_else(|| "none".to_owned())).join(" ")
    };
    let tenths = |mm: f64| format!("{}", (mm * 10.0).round() / 10.0);
    match question {
        GlassesQuestion::Lens(eye) => match (lens(eye), order.eyes[eye].instead()) {
            (Some(lens), _) => words::power(lens.far.power.power(), form),
            (None, instead) => instead.unwrap_or_default().to_owned(),
        },
        GlassesQuestion::Additions => two(&|lens| lens.addition.map(|addition| format!("+{addition:.2}"))),
        GlassesQuestion::Centres => two(&|lens| lens.far.centre.map(|centre| tenths(centre.0))),
        GlassesQuestion::NearCentres => two(&|lens| lens.near?.centre.map(|centre| tenths(centre.0))),
        GlassesQuestion::Heights => two(&|_| Some("0".to_owned())),
        GlassesQuestion::Vertex => order.vertex.0.to_string(),
        GlassesQuestion::Complaint | GlassesQuestion::Again => String::new(),
    }
}
