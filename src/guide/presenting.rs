//! What the guide presents, from what its events add up to and what stands before the eyes.

use super::ladder::order;
use super::presentation::{Presentation, Progress, Show};
use super::procedure::Step;
use super::question::Question;
use super::remark::Remark;
use super::session::Fold;
use super::shortfall::{MOVED_D, realised_remarks};
use crate::exam::prescription::too_plus_of_near_chart;
use crate::exam::{Shown, State};
use crate::optics::{Eye, Eyes, Power};

/// So many procedures are offered once the prescription is written: it stays in sight above them on a small screen.
const MOST_AFTER_WRITING: usize = 3;

/// Off centre by less than this is not worth a word.
const OFF_CENTRE_FROM_MM: f64 = 0.5;

impl Fold {
    /// What to present now. Between procedures it asks with which to go on.
    ///
    /// What the examiner changed in the cells by hand since it was set out is taken over: the step starts from there.
    pub fn present(&self, state: &State, now: Eyes<Power>) -> Presentation {
        let taken_over = self.taken_over_at(now);
        let guide = taken_over.corrected_at(state);
        let step = guide.step(state);
        let mut remarks = self.remarks.clone();
        guide.remark(state, &step, &mut remarks);
        let shown = self.shown(state, &step, now);
        if self.set_out.is_some() {
            remarks.extend(realised_remarks(&step, &shown));
        }
        let progress = guide.run.as_ref().map(|run| Progress {
            presentation: run.presented + 1,
            most: run.running.procedure().most_presentations(),
        });
        Presentation {
            procedure: guide.run.as_ref().map(|run| run.procedure),
            eye: step.eye,
            show: step.show,
            from: step.from,
            to: step.to,
            shown,
            choices: step.question.choices(),
            question: step.question,
            say: step.say,
            instruction: step.instruction,
            why: step.why,
            bracket: step.bracket,
            progress,
            remarks,
        }
    }

    /// What is to be presented, from what was found.
    pub fn step(&self, state: &State) -> Step {
        let step = self.run.as_ref().and_then(|run| run.running.procedure().step(&self.base));
        step.unwrap_or_else(|| {
            let options = order::next(&self.findings, &self.base, state);
            let keeps_cross_cylinder =
                options.first().and_then(|&(procedure, eye)| eye.filter(|_| procedure.asks_with_a_cross_cylinder()));
            let known = |eye: Eye| {
                let found = self.findings.subjective[eye].is_some() || self.findings.retinoscopy[eye].is_some();
                (found || self.put_in[eye]).then_some(self.base[eye])
            };
            let cells = Eyes::from_fn(known);
            let (question, instruction) = if self.findings.written {
                let options = options.into_iter().take(MOST_AFTER_WRITING).collect();
                let instruction = if order::is_complete(&self.findings, &self.base, state) {
                    "The prescription is written. Anything can still be looked at again."
                } else {
                    "The prescription is written. What the first procedure below looks at was left out."
                };
                (Question::Written(options), instruction)
            } else {
                (Question::Next(options), "What next? 1 is usual.")
            };
            Step { from: cells, to: cells, keeps_cross_cylinder, ..Step::plain(question) }
                .instruction(instruction)
                .why("any procedure can be taken, repeated or left at any time")
        })
    }

    /// What is said beside a step for as long as things are as they are.
    fn remark(&self, state: &State, step: &Step, remarks: &mut Vec<Remark>) {
        let run = self.run.as_ref();
        remarks.extend(run.and_then(|run| run.running.procedure().standing_remark()));
        if step.question.is_about_letters() && run.is_some_and(|run| run.given.age_years.is_none()) {
            remarks.push(Remark::AgeUnknown);
        }
        if run.is_none_or(|run| run.running.procedure().looks_at_the_room()) {
            for eye in Eye::BOTH {
                let off_mm = state.fitted.decentration(eye).0;
                if off_mm.abs() >= OFF_CENTRE_FROM_MM {
                    let prism = state.fitted.in_front_of(eye).prism;
                    remarks.push(Remark::FramePd { eye, prism, off_mm: off_mm.abs() });
                }
            }
            let near = state.person.chart_metres.map(|metres| (metres, too_plus_of_near_chart(metres)));
            if let Some((metres, too_plus)) = near.filter(|(_, too_plus)| *too_plus > 0.0) {
                remarks.push(Remark::NearChart { metres, too_plus });
            }
        }
    }

    /// What really stands before the eyes for a step: as it was set out, with what the hand holds now; as planned when it was
    /// not set out, or when the examiner changed the cells since.
    fn shown(&self, state: &State, step: &Step, now: Eyes<Power>) -> Shown {
        let mut shown = Shown { from: now, to: now, cells: now, mark_in_hand: Eyes::both(None) };
        for eye in Eye::BOTH {
            let standing = self.set_out.filter(|set_out| set_out.cells[eye].miss(now[eye]) < MOVED_D);
            if let Some(set_out) = standing {
                (shown.from[eye], shown.to[eye]) = (set_out.from[eye], set_out.to[eye]);
                shown.mark_in_hand[eye] = set_out.mark_in_hand[eye];
            } else if let (Some(from), Some(to)) = (step.from[eye], step.to[eye]) {
                (shown.from[eye], shown.to[eye]) = (from, to);
            }
            let held = state.fitted.held(eye).filter(|held| held.stocked.power().0 != 0.0);
            if let Some(held) = held.filter(|_| step.show == Show::Compare) {
                shown.from[eye] = now[eye];
                shown.to[eye] = state.fitted.in_front_of(eye).net_with_hand;
                shown.mark_in_hand[eye] = Some(held.marked_power());
            }
        }
        shown
    }
}
