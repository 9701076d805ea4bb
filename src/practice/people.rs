//! Who is examined: people drawn from the table of counts, and what they complain of.

use libm::log10;

use super::care::{Care, Traits};
use super::counts;
use super::draws::Draws;
use super::law::Law;
use super::sight::{Condition, Look, PracticeEye};
use crate::exam::Complaint;
use crate::optics::{Eye, Eyes, Power};

/// Differences of the left eye from the right one mirrored: standard deviations of M, J0 and J45 in dioptres.
const LEFT_DIFFERS_D: [f64; 3] = [0.45, 0.18, 0.15];

/// The youngest and the oldest who are drawn, in years.
const AGES: [u8; 2] = [15, 75];

/// Up to this age all years are alike; from there on they thin out to half at the oldest.
const LEVEL_TO_YEARS: u8 = 50;

/// Unaided log MAR of the better eye above which somebody complains of what is far.
const FAR_COMPLAINT_LOG_MAR: f64 = 0.12;

/// Small print: its size in log MAR when it is 40 cm away.
pub const PRINT_LOG_MAR: f64 = 0.35;
/// The distance for which its size is said, in metres.
pub const PRINT_M: f64 = 0.40;

/// Somebody who is more short-sighted than this holds print at the nose, in dioptres.
const AT_THE_NOSE_D: f64 = -6.67;

/// Half of a usual pupillary distance, in millimetres: common practice, no source.
const USUAL_EYE_PD_MM: f64 = 31.5;

/// Whether somebody answers what is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Habit {
    /// By what is seen.
    #[default]
    Answers,
    /// Every change is said to be better, whatever is seen.
    AlwaysBetter,
}

/// The room in which somebody is examined.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// How far the chart is, in metres.
    pub chart_m: f64,
    /// How far print is held, in metres.
    pub near_m: f64,
    /// How far the retinoscope is, in metres.
    pub working_m: f64,
}

impl Room {
    /// The usual one: chart at 6 m, print at 40 cm, retinoscope at 2/3 m.
    pub const USUAL: Self = Self { chart_m: 6.0, near_m: PRINT_M, working_m: 2.0 / 3.0 };
}

/// A person with two practice eyes.
#[derive(Debug, Clone, PartialEq)]
pub struct Person {
    /// Age in whole years.
    pub age_years: u8,
    /// The eyes.
    pub eyes: Eyes<PracticeEye>,
    /// What the person complains of.
    pub complaint: Complaint,
    /// How steadily the person sees and answers.
    pub traits: Traits,
    /// By which law.
    pub law: Law,
    /// Accommodation that is not relaxed when the exam begins, in dioptres.
    pub tone_d: f64,
    /// Whether the person answers what is asked.
    pub habit: Habit,
    /// Pupillary distance of each eye from the middle of the nose, in millimetres.
    pub eye_pd_mm: Eyes<f64>,
    /// Pupillary distance of each eye to which the frame is set, in millimetres; `None` when it is the eye's own.
    pub frame_pd_mm: Eyes<Option<f64>>,
    /// The room.
    pub room: Room,
}

/// The streams of chance that one person uses up.
#[derive(Debug, Clone, Copy)]
pub(super) enum Stream {
    Who,
    Traits,
    Answers,
    Retest,
    Slip,
}

/// Streams reserved for each person.
const STREAMS: u64 = 8;

pub(super) fn stream(seed: u64, number: u64, stream: Stream) -> Draws {
    Draws::new(seed, number * STREAMS + stream as u64)
}

impl Person {
    /// The person of this number under a seed: who it is depends on nothing else, how it sees and answers on care and law.
    pub fn drawn(seed: u64, number: u64, care: Care, law: Law) -> Self {
        let draws = &mut stream(seed, number, Stream::Who);
        let right = counts::need(draws);
        let mut differs = || LEFT_DIFFERS_D.map(|deviation| draws.normal(deviation));
        let [m, j0, j45] = differs();
        let left = Power { m: right.m + m, j0: right.j0 + j0, j45: -right.j45 + j45 };
        let age_years = age(draws);
        Self::seeing(Eyes::new(right, left), age_years, (care, law), None, &mut stream(seed, number, Stream::Traits))
    }

