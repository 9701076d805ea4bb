//! The second way of refracting: a belief about the eye, and of everything that the free lenses can show the question that
//! tells most about it for what it costs.
//!
//! What is believed of people stands here and nowhere else; the eyes on which it is measured know nothing of it, nor it of them.
//!
//! - `numbers`: exponentials and chances in single precision; `people`: how blur costs letters, how an eye accommodates, how
//!   lines are read and looks compared; `prior`: how common which need is;
//! - `cloud`: the weighted points; `choice`: what a question gains; `quarters`: powers on the quarter grid;
//! - `examiner`: what earlier exams say of whoever examines;
//! - `line`: the line that somebody is believed to read through lenses;
//! - `course`: one eye from what is known to the result; `likelihood`: the procedure that leads it.

mod choice;
mod cloud;
mod course;
mod examiner;
mod likelihood;
mod line;
mod numbers;
mod people;
mod prior;
mod quarters;
mod words;

pub(super) use likelihood::Likelihood;
pub use line::believed_line;
