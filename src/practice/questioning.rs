//! One question put to one person again and again: what an eye answers, asked from outside and without any guide.

use libm::pow;

use super::examinee::{Compared, Examinee, FanSeen, ReflexSeen, line_on_the_dial_deg};
use super::people::{Person, Stream, stream};
use super::sight::{Aperture, Condition, Look};
use crate::optics::power::fold_axis;
use crate::optics::{Eye, Power};

/// The eye that is asked.
const ASKED: Eye = Eye::Right;

/// What is asked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Asking {
    /// The line that is read.
    Line,
    /// Whether a second look is clearer or worse than the first.
    Compare {
        /// What stands before the eye in the second.
        and: Power,
    },
    /// Whether another letter is read in the second look.
    Letter {
        /// What stands before the eye in it.
        and: Power,
    },
    /// Which line of the fan is clearest.
    Fan,
    /// How the light in the pupil moves when the streak is swept across itself.
    Streak {
        /// The direction in which the streak lies, in degrees on the dial.
        lies_deg: f64,
        /// The distance of the retinoscope in metres.
        metres: f64,
    },
}

/// Questions to the right eye of one person, who remembers those before as in an exam.
#[derive(Debug, Clone, PartialEq)]
pub struct Questioning {
    /// The person, as before the first question.
    pub person: Person,
    /// What stands before the eye, in the first of two looks.
    pub before: Power,
    /// Through what it looks besides.
    pub aperture: Aperture,
    /// What is asked.
    pub asking: Asking,
}

/// What was answered, all questions together; what was not asked about stays empty.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Answers {
    /// Lines read, true log MAR with the distance of the chart in it, in the order of the questions.
    pub log_mar: Vec<f64>,
    /// Readings without a letter.
    pub no_letter: usize,
    /// The second look clearer, or another letter read.
    pub clearer: usize,
    /// Both alike, or no further letter.
    pub same: usize,
    /// The second look worse.
    pub worse: usize,
    /// The clearest line of the fan by its direction on the dial in degrees, above 0 and up to 180; half-way where two
    /// neighbours are clearest, `None` where all are alike.
    pub lines_deg: Vec<Option<f64>>,
    /// Movement with the sweep.
    pub with: usize,
    /// Movement against it.
    pub against: usize,
    /// No movement.
    pub neither: usize,
}

impl Questioning {
    /// The minimum angle of resolution of the first look in minutes of arc, before the first question and without any chance.
    pub fn mar(&self) -> f64 {
        let condition = Condition { tone_d: self.person.tone_d, ..Condition::default() };
        pow(10.0, self.person.eyes[ASKED].log_mar(&self.look(self.before), condition))
    }

    /// Asks as many times in a row; a seed gives the same answers on every machine.
    pub fn ask(&self, times: usize, seed: u64) -> Answers {
        let mut examinee = Examinee::new(self.person.clone(), stream(seed, 0, Stream::Answers));
        let mut answers = Answers::default();
        for _ in 0..times {
            examinee.is_asked();
            self.ask_once(&mut examinee, &mut answers);
        }
        answers
    }

    fn ask_once(&self, examinee: &mut Examinee, answers: &mut Answers) {
        let first = self.look(self.before);
        match self.asking {
            Asking::Line => {
                let seen = examinee.sees(ASKED, &first);
                match examinee.reads(seen, self.person.room.chart_m) {
                    Some(log_mar) => answers.log_mar.push(log_mar),
                    None => answers.no_letter += 1,
                }
            }
            Asking::Compare { and } => {
                let second = self.look(and);
                let blacker = examinee.blacker(ASKED, &first, &second);
                match compares(examinee, &first, &second, blacker) {
                    Compared::Clearer => answers.clearer += 1,
                    Compared::Same => answers.same += 1,
                    Compared::Worse => answers.worse += 1,
                }
            }
            // asked for letters, not for blackness
            Asking::Letter { and } => match compares(examinee, &first, &self.look(and), 0.0) {
                Compared::Clearer => answers.clearer += 1,
                Compared::Same | Compared::Worse => answers.same += 1,
            },
            Asking::Fan => {
                let line = |hour: f64| Some(fold_axis(line_on_the_dial_deg(hour)));
                answers.lines_deg.push(match examinee.looks_at_fan(ASKED, &first) {
                    FanSeen::Alike => None,
                    FanSeen::Line(hour) => line(f64::from(hour)),
                    FanSeen::Two(hour) => line(f64::from(hour) + 0.5),
                });
            }
            Asking::Streak { lies_deg, metres } => {
                match examinee.shows_movement(ASKED, self.before, lies_deg + 90.0, metres) {
                    ReflexSeen::With { .. } => answers.with += 1,
                    ReflexSeen::Against { .. } => answers.against += 1,
                    ReflexSeen::Neutral | ReflexSeen::Breaks => answers.neither += 1,
                }
            }
        }
    }

    fn look(&self, before: Power) -> Look {
        Look { aperture: self.aperture, ..Look::at_chart(before, self.person.room.chart_m) }
    }
}

fn compares(examinee: &mut Examinee, first: &Look, second: &Look, blacker: f64) -> Compared {
    let (first, second) = (examinee.sees(ASKED, first), examinee.sees(ASKED, second));
    examinee.compares(first, second, blacker)
}
