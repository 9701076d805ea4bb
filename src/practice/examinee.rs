//! A person who is examined: sees with chance and memory, and judges what is seen.

use libm::log10;

use super::draws::Draws;
use super::law::Law;
use super::people::{Person, YOUNG_BELOW_YEARS, print_log_mar};
use super::sight::{Condition, FAR_M, Look, PracticeEye};
use crate::optics::acuity::{LETTER_LOG_MAR, LINES_6_M};
use crate::optics::{Eye, Eyes, Power};

/// A difference that is noticed at 6/6 and better, in log MAR: one letter.
const NOTICED_LOG_MAR: f64 = LETTER_LOG_MAR;

/// The largest letters of a chart for 6 m, the last of them alone, and its smallest line, in log MAR: 6/60 and 6/3.
const CHART_LOG_MAR: [f64; 2] = [1.08, -0.30];

/// A line counts when three of its five letters are read (protocol in *Health Technol Assess* 2012;16(6), p. 147).
const LETTERS_TO_SPARE: f64 = 2.0;

/// Too much plus of this or more relaxes (law `tone`), in dioptres; so much of the tone stays after every two such looks.
const FOGGED_BY_D: f64 = 0.7;
const TONE_THAT_STAYS: f64 = 0.7;

/// Extents of the lines of the fan that differ by less are all alike, in dioptres: by 0.20, chance alone would show lines to a
/// third of the eyes without astigmatism.
const ALL_ALIKE_D: f64 = 0.30;
/// Two neighbours that differ by less are alike, in dioptres.
const TWO_ALIKE_D: f64 = 0.06;

/// Red needs so much more, green so much less, in dioptres.
const COLOUR_D: f64 = 0.25;

/// Nothing moves within this, in dioptres; beyond the second the reflex is dull and slow.
const NEUTRAL_WITHIN_D: f64 = 0.12;
const DULL_BEYOND_D: f64 = 2.0;

/// The band is seen to break away from the streak when at least so much, in dioptres, moves it off, and by more than 15
/// degrees: ours, no source.
const BREAKS_FROM_D: f64 = 0.30;
const BREAKS_FROM_TANGENT: f64 = 0.267_949_192_431_122_7;

/// How the second of two looks compares with the first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Compared {
    /// The second is clearer.
    Clearer,
    /// They are the same.
    Same,
    /// The second is worse.
    Worse,
}

/// What is said of the fan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FanSeen {
    /// All lines are alike.
    Alike,
    /// The line of this clock hour, 1 to 6, is clearest.
    Line(u8),
    /// The lines of this hour and the next are clearest.
    Two(u8),
}

/// How the light in the pupil moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReflexSeen {
    /// With the sweep.
    With {
        /// Dull and slow.
        dull: bool,
    },
    /// Against the sweep.
    Against {
        /// Dull and slow.
        dull: bool,
    },
    /// It fills the pupil at once.
    Neutral,
    /// It breaks away from the streak.
    Breaks,
}

/// The direction on the examiner's dial of the line that the person sees at this clock hour: the person faces the examiner, so
/// 3 o'clock is 180 and the line from 1 to 7 lies at 120.
pub fn line_on_the_dial_deg(hour: f64) -> f64 {
    (30.0 * hour + 90.0).rem_euclid(180.0)
}

/// What a person who is examined remembers.
#[derive(Debug, Clone, Default)]
struct Memory {
    questions: u32,
    readings: u32,
    slipped: bool,
    fogged_looks: u32,
    /// The line of the fan that was named last, by its clock hour in halves.
    half_hours: Option<u8>,
}

/// A person who is examined.
#[derive(Debug, Clone)]
pub struct Examinee {
    person: Person,
    draws: Draws,
    memory: Memory,
    tone_d: f64,
}

impl Examinee {
    /// The person, answering by this chance.
    pub fn new(person: Person, draws: Draws) -> Self {
        Self { tone_d: person.tone_d, person, draws, memory: Memory::default() }
    }

    /// Who it is.
    pub fn person(&self) -> &Person {
        &self.person
    }

    /// A question begins: some tire of them.
    pub fn is_asked(&mut self) {
        self.memory.questions += 1;
    }

    /// The line of the fan that was named last, by its clock hour in halves.
    pub fn remembered_line(&self) -> Option<u8> {
        self.memory.half_hours
    }

