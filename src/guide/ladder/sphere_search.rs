//! The search for a sphere by lines and comparisons: lines tell the way and are read through whatever is half a dioptre or more
//! away; quarters are compared, both ways, before it ends.
//!
//! It stops where answers lead on and lines do not follow: they do not settle it, and the best line on the way counts.

use super::lines_together::owing_by_lines_d;
use super::stepping::{Ladder, MOST_COMPARISONS};
use super::told::{
    LINE_LOG_MAR, blur_of_d, gained_log_mar, greatest_step_d, is_6_18_or_worse, is_poorer_than_6_12, line_at,
    line_known, lines_with, sphere_told_d, to_lesser_quarter, to_quarter,
};
use crate::exam::sentence::sentence;
use crate::exam::{Answer, Judgement, Part, Shown};
use crate::guide::findings::{Findings, LineAt};
use crate::guide::presentation::Show;
use crate::guide::procedure::{Effects, Step};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::quarter::STEP_D as QUARTER_D;
use crate::optics::{Acuity, Dioptres, Eye, Eyes, Power};

/// Lenses through which a line is read on the way, at most.
const MOST_LENSES: u8 = 10;

/// The most presentations: the comparisons, a line after every second of those that are kept, and one more where it was lost,
/// the lenses on the way, the fog.
pub(in crate::guide) const MOST_PRESENTATIONS: usize =
    2 * MOST_COMPARISONS + MOST_LENSES as usize + 10 * MOST_FOG_ROUNDS as usize;

/// From here on a step is shown by the line read through it; smaller ones are compared.
const BY_LINE_FROM_D: f64 = 0.50;

/// More than this is not held in front but put in.
const HELD_UP_TO_D: f64 = 2.00;

/// A plus lens that is free to be read through at any acuity, in dioptres.
const FREE_FOG_D: f64 = 1.00;

/// Less than what a line tells is shown, so that it is not too much.
const SPARED_D: f64 = 0.25;

/// So far do answers lead towards minus without a line, in dioptres.
const WITHOUT_A_LINE_D: f64 = 1.50;

/// No eye takes more plus than this without gaining a line, however it accommodates (ours, no source: a long-sighted eye of 14
/// takes more than 2 D).
const PLUS_WITHOUT_A_LINE_D: f64 = 5.00;

/// Lines within this of the best one are as good: half a line and rounding.
const AS_GOOD_LOG_MAR: f64 = 0.06;

/// The fogs whose lines are compared with the one without, in dioptres.
const FOGS_D: [f64; 2] = [1.00, 0.75];

/// What a fogged line may be off before it is read through a second fog, and before a quarter is shown for it: ours, by
/// practice eyes.
const FOG_AGREES_D: f64 = 0.12;
const FOG_AGREES_CLOSELY_D: f64 = 0.05;
const FOG_SHOWS_PLUS_D: f64 = 0.10;
const FOG_SHOWS_MINUS_D: f64 = 0.15;

/// So much too plus, and a quarter towards minus that was refused is shown once more.
const MUCH_TOO_PLUS_D: f64 = 0.25;

/// Plus through which a line was read is kept where this part of it is still owing by all lines.
const PART_THAT_SPEAKS: f64 = 0.6;

/// From here on accommodation that does not let go may hide more plus, in dioptres.
const MUCH_PLUS_D: f64 = 1.25;

/// A quarter towards what two lines told is not shown before the final round where it is so near, in dioptres.
const TOLD_WITHIN_D: f64 = 0.20;

/// How often the fogged lines lead to another place.
const MOST_FOG_ROUNDS: u8 = 6;

/// Spheres that are shown in turn to an eye that reads no letter, each within reach of the last.
const TOWARDS_MINUS_D: [f64; 6] = [-3.00, -6.00, -9.00, -12.00, -15.00, -18.00];
const TOWARDS_PLUS_D: [f64; 3] = [3.00, 8.00, 12.00];

