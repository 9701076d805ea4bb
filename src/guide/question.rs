//! What is asked, and the answers to it: one key each, or typed.

use crate::exam::prescription::may_be_written;
use crate::exam::sentence::sentence;
use crate::exam::{Answer, Complaint, Ending, NearTask, Part, PresentGlasses, ProcedureName, RedFlag, Sentence};
use crate::optics::bounds::{self, Range};
use crate::optics::{Acuity, AcuityNotation, Axis, Eye, Power};

/// One answer with its key.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// The digit of its key.
    pub digit: u8,
    /// What the key says.
    pub label: Sentence,
    /// The answer that the guide is given by this key.
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
    /// How far is the retinoscope from the eye?
    WorkingDistance,
    /// The smallest print that is read at the near distance.
    PrintRead,
    /// How does a line behind the glasses move when they are moved?
    LineMoves {
        /// What is held against them, in dioptres.
        held_d: f64,
        /// Along which meridian they are moved.
        along: Axis,
    },
    /// From what to start: the table's guess, retinoscopy or the old glasses.
    StartFrom {
        /// Whether retinoscopy was done.
        retinoscopy: bool,
        /// Whether the old glasses are known.
        old_glasses: bool,
        /// What was put in by hand or found before, where it is neither.
        so_far: Option<Power>,
    },
    /// Something is to be done, and then it is.
    Ready,
    /// With what to go on; the first is proposed.
    Next(Vec<(ProcedureName, Option<Eye>)>),
    /// Is there a sign that needs somebody who can treat the eye?
    RedFlags {
        /// What was named already.
        named: Vec<RedFlag>,
    },
    /// Which glasses does the person have now?
    PresentGlasses,
    /// The power of the old glasses of one eye.
    OldGlasses(Eye),
    /// The addition of the old glasses.
    OldAddition,
    /// What does the person do near, and how far away?
    NearTask,
    /// Which eye does the person prefer?
    PreferredEye,
    /// What does an eye see that reads no letter?
    WithoutLetters,
    /// What is written for an eye that is not refracted: that it is not (the first), or a balance lens.
    Unrefracted,
    /// Which result becomes the prescription: the dry one (the first), or the wet one.
    WetOrDry,
    /// How far from the cornea does the frame stand at this person?
    FrameVertex,
    /// What is done once the prescription is written; any procedure can still be taken.
    Written(Vec<(ProcedureName, Option<Eye>)>),
}

impl Question {
    /// The answers by key; lines are those of a 6 m chart.
    pub fn choices(&self) -> Vec<Choice> {
        self.choices_in(AcuityNotation::SixMetres)
    }