    /// Remembers the line of the fan that is named, by its clock hour in halves.
    pub fn remember_line(&mut self, half_hours: u8) {
        self.memory.half_hours = Some(half_hours);
    }

    /// The questions before this one.
    fn asked_before(&self) -> f64 {
        f64::from(self.memory.questions.saturating_sub(1))
    }

    /// How an eye is just now.
    pub fn condition(&self) -> Condition {
        let worse_log_mar = if self.person.law == Law::Tired { (0.003 * self.asked_before()).min(0.10) } else { 0.0 };
        Condition { tone_d: self.tone_d, worse_log_mar }
    }

    /// By how much noise is more than when the exam began.
    fn noise(&self) -> f64 {
        if self.person.law == Law::Tired { 1.0 + 0.04 * self.asked_before() } else { 1.0 }
    }

    /// What is left of what is missing when the eye has accommodated.
    fn left(&mut self, eye: PracticeEye, look: &Look) -> Power {
        let condition = self.condition();
        let missing = eye.missing(look);
        let mut spent_d = eye.spends_d(missing.m, condition);
        if eye.accommodates(look, condition) {
            spent_d += self.draws.normal(self.person.traits.wobble_d);
        }
        if missing.m <= -FOGGED_BY_D {
            self.memory.fogged_looks += 1;
            if self.memory.fogged_looks.is_multiple_of(2) {
                self.tone_d *= TONE_THAT_STAYS;
            }
        }
        eye.left(look, spent_d)
    }

    /// The log MAR of one look with one eye.
    pub fn sees(&mut self, eye: Eye, look: &Look) -> f64 {
        let (of_person, condition) = (self.person.eyes[eye], self.condition());
        let left = self.left(of_person, look);
        of_person.log_mar_with(left, look.aperture, condition)
    }

    /// The log MAR of one look with both eyes open: both spend what makes the clearer image clearest.
    pub fn sees_with_both(&mut self, looks: &Eyes<Look>) -> f64 {
        let condition = self.condition();
        let eyes = self.person.eyes;
        let alone = Eyes::from_fn(|eye| eyes[eye].log_mar(&looks[eye], condition));
        let clearer = if alone.right <= alone.left { Eye::Right } else { Eye::Left };
        let fellow = clearer.other();
        let left = self.left(eyes[clearer], &looks[clearer]);
        let spent_d = (eyes[clearer].missing(&looks[clearer]) - left).m;
        let one = eyes[clearer].log_mar_with(left, looks[clearer].aperture, condition);
        let of_fellow = eyes[fellow].left(&looks[fellow], spent_d);
        one.min(eyes[fellow].log_mar_with(of_fellow, looks[fellow].aperture, condition))
    }

    /// The line that is read where this is seen on a chart so many metres away: true log MAR, in letters; `None` for no letter.
    pub fn reads(&mut self, log_mar: f64, chart_m: f64) -> Option<f64> {
        let sd = self.person.traits.reading_log_mar * self.noise();
        let mut read = log_mar + self.draws.normal(sd);
        if self.person.law == Law::LearnsChart {
            read -= (0.015 * f64::from(self.memory.readings)).min(0.09);
        }
        if self.person.law == Law::Runs && self.draws.happens(0.04) {
            read += if self.draws.happens(0.5) { 0.2 } else { -0.2 };
        }
        self.memory.readings += 1;
        // what the letters of a chart for 6 m gain by being nearer
        let nearer = log10(FAR_M / chart_m);
        let letters = ((read - nearer) / LETTER_LOG_MAR).round() * LETTER_LOG_MAR;
        let [top, bottom] = CHART_LOG_MAR;
        if letters > top + LETTER_LOG_MAR / 2.0 {
            return None;
        }
        let read = letters.max(bottom);
        if self.person.law == Law::WholeLines {
            let lines = LINES_6_M.iter().rev().map(|line| log10(line / FAR_M));
            let enough = LETTERS_TO_SPARE * LETTER_LOG_MAR + 1e-9;
            return lines.into_iter().find(|line| *line >= read - enough).map(|line| line + nearer);
        }
        Some(read + nearer)
    }

    /// A comparison of two lenses, one after the other, through which so much was seen, in log MAR; `blacker` is what only looks
    /// blacker in the second.
    pub fn compares(&mut self, first: f64, second: f64, blacker: f64) -> Compared {
        let eager = if self.person.law == Law::Eager { 0.02 } else { 0.0 };
        self.judges(first, second, blacker + eager)
    }

