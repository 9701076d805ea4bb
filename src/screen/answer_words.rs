//! Answers in words: as their key says them, or as they are typed.

use super::words;
use crate::exam::Answer;
use crate::guide::question::Choice;
use crate::optics::{AcuityNotation, CylinderForm};

/// An answer to what has these choices.
pub fn answer(answer: Answer, choices: &[Choice], form: CylinderForm, notation: AcuityNotation) -> String {
    if let Some(choice) = choices.iter().find(|choice| choice.answer == answer) {
        return words::sentence(&choice.label, form, notation);
    }
    match answer {
        Answer::Read(acuity) => words::acuity(acuity, notation),
        Answer::HalfHours(half_hours) => format!("{} o'clock", f64::from(half_hours) / 2.0),
        Answer::Degrees(degrees) => format!("{degrees} degrees"),
        Answer::Centimetres(distance) => format!("{distance} cm"),
        Answer::Metres(distance) => format!("{distance:.2} m"),
        Answer::Millimetres(distance) => format!("{distance} mm"),
        Answer::Print(points) => format!("N{points}"),
        Answer::Years(years) => format!("{years} years"),
        Answer::Power(power) => words::power(power.power(), form),
        Answer::Dioptres(dioptres) => words::dioptres(dioptres),
        // these are keys of every question that takes them
        other @ (Answer::Clearer
        | Answer::Same
        | Answer::Worse
        | Answer::Yes
        | Answer::No
        | Answer::First
        | Answer::Second
        | Answer::TwoLines
        | Answer::Across
        | Answer::Says(_)
        | Answer::With { .. }
        | Answer::Against { .. }
        | Answer::Neither
        | Answer::Breaks
        | Answer::Done
        | Answer::Go { .. }
        | Answer::Flag(_)
        | Answer::Glasses(_)
        | Answer::Task(_)
        | Answer::End(_)) => format!("{other:?}"),
    }
}
