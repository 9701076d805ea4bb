//! Section 9, writing it down: the acuity with what was found is read where it was not, and what was found is accepted for the
//! record; the prescription itself is [`Prescription`](crate::exam::Prescription), made from what was accepted.
//!
//! Nothing is accepted for an eye that nobody refracted. Under drops the wet result stands beside the dry one, and takes its
//! place only where the examiner says so.

use crate::exam::prescription::{SAME_POWER_D, VERTEX_MATTERS_D, too_plus_of_near_chart};
use crate::exam::sentence::sentence;
use crate::exam::{Accepted, Answer, Detail, Event, Given, Part, RedFlag, Shown, Through, Unrefracted};
use crate::guide::findings::Findings;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::vergence::costs_a_millimetre;
use crate::optics::{Dioptres, Eye, Eyes, Power};

/// The most presentations: the chart, what is written for each eye without a power, each eye, both, wet or dry, the vertex
/// distance, and done.
const MOST_PRESENTATIONS: usize = 10;

#[derive(Debug, Clone, Copy, PartialEq)]
enum Stage {
    NearChart {
        metres: f64,
    },
    Unrefracted(Eye),
    Line(Option<Eye>),
    WetOrDry,
    /// The vertex distance of the frame, for a power of so many dioptres.
    Vertex(Dioptres),
    Write,
}

/// Writing the prescription.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct Writing {
    /// What is still to be asked, the next one last.
    left: Vec<Stage>,
    /// Whether somebody found the power of each eye.
    refracted: Eyes<bool>,
    /// What is written for an eye that reads no letter.
    unrefracted: Eyes<Option<Unrefracted>>,
    flags: Vec<RedFlag>,
    drops: bool,
    /// Whether the wet result becomes the prescription.
    wet_is_written: bool,
}

impl Writing {
    pub fn begin(given: &Given, findings: &Findings) -> Self {
        let refracted = Eyes::from_fn(|eye| {
            let found = findings.refracted[eye]
                || findings.retinoscopy[eye].is_some()
                || given.accepted[eye].is_some()
                || given.start[eye].blur_strength() > SAME_POWER_D;
            found && findings.no_letter[eye].is_none()
        });
        let any = refracted.into_iter().any(|found| found);
        let mut left = vec![Stage::Write];
        left.extend(vertex_is_asked(given, findings, refracted).map(Stage::Vertex));
        left.extend((given.under_drops() && any).then_some(Stage::WetOrDry));
        // with both eyes where both have their power: else it tells nothing new
        let both = refracted.into_iter().all(|found| found);
        left.extend(both.then_some(Stage::Line(None)));
        let read = |eye: Eye| {
            let with = findings.acuity_with[eye];
            with.is_some_and(|with| with.miss(given.start[eye]) <= SAME_POWER_D)
        };
        let unread = Eye::BOTH.into_iter().rev().filter(|&eye| refracted[eye] && !read(eye));
        left.extend(unread.map(|eye| Stage::Line(Some(eye))));
        let no_letter = Eye::BOTH.into_iter().rev().filter(|&eye| findings.no_letter[eye].is_some());
        left.extend(no_letter.map(Stage::Unrefracted));
        let near = given.chart_metres.filter(|&metres| too_plus_of_near_chart(metres) > 1e-9);
        if let Some(metres) = near.filter(|_| any && findings.chart_taken_off == 0.0) {
            left.push(Stage::NearChart { metres });
        }
        Self {
            left,
            refracted,
            unrefracted: Eyes::both(None),
            flags: given.red_flags.clone().unwrap_or_default(),
            drops: given.under_drops(),
            wet_is_written: false,
        }
    }

    /// What stands before an eye is accepted; what was found when lenses for it are missing. Nothing of an eye that nobody
    /// refracted.
    fn accept(&self, shown: &Shown, effects: &mut Effects<'_>) {
        for eye in Eye::BOTH {
            if !self.refracted[eye] {
                effects.findings.subjective[eye] = None;
                if let Some(written) = self.unrefracted[eye] {
                    effects.accept(Accepted::NotRefracted(eye, Some(written)));
                }
                continue;
            }
            let (found, stands) = (effects.base[eye], shown.to[eye]);
            let accepted: Power = if found.miss(stands) <= SAME_POWER_D { stands } else { found };
            effects.findings.subjective[eye] = Some(accepted);
            if self.drops {
                effects.accept(Accepted::Wet(eye, Some(accepted)));
            }
            if !self.drops || self.wet_is_written {
                effects.accept(Accepted::Refraction(eye, Some(accepted)));
            }
        }
        let any = self.refracted.into_iter().any(|found| found);
        let near = effects.findings.addition.filter(|&addition| any && addition > 0.0);
        effects.accept(Accepted::Addition(near));
        if let Some(left) = effects.findings.addition_of_left.filter(|_| near.is_some()) {
            effects.accept(Accepted::AdditionOf(Eye::Left, Some(left)));
        }
        let chart = Some(effects.findings.chart_taken_off).filter(|&taken_off| any && taken_off > 0.0);
        effects.accept(Accepted::ChartAllowance(chart));
        effects.findings.written = true;
    }
}

