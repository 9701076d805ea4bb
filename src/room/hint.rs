//! What a room says is new: a hint, sent to all who listen after what it speaks of was kept. A hint that is lost is no harm.

use uuid::Uuid;

/// What is new.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hint {
    /// Entries, or what is asked to be erased.
    Entries,
    /// Pieces were taken or given.
    Held,
    /// An open exam has steps up to this number; 0 where it is open no more.
    Step {
        /// The exam.
        exam: Uuid,
        /// The number of its last step.
        last: i64,
    },
    /// Another seat goes on with an exam.
    TakenOver,
    /// Something that this program does not know.
    Other,
}

impl Hint {
    /// As it is sent.
    pub fn text(self) -> String {
        match self {
            Self::Entries => "entries".to_owned(),
            Self::Held => "held".to_owned(),
            Self::Step { exam, last } => format!("step {exam} {last}"),
            Self::TakenOver => "taken over".to_owned(),
            Self::Other => "other".to_owned(),
        }
    }

    /// What came.
    pub fn from_text(text: &str) -> Self {
        match text {
            "entries" => Self::Entries,
            "held" => Self::Held,
            "taken over" => Self::TakenOver,
            _ => Self::step(text).unwrap_or(Self::Other),
        }
    }

    fn step(text: &str) -> Option<Self> {
        let (exam, last) = text.strip_prefix("step ")?.split_once(' ')?;
        Some(Self::Step { exam: exam.parse().ok()?, last: last.parse().ok()? })
    }
}