/// What comes next.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Next {
    /// The line with what stands there.
    Line,
    /// A line through this much more.
    Through(f64),
    /// A line through this fog.
    Fogged(f64),
    /// A comparison of the ladder.
    Compare,
    /// A comparison for which two lines speak.
    Told(f64),
    /// A line through plus that lines speak for and a comparison did not.
    Owing(f64),
}

/// What the fogged lines lead to, after the quarters.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Fog {
    /// It is not looked at.
    Not,
    /// Lines are read through fog: so many were.
    Reads {
        fogs: u8,
    },
    /// This much is shown; whether it was refused once.
    Shows {
        change_d: f64,
        refused: bool,
    },
    Done,
}

/// The search of the best or the final sphere before one eye.
#[derive(Debug, Clone, PartialEq)]
#[expect(clippy::struct_excessive_bools, reason = "each says another thing of where the search stands")]
pub(in crate::guide) struct SphereSearch {
    pub eye: Eye,
    ladder: Ladder,
    lines: Vec<LineAt>,
    /// The sphere for which two lines speak.
    told: Option<f64>,
    /// Which way a line alone speaks for.
    plus_first: bool,
    /// A lens of this sign gained nothing.
    refused: [bool; 2],
    lenses: u8,
    line_passed: bool,
    /// A line was lost here, and is read once more.
    read_again: bool,
    fog: Fog,
    fog_rounds: u8,
    /// Reading lenses one by one is over.
    ladder_only: bool,
    /// Where two lines tell the sphere, quarters are left to the final round.
    leaves_quarters: bool,
    /// The line is read once the quarters around this sphere were shown: it was good enough before.
    line_after_quarters_of: Option<f64>,
    ended: bool,
}

impl SphereSearch {
    /// A search along a ladder, from the lines that were read so far; the unaided one where nothing stands there.
    pub fn new(eye: Eye, ladder: Ladder, findings: &Findings, plus_first: bool, unaided: Option<Acuity>) -> Self {
        let mut lines = findings.lines[eye].clone();
        // with the chart brought near it says nothing
        if let Some(acuity) = unaided.filter(|_| findings.near_search[eye].is_none()) {
            lines.insert(0, LineAt { power: Power::ZERO, acuity });
        }
        Self {
            eye,
            ladder,
            lines,
            told: None,
            plus_first,
            refused: [false; 2],
            lenses: 0,
            line_passed: false,
            read_again: false,
            fog: Fog::Not,
            fog_rounds: 0,
            ladder_only: false,
            leaves_quarters: false,
            line_after_quarters_of: None,
            ended: false,
        }
    }

    /// What the last lens before this search told goes on.
    pub fn told(mut self, base: Power) -> Self {
        let read: Vec<_> = lines_with(&self.lines, base).collect();
        if let [.., before, last] = read[..] {
            let stays = (last.0 - base.m).abs() < BY_LINE_FROM_D / 2.0;
            self.takes_in(before, last, stays);
        }
        self.sets_ladder(base);
        self
    }

    /// Quarters only towards what two lines told: astigmatism is looked for next, and after it the final round shows them all.
    pub fn leaving_quarters(mut self, leaves: bool) -> Self {
        self.leaves_quarters = leaves;
        if leaves {
            self.ladder.takes_letters_once();
        }
        self
    }

    /// Quarters alone, and then what a fogged line tells. The line may be read after the quarters where the last one before was
    /// good enough for them.
    pub fn quarters_and_fog(mut self, base: Power, last_line: Option<Acuity>) -> Self {
        self.ladder_only = true;
        self.fog = Fog::Reads { fogs: 0 };
        self.sets_ladder(base);
        let unread = line_known(&self.lines, base).is_none();
        if let Some(line) = last_line.filter(|&line| unread && !is_poorer_than_6_12(line)) {
            self.ladder.has_read(line);
            self.line_after_quarters_of = Some(base.m);
        }
        self
    }