/// The strongest meridian found, where it is so strong that the vertex distance matters and nobody measured it or was asked.
fn vertex_is_asked(given: &Given, findings: &Findings, refracted: Eyes<bool>) -> Option<Dioptres> {
    let meridians = Eye::BOTH.into_iter().filter(|&eye| refracted[eye]).flat_map(|eye| {
        let power = given.start[eye].minus_form();
        [power.sphere, power.sphere + power.cylinder]
    });
    let strongest = meridians.max_by(|one, other| one.abs().total_cmp(&other.abs()))?;
    let is_known = given.measured_vertex.is_some() || findings.vertex_asked;
    (strongest.abs() > VERTEX_MATTERS_D && !is_known).then_some(Dioptres(strongest))
}

impl Procedure for Writing {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        Some(match *self.left.last()? {
            Stage::NearChart { metres } => Step::both(*base, Question::YesOrNo)
                .instruction(sentence![
                    "The chart stood at ",
                    Part::Figure(metres),
                    " m: take ",
                    Part::Dioptres(too_plus_of_near_chart(metres)),
                    " of plus off both eyes?"
                ])
                .why("a chart nearer than 6 m leaves the sphere found too plus by 1/d - 1/6"),
            Stage::Unrefracted(eye) => Step { eye: Some(eye), ..Step::plain(Question::Unrefracted) }
                .instruction(sentence!["The ", eye, " eye reads no letter: what is written for it?"])
                .why("a power that nobody found is not written; a balance lens suits the glasses and corrects nothing"),
            Stage::Line(eye) => {
                let mut step = Step::both(*base, Question::LineRead)
                    .say("Which is the lowest line you can read?")
                    .instruction(match eye {
                        None => "Read the chart with both eyes open.".into(),
                        Some(eye) => sentence!["Read the chart with the ", eye, " eye."],
                    })
                    .why("the acuity with what is written belongs on the record");
                step.eye = eye;
                step
            }
            Stage::WetOrDry => Step::both(*base, Question::WetOrDry)
                .instruction("This was found under drops: which result becomes the prescription?")
                .why("the wet result stands beside the dry one, and takes its place only by the examiner's choice"),
            Stage::Vertex(power) => Step::plain(Question::FrameVertex)
                .instruction("Measure how far the lens in cell 1 stands from the cornea, and type it in mm.")
                .why(sentence![
                    "a power of ",
                    Part::Sphere(power.0),
                    " is changed by ",
                    Part::Dioptres(costs_a_millimetre(power).0),
                    " for each millimetre that glasses sit elsewhere; what holds without it is what the frame declares"
                ]),
            Stage::Write => Step::both(*base, Question::Ready)
                .say("These are the lenses that I write down for you.")
                .instruction("Let the person walk about with it and look out of the window; then read it back and write it down.")
                .why("the nearest quarter steps, for the vertex distance at which the glasses will sit"),
        })
    }

    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        let Some(stage) = self.left.pop() else { return };
        match (stage, answer.acuity()) {
            (Stage::NearChart { metres }, _) => {
                if answer == Answer::Yes {
                    effects.findings.chart_taken_off = too_plus_of_near_chart(metres);
                }
            }
            (Stage::Unrefracted(eye), _) => {
                let balance = answer.prefers_first() == Some(false);
                self.unrefracted[eye] =
                    Some(if balance { Unrefracted::BalanceLens } else { Unrefracted::NotRefracted });
            }
            (Stage::Line(Some(eye)), Some(acuity)) => {
                effects.read_with(eye, shown.to[eye], acuity, true);
                // a power with which no letter is read is one that nobody found
                if acuity.log_mar().is_none() {
                    self.refracted[eye] = false;
                    self.left.push(Stage::Unrefracted(eye));
                }
            }
            (Stage::Line(None), Some(acuity)) => effects.note_acuity(None, Through::Frame, acuity),
            (Stage::Line(_), None) => {}
            (Stage::Vertex(_), _) => {
                effects.findings.vertex_asked = true;
                let measured = answer.millimetres().map(Detail::FrameVertex);
                effects.records.extend(measured.map(Event::Detail));
            }
            (Stage::WetOrDry, _) => self.wet_is_written = answer.prefers_first() == Some(false),
            (Stage::Write, _) => self.accept(shown, effects),
        }
    }

    fn skip(&mut self, effects: &mut Effects<'_>) {
        if let Some(Stage::Vertex(_)) = self.left.pop() {
            effects.findings.vertex_asked = true;
        }
    }

    /// What is measured meanwhile is not asked any more.
    fn corrected(&mut self, given: &Given, _base: &mut Eyes<Power>) {
        if given.measured_vertex.is_some() {
            self.left.retain(|stage| match stage {
                Stage::Vertex(_) => false,
                Stage::NearChart { .. } | Stage::Unrefracted(_) | Stage::Line(_) | Stage::WetOrDry | Stage::Write => {
                    true
                }
            });
        }
    }

    fn looks_at_the_room(&self) -> bool {
        true
    }

    fn takes_what_was_found(&self) -> bool {
        true
    }

    /// The signs that were named at the start are said again at the end.
    fn standing_remark(&self) -> Option<Remark> {
        Remark::of_flags(&self.flags)
    }

    fn is_subjective(&self) -> bool {
        true
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}
