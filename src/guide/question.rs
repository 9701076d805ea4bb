//! What is asked, and the answers to it: one key each, or typed.

use crate::exam::{Answer, Complaint, ProcedureName};
use crate::optics::{Acuity, Eye, bounds};

/// The lines of the usual chart by the lower figure of the 6 m fraction, as the acuity keys offer them.
pub const LINES_6_M: [f64; 8] = [60.0, 36.0, 24.0, 18.0, 12.0, 9.0, 6.0, 5.0];

/// One answer with its key.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// The key, counted from 1.
    pub key: u8,
    /// What the key says.
    pub label: String,
    /// What it answers.
    pub answer: Answer,
}

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
pub enum Question {
    /// How does what is shown compare with what was before?
    ClearerWith {
        /// What was read before, so that a line that is read now answers too.
        before: Option<Acuity>,
    },
    /// Does what is shown let the person read more letters?
    MoreLetters {
        /// What was read before, so that a line that is read now answers too.
        before: Option<Acuity>,
    },
    /// Which of two positions is clearer?
    WhichPosition,
    /// Which line is read?
    LineRead,
    /// Which line of the fan is clearest?
    FanLine,
    /// Of two clear neighbours on the fan, which has the lower hour?
    FanFirstOfTwo,
    /// Are all lines of the fan alike now? `Yes`: the same line still stands out.
    FanEqual,
    /// In which direction of the slit is it clearest?
    SlitMeridian,
    /// How does the reflex move?
    Reflex,
    /// Along which meridian does the movement lie straight?
    ObliqueMeridian,
    /// Which eye sees clearer?
    ClearerEye,
    /// The nearest distance at which the print is clear.
    NearestClear,
    /// The farthest distance at which the print is clear.
    FarthestClear,
    /// How old is the person?
    Age,
    /// What does the person complain of?
    Complaint,
    /// How far is the chart?
    ChartDistance,
    /// Pupillary distance of one eye.
    EyePd(Eye),
    /// A question answered by yes or no.
    YesOrNo,
    /// Is the working lens put in the frame or kept in the head?
    WorkingLens,
    /// From what to start: the table's guess, retinoscopy or the old glasses.
    StartFrom {
        /// Whether retinoscopy was done.
        retinoscopy: bool,
        /// Whether the old glasses are known.
        old_glasses: bool,
    },
    /// Something is to be done, and then it is.
    Ready,
    /// With what to go on; the first is proposed.
    Next(Vec<(ProcedureName, Option<Eye>)>),
}

impl Question {
    /// The answers by key, from 1.
    pub fn choices(&self) -> Vec<Choice> {
        let answers: Vec<(String, Answer)> = match self {
            Self::ClearerWith { .. } => {
                named(&[("clearer", Answer::Clearer), ("the same", Answer::Same), ("worse", Answer::Worse)])
            }
            Self::MoreLetters { .. } => named(&[("more letters", Answer::Yes), ("no more letters", Answer::No)]),
            Self::WhichPosition => {
                named(&[("first", Answer::First), ("second", Answer::Second), ("the same", Answer::Same)])
            }
            Self::LineRead => std::iter::once(("no letter".to_owned(), Answer::Read(Acuity::NoLetter)))
                .chain(LINES_6_M.map(|line| (format!("6/{line}"), Answer::Read(Acuity::of_6_m(line)))))
                .collect(),
            Self::FanLine => fan_lines()
                .chain(named(&[("two side by side", Answer::TwoLines), ("all alike", Answer::Same)]))
                .collect(),
            Self::FanFirstOfTwo => (1..=6)
                .map(|hour| (format!("{hour}-{} and the next", hour + 6), Answer::HalfHours(2 * hour + 1)))
                .collect(),
            Self::FanEqual => named(&[
                ("the same line still stands out", Answer::Yes),
                ("all alike", Answer::Same),
                ("the lines across are clearer", Answer::Across),
            ]),
            Self::SlitMeridian => [180, 30, 60, 90, 120, 150]
                .map(|degrees| (format!("{degrees}°"), Answer::Degrees(degrees)))
                .into_iter()
                .chain(named(&[("alike all round", Answer::Same)]))
                .collect(),
            Self::Reflex => named(&[
                ("with, bright", Answer::With { dull: false }),
                ("with, dull and slow", Answer::With { dull: true }),
                ("against, bright", Answer::Against { dull: false }),
                ("against, dull and slow", Answer::Against { dull: true }),
                ("neither: fills at once", Answer::Neither),
                ("breaks away from the streak", Answer::Breaks),
            ]),
            Self::ObliqueMeridian => (1..=8)
                .map(|ten| (format!("{}° (or {}°)", ten * 10, ten * 10 + 90), Answer::Degrees(ten * 10)))
                .collect(),
            Self::ClearerEye => {
                named(&[("right clearer", Answer::First), ("left clearer", Answer::Second), ("equal", Answer::Same)])
            }
            Self::NearestClear => centimetres(&[15.0, 20.0, 25.0, 30.0, 33.0, 35.0, 40.0]),
            Self::FarthestClear => centimetres(&[40.0, 45.0, 50.0, 60.0, 70.0, 80.0, 100.0]),
            // An age and a pupillary distance are typed: a choice among bands would be a guess.
            Self::Age | Self::EyePd(_) => Vec::new(),
            Self::Complaint => named(&[
                ("blurred far away only", Answer::Says(Complaint::FarBlur)),
                ("blurred at all distances", Answer::Says(Complaint::BlurEverywhere)),
                ("only near work is hard", Answer::Says(Complaint::NearOnly)),
                ("nothing", Answer::Says(Complaint::Nothing)),
            ]),
            Self::ChartDistance => [6.0, 5.0, 4.0, 3.0, 2.0]
                .map(|metres| (format!("{metres} m"), Answer::Metres(metres)))
                .into_iter()
                .collect(),
            Self::YesOrNo => named(&[("yes", Answer::Yes), ("no", Answer::No)]),
            Self::WorkingLens => {
                named(&[("put it in the frame", Answer::First), ("keep it in the head", Answer::Second)])
            }
            Self::StartFrom { retinoscopy, old_glasses } => {
                let mut answers = Vec::new();
                if *retinoscopy {
                    answers.push(("retinoscopy".to_owned(), Answer::First));
                }
                if *old_glasses {
                    answers.push(("the old glasses".to_owned(), Answer::Second));
                }
                answers.push(("a first lens by the acuity".to_owned(), Answer::No));
                answers
            }
            Self::Ready => named(&[("done", Answer::Done)]),
            Self::Next(options) => options
                .iter()
                .map(|&(procedure, eye)| {
                    let label = eye.map_or_else(|| procedure.to_string(), |eye| format!("{procedure}, {eye} eye"));
                    (label, Answer::Go { procedure, eye })
                })
                .collect(),
        };
        (1..).zip(answers).map(|(key, (label, answer))| Choice { key, label, answer }).collect()
    }