    /// The answers by key, where lines are those that charts of a notation print. What follows does not depend on the
    /// notation: any line answers.
    #[expect(clippy::too_many_lines, reason = "one list: the answers to every question")]
    pub fn choices_in(&self, notation: AcuityNotation) -> Vec<Choice> {
        let answers: Vec<(Sentence, Answer)> = match self {
            Self::ClearerWith { .. } => {
                named(&[("clearer", Answer::Clearer), ("the same", Answer::Same), ("worse", Answer::Worse)])
            }
            Self::MoreLetters { .. } => named(&[("more letters", Answer::Yes), ("no more letters", Answer::No)]),
            Self::WhichPosition => {
                named(&[("first", Answer::First), ("second", Answer::Second), ("the same", Answer::Same)])
            }
            Self::LineRead => std::iter::once(Acuity::NoLetter)
                .chain(if notation.counts_letters() { Vec::new() } else { notation.chart_lines() })
                .map(|line| (sentence![line], Answer::Read(line)))
                .collect(),
            Self::FanLine => fan_lines()
                .chain(named(&[("two side by side", Answer::TwoLines), ("all alike", Answer::Same)]))
                .collect(),
            Self::FanFirstOfTwo => (1..=6)
                .map(|hour| (clock(hour).then(&" and the next".into()), Answer::HalfHours(2 * hour + 1)))
                .collect(),
            Self::FanEqual => named(&[
                ("the same line still stands out", Answer::Yes),
                ("all alike", Answer::Same),
                ("the lines across are clearer", Answer::Across),
            ]),
            Self::SlitMeridian => [180, 30, 60, 90, 120, 150]
                .map(|degrees: u16| (sentence![Part::Figure(f64::from(degrees)), "°"], Answer::Degrees(degrees)))
                .into_iter()
                .chain(named(&[("alike all round", Answer::Same)]))
                .collect(),
            Self::Reflex => named(&[
                ("with, bright", Answer::With { dull: false }),
                ("with, dull and slow", Answer::With { dull: true }),
                ("against, bright", Answer::Against { dull: false }),
                ("against, dull and slow", Answer::Against { dull: true }),
                ("neutral (reversal): fills at once", Answer::Neither),
                ("breaks away from the streak", Answer::Breaks),
            ]),
            Self::ObliqueMeridian => [9, 1, 2, 3, 4, 5, 6, 7, 8]
                .into_iter()
                .map(|ten: u16| {
                    let (one, other) = (f64::from(ten * 10), f64::from(ten * 10 + 90));
                    let label = sentence![Part::Figure(one), "° (or ", Part::Figure(other), "°)"];
                    (label, Answer::Degrees(ten * 10))
                })
                .collect(),
            Self::ClearerEye => {
                named(&[("right clearer", Answer::First), ("left clearer", Answer::Second), ("equal", Answer::Same)])
            }
            Self::NearestClear => centimetres(&[15.0, 20.0, 25.0, 30.0, 33.0, 35.0, 40.0]),
            Self::FarthestClear => centimetres(&[40.0, 45.0, 50.0, 60.0, 70.0, 80.0, 100.0]),
            // An age, a pupillary distance and a power are typed: a choice among bands would be a guess.
            Self::Age | Self::EyePd(_) | Self::OldGlasses(_) => Vec::new(),
            Self::Complaint => named(&[
                ("blurred far away only", Answer::Says(Complaint::FarBlur)),
                ("blurred at all distances", Answer::Says(Complaint::BlurEverywhere)),
                ("only near work is hard", Answer::Says(Complaint::NearOnly)),
                ("nothing", Answer::Says(Complaint::Nothing)),
            ]),
            Self::ChartDistance => [6.0, 5.0, 4.0, 3.0, 2.0]
                .map(|metres| (sentence![Part::Figure(metres), " m"], Answer::Metres(metres)))
                .into_iter()
                .collect(),
            Self::YesOrNo => named(&[("yes", Answer::Yes), ("no", Answer::No)]),
            Self::WorkingDistance => [("0.67 m", 2.0 / 3.0), ("0.5 m", 0.5), ("0.6 m", 0.6), ("1 m", 1.0)]
                .map(|(label, metres)| (label.into(), Answer::Metres(metres)))
                .into_iter()
                .collect(),
            Self::PrintRead => PRINT_N
                .map(|points| (sentence![Part::Print(points)], Answer::Print(points)))
                .into_iter()
                .chain(named(&[("none of it", Answer::No)]))
                .collect(),
            Self::LineMoves { .. } => named(&[
                ("with the glasses", Answer::With { dull: false }),
                ("against them", Answer::Against { dull: false }),
                ("not at all", Answer::Neither),
            ]),
            Self::WorkingLens => {
                named(&[("put it in the frame", Answer::First), ("keep it in the head", Answer::Second)])
            }
            Self::StartFrom { retinoscopy, old_glasses, so_far } => {
                let mut answers = Vec::new();
                if let Some(power) = so_far {
                    answers.push((sentence!["what there is so far: ", *power], Answer::Yes));
                }
                if *retinoscopy {
                    answers.push(("retinoscopy".into(), Answer::First));
                }
                if *old_glasses {
                    answers.push(("the present glasses".into(), Answer::Second));
                }
                answers.push(("a first lens by the acuity".into(), Answer::No));
                answers
            }
            Self::Ready => named(&[("done", Answer::Done)]),
            Self::Next(options) => options
                .iter()
                .map(|&(procedure, eye)| (sentence![Part::GoOn(procedure, eye)], Answer::Go { procedure, eye }))
                .collect(),
            Self::RedFlags { named } => {
                let none = if named.is_empty() { "none of these" } else { "nothing more" };
                let left = RedFlag::ALL.into_iter().filter(|flag| !named.contains(flag));
                std::iter::once((none.into(), Answer::No))
                    .chain(left.map(|flag| (flag.shown().into(), Answer::Flag(flag))))
                    .collect()
            }
            Self::PresentGlasses => {
                PresentGlasses::ALL.map(|glasses| (glasses.shown().into(), Answer::Glasses(glasses))).into()
            }
            Self::OldAddition => named(&[("no addition", Answer::No)]),
            Self::FrameVertex => named(&[("not measured", Answer::No)]),
            Self::NearTask => NearTask::ALL
                .into_iter()
                .filter_map(|task| {
                    let cm = (task.usual_metres()? * 100.0).round();
                    Some((sentence![task.shown(), ", ", Part::Figure(cm), " cm"], Answer::Task(task)))
                })
                .collect(),
            Self::PreferredEye => {
                named(&[("right", Answer::First), ("left", Answer::Second), ("neither, or not known", Answer::Same)])
            }
            Self::WithoutLetters => Acuity::WITHOUT_LETTERS
                .into_iter()
                .filter_map(|seen| Some((Sentence::Words(seen.without_letters()?), Answer::Read(seen))))
                .collect(),
            Self::Unrefracted => named(&[("not refracted", Answer::First), ("a balance lens", Answer::Second)]),
            Self::WetOrDry => {
                named(&[("the dry result; the wet beside it", Answer::First), ("the wet result", Answer::Second)])
            }
            Self::Written(options) => {
                Ending::ALL
                    .into_iter()
                    .map(|ending| (ending.shown().into(), Answer::End(ending)))
                    .chain(options.iter().map(|&(procedure, eye)| {
                        (sentence![Part::GoOn(procedure, eye)], Answer::Go { procedure, eye })
                    }))
                    .collect()
            }
        };
        let digit = |nth| self.digits(notation).get(nth).copied().unwrap_or((nth as u8 + 1) % 10);
        answers
            .into_iter()
            .enumerate()
            .map(|(nth, (label, answer))| Choice { digit: digit(nth), label, answer })
            .collect()
    }

