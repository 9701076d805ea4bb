//! The procedure: one eye refracted by likelihood, from what is known to a result that stands in the frame and was read with.

use std::sync::{Arc, LazyLock};

use super::choice::{Ask, Offers};
use super::cloud::Evidence;
use super::course::{Choice, Course, Known, MOST_ASKED};
use super::examiner;
use super::people::{Beforehand, Said};
use super::prior::{Prior, Row};
use super::quarters::distance;
use super::words;
use crate::exam::prescription::SAME_POWER_D;
use crate::exam::{Answer, Believed, Chosen, Complaint, EarlierExams, Given, Judgement, Shown, Shows, State};
use crate::guide::findings::Findings;
use crate::guide::presentation::Show;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::kit::{Lens, Mark};
use crate::optics::acuity::TOP_LETTER_LOG_MAR;
use crate::optics::refraction_counts::counted;
use crate::optics::{Acuity, Axis, Dioptres, Eye, Eyes, Power};

/// Spheres that are held, where they are free.
const HELD_D: [f32; 9] = [0.25, -0.25, 0.50, -0.50, 1.00, -1.00, 1.50, 2.00, -2.00];

/// Somebody of unknown age is taken for this old: neither is the young eye trusted with minus nor the old one.
const AGE_NOT_KNOWN: f32 = 40.0;

/// The distance for which a chart is made, in metres.
const FAR_M: f64 = 6.0;

/// How far old glasses lie from what is needed: standard deviations of sphere and of either part of the cylinder (by common
/// sense, no source).
const OLD_GLASSES_SD_D: [f32; 2] = [0.75, 0.35];

/// It doubts more than it need, so that people who see by no law that it knows are refracted well too; what it says of its own
/// error is so much of that, as measured on practice eyes.
const LESS_IN_DOUBT: f32 = 0.80;

/// Powers nearer than this are the same.
const STAYS_WITHIN_D: f32 = 0.01;

static PRIOR: LazyLock<Prior> = LazyLock::new(|| {
    Prior::of(counted().iter().map(|row| Row {
        sphere_d: row.sphere,
        cylinder_d: row.cylinder,
        axes_deg: row.axis_class.stretches_deg(),
        eyes: f64::from(row.eyes),
    }))
});

fn parts(power: Power) -> [f32; 3] {
    [power.m, power.j0, power.j45].map(|part| part as f32)
}

fn power(parts: [f32; 3]) -> Power {
    // what is only rounding of single precision is not kept
    let [m, j0, j45] = parts.map(|part| (f64::from(part) * 1e4).round() / 1e4 + 0.0);
    Power { m, j0, j45 }
}

/// The refraction of one eye by likelihood.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct Likelihood {
    eye: Eye,
    course: Arc<Course>,
    /// What is shown, once it was chosen.
    chosen: Option<Chosen>,
    ended: bool,
    /// What of the examiner's earlier exams the doubt is made from.
    earlier_exams: Option<EarlierExams>,
}

impl Likelihood {
    pub fn begin(eye: Eye, given: &Given, findings: &Findings) -> Self {
        let far_m = given.chart_metres.unwrap_or(FAR_M);
        let known = Known {
            person: Beforehand {
                age_years: given.age_years.map_or(AGE_NOT_KNOWN, f32::from),
                under_drops: given.under_drops(),
                slips: examiner::slips(given.earlier_exams.as_ref()),
            },
            chart_d: (1.0 / far_m - 1.0 / FAR_M).max(0.0) as f32,
            top_log_mar: TOP_LETTER_LOG_MAR as f32 + libm::log10(FAR_M / far_m) as f32,
            stands: parts(given.start[eye]),
        };
        let top_log_mar = known.top_log_mar;
        let mut evidence = Vec::new();
        // what somebody notices is noticed without drops
        if let Some(complaint) = given.complaint.filter(|_| !given.under_drops()) {
            let (far, near) = match complaint {
                Complaint::FarBlur => (true, false),
                Complaint::BlurEverywhere => (true, true),
                Complaint::NearOnly => (false, true),
                Complaint::Nothing => (false, false),
            };
            evidence.push(Evidence::Complains { far, near });
        }
        let read = |acuity: Acuity, pinhole: bool| Evidence::Read {
            before: [0.0; 3],
            log_mar: acuity.log_mar().map(|log_mar| log_mar as f32),
            top_log_mar,
            pinhole,
            tense: 1.0,
        };
        evidence.extend(given.unaided[eye].map(|acuity| read(acuity, false)));
        evidence.extend(given.pinhole[eye].map(|acuity| read(acuity, true)));
        let mut found = |power: Option<Power>, [sd_m, sd_j]: [f32; 2]| {
            evidence.extend(power.map(|power| Evidence::Found { power: parts(power), sd_m, sd_j }));
        };
        found(given.old_glasses[eye].map(crate::optics::SpheroCylinder::power), OLD_GLASSES_SD_D);
        let taken_off = findings.steady_difference_taken_off[eye];
        found(findings.retinoscopy[eye], examiner::retinoscopy_sd_d(given.earlier_exams.as_ref(), taken_off));
        // what the examiner put in is thought of as old glasses are
        let put_in = Some(given.start[eye]).filter(|start| start.blur_strength() > SAME_POWER_D);
        let others = [given.old_glasses[eye].map(crate::optics::SpheroCylinder::power), findings.retinoscopy[eye]];
        let news = |start: &Power| others.into_iter().flatten().all(|other| other.miss(*start) > SAME_POWER_D);
        found(put_in.filter(news), OLD_GLASSES_SD_D);
        let course = Arc::new(Course::new(&PRIOR, known, evidence));
        let earlier_exams = given.earlier_exams.filter(|earlier| earlier.eyes >= 2 || !earlier.repeats.is_none());
        Self { eye, course, chosen: None, ended: false, earlier_exams }
    }

