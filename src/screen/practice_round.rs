//! What a key asks of practice, done: an eye sits down, the exam of a person is set aside and taken up again.

use std::path::PathBuf;

use super::app::App;
use super::carried::Carried;
use super::decide::After;
use super::ended_page::EndedPage;
use super::page::Page;
use super::practice_page::{PracticePage, PracticeShown, Seated};
use super::request::PracticeRequest;
use crate::exam::{Event, Opening};
use crate::frame::FittedFrame;
use crate::frame::shipped::demo_frame;
use crate::kit::Stock;
use crate::kit::shipped::full_box;
use crate::practice::class::ClassCode;
use crate::practice::examination::known_at_the_door;
use crate::practice::seat::{Seat, Who};
use crate::practice::{Care, Law};
use crate::session::{RecordError, Session};

impl App {
    /// Does what was asked of practice; what happens to the screen itself comes with it.
    pub(super) fn run_of_practice(&mut self, request: PracticeRequest) -> Result<After, RecordError> {
        match request {
            PracticeRequest::Show => self.show_practice()?,
            PracticeRequest::Drawn(level) => {
                let seed = self.fresh_seed();
                self.sit(Who::Drawn { level, care: Care::Typical, law: Law::Written, seed }, 1, 1)?;
            }
            PracticeRequest::Named(name) => self.sit_named(name)?,
            PracticeRequest::Coded(code) => self.sit_by_code(&code)?,
            PracticeRequest::HowItWent => self.show_how_it_went()?,
            PracticeRequest::Next => self.sit_next()?,
            PracticeRequest::LastOne => match self.session.last_sitting()? {
                Some(session) => self.go_over_to_practice(session),
                None => self.ui.refused("no practice exam stands open"),
            },
            PracticeRequest::Drills => self.show_drills()?,
            PracticeRequest::Drill(skill) => self.begin_drill(skill),
            PracticeRequest::DrillAnswered(typed) => self.drill_answered(&typed)?,
            PracticeRequest::Leave => return Ok(self.leave_practice()),
        }
        Ok(After::GoesOn)
    }

    /// Shows what can be done in practice now.
    fn show_practice(&mut self) -> Result<(), RecordError> {
        let stands_open = self.state().practised.is_none() && self.session.last_sitting()?.is_some();
        self.ui.page = Some(Page::Practice(PracticePage::choices(self.state(), stands_open)));
        Ok(())
    }

    /// Shows how the exam that ended went; of several eyes of an exam, only once the last of them ended.
    fn show_how_it_went(&mut self) -> Result<(), RecordError> {
        let Some(seat) = self.ui.practice.as_ref().map(|seated| seated.seat.clone()) else {
            return self.show_practice();
        };
        if seat.is_exam && seat.number < seat.of {
            self.ui.done("how it went is said after the last of these eyes");
            return self.show_practice();
        }
        match EndedPage::of(self.exam(), &seat, self.session.minutes()?) {
            Ok(ended) => {
                let shown = PracticeShown::Ended(Box::new(ended));
                self.ui.page = Some(Page::Practice(PracticePage { chosen: 0, shown }));
            }
            Err(error) => self.ui.refused(error.to_string()),
        }
        Ok(())
    }

    /// A seed that nobody chose: the time at which the eye was asked for.
    pub(super) fn fresh_seed(&self) -> u64 {
        self.session.clock().as_nanosecond() as u64
    }

    fn sit_named(&mut self, name: PathBuf) -> Result<(), RecordError> {
        let seed = self.fresh_seed();
        self.sit(Who::Case { name, seed }, 1, 1)
    }

