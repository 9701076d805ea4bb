//! What is told at this seat, and what the room is told of it: steps of the exam that is open, pieces before the eyes.

use tokio::sync::mpsc::UnboundedReceiver;

use super::error::RoomError;
use super::exchange::unsent;
use super::hint::Hint;
use super::holding::{Holds, OfOthers};
use super::joining::Caller;
use super::link::Link;
use super::live::Live;
use super::prepare::Role;
use super::sent::Sent;
use crate::logbook::Logbook;
use crate::sharing::news::Told;

/// What has to be looked at.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Due {
    /// What is kept for good, here and there.
    pub entries: bool,
    /// The exam that is open here.
    pub live: bool,
    /// The pieces before the eyes, here and elsewhere.
    pub held: bool,
}

impl Due {
    /// Everything.
    pub const ALL: Self = Self { entries: true, live: true, held: true };

    /// Whether there is something.
    pub fn is_any(self) -> bool {
        self.entries || self.live || self.held
    }

    /// This and that.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self { entries: self.entries || other.entries, live: self.live || other.live, held: self.held || other.held }
    }

    /// What has to be looked at because others say that something is new.
    pub fn of_hints(hints: &[Hint]) -> Self {
        let nothing = Self::default();
        let of = |hint: &Hint| match hint {
            Hint::Entries => Self { entries: true, ..nothing },
            Hint::Held => Self { held: true, ..nothing },
            Hint::TakenOver => Self { live: true, ..nothing },
            // for whoever looks on at it
            Hint::Step { .. } => nothing,
            Hint::Other => Self::ALL,
        };
        hints.iter().map(of).fold(nothing, Self::and)
    }
}

/// This seat.
pub struct Here {
    hears: UnboundedReceiver<Told>,
    /// To be read in; opened anew whenever the room was lost.
    logbook: Option<Logbook>,
    holds: Holds,
    live: Live,
    /// What others hold, when it was last asked for.
    pub of_others: OfOthers,
}

impl Here {
    /// A seat that is told so.
    pub fn new(hears: UnboundedReceiver<Told>) -> Self {
        Self { hears, logbook: None, holds: Holds::default(), live: Live::default(), of_others: OfOthers::default() }
    }

    /// Where it is told.
    pub fn hears(&mut self) -> &mut UnboundedReceiver<Told> {
        &mut self.hears
    }

    /// The seat that goes on with the exam that is open here.
    pub fn taken_by(&self) -> Option<&str> {
        self.live.taken_by.as_deref()
    }

    /// The room was lost: what it has is asked for again.
    pub fn forget(&mut self) {
        self.logbook = None;
        self.holds.forget();
        self.live.forget();
    }

    /// How many entries of the logbook the room has not, as far as it was heard.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    pub fn unsent(&mut self, caller: &Caller) -> Result<i64, RoomError> {
        unsent(read_only(&mut self.logbook, caller)?, &Sent::of(&caller.path))
    }

    /// Hears something; gives what has to be looked at for it, beside what was kept for good.
    pub fn hear(&mut self, told: Told) -> Due {
        match told {
            Told::Kept { exam } => {
                self.live.follow(exam);
                Due { live: true, ..Due::default() }
            }
            Told::Holds { in_box, all } => {
                self.holds.want(in_box, all);
                Due { held: true, ..Due::default() }
            }
        }
    }

    /// Hears what was told by now.
    pub fn hear_all(&mut self) -> Due {
        let mut due = Due::default();
        while let Ok(told) = self.hears.try_recv() {
            due = due.and(self.hear(told));
        }
        due
    }

    /// Tells the room of the pieces and of the exam that is open, as far as the role has any.
    ///
    /// # Errors
    /// When the room is away or refuses.
    pub fn send(&mut self, caller: &Caller, link: &Link, role: Role, due: Due) -> Result<(), RoomError> {
        if due.held {
            let home = caller.writer;
            self.of_others = if role.holds() { self.holds.settle(link, home) } else { self.holds.look(link, home) }?;
        }
        if due.live && role.examines() {
            self.live.send(read_only(&mut self.logbook, caller)?, caller, link)?;
        }
        Ok(())
    }
}

fn read_only<'a>(kept: &'a mut Option<Logbook>, caller: &Caller) -> Result<&'a Logbook, RoomError> {
    Ok(match kept.take() {
        Some(logbook) => kept.insert(logbook),
        None => kept.insert(Logbook::open_read_only(&caller.path)?),
    })
}