    /// A comparison of two things of which none is a lens that is shown second, as of two eyes or two colours.
    pub fn compares_alike(&mut self, first: f64, second: f64) -> Compared {
        self.judges(first, second, 0.0)
    }

    fn judges(&mut self, first: f64, second: f64, favour: f64) -> Compared {
        if let Some(slip) = self.slips() {
            return slip;
        }
        let better_mar = libm::pow(10.0, first.min(second));
        let coarser = 1.0 + ((better_mar - 1.0) / 3.0).max(0.0);
        let tails = if self.person.law == Law::HeavyTails && self.draws.happens(0.1) { 4.0 } else { 1.0 };
        let sd = self.person.traits.comparison_log_mar * coarser * tails * self.noise();
        let gain = first - second + favour + self.draws.normal(sd);
        let noticed = if self.person.law == Law::NeverSame { 0.0 } else { NOTICED_LOG_MAR * coarser };
        match gain {
            gain if gain > noticed => Compared::Clearer,
            gain if gain < -noticed => Compared::Worse,
            _ => Compared::Same,
        }
    }

    /// An answer that has nothing to do with what is seen.
    fn slips(&mut self) -> Option<Compared> {
        let again = self.person.law == Law::Runs && self.memory.slipped;
        let share = if again { 0.5 } else { self.person.traits.slips };
        self.memory.slipped = self.draws.happens(share);
        if !self.memory.slipped {
            return None;
        }
        // who never says the same does not by a slip either
        let answers: &[Compared] = if self.person.law == Law::NeverSame {
            &[Compared::Clearer, Compared::Worse]
        } else {
            &[Compared::Clearer, Compared::Same, Compared::Worse]
        };
        Some(answers[(self.draws.share() * answers.len() as f64) as usize])
    }

    /// How much clearer a look is than another for its blackness alone, in log MAR: more minus, to a dioptre too much.
    pub fn blacker(&self, eye: Eye, first: &Look, second: &Look) -> f64 {
        if self.person.law != Law::Blacker || self.person.age_years >= YOUNG_BELOW_YEARS {
            return 0.0;
        }
        let too_minus = |look: &Look| self.person.eyes[eye].missing(look).m.min(1.0);
        0.12 * (too_minus(second) - too_minus(first))
    }

    /// What is said of the fan.
    pub fn looks_at_fan(&mut self, eye: Eye, look: &Look) -> FanSeen {
        let extents = self.fan(eye, look);
        let clearest = least(&extents);
        let most = extents.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if most - extents[clearest] < ALL_ALIKE_D {
            return FanSeen::Alike;
        }
        let (next, previous) = ((clearest + 1) % 6, (clearest + 5) % 6);
        let neighbour = if extents[next] <= extents[previous] { next } else { previous };
        if extents[neighbour] - extents[clearest] < TWO_ALIKE_D {
            let lower = if neighbour == next { clearest } else { previous };
            return FanSeen::Two(lower as u8 + 1);
        }
        FanSeen::Line(clearest as u8 + 1)
    }

    /// Whether the line that lies so on the dial stands out, the one across it (`false`), or none.
    pub fn still_stands_out(&mut self, eye: Eye, look: &Look, line_deg: f64) -> Option<bool> {
        let extents = self.fan(eye, look);
        let most = extents.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if most - extents[least(&extents)] < ALL_ALIKE_D {
            return None;
        }
        let clearest_deg = line_on_the_dial_deg(least(&extents) as f64 + 1.0);
        let off = (clearest_deg - line_deg).rem_euclid(180.0);
        Some(off.min(180.0 - off) <= 45.0)
    }

    /// How far the six lines are seen drawn out, in dioptres, from the one at 1 o'clock on.
    fn fan(&mut self, eye: Eye, look: &Look) -> [f64; 6] {
        let left = self.left(self.person.eyes[eye], look);
        let sd = self.person.traits.fan_d * self.noise();
        [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]
            .map(|hour| PracticeEye::drawn_out_d(left, line_on_the_dial_deg(hour)) + self.draws.normal(sd))
    }

    /// The direction of a turning slit in which it is clearest, in degrees on the dial in steps of 5; `None` where all are alike.
    ///
    /// Seen with the noise and the threshold of the fan: ours, no source.
    pub fn turns_slit(&mut self, eye: Eye, look: &Look) -> Option<u16> {
        let left = self.left(self.person.eyes[eye], look);
        let sd = self.person.traits.fan_d * self.noise();
        let seen: Vec<f64> =
            (1..=36).map(|five| left.along(5.0 * f64::from(five)).abs() + self.draws.normal(sd)).collect();
        let clearest = least(&seen);
        let most = seen.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        (most - seen[clearest] >= ALL_ALIKE_D).then_some(5 * (clearest as u16 + 1))
    }

