//! Written questions whose answers stand on pages of their own.

/// Questions to be answered on paper.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuestionPages {
    /// What they are.
    pub title: &'static str,
    /// The questions of one kind each.
    pub parts: Vec<QuestionPart>,
    /// What they must not be taken for.
    pub caution: &'static str,
}

/// Questions of one kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuestionPart {
    /// By what they are drawn again.
    pub head: String,
    /// What they are about.
    pub about: &'static str,
    /// The questions in order.
    pub questions: Vec<String>,
    /// The answers, in the same order.
    pub answers: Vec<Answered>,
}

/// The answer to a question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answered {
    /// What is right.
    pub answer: String,
    /// Why, a line a step.
    pub working: Vec<String>,
}
