//! A record that is shared with other seats, as the screen has to do with it: telling what was done, and what came of it in words.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::app::App;
use super::keys::RecordsAction;
use crate::kit::{Lens, Place, Stock, StockedPiece};
use crate::sharing::news::{Holding, News, Reached, Told};

impl App {
    /// What is known of the room; none where the record is not shared, or a practice eye sits there.
    pub fn news(&self) -> Option<Arc<News>> {
        let shared = self.shared.as_ref().filter(|_| self.state().practised.is_none())?;
        Some(shared.sends.news())
    }

    /// Tells what was done since it was last told; nothing waits for it.
    pub(super) fn tell_the_room(&mut self) {
        if self.state().practised.is_some() || !self.session.lasts() {
            return;
        }
        let now = (self.session.exam_number(), self.exam().revision());
        let Some(shared) = self.shared.as_mut().filter(|shared| shared.told != Some(now)) else { return };
        shared.told = Some(now);
        let exam = self.session.exam_number().and_then(|number| i64::try_from(number).ok());
        shared.sends.tell(Told::Kept { exam });
        if let Some(in_box) = self.session.key_for_others() {
            let all = before_eyes(&self.session.state().fitted.stock);
            shared.sends.tell(Told::Holds { in_box, all });
        }
    }

    /// Says once what somebody has to know of the room.
    pub(super) fn say_what_the_room_says(&mut self) {
        let (Some(news), Some(shared)) = (self.news(), self.shared.as_mut()) else { return };
        if self.ui.asks.is_some() {
            return;
        }
        match &news.reached {
            Reached::Refuses { why } if shared.refused.as_ref() != Some(why) => {
                shared.refused = Some(why.clone());
                self.ui.refused(why.clone());
            }
            Reached::Refuses { .. } | Reached::NotYet | Reached::There | Reached::Away { .. } => {}
        }
        let taken = news.taken_by.clone().filter(|seat| shared.said_taken.as_ref() != Some(seat));
        shared.said_taken.clone_from(&news.taken_by);
        let another = self.settings.keys.key_of(RecordsAction::NewExam);
        if let Some(seat) = taken {
            self.ui.refused(format!(
                "{seat} goes on with this exam: begin another here ({another}) and leave this one open, or there will be two of one person"
            ));
        }
        let new = of_those_not_said(&news.counted_twice, &shared.said_twice, |lens, seat| {
            format!("{lens} is counted at {seat} and here")
        });
        shared.said_twice.clone_from(&news.counted_twice);
        let over = of_those_not_said(&news.taken_over, &shared.said_taken_over, |lens, seat| {
            format!("{lens} was counted at {seat}, which is not heard")
        });
        shared.said_taken_over.clone_from(&news.taken_over);
        if let Some(new) = new {
            self.ui.done(format!("{new}: what is in the cell counts"));
        } else if let Some(over) = over {
            self.ui.done(format!("{over}: it is counted here now"));
        }
    }

    /// What is said of the room on the top line: nothing while it is there and has everything.
    pub fn room_in_words(&self) -> Option<String> {
        let news = self.news()?;
        match &news.reached {
            Reached::NotYet | Reached::There => None,
            Reached::Away { min } => {
                let kept = if news.unsent > 0 { format!(", {} kept here", news.unsent) } else { String::new() };
                Some(format!("room away {min} min{kept}"))
            }
            Reached::Refuses { .. } => Some("room refuses".to_owned()),
        }
    }

    /// How many pieces of each lens, as the box writes it, others have before an eye.
    pub fn held_elsewhere(&self) -> BTreeMap<String, usize> {
        let mut counted: BTreeMap<String, usize> = BTreeMap::new();
        for held in self.news().iter().flat_map(|news| &news.held) {
            *counted.entry(held.lens.clone()).or_default() += 1;
        }
        counted
    }

    /// At which other seats pieces of a lens are before an eye: `1 at lane7`.
    pub fn seats_of(&self, lens: &Lens) -> Vec<String> {
        let Some(news) = self.news() else { return Vec::new() };
        let lens = lens.to_string();
        let mut seats: BTreeMap<String, usize> = BTreeMap::new();
        for held in news.held.iter().filter(|held| held.lens == lens) {
            let not_heard = held.not_heard_min.map(|min| format!(", not heard for {min} min")).unwrap_or_default();
            *seats.entry(format!("{}{not_heard}", held.seat)).or_default() += 1;
        }
        seats.into_iter().map(|(seat, pieces)| format!("{pieces} at {seat}")).collect()
    }

    /// The time as of which others' lenses are known, where that is not now.
    pub fn lenses_as_of(&self) -> Option<String> {
        self.news()?.as_of.clone()
    }

    /// The lenses of which every piece that is in the box here is before an eye at another seat, with where they are.
    pub fn lenses_all_elsewhere(&self) -> Vec<(Lens, String)> {
        let counted = self.held_elsewhere();
        let stock = &self.state().fitted.stock;
        let mut all: Vec<(Lens, String)> = Vec::new();
        if counted.is_empty() {
            return all;
        }
        for stocked in stock.pieces().iter().filter(|stocked| stocked.place == Place::Box) {
            let lens = &stocked.piece.lens;
            let held = counted.get(&lens.to_string()).copied().unwrap_or(0);
            if held > 0 && all.iter().all(|(known, _)| known != lens) {
                let free = stock.of_lens(lens).filter(|stocked| stocked.place == Place::Box).count();
                if held >= free {
                    all.push((lens.clone(), self.seats_of(lens).join(", ")));
                }
            }
        }
        all
    }
}

/// What stands before the eyes, as a room counts it: pieces that are alike are any of their numbers.
fn before_eyes(stock: &Stock) -> Vec<Holding> {
    let holding = |stocked: &StockedPiece| {
        let lens = &stocked.piece.lens;
        let own = number_of(stocked);
        let alike = stock.of_lens(lens).filter(|other| other.place.is_at_hand()).map(number_of);
        let others = alike.filter(|number| *number != own);
        Holding { lens: lens.to_string(), numbers: std::iter::once(own).chain(others).collect() }
    };
    stock.before_eyes().map(holding).collect()
}

fn number_of(stocked: &StockedPiece) -> i32 {
    i32::from(stocked.piece.number)
}

/// What is said of lenses and seats that were not named before, each once; none where there is none.
fn of_those_not_said(
    now: &[(String, String)],
    said: &[(String, String)],
    words: impl Fn(&str, &str) -> String,
) -> Option<String> {
    let mut new: Vec<String> =
        now.iter().filter(|one| !said.contains(one)).map(|(lens, seat)| words(lens, seat)).collect();
    new.dedup();
    (!new.is_empty()).then(|| new.join("; "))
}
