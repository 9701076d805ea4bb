//! What a key asks of the day, done: begun, called in, taken up, noted.

use std::rc::Rc;

use super::app::App;
use super::carried::Carried;
use super::day_page::{DayPage, DayShown, Offered};
use super::decide;
use super::page::Page;
use super::request::DayRequest;
use super::ui::{DayLine, Purpose};
use crate::day::{Caller, DayEvent};
use crate::exam::{Detail, Event, drops};
use crate::session::{RecordError, Step};

impl App {
    /// Does what was asked of the day.
    pub(super) fn run_of_day(&mut self, request: DayRequest) -> Result<(), RecordError> {
        match request {
            DayRequest::Show => self.show_day()?,
            DayRequest::Begin { place } => {
                self.session.begin_day(place)?;
                self.show_day()?;
                self.ui.done("the day begins: the room of this exam holds for everybody");
            }
            DayRequest::Call(caller) => self.call(&caller)?,
            DayRequest::TakeUp { number } => {
                let carried = Carried::of(self);
                let notes = self.session.take_up(Step::default(), number)?;
                self.ui = carried.next_screen(&self.settings);
                let mut said = vec![format!("number {number}: {} goes on", self.heading())];
                let person = &self.state().person;
                if let Some(ready) = drops::ready(&person.drops_put).filter(|_| !person.drops) {
                    if ready <= self.session.clock() {
                        self.session.take(Event::Detail(Detail::Drops(true)))?;
                        said.push("under drops from now on".to_owned());
                    } else {
                        said.push(format!("the drops are not ready before {}", self.session.local_time(ready)));
                    }
                }
                said.extend(notes.iter().map(ToString::to_string));
                self.ui.done(said.join("; "));
            }
            DayRequest::Note { events, said } => {
                self.session.note_in_day(&events)?;
                self.show_day()?;
                self.ui.done(said);
            }
            DayRequest::Holds { detail, said } => {
                self.session.note_in_day(&[DayEvent::Room(detail)])?;
                self.ui.done(said);
            }
            DayRequest::Undo => {
                let slip = self.session.undo_in_day()?;
                self.show_day()?;
                self.ui.done(format!("taken back: {slip}"));
            }
            DayRequest::ReadyMade => {
                let day = self.session.day()?.map(|now| now.day).filter(|day| day.ended.is_none());
                let of_day = day.filter(|_| self.session.person_of_day().is_some());
                let offered = of_day.and_then(|day| Offered::of(self.state(), &day));
                if let (Some(offered), Some(Page::Day(page))) = (offered, &mut self.ui.page) {
                    page.shown = DayShown::ReadyMade(Rc::new(offered));
                } else {
                    // without a shelf the sphere is typed, and nothing is counted
                    self.ui.start_line(Purpose::Day(DayLine::ReadyMade), "");
                }
            }
            DayRequest::Shelf => self.show_shelf()?,
            DayRequest::UseShelf { file, limits } => {
                let name = self.session.use_shelf(&file, limits)?;
                self.show_shelf()?;
                self.ui.done(format!("ready-made pairs are given from the shelf {name}: {limits}"));
            }
        }
        Ok(())
    }

    /// Shows what is left on the shelf; where the day has none, its file is asked for.
    fn show_shelf(&mut self) -> Result<(), RecordError> {
        self.show_day()?;
        if let Some(Page::Day(page)) = &mut self.ui.page {
            if page.now.as_ref().is_some_and(|now| now.day.settings.shelf.is_some()) {
                page.shown = DayShown::Shelf { first: 0 };
            } else {
                self.ui.start_line(Purpose::Day(DayLine::Shelf), "");
            }
        }
        Ok(())
    }

    /// Asks whether a setting of the room that was changed just now holds for everybody of the day.
    pub(super) fn ask_for_the_day(&mut self, changed: Option<Detail>) {
        // what the guide or the end of an exam assumes was not changed by anybody
        let typed = self.ui.details_row().is_some() && self.ui.asks.is_none();
        let Some(detail) = changed.filter(|_| typed) else { return };
        if self.session.person_of_day().is_some() {
            self.ui = decide::ask_for_the_day(self, detail);
        }
    }

    fn show_day(&mut self) -> Result<(), RecordError> {
        let page = DayPage::of(self.session.day()?, self.session.person_of_day());
        self.ui.page = Some(Page::Day(page));
        Ok(())
    }

    /// Calls somebody in: an exam begins with the room of the day and with what was entered of the person.
    fn call(&mut self, caller: &Caller) -> Result<(), RecordError> {
        let carried = Carried::of(self);
        let notes = self.session.begin_another(Step::default(), Some(caller))?;
        self.ui = carried.next_screen(&self.settings);
        let day = self.session.day()?;
        let number = self.session.person_of_day();
        if self.ui.screens {
            self.ui.page = Some(Page::Day(DayPage { shown: DayShown::Screening, ..DayPage::of(day, number) }));
        }
        let mut said = vec![format!("number {}: {} begins", number.unwrap_or_default(), self.heading())];
        said.extend(notes.iter().map(ToString::to_string));
        self.ui.done(said.join("; "));
        Ok(())
    }
}
