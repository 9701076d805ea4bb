//! The guide of one exam, kept beside it: it takes in what is new and is built again after undo, redo or another exam.

use std::borrow::Cow;

use super::findings::Findings;
use super::presentation::Presentation;
use super::session::Fold;
use crate::exam::{Exam, ProcedureName, State};
use crate::optics::{Eye, Eyes, Power};

/// What was taken in of an exam.
#[derive(Debug, Clone, Copy)]
struct Followed {
    revision: u64,
    lineage: u64,
    /// Events of the guide.
    events: usize,
}

/// The guide of one exam as it stood when the guide last followed it.
#[derive(Debug, Clone)]
pub struct Guide {
    fold: Fold,
    /// What stands in the cells.
    now: Eyes<Power>,
    found: Eyes<Power>,
    taken_over: bool,
    presentation: Presentation,
    followed: Followed,
    /// What the first events of the guide add up to, as many as each is named with, the fewest first: from these undo goes on.
    behind: Vec<(usize, Fold)>,
}

/// Two guides are equal when they know and present the same, however they came to it.
impl PartialEq for Guide {
    fn eq(&self, other: &Self) -> bool {
        self.fold == other.fold
            && self.found == other.found
            && self.taken_over == other.taken_over
            && self.presentation == other.presentation
    }
}

impl Guide {
    /// The guide of an exam.
    pub fn of(exam: &Exam) -> Self {
        Self::with(Fold::of(&exam.state().guide), exam, Vec::new())
    }

    /// Takes in what happened in the exam since; everything when the steps that stand are others than they were.
    pub fn follow(&mut self, exam: &Exam) {
        let Followed { revision, lineage, events } = self.followed;
        if revision == exam.revision() {
            return;
        }
        let happened = &exam.state().guide;
        let mut behind = std::mem::take(&mut self.behind);
        if lineage != exam.lineage() || happened.len() < events {
            if !exam.was_undone_from(revision) {
                behind.clear();
            }
            let fold = Fold::behind(happened, &mut behind);
            *self = Self::with(fold, exam, behind);
            return;
        }
        let mut fold = std::mem::take(&mut self.fold);
        for event in &happened[events..] {
            fold.apply(event);
        }
        *self = Self::with(fold, exam, behind);
    }

    fn with(fold: Fold, exam: &Exam, behind: Vec<(usize, Fold)>) -> Self {
        let state = exam.state();
        let now = cells(state);
        Self {
            found: fold.found(state, now),
            taken_over: fold.is_taken_over_at(now),
            presentation: fold.present(state, now),
            followed: Followed { revision: exam.revision(), lineage: exam.lineage(), events: state.guide.len() },
            now,
            fold,
            behind,
        }
    }

    /// The procedure that runs and its eye.
    pub fn running(&self) -> Option<(ProcedureName, Option<Eye>)> {
        self.fold.running()
    }

    /// What was found so far.
    pub fn findings(&self) -> &Findings {
        &self.fold.findings
    }

    /// The distance power that was found so far for each eye, with what the examiner changed by hand since.
    pub fn found(&self) -> Eyes<Power> {
        self.found
    }

    /// Whether there is an answer that can be asked for again.
    pub fn can_repeat(&self) -> bool {
        self.fold.can_repeat()
    }

    /// Whether the examiner changed the cells by hand since the guide set them out.
    pub fn is_taken_over(&self) -> bool {
        self.taken_over
    }

    /// What is presented now. Between procedures it asks with which to go on.
    ///
    /// What the examiner changed in the cells by hand since it was set out is taken over: the step starts from there.
    pub fn presentation(&self) -> &Presentation {
        &self.presentation
    }

    /// This guide, or, where it has not followed the exam to where it stands, one built for it: what is shown is never stale.
    pub(super) fn at(&self, exam: &Exam) -> Cow<'_, Self> {
        if self.followed.revision == exam.revision() { Cow::Borrowed(self) } else { Cow::Owned(Self::of(exam)) }
    }

    /// What stands in the cells of both eyes.
    pub(super) fn now(&self) -> Eyes<Power> {
        self.now
    }

    /// What the events of the guide add up to.
    pub(super) fn fold(&self) -> &Fold {
        &self.fold
    }
}

/// What stands in the cells of both eyes.
pub(super) fn cells(state: &State) -> Eyes<Power> {
    Eyes::from_fn(|eye| state.fitted.in_front_of(eye).net)
}
