//! In place of the first lens, where an eye reads no letter unaided: a few lenses far apart until a letter is read, which is where
//! the search begins; the chart comes nearer before the strongest. An eye that reads only there is searched there by the usual
//! procedures, and then the chart goes back. An eye that reads none with any of them is not refracted.
//!
//! A chart for 6 m shows its top line through about 3 D of blur and at 1 m through about 8 D (MAR ∝ 1 + b², Blendowske 2015), so
//! that these lenses leave no gap from -22 to +21 D. Which lenses: ours, no source.

use crate::exam::poor_acuity::lenses_can_help;
use crate::exam::prescription::{SAME_POWER_D, too_plus_of_near_chart};
use crate::exam::sentence::sentence;
use crate::exam::{Accepted, Answer, Complaint, Detail, Event, Given, Part, Shown, Through, Unrefracted};
use crate::guide::findings::{Findings, FirstStep, NearSearch};
use crate::guide::presentation::Show;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::blur::blur_between_d;
use crate::optics::quarter::STEP_D;
use crate::optics::{Acuity, Dioptres, Eye, Eyes, Power};

/// The lenses before a chart where it hangs, in pairs of either sign, in dioptres.
const FAR_D: [f64; 2] = [2.00, 8.00];

/// The lenses before the chart that was brought near: none, and one of either sign.
const NEAR_D: f64 = 14.00;

/// Where the chart is brought to, in metres.
const NEAR_M: f64 = 1.0;

/// The distance of the chart that is taken where it was not said, in metres.
const USUAL_CHART_M: f64 = 6.0;

/// Steps from a first letter at the near chart: not beyond this, since a line tells little of more, in dioptres.
const MOST_STEP_D: f64 = 6.0;

/// A blur below this is left to the search, in dioptres.
const LEFT_TO_THE_SEARCH_D: f64 = 2.0;

/// Times that the lens is made better before the near chart.
const MOST_ROUNDS: u8 = 2;

/// What reads no more than this before the near chart reads nothing farther away, in logMAR: two lines above the top of a chart.
const FAR_AT_MOST_LOG_MAR: f64 = 1.2;

/// A line better is a gain, in logMAR.
const LINE_LOG_MAR: f64 = 0.1;

/// The step with which the search goes on, in dioptres.
const STEP_AFTER_D: f64 = 2.00;

/// The most presentations: what stands there, pinhole, four lenses, three at the near chart, two more each round, the chart back, what is seen; and
/// one more, which is never reached.
const MOST_PRESENTATIONS: usize = 2 + 2 * FAR_D.len() + 3 + 2 * MOST_ROUNDS as usize + 2 + 1;

/// What is shown next.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Try {
    /// What stands before the eye already.
    Standing,
    Pinhole,
    /// A sphere before the chart where it hangs.
    Far(f64),
    /// A sphere before the near chart.
    Near(f64),
    /// What read best there, with the chart back where it hangs.
    Back,
    /// How far the chart is, once it was put back.
    ChartBack,
    /// What was found before the near chart, with the chart back where it hangs.
    Returns,
    /// What the eye sees, which reads no letter.
    Seen,
}

/// The best so far before the near chart.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Best {
    power: Power,
    log_mar: f64,
}

/// The search for a first letter of one eye.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct FirstLetter {
    eye: Eye,
    /// What is still to be shown, the next one last.
    left: Vec<Try>,
    /// The sign that is tried first: −1 or 1.
    first_sign: f64,
    best: Option<Best>,
    rounds: u8,
    chart_m: f64,
    chart_made_for_m: f64,
    /// Whether the chart stands near now.
    chart_is_near: bool,
    seen: Acuity,
    /// Whether letters were read through a pinhole where the chart hangs.
    pinhole_reads: bool,
    found: bool,
}