    /// The first station of a code that has not ended.
    fn sit_by_code(&mut self, code: &str) -> Result<(), RecordError> {
        match ClassCode::read(code) {
            Ok(code) => {
                let who = Who::Coded(code);
                let left = self.session.last_sitting()?;
                let is_of_code = |session: &Session| {
                    session.exam().opening().sitter.as_ref().is_some_and(|sitter| sitter.who == who.to_string())
                };
                if let Some(session) = left.filter(is_of_code) {
                    self.go_over_to_practice(session);
                    return Ok(());
                }
                let ended = self.session.ended(&who.to_string())?;
                match (1..=code.of).find(|station| !ended.contains(station)) {
                    Some(station) => self.sit(who, station, code.of)?,
                    None => self.ui.refused(format!("all {} eyes of this code are done: hand them in", code.of)),
                }
            }
            Err(error) => self.ui.refused(error.to_string()),
        }
        Ok(())
    }

    /// Somebody as hard as the one before, or the next of several.
    fn sit_next(&mut self) -> Result<(), RecordError> {
        let Some(Seated { seat, .. }) = self.ui.practice.clone() else {
            self.ui.refused("no practice eye sat here: choose one");
            return Ok(());
        };
        if seat.number < seat.of {
            return self.sit(seat.who.clone(), seat.number + 1, seat.of);
        }
        match seat.who.clone() {
            Who::Drawn { level, care, law, .. } => {
                let seed = self.fresh_seed();
                self.sit(Who::Drawn { level, care, law, seed }, 1, 1)
            }
            Who::Case { .. } | Who::Coded(_) => {
                self.ui.refused("that was the last of them: choose another");
                Ok(())
            }
        }
    }

    /// Has a practice eye sit down: its exam has the full box and the four-cell frame that come with the program.
    fn sit(&mut self, who: Who, number: u16, of: u16) -> Result<(), RecordError> {
        let seat = match Seat::numbered(who, number, of) {
            Ok(seat) => seat,
            Err(error) => {
                self.ui.refused(error.to_string());
                return Ok(());
            }
        };
        let (frame, declared) =
            (demo_frame().map_err(RecordError::BoxFile)?, full_box().map_err(RecordError::BoxFile)?);
        let fitted = match &self.state().practised {
            Some(_) => self.exam().opening().fitted.clone(),
            None => FittedFrame::new(frame, Stock::of(&declared)),
        };
        if let Who::Coded(code) = &seat.who
            && let Err(misfit) = code.fits(&fitted.stock, &fitted.frame)
        {
            self.ui.refused(misfit.to_string());
            return Ok(());
        }
        let opening = Opening { fitted, sitter: Some(seat.sitter()) };
        let mut session = self.session.sit(opening)?;
        session.take(known_at_the_door(&seat.person).into_iter().map(Event::Detail).collect::<Vec<_>>())?;
        self.go_over_to_practice(session);
        Ok(())
    }

    /// Goes over to the exam of a practice eye; that of a person is set aside as it stands.
    fn go_over_to_practice(&mut self, session: Session) {
        let carried = Carried::of(self);
        let before = std::mem::replace(&mut self.session, session);
        let ui = std::mem::replace(&mut self.ui, carried.next_screen(&self.settings));
        if self.aside.is_none() && before.state().practised.is_none() {
            self.aside = Some((before, Box::new(ui)));
        }
        self.seat_whoever_sits_there();
    }

    /// Whoever sits there in the exam that is open answers from now on.
    pub(super) fn seat_whoever_sits_there(&mut self) {
        match Seated::of(self.state(), self.exam().standing_steps().len()) {
            Ok(seated) => self.ui.practice = seated,
            Err(error) => self.ui.refused(format!("{error}: this practice eye cannot answer")),
        }
    }

    /// Goes back to the exam of the person that was set aside, or leaves the program where practice is all there is.
    fn leave_practice(&mut self) -> After {
        match self.aside.take() {
            Some((session, ui)) => {
                self.session = session;
                self.ui = *ui;
                self.ui.page = None;
                self.ui.done(format!("practice is over: back in {}", self.heading()));
                After::GoesOn
            }
            None => After::Leaves,
        }
    }
}