    /// What the free lenses can show.
    fn offers(state: &State) -> Offers {
        let stock = &state.fitted.stock;
        let free = |lens: Lens| stock.of_lens(&lens).any(|stocked| stocked.place.is_in_box_or_hand());
        let spheres_d = HELD_D.into_iter().filter(|held| free(Lens::Sphere(Mark::nearest(f64::from(*held))))).collect();
        let crosses = stock.pieces().iter().filter(|stocked| stocked.piece.lens.is_cross_cylinder());
        let free = crosses.filter(|stocked| stocked.place.is_in_box_or_hand());
        let mut crosses_d: Vec<f32> = free.map(|stocked| stocked.marked_power().0 as f32).collect();
        crosses_d.sort_by(f32::total_cmp);
        crosses_d.dedup();
        Offers { spheres_d, crosses_d }
    }

    fn believed(&self, stands: [f32; 3]) -> Believed {
        let cloud = self.course.cloud();
        let summary = cloud.summary();
        let mean = summary.mean[0];
        let within = cloud.share(|[m, ..]| (mean + LESS_IN_DOUBT * (m - mean) - stands[0]).abs() <= 0.25);
        let kept = |figure: f32| (f64::from(figure) * 1e3).round() / 1e3;
        Believed {
            mean: power(summary.mean),
            sphere_sd: kept(LESS_IN_DOUBT * summary.sd_m),
            cylinder_sd: kept(summary.sd_j),
            within_quarter: kept(within),
        }
    }

    /// What is asked by what is shown.
    fn ask(shows: Shows) -> Option<Ask> {
        match shows {
            Shows::Sphere(held) => Some(Ask::Compare { held_d: held.0 as f32 }),
            Shows::Letters(held) => Some(Ask::Letters { held_d: held.0 as f32 }),
            Shows::CrossCylinder { power, first } => {
                Some(Ask::Cross { power_d: power.0 as f32, axis_deg: u16::from(first.degrees()) })
            }
            Shows::Line(held) => Some(Ask::Line { held_d: held.0 as f32 }),
            Shows::Ends | Shows::HandsOver { .. } => None,
        }
    }

    fn shows(ask: Ask) -> Shows {
        let held = |held_d: f32| Dioptres(f64::from(held_d));
        match ask {
            Ask::Compare { held_d } => Shows::Sphere(held(held_d)),
            Ask::Letters { held_d } => Shows::Letters(held(held_d)),
            Ask::Cross { power_d, axis_deg } => {
                Shows::CrossCylinder { power: held(power_d), first: Axis::folded(i32::from(axis_deg)) }
            }
            Ask::Line { held_d } => Shows::Line(held(held_d)),
        }
    }

    /// What an answer says, by what really stood before the eye.
    fn evidence(&self, asked: Ask, answer: Answer, shown: &Shown) -> Option<Evidence> {
        let (from, to) = (parts(shown.from[self.eye]), parts(shown.to[self.eye]));
        let tense = self.course.tense();
        match asked {
            Ask::Compare { .. } => {
                let said = match answer.judgement() {
                    Judgement::Better => Said::Clearer,
                    Judgement::Same => Said::Same,
                    Judgement::Worse => Said::Worse,
                };
                Some(Evidence::Compared { first: from, second: to, said, tense })
            }
            Ask::Letters { .. } => Some(Evidence::Letters {
                first: from,
                second: to,
                more: answer.judgement() == Judgement::Better,
                tense,
            }),
            Ask::Cross { .. } => {
                let [first, second] = Course::looks(to, asked);
                let said = match answer.prefers_first() {
                    Some(true) => Said::Worse,
                    Some(false) => Said::Clearer,
                    None => Said::Same,
                };
                Some(Evidence::Compared { first, second, said, tense })
            }
            Ask::Line { .. } => answer.acuity().map(|acuity| Evidence::Read {
                before: to,
                log_mar: acuity.log_mar().map(|log_mar| log_mar as f32),
                top_log_mar: self.course.top_log_mar(),
                pinhole: false,
                tense,
            }),
        }
    }
}