impl FirstLetter {
    pub fn begin(eye: Eye, given: &Given, findings: &Findings) -> Self {
        let read = findings.acuity[eye].or(given.unaided[eye]);
        let seen = read.filter(|read| read.log_mar().is_none()).unwrap_or(Acuity::NoLetter);
        let first = if given.complaint == Some(Complaint::FarBlur) { -1.0 } else { 1.0 };
        let second = -first;
        let mut left = Vec::new();
        let stands = given.start[eye].blur_strength() > SAME_POWER_D;
        let goes = match findings.near_search[eye] {
            Some(NearSearch::Goes { chart_m, made_for_m }) => Some((chart_m, made_for_m)),
            Some(NearSearch::Ended) | None => None,
        };
        if goes.is_some() {
            left.extend([Try::Returns, Try::ChartBack]);
        } else if read.is_some_and(|read| read.log_mar().is_some()) && !stands {
            // there is nothing to find
        } else if lenses_can_help(seen) {
            left.push(Try::Seen);
            left.extend([second, first].map(|sign| Try::Near(sign * NEAR_D)));
            left.push(Try::Near(0.0));
            for power in FAR_D.into_iter().rev() {
                left.extend([second, first].map(|sign| Try::Far(sign * power)));
            }
            left.extend(given.pinhole[eye].is_none().then_some(Try::Pinhole));
            left.extend(stands.then_some(Try::Standing));
        } else {
            left.push(Try::Seen);
        }
        let hangs_m = given.chart_metres.unwrap_or(USUAL_CHART_M);
        let (chart_m, chart_made_for_m) = goes.unwrap_or((hangs_m, given.chart_made_for_metres.unwrap_or(hangs_m)));
        Self {
            eye,
            left,
            first_sign: first,
            best: None,
            rounds: 0,
            chart_m,
            chart_made_for_m,
            chart_is_near: goes.is_some(),
            seen,
            pinhole_reads: given.pinhole[eye].is_some_and(|read| read.log_mar().is_some()),
            found: false,
        }
    }

    /// What a chart so near adds to what the eye needs, in dioptres.
    fn nearer_d(&self) -> f64 {
        too_plus_of_near_chart(NEAR_M) - too_plus_of_near_chart(self.chart_m)
    }

    /// What read best before the near chart, for the chart where it hangs, in quarters.
    fn at_the_far_chart(&self, near: Power) -> Power {
        let sphere = near.minus_form().sphere;
        let far = ((sphere - self.nearer_d()) / STEP_D).round() * STEP_D;
        near + Power::sphere(Dioptres(far - sphere))
    }

    fn read_a_letter(&mut self, power: Power, acuity: Acuity, effects: &mut Effects<'_>) {
        effects.findings.near_search[self.eye] = None;
        effects.base[self.eye] = power;
        effects.read_with(self.eye, power, acuity, true);
        effects.findings.first[self.eye] = Some(FirstStep { step_d: STEP_AFTER_D, plus: None });
        self.found = true;
        self.left.clear();
    }

    /// A letter before the near chart: the lens is made better there as far as the line tells, then the chart goes back.
    fn read_near(&mut self, power: Power, log_mar: f64) {
        if self.best.is_none() {
            self.left = vec![Try::Back];
        }
        if self.best.is_none_or(|best| log_mar < best.log_mar - LINE_LOG_MAR) {
            self.best = Some(Best { power, log_mar });
            self.left = vec![Try::Back];
            let step = blur_between_d(0.0, log_mar).min(MOST_STEP_D).round();
            if step >= LEFT_TO_THE_SEARCH_D && self.rounds < MOST_ROUNDS {
                self.rounds += 1;
                let away = if power.m == 0.0 { self.first_sign } else { power.m.signum() };
                self.left.extend([-away, away].map(|sign| Try::Near(power.m + sign * step)));
            }
        }
    }

    /// Nothing is read where the chart hangs: the search goes on where it is.
    fn goes_on_near(&mut self, effects: &mut Effects<'_>) {
        let (eye, Some(best)) = (self.eye, self.best) else { return };
        self.read_a_letter(best.power, Acuity::of_log_mar(best.log_mar), effects);
        let (chart_m, made_for_m) = (self.chart_m, self.chart_made_for_m);
        effects.findings.near_search[eye] = Some(NearSearch::Goes { chart_m, made_for_m });
        effects.remarks.push(self.reads_near_only(best.power, Acuity::of_log_mar(best.log_mar)));
        self.place_chart(true, effects);
    }

