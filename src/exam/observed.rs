//! What one eye answered in an exam, in order, with what the program took to stand before it.

use super::answer::GuideEvent;
use super::event::Through;
use super::procedures::ProcedureName;
use super::state::State;
use crate::optics::{Acuity, Eye, Power};

/// Two powers nearer than this are the same, in dioptres.
const SAME_D: f64 = 0.1;

/// What an eye answered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Observation {
    /// This was read.
    Line {
        /// With this before the eye, at cell 1.
        before: Power,
        /// The line, or what is seen without a letter.
        read: Acuity,
        /// Whether through a pinhole.
        pinhole: bool,
    },
    /// Two looks were compared.
    Compared {
        /// What was seen first.
        from: Power,
        /// What was seen then.
        to: Power,
        /// How the second compared: clearer, or another letter.
        better: bool,
        /// Worse; neither for the same, and where only letters were asked for.
        worse: bool,
        /// Whether only another letter was asked for.
        letters: bool,
    },
}

/// An observation, and what the program took to stand in the cells then.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observed {
    /// What was answered.
    pub what: Observation,
    /// The power in the cells, at cell 1.
    pub cells: Power,
}

/// Whether what is answered in a procedure is seen far away, by the whole eye and alone.
fn tells_of_one_eye(procedure: ProcedureName) -> bool {
    match procedure {
        ProcedureName::FirstLens
        | ProcedureName::BestSphere
        | ProcedureName::OverMinusCheck
        | ProcedureName::Fan
        | ProcedureName::CrossCylinderSearch
        | ProcedureName::CrossCylinderAxis
        | ProcedureName::CrossCylinderPower
        | ProcedureName::FinalSphere
        | ProcedureName::Likelihood
        | ProcedureName::Writing => true,
        // read unaided and through a pinhole, from nearer, behind a slit, with both eyes, or by the examiner
        ProcedureName::SetUp
        | ProcedureName::FirstLetter
        | ProcedureName::Neutralisation
        | ProcedureName::Retinoscopy
        | ProcedureName::Slit
        | ProcedureName::Balance
        | ProcedureName::Near => false,
    }
}

/// Everything that an eye answered, unaided and through a pinhole first.
pub fn observed(state: &State, eye: Eye) -> Vec<Observed> {
    let mut all = Vec::new();
    for note in state.acuities.iter().filter(|note| note.eye == Some(eye)) {
        let pinhole = match note.through {
            Through::Unaided => false,
            Through::Pinhole => true,
            Through::OldGlasses | Through::Frame => continue,
        };
        let what = Observation::Line { before: Power::ZERO, read: note.acuity, pinhole };
        all.push(Observed { what, cells: Power::ZERO });
    }
    let mut runs = None;
    for event in &state.guide {
        match event {
            // a chart brought near for a while asks for another power than the one that is written
            GuideEvent::Began { procedure, eye, given } => {
                let nearer = given.chart_metres.zip(state.person.chart_metres).is_some_and(|(then, now)| then < now);
                runs = (!nearer).then_some((*procedure, *eye));
            }
            GuideEvent::Answered { answer, shown } => {
                let Some((procedure, of)) = runs.filter(|(procedure, _)| tells_of_one_eye(*procedure)) else {
                    continue;
                };
                // writing asks each eye in turn, and both; only what is asked of one is seen by it alone
                let alone = of == Some(eye) || procedure != ProcedureName::Writing && of.is_none();
                let (from, to) = (shown.from[eye], shown.to[eye]);
                let moved = from.miss(to) > SAME_D / 2.0;
                let read = answer.acuity().map(|read| Observation::Line { before: to, read, pinhole: false });
                let compared = answer.compares().filter(|_| moved);
                let compared =
                    compared.map(|(better, worse, letters)| Observation::Compared { from, to, better, worse, letters });
                let what = read.or(compared).filter(|_| alone);
                all.extend(what.map(|what| Observed { what, cells: shown.cells[eye] }));
            }
            GuideEvent::TakenOver(_)
            | GuideEvent::SetOut(_)
            | GuideEvent::Corrected { .. }
            | GuideEvent::Skipped { .. }
            | GuideEvent::Repeated
            | GuideEvent::Left
            | GuideEvent::ProceduresChanged { .. }
            | GuideEvent::Chose(_) => {}
        }
    }
    all.extend(read_at_the_end(state, eye));
    all
}

/// The line that was read while it was written down.
fn read_at_the_end(state: &State, eye: Eye) -> Option<Observed> {
    let reading = state.readings.iter().rev().find(|reading| reading.eye == Some(eye))?;
    let before = reading.before[eye]?;
    Some(Observed { what: Observation::Line { before, read: reading.acuity, pinhole: false }, cells: before })
}

/// Whether an eye said of a fan or a slit that it sees clearer in one direction.
pub fn saw_astigmatism(state: &State, eye: Eye) -> bool {
    let mut runs = None;
    state.guide.iter().any(|event| {
        if let GuideEvent::Began { procedure, eye, .. } = event {
            runs = Some((*procedure, *eye));
        }
        let looks = runs.is_some_and(|(procedure, of)| {
            of == Some(eye) && (procedure == ProcedureName::Fan || procedure == ProcedureName::Slit)
        });
        let said = event.answered().is_some_and(|answer| answer.half_hours().is_some() || answer.degrees().is_some());
        looks && said
    })
}

/// How often an eye was asked the same again, and how often it then answered otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct AskedAgain {
    /// Questions that had been asked before.
    pub asked_again: usize,
    /// Those that got another answer.
    pub differed: usize,
}

impl AskedAgain {
    /// Of everything that an eye answered; a comparison the other way round is the same question.
    pub fn of(observed: &[Observed]) -> Self {
        let mut repeats = Self::default();
        let compared = |observed: &Observed| match observed.what {
            Observation::Compared { from, to, better, worse, letters: false } => {
                Some((from, to, i8::from(better) - i8::from(worse)))
            }
            Observation::Compared { letters: true, .. } | Observation::Line { .. } => None,
        };
        for (at, now) in observed.iter().enumerate() {
            let Some((from, to, answer)) = compared(now) else { continue };
            let earlier = observed[..at].iter().rev().filter_map(compared).find_map(|(other_from, other_to, other)| {
                let same = from.miss(other_from) < SAME_D && to.miss(other_to) < SAME_D;
                let reversed = from.miss(other_to) < SAME_D && to.miss(other_from) < SAME_D;
                if same { Some(other) } else { reversed.then_some(-other) }
            });
            if let Some(earlier) = earlier {
                repeats.asked_again += 1;
                repeats.differed += usize::from(earlier != answer);
            }
        }
        repeats
    }

    /// The share of repeated questions that got another answer; none of none.
    pub fn share(self) -> f64 {
        if self.asked_again == 0 { 0.0 } else { self.differed as f64 / self.asked_again as f64 }
    }
}