    /// Whether an answer, by key or typed, is one to this question.
    pub fn accepts(&self, answer: Answer) -> bool {
        let typed = match (self, answer) {
            (
                Self::LineRead | Self::ClearerWith { before: Some(_) } | Self::MoreLetters { before: Some(_) },
                Answer::Read(acuity),
            ) => acuity.log_mar().is_none_or(f64::is_finite),
            (Self::FanLine, Answer::HalfHours(halves)) => (2..=13).contains(&halves),
            (Self::SlitMeridian | Self::ObliqueMeridian, Answer::Degrees(degrees)) => {
                bounds::AXIS.contains(f64::from(degrees))
            }
            (Self::NearestClear | Self::FarthestClear, Answer::Centimetres(cm)) => bounds::CLEAR_CM.contains(cm),
            (Self::Age, Answer::Years(years)) => bounds::AGE_YEARS.contains(f64::from(years)),
            (Self::ChartDistance, Answer::Metres(metres)) => bounds::CHART_M.contains(metres),
            (Self::EyePd(_), Answer::Millimetres(mm)) => bounds::MONOCULAR_PD_MM.contains(mm),
            (Self::Next(_), Answer::Go { .. }) => true,
            _ => false,
        };
        typed || self.choices().iter().any(|choice| choice.answer == answer)
    }

    /// Turns a line that was read where a comparison was asked into the comparison: letters count.
    pub(super) fn resolved(&self, answer: Answer) -> Answer {
        let gained = |before: Acuity, now: Acuity| match (before.log_mar(), now.log_mar()) {
            (Some(before), Some(now)) => before - now,
            (Some(_), None) => f64::NEG_INFINITY,
            (None, Some(_)) => f64::INFINITY,
            (None, None) => 0.0,
        };
        // half a letter: any whole letter counts, rounding does not
        let letter = crate::optics::acuity::LETTER_LOG_MAR / 2.0;
        match (self, answer) {
            (Self::ClearerWith { before: Some(before) }, Answer::Read(now)) => match gained(*before, now) {
                gain if gain > letter => Answer::Clearer,
                gain if gain < -letter => Answer::Worse,
                _ => Answer::Same,
            },
            (Self::MoreLetters { before: Some(before) }, Answer::Read(now)) => {
                if gained(*before, now) > letter {
                    Answer::Yes
                } else {
                    Answer::No
                }
            }
            _ => answer,
        }
    }
}

fn named(answers: &[(&str, Answer)]) -> Vec<(String, Answer)> {
    answers.iter().map(|&(label, answer)| (label.to_owned(), answer)).collect()
}

fn fan_lines() -> impl Iterator<Item = (String, Answer)> {
    (1..=6).map(|hour| (format!("{hour}-{}", hour + 6), Answer::HalfHours(2 * hour)))
}

fn centimetres(distances: &[f64]) -> Vec<(String, Answer)> {
    distances.iter().map(|&cm| (format!("{cm} cm"), Answer::Centimetres(cm))).collect()
}