    /// Whether the line can wait until the quarters were shown.
    fn line_can_wait(&self, base: Power) -> bool {
        let near = |m: f64| (base.m - m).abs() < BY_LINE_FROM_D - QUARTER_D / 2.0;
        self.line_after_quarters_of.is_some_and(near) && self.ladder.next(base.m).is_some()
    }

    /// Whether the next quarter is left to the final round.
    fn leaves(&self, base: Power, line: Acuity) -> bool {
        let (true, false, Some(told)) = (self.leaves_quarters, is_poorer_than_6_12(line), self.told) else {
            return false;
        };
        let towards_told = |(_, plus): (f64, bool)| plus == (told > base.m);
        (told - base.m).abs() < TOLD_WITHIN_D || !self.ladder.next(base.m).is_some_and(towards_told)
    }

    fn sets_ladder(&mut self, base: Power) {
        if let Some(line) = line_known(&self.lines, base) {
            self.ladder.has_read(line);
        }
        if let Some(told) = self.told.filter(|told| (told - base.m).abs() >= QUARTER_D / 2.0) {
            self.ladder.heads(Some(told > base.m));
        }
    }

    /// What two lines tell, the second read through a lens that is kept or not.
    fn takes_in(&mut self, before: (f64, Option<f64>), now: (f64, Option<f64>), kept: bool) {
        let plus = now.0 > before.0;
        self.told = match (before.1, now.1) {
            (Some(one), Some(other)) => {
                let flat = (one - other).abs() < LINE_LOG_MAR;
                match (plus, kept) {
                    // it costs nothing: more may go on
                    (true, true) if flat => Some(now.0 + FREE_FOG_D),
                    (false, false) => None,
                    _ => Some(sphere_told_d((before.0, one), (now.0, other))),
                }
            }
            _ => None,
        };
        if !kept {
            self.refused[usize::from(plus)] = true;
        }
    }

    /// How much more is read through next on the way; `None` when nothing speaks for half a dioptre or more.
    fn lens(&self, base: Power, line: Acuity) -> Option<f64> {
        if self.ladder_only || self.lenses == MOST_LENSES {
            return None;
        }
        let Some(blur) = blur_of_d(line) else { return self.lens_without_a_letter(base) };
        let change = match self.told {
            Some(told) => to_quarter(told - base.m),
            None if is_poorer_than_6_12(line) => {
                let told = to_lesser_quarter(blur - SPARED_D);
                let sign =
                    [self.plus_first, !self.plus_first].into_iter().find(|plus| !self.refused[usize::from(*plus)])?;
                if sign { told } else { -told }
            }
            None => return None,
        };
        let most = if change < 0.0 {
            greatest_step_d(line)
        } else if is_poorer_than_6_12(line) {
            f64::INFINITY
        } else {
            FREE_FOG_D
        };
        let change = change.clamp(-most, most);
        let read = lines_with(&self.lines, base).any(|(m, _)| (m - base.m - change).abs() < QUARTER_D / 2.0 + 0.01);
        (change.abs() >= BY_LINE_FROM_D - 1e-9 && !read).then_some(change)
    }

    fn lens_without_a_letter(&self, base: Power) -> Option<f64> {
        let (minus, plus) = (TOWARDS_MINUS_D.iter(), TOWARDS_PLUS_D.iter());
        let spheres: Vec<f64> =
            if self.plus_first { plus.chain(minus).copied().collect() } else { minus.chain(plus).copied().collect() };
        let tried = |sphere: f64| lines_with(&self.lines, base).any(|(m, _)| (m - sphere).abs() < 1.6);
        spheres.into_iter().find(|&sphere| !tried(sphere)).map(|sphere| sphere - base.m)
    }