    /// Somebody of these needs; how that person sees and answers is drawn under a seed by care and law, but for the best log
    /// MAR where that is known.
    pub fn of_needs(
        needs: Eyes<Power>,
        age_years: u8,
        (care, law): (Care, Law),
        best_log_mar: Option<f64>,
        seed: u64,
    ) -> Self {
        Self::seeing(needs, age_years, (care, law), best_log_mar, &mut stream(seed, 0, Stream::Traits))
    }

    fn seeing(
        needs: Eyes<Power>,
        age_years: u8,
        (care, law): (Care, Law),
        best_log_mar: Option<f64>,
        draws: &mut Draws,
    ) -> Self {
        let drawn = Traits::drawn(care, law, draws);
        let traits = Traits { best_log_mar: best_log_mar.unwrap_or(drawn.best_log_mar), ..drawn };
        let tone_d = if law == Law::Tone { tone_d(age_years, draws) } else { 0.0 };
        Self { tone_d, ..Self::new(needs, age_years, traits, law) }
    }

    /// Somebody of these needs in the usual room, with the complaint that follows from them.
    pub fn new(needs: Eyes<Power>, age_years: u8, traits: Traits, law: Law) -> Self {
        let eyes = needs.map(|needs| PracticeEye {
            needs,
            best_log_mar: traits.best_log_mar,
            pupil: traits.pupil,
            accommodation: traits.accommodation,
            age_years: f64::from(age_years),
            law,
        });
        Self {
            age_years,
            eyes,
            complaint: complaint(&eyes),
            traits,
            law,
            tone_d: 0.0,
            habit: Habit::Answers,
            eye_pd_mm: Eyes::both(USUAL_EYE_PD_MM),
            frame_pd_mm: Eyes::both(None),
            room: Room::USUAL,
        }
    }

    /// What each eye needs.
    pub fn needs(&self) -> Eyes<Power> {
        self.eyes.map(|eye| eye.needs)
    }

    /// Whether print is held at the nose to be read with this eye.
    pub fn holds_print_at_the_nose(&self, eye: Eye) -> bool {
        self.eyes[eye].needs.m < AT_THE_NOSE_D
    }
}

/// The log MAR of print of the usual size so many metres away.
pub fn print_log_mar(metres: f64) -> f64 {
    PRINT_LOG_MAR + log10(PRINT_M / metres)
}

/// What somebody complains of, without lenses.
pub fn complaint(eyes: &Eyes<PracticeEye>) -> Complaint {
    let best =
        |look: Look| eyes.iter().map(|(_, eye)| eye.log_mar(&look, Condition::default())).fold(f64::INFINITY, f64::min);
    let far = best(Look::at_chart(Power::ZERO, Room::USUAL.chart_m)) > FAR_COMPLAINT_LOG_MAR;
    let near = !(5..=40).any(|cm| {
        let metres = f64::from(cm) / 100.0;
        best(Look::at_print(Power::ZERO, metres)) <= print_log_mar(metres)
    });
    match (far, near) {
        (true, true) => Complaint::BlurEverywhere,
        (true, false) => Complaint::FarBlur,
        (false, true) => Complaint::NearOnly,
        (false, false) => Complaint::Nothing,
    }
}

/// An age: level, then thinning out.
fn age(draws: &mut Draws) -> u8 {
    let [youngest, oldest] = AGES;
    let weight = |age: u8| {
        let beyond = f64::from(age.saturating_sub(LEVEL_TO_YEARS));
        1.0 - 0.5 * beyond / f64::from(oldest - LEVEL_TO_YEARS)
    };
    let all: f64 = (youngest..=oldest).map(weight).sum();
    let mut left = draws.share() * all;
    (youngest..oldest)
        .find(|&age| {
            left -= weight(age);
            left < 0.0
        })
        .unwrap_or(oldest)
}

/// Accommodation that is not relaxed (law `tone`), in dioptres: half of a normal curve, at most a dioptre, below 40 years.
fn tone_d(age_years: u8, draws: &mut Draws) -> f64 {
    let drawn = draws.normal(0.5).abs().min(1.0);
    if age_years < YOUNG_BELOW_YEARS { drawn } else { 0.0 }
}

/// Below this age more minus looks blacker (law `blacker`) and tone is not relaxed (law `tone`).
pub(super) const YOUNG_BELOW_YEARS: u8 = 40;
