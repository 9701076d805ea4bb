//! What a key asks of drills, done: the list, a sitting, an answer that is kept.

use super::app::App;
use super::drill_page::{Asking, DrillsPage, rows};
use super::page::Page;
use super::practice_page::{PracticePage, PracticeShown};
use super::ui::{PracticeLine, Purpose};
use crate::practice::drills::{Skill, mark};
use crate::session::RecordError;

impl App {
    /// Shows the drills, what is due first.
    pub(super) fn show_drills(&mut self) -> Result<(), RecordError> {
        let so_far = self.session.drilled()?;
        self.show(DrillsPage::List(rows(&so_far)));
        if let Some(first) = so_far.unread.first() {
            self.ui.refused(format!("{first}: what was drilled is shown without it"));
        }
        Ok(())
    }

    /// Begins a sitting: the first item is asked.
    pub(super) fn begin_drill(&mut self, skill: Skill) {
        let sitting = self.session.begin_drill();
        self.show(DrillsPage::Asking(Asking::begin(skill, self.fresh_seed(), sitting)));
        self.ui.start_line(Purpose::Practice(PracticeLine::DrillAnswer), "");
    }

    /// Marks an answer, once it is kept.
    pub(super) fn drill_answered(&mut self, typed: &str) -> Result<(), RecordError> {
        let Some(asking) = self.ui.practice_page().and_then(PracticePage::asking).cloned() else { return Ok(()) };
        match mark(asking.item(), typed) {
            Ok(marked) => {
                self.session.note_drill(asking.sitting, &asking.answered(typed, marked))?;
                let mut asking = asking;
                asking.take(typed, marked);
                self.show(DrillsPage::Asking(asking));
            }
            Err(unreadable) => self.ui.refused(unreadable.to_string()),
        }
        Ok(())
    }

    fn show(&mut self, drills: DrillsPage) {
        let shown = PracticeShown::Drills(Box::new(drills));
        self.ui.page = Some(Page::Practice(PracticePage { chosen: 0, shown }));
    }
}