    fn next(&self, base: Power) -> Option<Next> {
        if self.ended {
            return None;
        }
        let line = line_known(&self.lines, base);
        if self.read_again || (line.is_none() && !self.line_passed && !self.line_can_wait(base)) {
            return Some(Next::Line);
        }
        match self.fog {
            // the letters were called worse: whether they are, the line says
            Fog::Shows { change_d, refused: true } if change_d > 0.0 => return Some(Next::Owing(change_d)),
            Fog::Shows { change_d, .. } => return Some(Next::Told(change_d)),
            Fog::Not | Fog::Reads { .. } | Fog::Done => {}
        }
        if self.fog == Fog::Done {
            return None;
        }
        if let Some(line) = line {
            if let Some(change) = self.lens(base, line) {
                return Some(Next::Through(change));
            }
            // nothing is found by asking an eye that reads no letter
            line.log_mar()?;
            if self.leaves(base, line) {
                return None;
            }
        }
        if self.ladder.next(base.m).is_some() {
            return Some(Next::Compare);
        }
        match (self.fog, line) {
            (Fog::Reads { fogs }, Some(line)) if !is_6_18_or_worse(line) => {
                let read_here = line_at(&self.lines, base).is_some();
                Some(if read_here { Next::Fogged(FOGS_D[usize::from(fogs)]) } else { Next::Line })
            }
            _ => None,
        }
    }

    fn compares(&self, base: Power, change: f64) -> Step {
        let mut bases = Eyes::both(Power::ZERO);
        bases[self.eye] = base;
        let before = line_known(&self.lines, base);
        let question = if change < 0.0 && self.ladder.letters_for_minus() {
            Question::MoreLetters { before }
        } else {
            Question::ClearerWith { before }
        };
        Step::at(self.eye, &bases, question).showing(Show::Compare, self.eye, base + Power::sphere(Dioptres(change)))
    }

