//! What a person with practice eyes answers to what the guide presents.

use libm::{log10, pow};

use super::examinee::{Compared, Examinee, FanSeen, ReflexSeen, line_on_the_dial_deg};
use super::people::{Habit, Room};
use super::sight::{Aperture, FAR_M, Look};
use crate::exam::{Answer, Exam, NearTask, PresentGlasses, ProcedureName};
use crate::guide::{Presentation, Question, Show};
use crate::optics::acuity::{LETTER_LOG_MAR, LINES_6_M};
use crate::optics::near_print::print_points;
use crate::optics::{Acuity, Eye, Eyes, Power, bounds};

/// What really stands before both eyes for one question, with what the hand holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// With what the person compares.
    pub from: Eyes<Power>,
    /// What is shown; of two positions the first.
    pub to: Eyes<Power>,
    /// The second of two positions.
    pub flipped: Eyes<Power>,
    /// Where the chart stands in metres, once that was said: it may be moved in an exam.
    pub chart_m: Option<f64>,
}

/// The top line of a chart for 6 m: 6/60.
const TOP_LINE_LOG_MAR: f64 = 1.0;

impl Standing {
    /// What stands there in the cells and the hand of an exam.
    pub fn of(presentation: &Presentation, exam: &Exam) -> Self {
        let fitted = &exam.state().fitted;
        let to = Eyes::from_fn(|eye| fitted.in_front_of(eye).net_with_hand);
        let mut flipped = to;
        if let Show::CrossCylinder { eye, second, .. } = presentation.show {
            flipped[eye] = fitted.in_front_of_flipped(eye, u16::from(second.degrees())).net_with_hand;
        }
        Self { from: presentation.shown.from, to, flipped, chart_m: exam.state().person.chart_metres }
    }
}

impl Examinee {
    /// The answer to what is presented, by what stands there; `None` where there is nothing to say to it, so that the examiner
    /// passes it over, and for the examiner's own choice of what comes next.
    #[expect(clippy::too_many_lines, reason = "one list: the answer to every question")]
    pub fn answer(&mut self, presentation: &Presentation, standing: &Standing) -> Option<Answer> {
        if presentation.question.is_about_what_is_seen() {
            self.is_asked();
        }
        // nobody of the written law wears glasses
        if presentation.procedure == Some(ProcedureName::Neutralisation) {
            return None;
        }
        let mut room = self.person().room;
        if presentation.question != Question::ChartDistance {
            room.chart_m = standing.chart_m.unwrap_or(room.chart_m);
        }
        let near = presentation.procedure == Some(ProcedureName::Near);
        let aperture = match presentation.show {
            Show::Pinhole { .. } => Aperture::Pinhole,
            Show::Slit { meridian: Some(meridian), .. } => Aperture::Slit { along_deg: f64::from(meridian.degrees()) },
            Show::AsItIs
            | Show::Compare
            | Show::BuildIn
            | Show::CrossCylinder { .. }
            | Show::Slit { meridian: None, .. }
            | Show::Sweep { .. } => Aperture::Pupil,
        };
        let look = |before: Power| {
            let look = if near { Look::at_print(before, room.near_m) } else { Look::at_chart(before, room.chart_m) };
            Look { aperture, ..look }
        };
        let looks = |powers: Eyes<Power>| powers.map(look);
        let eye = presentation.eye;
        let at_work = eye.unwrap_or(Eye::Right);
        let to = look(standing.to[at_work]);
        Some(match &presentation.question {
            Question::ClearerWith { .. } => {
                let black = self.blackness(eye, &looks(standing.from), &looks(standing.to));
                match self.compares_looks(eye, &looks(standing.from), &looks(standing.to), black) {
                    Compared::Clearer => Answer::Clearer,
                    Compared::Same => Answer::Same,
                    Compared::Worse => Answer::Worse,
                }
            }
            // asked for letters, not for blackness
            Question::MoreLetters { .. } => {
                match self.compares_looks(eye, &looks(standing.from), &looks(standing.to), 0.0) {
                    Compared::Clearer => Answer::Yes,
                    Compared::Same | Compared::Worse => Answer::No,
                }
            }
            Question::WhichPosition => {
                second_or_first(self.compares_looks(eye, &looks(standing.to), &looks(standing.flipped), 0.0))
            }
            Question::LineRead => {
                let seen = self.sees_look(eye, &looks(standing.to));
                let read = self.reads(seen, room.chart_m);
                Answer::Read(read.map_or(Acuity::NoLetter, |log_mar| acuity_of(log_mar, room.chart_m)))
            }
            Question::FanLine => match self.looks_at_fan(at_work, &to) {
                FanSeen::Alike => Answer::Same,
                FanSeen::Two(hour) => {
                    self.remember_line(2 * hour + 1);
                    Answer::TwoLines
                }
                FanSeen::Line(hour) => {
                    self.remember_line(2 * hour);
                    Answer::HalfHours(2 * hour)
                }
            },
            Question::FanFirstOfTwo => Answer::HalfHours(self.remembered_line()?),
            Question::FanEqual => {
                let line_deg = line_on_the_dial_deg(f64::from(self.remembered_line()?) / 2.0);
                match self.still_stands_out(at_work, &to, line_deg) {
                    Some(true) => Answer::Yes,
                    Some(false) => Answer::Across,
                    None => Answer::Same,
                }
            }
            Question::SlitMeridian => self.turns_slit(at_work, &to).map_or(Answer::Same, Answer::Degrees),
            Question::Reflex => {
                let Show::Sweep { meridian, .. } = presentation.show else { return None };
                let swept = f64::from(meridian.degrees());
                match self.shows_reflex(at_work, standing.to[at_work], swept, room.working_m) {
                    ReflexSeen::With { dull } => Answer::With { dull },
                    ReflexSeen::Against { dull } => Answer::Against { dull },
                    ReflexSeen::Neutral => Answer::Neither,
                    ReflexSeen::Breaks => Answer::Breaks,
                }
            }
            Question::ObliqueMeridian => Answer::Degrees(self.shows_meridian(at_work, standing.to[at_work])),
            Question::ClearerEye => {
                let seen = Eyes::from_fn(|eye| look(standing.to[eye]));
                let (right, left) = (self.sees(Eye::Right, &seen.right), self.sees(Eye::Left, &seen.left));
                second_or_first(self.compares_alike(right, left))
            }
            Question::PrintRead => {
                let seen = self.sees_with_both(&looks(standing.to));
                let read = self.reads(seen, FAR_M).map(|log_mar| print_points(pow(10.0, log_mar), room.near_m));
                let sizes = presentation.choices.iter().filter_map(|choice| choice.answer.print_points());
                // the smallest of the card that is not too small
                let smallest = read.and_then(|read| sizes.filter(|&size| size >= read).min_by(f64::total_cmp));
                smallest.map_or(Answer::No, Answer::Print)
            }
            Question::NearestClear => Answer::Centimetres(f64::from(self.reads_print(&standing.to)?[0])),
            Question::FarthestClear => Answer::Centimetres(f64::from(self.reads_print(&standing.to)?[1])),
            Question::Age => Answer::Years(self.person().age_years),
            Question::Complaint => Answer::Says(self.person().complaint),
            Question::ChartDistance => Answer::Metres(room.chart_m),
            Question::WorkingDistance => Answer::Metres(room.working_m),
            Question::EyePd(eye) => Answer::Millimetres(self.person().eye_pd_mm[*eye]),
            Question::YesOrNo if presentation.procedure == Some(ProcedureName::FirstLens) => {
                if self.person().holds_print_at_the_nose(at_work) { Answer::Yes } else { Answer::No }
            }
            Question::YesOrNo => Answer::Yes,
            // the first way is taken
            Question::WorkingLens | Question::StartFrom { .. } | Question::Ready => {
                presentation.choices.first()?.answer
            }
            // the examiner's choice; and there are no glasses to read
            Question::LineMoves { .. }
            | Question::Next(_)
            | Question::Written(_)
            | Question::OldGlasses(_)
            | Question::OldAddition => return None,
            // nobody holds a ruler to the frame
            Question::RedFlags { .. } | Question::FrameVertex => Answer::No,
            Question::PresentGlasses => Answer::Glasses(PresentGlasses::None),
            Question::NearTask if room.near_m == Room::USUAL.near_m => Answer::Task(NearTask::Reading),
            Question::NearTask => Answer::Centimetres(room.near_m * 100.0),
            // nobody tested it
            Question::PreferredEye => Answer::Same,
            Question::WithoutLetters => Answer::Read(Acuity::NoLetter),
            // the first way is taken
            Question::Unrefracted | Question::WetOrDry => Answer::First,
        })
    }

