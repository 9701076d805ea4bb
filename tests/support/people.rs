//! People whose answers are scripted: what they read and how they compare is said by two functions of what stands there.

use dioptray::exam::{Answer, Exam};
use dioptray::guide::{Presentation, Question};
use dioptray::optics::{Acuity, Eye, Power};
use dioptray::practice::Standing;

/// How somebody compares, whatever is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Says {
    Same,
    Clearer,
    Worse,
}

/// Somebody who reads by a function of what stands before the eye and says the same thing to every comparison.
pub struct Scripted {
    pub says: Says,
    pub age: u8,
    pub reads: Box<dyn Fn(Power) -> Acuity>,
}

impl Scripted {
    pub fn new(says: Says, age: u8, reads: impl Fn(Power) -> Acuity + 'static) -> Self {
        Self { says, age, reads: Box::new(reads) }
    }

    /// The answer to what is presented; between procedures the first proposal.
    pub fn answers(&self, presentation: &Presentation, exam: &Exam) -> Answer {
        let standing = Standing::of(presentation, exam);
        let before = standing.to[presentation.eye.unwrap_or(Eye::Right)];
        match &presentation.question {
            Question::Next(choices) => Answer::Go { procedure: choices[0].0, eye: choices[0].1 },
            Question::LineRead => Answer::Read((self.reads)(before)),
            Question::ClearerWith { .. } => match self.says {
                Says::Same => Answer::Same,
                Says::Clearer => Answer::Clearer,
                Says::Worse => Answer::Worse,
            },
            Question::MoreLetters { .. } | Question::YesOrNo => {
                if self.says == Says::Clearer {
                    Answer::Yes
                } else {
                    Answer::No
                }
            }
            Question::WhichPosition => match self.says {
                Says::Same => Answer::Same,
                Says::Clearer => Answer::Second,
                Says::Worse => Answer::First,
            },
            Question::ClearerEye => Answer::Same,
            Question::Age => Answer::Years(self.age),
            Question::EyePd(_) => Answer::Millimetres(31.5),
            question => question.choices()[0].answer,
        }
    }
}
