//! A person with known eyes who always answers truthfully and alike.
//!
//! The blur of an eye that still misses `E` (after accommodating what it can) is MAR = √(MAR0² + (k u)²), u the blur strength,
//! with k so that an eye of 6/5 reads 6/12 through +1.00 (common practice, no source).
#![expect(clippy::disallowed_methods, reason = "a check that shares nothing with what it checks")]

use dioptray::exam::{Answer, Complaint};
use dioptray::guide::question::LINES_6_M;
use dioptray::guide::{Presentation, Question, Show};
use dioptray::optics::{Acuity, Axis, Dioptres, Eye, Eyes, Power};

const MAR0: f64 = 0.832;
const NOTICED_LOG_MAR: f64 = 0.02;

pub struct Person {
    pub needs: Eyes<Power>,
    pub amplitude: f64,
    pub age: u8,
    pub complaint: Complaint,
    pub working_metres: f64,
    pub near_metres: f64,
    pub chart_metres: f64,
    /// The line of the fan that was named last, in degrees on the dial.
    line_deg: f64,
}

pub fn rx(sphere: f64, cylinder: f64, axis: f64) -> Power {
    Power::sphere(Dioptres(sphere)) + Power::cylinder(Dioptres(cylinder), axis)
}

/// The dial direction of a line of the fan: the person faces the fan, the examiner faces the person, so 3 o'clock is 180.
fn line_direction(hour: f64) -> f64 {
    30.0 * hour + 90.0
}

fn mar(blur: f64) -> f64 {
    let k_squared = 4.0 - MAR0 * MAR0;
    (MAR0 * MAR0 + k_squared * blur * blur).sqrt()
}

impl Person {
    pub fn new(right: Power, left: Power, age: u8, complaint: Complaint) -> Self {
        Self {
            needs: Eyes::new(right, left),
            amplitude: (18.5 - 0.3 * f64::from(age)).max(0.0),
            age,
            complaint,
            working_metres: 2.0 / 3.0,
            near_metres: 0.4,
            chart_metres: 6.0,
            line_deg: 0.0,
        }
    }

    /// What is still missing, when the eye accommodates as it sees best.
    fn missing(&self, eye: Eye, before: Power, vergence: f64) -> Power {
        let needed = self.needs[eye] + Power::sphere(Dioptres(vergence));
        let missing = needed - before;
        missing + Power::sphere(Dioptres(-missing.m.clamp(0.0, self.amplitude)))
    }

    /// At far the vergence of the chart counts beyond what 6 m leaves out by habit.
    fn chart_vergence(&self) -> f64 {
        1.0 / self.chart_metres - 1.0 / 6.0
    }

    fn log_mar(&self, eye: Eye, before: Power, vergence: f64) -> f64 {
        mar(self.missing(eye, before, vergence).blur_strength()).log10()
    }

    /// Behind a slit only the meridian along it counts.
    fn log_mar_in(&self, eye: Eye, before: Power, meridian: f64) -> f64 {
        let missing = (self.needs[eye] - before).along(meridian);
        mar(missing - missing.clamp(0.0, self.amplitude)).log10()
    }

    fn line(log_mar: f64) -> Answer {
        let read = LINES_6_M.iter().rev().find(|&&line| (line / 6.0).log10() >= log_mar - NOTICED_LOG_MAR);
        Answer::Read(read.map_or(Acuity::NoLetter, |&line| Acuity::of_6_m(line)))
    }

    /// Sharpness of a line of the fan: the blur across it.
    fn line_log_mar(&self, eye: Eye, before: Power, direction: f64) -> f64 {
        let missing = self.missing(eye, before, 0.0);
        let across = (direction + 90.0).to_radians();
        let (x, y) = (across.cos(), across.sin());
        let blur_x = (missing.m + missing.j0) * x + missing.j45 * y;
        let blur_y = missing.j45 * x + (missing.m - missing.j0) * y;
        mar(blur_x.hypot(blur_y)).log10()
    }

    fn fan(&mut self, eye: Eye, before: Power) -> Answer {
        let lines: Vec<f64> =
            (1..=6).map(|hour| self.line_log_mar(eye, before, line_direction(f64::from(hour)))).collect();
        let clearest = (0..6).min_by(|&a, &b| lines[a].total_cmp(&lines[b])).unwrap();
        let worst = lines.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if worst - lines[clearest] < 2.0 * NOTICED_LOG_MAR {
            return Answer::Same;
        }
        let (next, previous) = ((clearest + 1) % 6, (clearest + 5) % 6);
        for neighbour in [next, previous] {
            if (lines[neighbour] - lines[clearest]).abs() < NOTICED_LOG_MAR {
                return Answer::TwoLines;
            }
        }
        let hour = clearest as u8 + 1;
        self.line_deg = line_direction(f64::from(hour));
        Answer::HalfHours(2 * hour)
    }

    fn fan_first_of_two(&mut self, eye: Eye, before: Power) -> Answer {
        let pair = |hour: i32| {
            let one = self.line_log_mar(eye, before, line_direction(f64::from(hour)));
            one + self.line_log_mar(eye, before, line_direction(f64::from(hour + 1)))
        };
        let hour = (1..=6).min_by(|&a, &b| pair(a).total_cmp(&pair(b))).unwrap();
        self.line_deg = line_direction(f64::from(hour) + 0.5);
        Answer::HalfHours(2 * hour as u8 + 1)
    }

    fn fan_equal(&self, eye: Eye, before: Power) -> Answer {
        let along = self.line_log_mar(eye, before, self.line_deg);
        let across = self.line_log_mar(eye, before, self.line_deg + 90.0);
        match across - along {
            d if d > NOTICED_LOG_MAR => Answer::Yes,
            d if d < -NOTICED_LOG_MAR => Answer::Across,
            _ => Answer::Same,
        }
    }