    /// The digits of the answers' keys where they are figures of one digit, or begin with it, so that whoever types the figure
    /// itself answers it; the others are counted from 1.
    fn digits(&self, notation: AcuityNotation) -> &'static [u8] {
        match self {
            // how many letters were read is typed, and none is 0
            Self::LineRead if notation.counts_letters() => &[0],
            Self::ChartDistance => &[6, 5, 4, 3, 2],
            Self::NearTask => &[4, 3, 6],
            Self::ObliqueMeridian => &[9, 1, 2, 3, 4, 5, 6, 7, 8],
            // 0.67, 0.5, 0.6 and 1 m
            Self::WorkingDistance => &[7, 5, 6, 1],
            // no frame stands so near that its distance begins with it
            Self::FrameVertex => &[9],
            // N5, N6, N8; the larger ones have what is left
            Self::PrintRead => &[5, 6, 8, 1, 2, 3, 4, 7, 9],
            _ => &[],
        }
    }

    /// What can be typed as an answer; `None` where the answers are keys alone.
    pub fn typed(&self) -> Option<Typed> {
        let figure = |hint: &'static str, row: &'static Range, answer: fn(f64) -> Option<Answer>| {
            Some(Typed { hint, reads: Reads::Figure { row, answer } })
        };
        match self {
            Self::LineRead | Self::ClearerWith { before: Some(_) } | Self::MoreLetters { before: Some(_) } => {
                Some(Typed { hint: "a line, like 6/12-2", reads: Reads::Line })
            }
            Self::FanLine => figure("an hour, like 2.5", &bounds::CLOCK_HOURS, half_hours),
            Self::SlitMeridian | Self::ObliqueMeridian => figure("degrees, like 25", &bounds::AXIS, degrees),
            Self::PrintRead => figure("N, like 6", &bounds::PRINT_N, |points| Some(Answer::Print(points))),
            Self::NearestClear | Self::FarthestClear => {
                figure("centimetres, like 38", &bounds::CLEAR_CM, |cm| Some(Answer::Centimetres(cm)))
            }
            Self::Age => figure("the age in years, like 42", &bounds::AGE_YEARS, years),
            Self::ChartDistance => figure("metres, like 3.5", &bounds::CHART_M, |metres| Some(Answer::Metres(metres))),
            Self::OldGlasses(_) => Some(Typed { hint: "a power, like -4.25/-0.75x180", reads: Reads::Power }),
            Self::OldAddition => {
                figure("the addition, like +1.25", &bounds::ADDITION, |dioptres| Some(Answer::Dioptres(dioptres)))
            }
            Self::NearTask => figure("centimetres, like 45", &bounds::CLEAR_CM, |cm| Some(Answer::Centimetres(cm))),
            Self::WorkingDistance => {
                figure("metres, like 0.62", &bounds::WORKING_M, |metres| Some(Answer::Metres(metres)))
            }
            Self::EyePd(_) => {
                figure("millimetres, like 31.5", &bounds::MONOCULAR_PD_MM, |mm| Some(Answer::Millimetres(mm)))
            }
            Self::FrameVertex => figure("millimetres, like 13", &bounds::VERTEX_MM, |mm| Some(Answer::Millimetres(mm))),
            Self::ClearerWith { before: None }
            | Self::MoreLetters { before: None }
            | Self::WhichPosition
            | Self::FanFirstOfTwo
            | Self::FanEqual
            | Self::Reflex
            | Self::ClearerEye
            | Self::Complaint
            | Self::YesOrNo
            | Self::WorkingLens
            | Self::LineMoves { .. }
            | Self::StartFrom { .. }
            | Self::Ready
            | Self::Next(_)
            | Self::RedFlags { .. }
            | Self::PresentGlasses
            | Self::PreferredEye
            | Self::WithoutLetters
            | Self::Unrefracted
            | Self::WetOrDry
            | Self::Written(_) => None,
        }
    }

    /// Whether an eye is tested alone by it, so that the other is covered, where it is about one eye.
    pub fn tests_an_eye_alone(&self) -> bool {
        match self {
            Self::ClearerWith { .. }
            | Self::MoreLetters { .. }
            | Self::WhichPosition
            | Self::LineRead
            | Self::FanLine
            | Self::FanFirstOfTwo
            | Self::FanEqual
            | Self::SlitMeridian
            | Self::YesOrNo => true,
            // the fellow eye looks into the distance, both are compared, or nothing is looked at
            Self::Reflex
            | Self::ObliqueMeridian
            | Self::ClearerEye
            | Self::PrintRead
            | Self::NearestClear
            | Self::FarthestClear
            | Self::Age
            | Self::Complaint
            | Self::ChartDistance
            | Self::EyePd(_)
            | Self::WorkingLens
            | Self::WorkingDistance
            | Self::LineMoves { .. }
            | Self::StartFrom { .. }
            | Self::Ready
            | Self::Next(_)
            | Self::RedFlags { .. }
            | Self::PresentGlasses
            | Self::OldGlasses(_)
            | Self::OldAddition
            | Self::NearTask
            | Self::PreferredEye
            | Self::WithoutLetters
            | Self::Unrefracted
            | Self::WetOrDry
            | Self::FrameVertex
            | Self::Written(_) => false,
        }
    }

    /// Whether it is answered by what is seen with what stands before the eyes, by the person or in the retinoscope: such a
    /// question is a presentation; the others are about the person, the room or the examiner's choice.
    pub fn is_about_what_is_seen(&self) -> bool {
        match self {
            Self::ClearerWith { .. }
            | Self::MoreLetters { .. }
            | Self::WhichPosition
            | Self::LineRead
            | Self::FanLine
            | Self::FanFirstOfTwo
            | Self::FanEqual
            | Self::SlitMeridian
            | Self::Reflex
            | Self::ObliqueMeridian
            | Self::ClearerEye
            | Self::PrintRead
            | Self::NearestClear
            | Self::FarthestClear => true,
            Self::Age
            | Self::Complaint
            | Self::ChartDistance
            | Self::EyePd(_)
            | Self::YesOrNo
            | Self::WorkingLens
            | Self::WorkingDistance
            | Self::LineMoves { .. }
            | Self::StartFrom { .. }
            | Self::Ready
            | Self::Next(_)
            | Self::RedFlags { .. }
            | Self::PresentGlasses
            | Self::OldGlasses(_)
            | Self::OldAddition
            | Self::NearTask
            | Self::PreferredEye
            | Self::WithoutLetters
            | Self::Unrefracted
            | Self::WetOrDry
            | Self::FrameVertex
            | Self::Written(_) => false,
        }
    }

    /// Whether a further minus is asked about, which the young take for its blackness alone.
    pub fn is_about_letters(&self) -> bool {
        match self {
            Self::MoreLetters { .. } => true,
            Self::ClearerWith { .. }
            | Self::WhichPosition
            | Self::LineRead
            | Self::FanLine
            | Self::FanFirstOfTwo
            | Self::FanEqual
            | Self::SlitMeridian
            | Self::Reflex
            | Self::ObliqueMeridian
            | Self::ClearerEye
            | Self::PrintRead
            | Self::NearestClear
            | Self::FarthestClear
            | Self::Age
            | Self::Complaint
            | Self::ChartDistance
            | Self::EyePd(_)
            | Self::YesOrNo
            | Self::WorkingLens
            | Self::WorkingDistance
            | Self::LineMoves { .. }
            | Self::StartFrom { .. }
            | Self::Ready
            | Self::Next(_)
            | Self::RedFlags { .. }
            | Self::PresentGlasses
            | Self::OldGlasses(_)
            | Self::OldAddition
            | Self::NearTask
            | Self::PreferredEye
            | Self::WithoutLetters
            | Self::Unrefracted
            | Self::WetOrDry
            | Self::FrameVertex
            | Self::Written(_) => false,
        }
    }

    /// Whether an answer, by key or typed, is one to this question.
    pub fn accepts(&self, answer: Answer) -> bool {
        // any procedure can be gone on with, not only those proposed
        let goes_on = matches!(self, Self::Next(_) | Self::Written(_)) && answer.is_to_go_on();
        let chosen = || self.choices().iter().any(|choice| choice.answer == answer);
        goes_on || chosen() || self.typed().is_some_and(|typed| typed.gives(answer))
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
        let Some(now) = answer.acuity() else { return answer };
        match self {
            Self::ClearerWith { before: Some(before) } => match gained(*before, now) {
                gain if gain > letter => Answer::Clearer,
                gain if gain < -letter => Answer::Worse,
                _ => Answer::Same,
            },
            Self::MoreLetters { before: Some(before) } => {
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

/// What can be typed as an answer.
#[derive(Debug, Clone, Copy)]
pub struct Typed {
    /// What it is, with an example; of a line [`AcuityNotation::hint`] says it in the examiner's notation.
    pub hint: &'static str,
    /// How it is read.
    pub reads: Reads,
}

/// The sizes of print of a usual near chart, in points: N5 to N36.
const PRINT_N: [f64; 8] = [5.0, 6.0, 8.0, 10.0, 12.0, 18.0, 24.0, 36.0];

/// How a typed answer is read.
#[derive(Debug, Clone, Copy)]
pub enum Reads {
    /// As the line of a chart.
    Line,
    /// As the power of one eye.
    Power,
    /// As a figure.
    Figure {
        /// Its row in the table of ranges.
        row: &'static Range,
        /// The answer that it makes; `None` when it lies between two answers.
        answer: fn(f64) -> Option<Answer>,
    },
}

impl Typed {
    /// Whether something that can be typed gives this answer.
    fn gives(&self, answer: Answer) -> bool {
        match (self.reads, answer) {
            (Reads::Line, Answer::Read(acuity)) => acuity.log_mar().is_none_or(f64::is_finite),
            (Reads::Power, Answer::Power(power)) => may_be_written(power),
            (Reads::Line | Reads::Power, _) => false,
            (Reads::Figure { row, answer: of }, given) => {
                figure_of(given).is_some_and(|figure| row.contains(figure) && of(figure) == Some(given))
            }
        }
    }
}

/// The figure that makes an answer; `None` for answers that no figure makes.
fn figure_of(answer: Answer) -> Option<f64> {
    match answer {
        Answer::HalfHours(halves) => Some(f64::from(halves) / 2.0),
        Answer::Degrees(degrees) => Some(f64::from(degrees)),
        Answer::Years(years) => Some(f64::from(years)),
        Answer::Centimetres(figure)
        | Answer::Metres(figure)
        | Answer::Millimetres(figure)
        | Answer::Dioptres(figure)
        | Answer::Print(figure) => Some(figure),
        Answer::Clearer
        | Answer::Same
        | Answer::Worse
        | Answer::Yes
        | Answer::No
        | Answer::First
        | Answer::Second
        | Answer::Read(_)
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
        | Answer::Power(_)
        | Answer::End(_) => None,
    }
}

fn whole(figure: f64) -> Option<f64> {
    (figure.fract() == 0.0).then_some(figure)
}

fn half_hours(hours: f64) -> Option<Answer> {
    whole(2.0 * hours).map(|halves| Answer::HalfHours(halves as u8))
}

fn degrees(degrees: f64) -> Option<Answer> {
    whole(degrees).map(|degrees| Answer::Degrees(degrees as u16))
}

fn years(years: f64) -> Option<Answer> {
    whole(years).map(|years| Answer::Years(years as u8))
}

fn named(answers: &[(&'static str, Answer)]) -> Vec<(Sentence, Answer)> {
    answers.iter().map(|&(label, answer)| (label.into(), answer)).collect()
}

/// A line of the fan by its two hours: `1-7`.
fn clock(hour: u8) -> Sentence {
    sentence![Part::Figure(f64::from(hour)), "-", Part::Figure(f64::from(hour + 6))]
}

fn fan_lines() -> impl Iterator<Item = (Sentence, Answer)> {
    (1..=6).map(|hour| (clock(hour), Answer::HalfHours(2 * hour)))
}

fn centimetres(distances: &[f64]) -> Vec<(Sentence, Answer)> {
    distances.iter().map(|&cm| (sentence![Part::Figure(cm), " cm"], Answer::Centimetres(cm))).collect()
}