    /// The search before the near chart has ended, and nothing is read where the chart hangs: what was found near counts, less
    /// what the near chart adds.
    fn ends_near(&mut self, effects: &mut Effects<'_>) {
        let eye = self.eye;
        let Some(read) = effects.findings.acuity[eye].filter(|read| read.log_mar().is_some()) else {
            return self.not_refracted(Acuity::NoLetter, effects);
        };
        let near = self.reads_near_only(effects.base[eye], read);
        // what a pinhole shows a lens could show: the right one was not found
        if self.pinhole_reads {
            self.not_refracted(Acuity::NoLetter, effects);
            effects.records.push(Event::Note(near.sentence().to_string()));
            effects.remarks.push(near);
            return;
        }
        effects.base[eye] = self.at_the_far_chart(effects.base[eye]);
        effects.findings.acuity_with[eye] = Some(effects.base[eye]);
        effects.findings.near_search[eye] = Some(NearSearch::Ended);
        effects.records.push(Event::Note(near.sentence().to_string()));
        effects.remarks.push(near);
        self.found = true;
    }

    fn reads_near_only(&self, power: Power, read: Acuity) -> Remark {
        Remark::ReadsNearOnly { eye: self.eye, metres: NEAR_M, power, read }
    }

    /// Puts the chart where it is to stand, as the record says it.
    fn place_chart(&mut self, near: bool, effects: &mut Effects<'_>) {
        if self.chart_is_near != near {
            self.chart_is_near = near;
            let metres = if near { NEAR_M } else { self.chart_m };
            let details = [Detail::ChartMetres(metres), Detail::ChartMadeForMetres(self.chart_made_for_m)];
            effects.records.extend(details.map(Event::Detail));
        }
    }

    /// Brings the chart to where the next thing is shown.
    fn settle(&mut self, effects: &mut Effects<'_>) {
        match self.left.last() {
            Some(Try::Near(_)) => self.place_chart(true, effects),
            // there it is said how far it is
            Some(Try::ChartBack) | None => {}
            Some(Try::Back | Try::Returns | Try::Standing | Try::Far(_) | Try::Pinhole | Try::Seen) => {
                self.place_chart(false, effects);
            }
        }
    }

    fn not_refracted(&mut self, seen: Acuity, effects: &mut Effects<'_>) {
        let eye = self.eye;
        self.found = false;
        effects.base[eye] = Power::ZERO;
        effects.findings.acuity[eye] = Some(seen);
        effects.findings.acuity_with[eye] = None;
        effects.findings.subjective[eye] = None;
        effects.findings.no_letter[eye] = Some(seen);
        effects.findings.near_search[eye] = None;
        if seen != self.seen {
            effects.note_acuity(Some(eye), Through::Unaided, seen);
        }
        effects.accept(Accepted::NotRefracted(eye, Some(Unrefracted::NotRefracted)));
        effects.remarks.push(Remark::NotRefracted(eye));
    }
}