    pub fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        let (eye, here) = (self.eye, base[self.eye]);
        let reads = Step::at(eye, base, Question::LineRead).say("Which is the lowest line you can read?");
        Some(match self.next(here)? {
            Next::Line => {
                reads.instruction(sentence!["Read the chart with the ", eye, " eye."]).why(if self.read_again {
                    "a line was lost with more plus: it is read once more before the plus is taken back"
                } else {
                    "the line says which steps are worth showing"
                })
            }
            Next::Through(change) => {
                let show = if change.abs() > HELD_UP_TO_D { Show::BuildIn } else { Show::Compare };
                let to = here + Power::sphere(Dioptres(change));
                let instruction = if show == Show::BuildIn {
                    sentence!["Put ", to, " in front of the ", eye, " eye. Which line can be read?"]
                } else {
                    sentence!["Hold ", Part::Sphere(change), " in front of the ", eye, " eye. Which line can be read?"]
                };
                reads.showing(show, eye, to).instruction(instruction).why(if change > 0.0 {
                    "plus that costs no line is kept; the two lines tell how much more or less is shown next"
                } else {
                    "minus is kept for a line gained; the two lines tell how much more or less is shown next"
                })
            }
            Next::Fogged(fog) => reads
                .showing(Show::Compare, eye, here + Power::sphere(Dioptres(fog)))
                .instruction(sentence![
                    "Hold ",
                    Part::Sphere(fog),
                    " in front of the ",
                    eye,
                    " eye. Which line can still be read?"
                ])
                .why("the line lost through fog tells whether a quarter is to be shown once more"),
            Next::Owing(plus) => reads
                .showing(Show::Compare, eye, here + Power::sphere(Dioptres(plus)))
                .instruction(sentence![
                    "Hold ",
                    Part::Sphere(plus),
                    " in front of the ",
                    eye,
                    " eye. Which line can be read?"
                ])
                .why("less plus may only look blacker: plus that costs no line is kept where all lines speak for it"),
            Next::Compare => self.ladder.step(here)?,
            Next::Told(change) => self
                .compares(here, change)
                .say("Are the letters clearer with this, the same, or worse?")
                .instruction(sentence!["Hold ", Part::Sphere(change), " in front of the ", eye, " eye."])
                .why("the line through fog speaks for it: it is shown once more"),
        })
    }

    pub fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        let eye = self.eye;
        let base = effects.base[eye];
        let (Some(next), read) = (self.next(base), answer.acuity()) else { return };
        match (next, read) {
            (Next::Line, Some(acuity)) => self.line(acuity, shown, effects),
            (Next::Through(change), Some(acuity)) => self.through(change, acuity, shown, effects),
            (Next::Fogged(_), Some(acuity)) => self.fogged(acuity, shown, effects),
            (Next::Owing(change), Some(acuity)) => self.line_through_owing(change, acuity, shown, effects),
            (Next::Compare, _) => {
                effects.base[eye] = self.ladder.answer(answer, base, shown, effects);
                if let Some(acuity) = effects.read {
                    self.lines.push(LineAt { power: shown.to[eye], acuity });
                }
            }
            (Next::Told(change), _) => self.shown_for_fog(change, answer.judgement(), shown, effects),
            (Next::Line | Next::Through(_) | Next::Fogged(_) | Next::Owing(_), None) => {}
        }
    }

    fn line(&mut self, acuity: Acuity, shown: &Shown, effects: &mut Effects<'_>) {
        effects.read_with(self.eye, shown.to[self.eye], acuity, true);
        // where no lens makes what was found, the line is still that of what stands for it
        let power = effects.base[self.eye];
        self.lines.push(LineAt { power, acuity });
        self.ladder.has_read(acuity);
        if self.ladder_only && acuity.log_mar().is_none() {
            self.goes_back_to_a_letter(effects);
        }
        self.looks_back(power, effects);
    }

    /// With what the cylinder was brought to no letter is read: the best line on the way counts, whatever cylinder it was read
    /// with.
    fn goes_back_to_a_letter(&mut self, effects: &mut Effects<'_>) {
        let with_letters = self.lines.iter().filter_map(|line| Some((line.acuity.log_mar()?, *line)));
        if let Some((_, best)) = with_letters.min_by(|(one, _), (other, _)| one.total_cmp(other)) {
            effects.remarks.push(Remark::Unsettled(self.eye));
            effects.base[self.eye] = best.power;
            effects.findings.acuity[self.eye] = Some(best.acuity);
            effects.findings.acuity_with[self.eye] = Some(best.power);
            self.ended = true;
        }
    }

    /// Holds a line against those on the way: what answers lead to and lines do not follow is not kept.
    fn looks_back(&mut self, power: Power, effects: &mut Effects<'_>) {
        let again = std::mem::take(&mut self.read_again);
        let Some(now) = line_known(&self.lines, power) else { return };
        let known: Vec<(f64, f64)> = lines_with(&self.lines, power).filter_map(|(m, read)| Some((m, read?))).collect();
        let least = known.iter().map(|(_, read)| *read).fold(f64::INFINITY, f64::min);
        let as_good = known.iter().filter(|(_, read)| *read <= least + AS_GOOD_LOG_MAR).map(|(m, _)| *m);
        let best = as_good.fold(f64::NEG_INFINITY, f64::max);
        if !best.is_finite() {
            return;
        }
        let least_plus = known.iter().filter(|(_, read)| *read <= least + AS_GOOD_LOG_MAR).map(|(m, _)| *m);
        let least_plus = least_plus.fold(f64::INFINITY, f64::min);
        let to = |m: f64| power + Power::sphere(Dioptres(to_quarter(m - power.m)));
        let back = to(best);
        if best - least_plus > PLUS_WITHOUT_A_LINE_D && best <= power.m + QUARTER_D {
            effects.remarks.push(Remark::Unsettled(self.eye));
            effects.base[self.eye] = to(least_plus);
            self.ended = true;
            // lines that stay whatever is shown say nothing
            effects.findings.lines[self.eye].retain(|line| line.power.m < least_plus + BY_LINE_FROM_D);
            return;
        }
        // where few letters are read a line is lost by chance
        let least_line = Acuity::of_log_mar(least);
        let counts = if is_6_18_or_worse(least_line) { 2.0 * LINE_LOG_MAR } else { LINE_LOG_MAR };
        let lost = gained_log_mar(now, least_line) >= counts - 1e-9;
        if best - power.m > WITHOUT_A_LINE_D - 1e-9 {
            effects.remarks.push(Remark::Unsettled(self.eye));
            effects.base[self.eye] = back;
            self.ended = true;
        } else if lost && power.m - best >= BY_LINE_FROM_D - 0.1 {
            if again {
                if power.m - best > WITHOUT_A_LINE_D {
                    effects.remarks.push(Remark::Unsettled(self.eye));
                    self.ended = true;
                }
                self.ladder.is_too_plus(best + QUARTER_D);
                effects.base[self.eye] = back;
            } else {
                self.read_again = true;
            }
        }
    }

    fn through(&mut self, change: f64, acuity: Acuity, shown: &Shown, effects: &mut Effects<'_>) {
        let eye = self.eye;
        let (from, to) = (shown.from[eye], shown.to[eye]);
        let base = effects.base[eye];
        let before = line_known(&self.lines, base);
        self.lenses += 1;
        self.lines.push(LineAt { power: Power { m: to.m, ..base }, acuity });
        let gained = before.map_or(0.0, |before| gained_log_mar(before, acuity));
        let kept = acuity.log_mar().is_some()
            && if change > 0.0 { gained > -LINE_LOG_MAR + 1e-9 } else { gained > LINE_LOG_MAR - 1e-9 };
        let judgement = match gained {
            gained if gained >= LINE_LOG_MAR - 1e-9 => Judgement::Better,
            gained if gained <= -LINE_LOG_MAR + 1e-9 => Judgement::Worse,
            _ => Judgement::Same,
        };
        effects.read_with(eye, to, acuity, kept);
        self.takes_in((from.m, before.and_then(Acuity::log_mar)), (to.m, acuity.log_mar()), kept);
        if kept {
            effects.base[eye] = nominal(from, change, shown.wanted(eye));
            self.refused = [false; 2];
            self.looks_back(effects.base[eye], effects);
        } else if judgement == Judgement::Worse && change > 0.0 {
            self.ladder.is_too_plus(to.m);
        }
        self.sets_ladder(effects.base[eye]);
    }

    fn fogged(&mut self, acuity: Acuity, shown: &Shown, effects: &mut Effects<'_>) {
        let eye = self.eye;
        let (from, to) = (shown.from[eye], shown.to[eye]);
        effects.read_with(eye, to, acuity, false);
        let Fog::Reads { fogs } = self.fog else { return };
        self.fog = Fog::Done;
        if acuity.log_mar().is_none() {
            return;
        }
        self.lines.push(LineAt { power: to, acuity });
        let owing = owing_by_lines_d(&self.lines, effects.base[eye]);
        if let Some(plus) = self.fog_gained(effects.base[eye], to.m, acuity) {
            self.fog = Fog::Shows { change_d: plus.max(to_quarter(owing)), refused: true };
            return;
        }
        // an eye without a cylinder was asked little so far, and one that took much plus may hide more
        let much_is_left = from.astigmatism() < QUARTER_D / 4.0 || from.m > MUCH_PLUS_D;
        let agrees = if much_is_left { FOG_AGREES_CLOSELY_D } else { FOG_AGREES_D };
        if owing.abs() > agrees && usize::from(fogs + 1) < FOGS_D.len() {
            self.fog = Fog::Reads { fogs: fogs + 1 };
        } else if owing > FOG_SHOWS_PLUS_D {
            self.fog = Fog::Shows { change_d: to_quarter(owing).max(QUARTER_D), refused: false };
        } else if owing < -FOG_SHOWS_MINUS_D {
            self.fog = Fog::Shows { change_d: -QUARTER_D, refused: owing > -MUCH_TOO_PLUS_D };
        }
    }

    /// The plus for which two lines speak where the one through fog is the better: what hides plus need not be accommodation.
    fn fog_gained(&self, base: Power, fogged_d: f64, fogged: Acuity) -> Option<f64> {
        let here = line_at(&self.lines, base)?;
        if gained_log_mar(here, fogged) < LINE_LOG_MAR - 1e-9 {
            return None;
        }
        let told = sphere_told_d((base.m, here.log_mar()?), (fogged_d, fogged.log_mar()?));
        Some(to_quarter(told - base.m).clamp(QUARTER_D, FREE_FOG_D))
    }

    fn shown_for_fog(&mut self, change: f64, judgement: Judgement, shown: &Shown, effects: &mut Effects<'_>) {
        let plus = change > 0.0;
        let kept = judgement == Judgement::Better || (plus && judgement == Judgement::Same);
        let Fog::Shows { refused, .. } = self.fog else { return };
        effects.judge(self.eye, shown, judgement, kept);
        if kept {
            self.keeps_for_fog(change, shown, effects);
        } else if !refused {
            self.fog = Fog::Shows { change_d: change, refused: true };
        } else {
            self.fog = Fog::Done;
        }
    }

    fn keeps_for_fog(&mut self, change: f64, shown: &Shown, effects: &mut Effects<'_>) {
        effects.base[self.eye] = shown.wanted(self.eye);
        self.fog = Fog::Done;
        if change > QUARTER_D + 1e-9 && self.fog_rounds < MOST_FOG_ROUNDS {
            // far from where the quarters were shown: all of it again from here
            self.fog_rounds += 1;
            self.fog = Fog::Reads { fogs: 0 };
            self.ladder.begins_again();
        }
    }

    fn line_through_owing(&mut self, change: f64, acuity: Acuity, shown: &Shown, effects: &mut Effects<'_>) {
        let (eye, to) = (self.eye, shown.to[self.eye]);
        let base = effects.base[eye];
        let gained = line_at(&self.lines, base).map_or(0.0, |here| gained_log_mar(here, acuity));
        let costs = gained <= -LINE_LOG_MAR + 1e-9;
        self.lines.push(LineAt { power: to, acuity });
        let speaks = gained >= LINE_LOG_MAR - 1e-9 || owing_by_lines_d(&self.lines, base) > PART_THAT_SPEAKS * change;
        let kept = speaks && !costs;
        effects.read_with(eye, to, acuity, kept);
        if kept {
            self.keeps_for_fog(change, shown, effects);
        } else if change > QUARTER_D + 1e-9 {
            self.fog = Fog::Shows { change_d: change - QUARTER_D, refused: false };
        } else {
            self.fog = Fog::Done;
        }
    }

    /// The age is another one.
    pub fn corrected(&mut self, age_years: Option<u8>) {
        self.ladder.corrected(age_years);
    }

    pub fn skip(&mut self, effects: &mut Effects<'_>) {
        let here = effects.base[self.eye];
        match self.next(here) {
            Some(Next::Line) => {
                (self.line_passed, self.read_again) = (true, false);
                if self.ladder.next(here.m).is_none() {
                    self.fog = Fog::Not;
                }
            }
            Some(Next::Through(change)) => {
                self.lenses += 1;
                self.told = None;
                self.refused[usize::from(change > 0.0)] = true;
                if self.refused == [true; 2] {
                    self.ladder_only = true;
                }
            }
            Some(Next::Fogged(_) | Next::Told(_) | Next::Owing(_)) => self.fog = Fog::Done,
            Some(Next::Compare) => self.ladder.skip(here),
            None => {}
        }
    }
}

/// What is kept of a lens that was put in: its mark, where that is what it makes.
fn nominal(from: Power, change: f64, stands: Power) -> Power {
    let marked = from + Power::sphere(Dioptres(change));
    if marked.miss(stands) < QUARTER_D / 2.0 { marked } else { stands }
}