    /// Which of red and green letters are clearer: `Clearer` for green.
    pub fn looks_at_red_and_green(&mut self, eye: Eye, look: &Look) -> Compared {
        let coloured = |change: f64| Look { vergence_d: look.vergence_d + change, ..*look };
        let (red, green) = (self.sees(eye, &coloured(COLOUR_D)), self.sees(eye, &coloured(-COLOUR_D)));
        self.compares_alike(red, green)
    }

    /// The distances at which print is clear through these lenses with both eyes, in whole centimetres, nearest and farthest.
    pub fn reads_print_between_cm(&mut self, before: &Eyes<Power>, within_cm: [u16; 2]) -> Option<[u16; 2]> {
        let missed = self.draws.normal(self.person.traits.reading_log_mar * self.noise());
        let condition = self.condition();
        let eyes = self.person.eyes;
        let clear = |cm: &u16| {
            let metres = f64::from(*cm) / 100.0;
            let look = |eye: Eye| Look::at_print(before[eye], metres);
            let log_mar = Eye::BOTH.map(|eye| eyes[eye].log_mar(&look(eye), condition));
            log_mar.into_iter().fold(f64::INFINITY, f64::min) + missed <= print_log_mar(metres)
        };
        let [least, most] = within_cm;
        let nearest = (least..=most).find(clear)?;
        let farthest = (nearest..=most).take_while(clear).last()?;
        Some([nearest, farthest])
    }

    /// What the examiner sees of an eye in the retinoscope at a distance in metres, sweeping along a meridian in degrees.
    pub fn shows_reflex(&mut self, eye: Eye, before: Power, meridian_deg: f64, metres: f64) -> ReflexSeen {
        let missing = self.missing_in_retinoscope(eye, before, metres);
        let sd = self.person.traits.reflex_d;
        let along = missing.along(meridian_deg) + self.draws.normal(sd);
        let off = missing.turned(-meridian_deg).j45 + self.draws.normal(sd);
        if off.abs() > BREAKS_FROM_D && off.abs() > BREAKS_FROM_TANGENT * along.abs() {
            return ReflexSeen::Breaks;
        }
        movement(along)
    }

    /// The same of the movement alone, whether the band breaks away or not.
    pub fn shows_movement(&mut self, eye: Eye, before: Power, meridian_deg: f64, metres: f64) -> ReflexSeen {
        let missing = self.missing_in_retinoscope(eye, before, metres);
        movement(missing.along(meridian_deg) + self.draws.normal(self.person.traits.reflex_d))
    }

    /// What an eye at rest lacks to be sharp at the retinoscope.
    fn missing_in_retinoscope(&self, eye: Eye, before: Power, metres: f64) -> Power {
        self.person.eyes[eye].missing(&Look::at_print(before, metres))
    }

    /// Along which meridian the examiner finds the movement straight, in whole degrees, 1 to 180: off by what the same error of
    /// judgement turns an astigmatism of this strength.
    pub fn shows_meridian(&mut self, eye: Eye, before: Power) -> u16 {
        let missing = self.person.eyes[eye].needs - before;
        let seen = Power {
            m: missing.m,
            j0: missing.j0 + self.draws.normal(self.person.traits.reflex_d),
            j45: missing.j45 + self.draws.normal(self.person.traits.reflex_d),
        };
        match seen.minus_form().axis.round() as u16 {
            0 => 180,
            degrees => degrees,
        }
    }
}

/// How the light moves where so much is missing along the sweep, in dioptres.
fn movement(along_d: f64) -> ReflexSeen {
    let dull = along_d.abs() > DULL_BEYOND_D;
    match along_d {
        along if along > NEUTRAL_WITHIN_D => ReflexSeen::With { dull },
        along if along < -NEUTRAL_WITHIN_D => ReflexSeen::Against { dull },
        _ => ReflexSeen::Neutral,
    }
}

/// Where the least of them stands.
fn least(values: &[f64]) -> usize {
    (0..values.len()).min_by(|&one, &other| values[one].total_cmp(&values[other])).unwrap_or(0)
}