impl Procedure for Likelihood {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        if self.ended {
            return None;
        }
        let eye = self.eye;
        let read = |base: &Eyes<Power>| {
            Step::at(eye, base, Question::LineRead)
                .say(words::say(Shows::Line(Dioptres(0.0))))
                .instruction(words::instruction(Shows::Line(Dioptres(0.0)), eye, base[eye]))
        };
        // until it is chosen the line is read with what stands there
        let Some(Chosen { shows, believed, .. }) = self.chosen else { return Some(read(base)) };
        let with = |held: Dioptres| base[eye] + Power::sphere(held);
        let before = self.course.line_read(parts(base[eye]));
        let before = before.map(|log_mar| Acuity::of_log_mar(f64::from(log_mar)));
        let step = match shows {
            Shows::Sphere(held) => {
                Step::at(eye, base, Question::ClearerWith { before }).showing(Show::Compare, eye, with(held))
            }
            Shows::Letters(held) => {
                Step::at(eye, base, Question::MoreLetters { before }).showing(Show::Compare, eye, with(held))
            }
            Shows::CrossCylinder { power, first } => {
                let second = first.perpendicular();
                Step::at(eye, base, Question::WhichPosition).with_show(Show::CrossCylinder {
                    eye,
                    power,
                    first,
                    second,
                })
            }
            Shows::Line(held) if held.0 != 0.0 => {
                Step::at(eye, base, Question::LineRead).showing(Show::Compare, eye, with(held))
            }
            Shows::Line(_) => read(base),
            Shows::Ends | Shows::HandsOver { .. } => return None,
        };
        Some(
            step.say(words::say(shows))
                .instruction(words::instruction(shows, eye, base[eye]))
                .why(words::why(shows, &believed)),
        )
    }

    fn choose(&self, base: &Eyes<Power>, state: &State) -> Option<Chosen> {
        if self.ended || self.chosen.is_some() {
            return None;
        }
        let (stands, shows) = match self.course.choose(&Self::offers(state)) {
            Choice::Ask { stands, ask } => (stands, Self::shows(ask)),
            Choice::Ends { stands } => (stands, Shows::Ends),
            Choice::HandsOver { stands, surprised } => (stands, Shows::HandsOver { surprised }),
        };
        // where nothing changes, nothing is rounded
        let stays = distance(stands, parts(base[self.eye])) < STAYS_WITHIN_D;
        let stands_there = if stays { base[self.eye] } else { power(stands) };
        Some(Chosen { stands: stands_there, shows, believed: self.believed(stands) })
    }

    fn chosen(&mut self, chosen: &Chosen, effects: &mut Effects<'_>) {
        let eye = self.eye;
        effects.base[eye] = chosen.stands;
        self.chosen = Some(*chosen);
        Arc::make_mut(&mut self.course).set_out(parts(chosen.stands));
        effects.findings.believed[eye] = Some(chosen.believed);
        match chosen.shows {
            Shows::Ends => {
                self.ended = true;
                effects.findings.handed_over[eye] = false;
                effects.remarks.push(Remark::HowSure { eye, within_quarter: chosen.believed.within_quarter });
            }
            Shows::HandsOver { surprised } => {
                self.ended = true;
                effects.findings.handed_over[eye] = true;
                effects.remarks.push(Remark::HandedOver { eye, surprised });
            }
            Shows::Sphere(_) | Shows::Letters(_) | Shows::CrossCylinder { .. } | Shows::Line(_) => {}
        }
    }

    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        let eye = self.eye;
        let asked = self.chosen.take().map_or(Some(Ask::Line { held_d: 0.0 }), |chosen| Self::ask(chosen.shows));
        let Some(asked) = asked else { return };
        let to = shown.to[eye];
        match (asked, answer.acuity()) {
            (Ask::Line { held_d }, Some(acuity)) => effects.read_with(eye, to, acuity, held_d == 0.0),
            (Ask::Cross { .. } | Ask::Line { .. }, _) => {}
            (Ask::Compare { .. } | Ask::Letters { .. }, _) => {
                effects.tried(eye, to, effects.read, Some(answer.judgement()), false);
            }
        }
        let evidence = self.evidence(asked, answer, shown);
        let course = Arc::make_mut(&mut self.course);
        if let Some(evidence) = evidence {
            course.takes(&PRIOR, asked, evidence);
        }
    }

    fn skip(&mut self, _effects: &mut Effects<'_>) {
        let asked = self.chosen.take().and_then(|chosen| Some((chosen.stands, Self::ask(chosen.shows)?)));
        if let Some((stands, asked)) = asked {
            Arc::make_mut(&mut self.course).is_missing(parts(stands), asked);
        }
    }

    fn taken_over(&mut self, shift: &Eyes<Power>, base: &mut Eyes<Power>) {
        for eye in Eye::BOTH {
            base[eye] += shift[eye];
        }
        Arc::make_mut(&mut self.course).set_out(parts(base[self.eye]));
    }

    fn is_subjective(&self) -> bool {
        true
    }

    fn standing_remark(&self) -> Option<Remark> {
        self.earlier_exams.filter(|_| self.course.presented() == 0).map(Remark::EarlierExams)
    }

    fn begins_again(&self) -> bool {
        true
    }

    fn most_presentations(&self) -> usize {
        MOST_ASKED + 5
    }
}