    fn slit_meridian(&self, eye: Eye, before: Power) -> Answer {
        let in_meridian = |degrees: u16| self.log_mar_in(eye, before, f64::from(degrees));
        let all: Vec<u16> = (1..=36).map(|five| five * 5).collect();
        let best = *all.iter().min_by(|&&a, &&b| in_meridian(a).total_cmp(&in_meridian(b))).unwrap();
        let worst = all.iter().map(|&a| in_meridian(a)).fold(f64::NEG_INFINITY, f64::max);
        if worst - in_meridian(best) < 2.0 * NOTICED_LOG_MAR { Answer::Same } else { Answer::Degrees(best) }
    }

    fn reflex(&self, eye: Eye, before: Power, meridian: Axis) -> Answer {
        let t = f64::from(meridian.degrees());
        let missing = self.needs[eye] + Power::sphere(Dioptres(1.0 / self.working_metres)) - before;
        let along = missing.along(t);
        let (sin, cos) = (2.0 * t).to_radians().sin_cos();
        let across = missing.j45 * cos - missing.j0 * sin;
        let dull = along.abs() > 2.0;
        match along {
            _ if across.abs() > 0.12 => Answer::Breaks,
            a if a > 0.12 => Answer::With { dull },
            a if a < -0.12 => Answer::Against { dull },
            _ => Answer::Neither,
        }
    }

    fn compared(from: f64, to: f64) -> Answer {
        match from - to {
            gain if gain > NOTICED_LOG_MAR => Answer::Clearer,
            gain if gain < -NOTICED_LOG_MAR => Answer::Worse,
            _ => Answer::Same,
        }
    }

    fn position(first: f64, second: f64) -> Answer {
        match second - first {
            gain if gain > NOTICED_LOG_MAR / 4.0 => Answer::First,
            gain if gain < -NOTICED_LOG_MAR / 4.0 => Answer::Second,
            _ => Answer::Same,
        }
    }

    /// The truthful answer to what is presented.
    pub fn answers(&mut self, presentation: &Presentation) -> Answer {
        let shown = presentation.shown;
        let eye = presentation.eye.unwrap_or(Eye::Right);
        let (from, to) = (shown.from[eye], shown.to[eye]);
        let near = presentation.procedure == Some(dioptray::exam::ProcedureName::Near);
        let vergence = if near { 1.0 / self.near_metres } else { self.chart_vergence() };
        let seen = |before: Power| self.log_mar(eye, before, vergence);
        let slit = match presentation.show {
            Show::Slit { meridian: Some(meridian), .. } => Some(f64::from(meridian.degrees())),
            _ => None,
        };
        let see = |before: Power| slit.map_or_else(|| seen(before), |m| self.log_mar_in(eye, before, m));
        match &presentation.question {
            Question::ClearerWith { .. } => Self::compared(see(from), see(to)),
            Question::MoreLetters { .. } => match Self::compared(see(from), see(to)) {
                Answer::Clearer => Answer::Yes,
                _ => Answer::No,
            },
            Question::WhichPosition => {
                let Show::CrossCylinder { power, first, second, .. } = presentation.show else {
                    panic!("two positions of what? {:?}", presentation.show)
                };
                let through = |minus_axis: Axis| see(to + Power::cross_cylinder(power, minus_axis));
                Self::position(through(first), through(second))
            }
            Question::LineRead if matches!(presentation.show, Show::Pinhole { .. }) => {
                Self::line(mar(0.3 * self.missing(eye, to, 0.0).blur_strength()).log10())
            }
            Question::LineRead => Self::line(see(to)),
            Question::FanLine => self.fan(eye, to),
            Question::FanFirstOfTwo => self.fan_first_of_two(eye, to),
            Question::FanEqual => self.fan_equal(eye, to),
            Question::SlitMeridian => self.slit_meridian(eye, to),
            Question::Reflex => {
                let Show::Sweep { meridian, .. } = presentation.show else {
                    panic!("a reflex of what? {:?}", presentation.show)
                };
                self.reflex(eye, to, meridian)
            }
            Question::ObliqueMeridian => {
                let axis = self.needs[eye].minus_form().axis;
                Answer::Degrees(((axis / 5.0).round() * 5.0) as u16)
            }
            Question::ClearerEye => {
                let right = self.log_mar(Eye::Right, shown.to.right, vergence);
                let left = self.log_mar(Eye::Left, shown.to.left, vergence);
                Self::position(right, left)
            }
            Question::NearestClear => {
                let over = (to - self.needs.right).m + self.amplitude;
                Answer::Centimetres((100.0 / over.max(0.01)).clamp(12.0, 200.0))
            }
            Question::FarthestClear => {
                Answer::Centimetres((100.0 / (to - self.needs.right).m.max(0.01)).clamp(12.0, 200.0))
            }
            Question::Age => Answer::Years(self.age),
            Question::Complaint => Answer::Says(self.complaint),
            Question::ChartDistance => Answer::Metres(self.chart_metres),
            Question::EyePd(_) => Answer::Millimetres(31.5),
            Question::YesOrNo if presentation.procedure == Some(dioptray::exam::ProcedureName::FirstLens) => {
                if self.needs[eye].m < -7.0 { Answer::Yes } else { Answer::No }
            }
            Question::WorkingLens | Question::StartFrom { retinoscopy: true, .. } => Answer::First,
            Question::StartFrom { old_glasses: true, .. } => Answer::Second,
            Question::YesOrNo | Question::StartFrom { .. } => Answer::Yes,
            Question::Ready => Answer::Done,
            Question::Next(choices) => {
                let (procedure, eye) = choices[0];
                Answer::Go { procedure, eye }
            }
        }
    }
}