impl Procedure for FirstLetter {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        let eye = self.eye;
        let nothing = Eyes::both(Power::ZERO);
        let read = |power: Power| {
            let step = Step::at(eye, &nothing, Question::LineRead).say("Can you read any letter now?");
            if power == Power::ZERO { step } else { step.showing(Show::BuildIn, eye, power) }
        };
        let sphere = |dioptres: f64| Power::sphere(Dioptres(dioptres));
        let tried = *self.left.last()?;
        Some(match tried {
            Try::Standing => Step::at(eye, base, Question::LineRead)
                .say("Can you read any letter now?")
                .instruction(sentence!["Read the chart with the ", eye, " eye as the frame is."])
                .why("what stands there may do already"),
            Try::Pinhole => read(Power::ZERO)
                .with_show(Show::Pinhole { eye })
                .instruction(sentence!["Pinhole in front of the ", eye, " eye."])
                .why("what a pinhole does not improve, lenses may not improve either"),
            Try::Far(power) => read(sphere(power))
                .instruction(sentence!["Put ", Part::Sphere(power), " in front of the ", eye, " eye."])
                .why("no letter unaided: a few lenses far apart show where a letter is read"),
            Try::Near(power) => {
                let chart = sentence!["Chart at ", Part::Figure(NEAR_M), " m. "];
                let lens = if power == 0.0 {
                    sentence!["Nothing in front of the ", eye, " eye."]
                } else {
                    sentence!["Put ", Part::Sphere(power), " in front of the ", eye, " eye."]
                };
                read(sphere(power))
                    .instruction(chart.then(&lens))
                    .why("near, the top line is seen through much more blur; its distance is in every line")
            }
            Try::ChartBack => Step { eye: Some(eye), ..Step::plain(Question::ChartDistance) }
                .instruction(sentence!["Put the chart back to ", Part::Figure(self.chart_m), " m. How far is it now?"])
                .why("what was found with the chart near is looked at where it usually hangs"),
            Try::Back | Try::Returns => {
                let near = if tried == Try::Returns { base[eye] } else { self.best?.power };
                let power = self.at_the_far_chart(near);
                read(power)
                    .instruction(sentence![
                        "Chart back to ",
                        Part::Figure(self.chart_m),
                        " m, ",
                        power,
                        " in front of the ",
                        eye,
                        " eye."
                    ])
                    .why("where a letter is read there, the search goes on as usual")
            }
            Try::Seen => Step::at(eye, &nothing, Question::WithoutLetters)
                .say("How many fingers? Does my hand move? Is the light on?")
                .instruction(sentence![
                    "Chart at ",
                    Part::Figure(self.chart_m),
                    " m, nothing in front of the ",
                    eye,
                    " eye: what does it see?"
                ])
                .why("an eye that reads no letter is not refracted; what it sees is noted"),
        })
    }

    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        let Some(tried) = self.left.pop() else { return };
        let eye = self.eye;
        let acuity = answer.acuity().unwrap_or(Acuity::NoLetter);
        let log_mar = acuity.log_mar();
        match tried {
            Try::Pinhole => effects.note_acuity(Some(eye), Through::Pinhole, acuity),
            Try::Standing | Try::Far(_) | Try::Back | Try::Returns if log_mar.is_some() => {
                self.read_a_letter(shown.to[eye], acuity, effects);
            }
            Try::Near(_) => {
                effects.tried(eye, shown.to[eye], Some(acuity), None, false);
                if let Some(log_mar) = log_mar {
                    self.read_near(shown.to[eye], log_mar);
                }
                let poor = self.best.is_some_and(|best| best.log_mar > FAR_AT_MOST_LOG_MAR);
                if poor && self.left == [Try::Back] {
                    self.goes_on_near(effects);
                    return;
                }
            }
            Try::Back => {
                effects.tried(eye, shown.to[eye], Some(acuity), None, false);
                self.goes_on_near(effects);
                return;
            }
            Try::ChartBack => self.chart_m = answer.metres().unwrap_or(self.chart_m),
            Try::Returns => self.ends_near(effects),
            Try::Standing | Try::Far(_) => effects.tried(eye, shown.to[eye], Some(acuity), None, false),
            Try::Seen => self.not_refracted(acuity, effects),
        }
        self.settle(effects);
    }

    fn skip(&mut self, effects: &mut Effects<'_>) {
        match self.left.pop() {
            // nobody said what it sees: no letter
            Some(Try::Seen) => self.not_refracted(self.seen, effects),
            // nobody read it where the chart hangs
            Some(Try::Back) => {
                self.goes_on_near(effects);
                return;
            }
            Some(Try::Returns) => self.ends_near(effects),
            Some(Try::Standing | Try::Pinhole | Try::Far(_) | Try::Near(_) | Try::ChartBack) | None => {}
        }
        self.settle(effects);
    }

    fn why_nothing(&self) -> Option<Remark> {
        Some(Remark::Plain("This eye reads letters: its search begins with the first lens."))
    }

    fn begins_again(&self) -> bool {
        true
    }

    fn is_subjective(&self) -> bool {
        self.found
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}