    fn sees_look(&mut self, eye: Option<Eye>, looks: &Eyes<Look>) -> f64 {
        match eye {
            Some(eye) => self.sees(eye, &looks[eye]),
            None => self.sees_with_both(looks),
        }
    }

    pub(super) fn compares_looks(
        &mut self,
        eye: Option<Eye>,
        first: &Eyes<Look>,
        second: &Eyes<Look>,
        blacker: f64,
    ) -> Compared {
        let (first, second) = (self.sees_look(eye, first), self.sees_look(eye, second));
        let compared = self.compares(first, second, blacker);
        match self.person().habit {
            Habit::Answers => compared,
            Habit::AlwaysBetter => Compared::Clearer,
        }
    }

    pub(super) fn blackness(&self, eye: Option<Eye>, first: &Eyes<Look>, second: &Eyes<Look>) -> f64 {
        let of = |eye: Eye| self.blacker(eye, &first[eye], &second[eye]);
        eye.map_or_else(|| f64::midpoint(of(Eye::Right), of(Eye::Left)), of)
    }

    fn reads_print(&mut self, before: &Eyes<Power>) -> Option<[u16; 2]> {
        self.reads_print_between_cm(before, [bounds::CLEAR_CM.least as u16, bounds::CLEAR_CM.most as u16])
    }
}

/// The second of two positions where it is clearer, or the left eye.
pub(super) fn second_or_first(compared: Compared) -> Answer {
    match compared {
        Compared::Clearer => Answer::Second,
        Compared::Same => Answer::Same,
        Compared::Worse => Answer::First,
    }
}

/// A reading as it is said: a line of the chart so many metres away, with letters missed or gained.
pub fn acuity_of(log_mar: f64, chart_m: f64) -> Acuity {
    let nearer = log10(FAR_M / chart_m);
    let on_chart = log_mar - nearer;
    if let Some(line) = LINES_6_M.iter().find(|line| (log10(*line / FAR_M) - on_chart).abs() < 1e-6) {
        return Acuity::Line { mar: line / chart_m, letters: 0 };
    }
    // a line is named from three of its letters on
    let line = (((on_chart - 2.0 * LETTER_LOG_MAR - 1e-6) * 10.0).ceil() / 10.0).min(TOP_LINE_LOG_MAR);
    let letters = ((line - on_chart) / LETTER_LOG_MAR).round() as i8;
    Acuity::Line { mar: pow(10.0, line + nearer), letters }
}
