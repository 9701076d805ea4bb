//! How it stands with the room: who is in it, and what is to be done.

use std::io::Write;

use serde::Serialize;

use super::said::{ahead_s, in_words, say_if_clocks_differ};
use super::{erase, settle};
use crate::command::boxes::unsettled_of_all;
use crate::command::files::{logbook_path, settings_folder as folder};
use crate::command::json::write_line;
use crate::command::{Context, Outcome, note};
use crate::kit::document::fault::counted;
use crate::logbook::Logbook;
use crate::room::calls::{SeatThere, counted_twice, heads, seats};
use crate::room::erasing::erasures;
use crate::room::exchange::unsent;
use crate::room::joining::Caller;
use crate::room::sent::Sent;
use crate::room::times::rfc_3339;
use crate::session::erasing::erase_what_was_agreed;
use crate::sharing::Heads;

#[derive(Serialize)]
struct RoomJson {
    room: String,
    there: bool,
    unsent: i64,
    clock_differs_s: Option<f64>,
    seats: Vec<SeatJson>,
    unsettled: usize,
    counted_twice: Vec<settle::CountedTwiceJson>,
    /// What somebody asks to have erased, and what was.
    erasures: Vec<erase::ErasureJson>,
}

#[derive(Serialize)]
struct SeatJson {
    seat: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    site: Option<String>,
    heard: Option<String>,
    head: i64,
    gone: bool,
}

/// One round with the room, and how it stands then.
pub fn status(context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    let caller = Caller::of(&logbook_path(context)?, folder())?;
    let round = caller.connect().and_then(|(link, welcome)| {
        let exchanged = caller.exchange(&link)?;
        let mut there = Heads::default();
        heads(&link, caller.writer)?.iter().for_each(|known| there.learn(known.writer, known.number));
        let twice: Vec<_> = counted_twice(&link, caller.writer)?.into_iter().map(Into::into).collect();
        Ok((welcome, exchanged, there, seats(&link, caller.writer)?, twice, erasures(&link)?))
    });
    erase_what_was_agreed(&mut Logbook::open(&caller.path)?).iter().for_each(note);
    let logbook = Logbook::open_read_only(&caller.path)?;
    let (round, why) = match round {
        Ok(round) => (Some(round), None),
        Err(error) if error.is_away() => (None, Some(error)),
        Err(error) => return Err(error.into()),
    };
    let last_heard = Sent::of(&caller.path);
    let unsettled = unsettled_of_all(&logbook)?;
    let unsent = unsent(&logbook, round.as_ref().map_or(&last_heard, |(_, _, there, ..)| there))?;
    if let Some(why) = &why {
        note(why);
    }
    if context.json {
        let room = caller.joined.address.to_string();
        let there = round.is_some();
        let (clock_differs_s, seats, counted_twice, erasures) = match round {
            Some((welcome, _, _, seats, twice, erasures)) => {
                let erasures = erasures.iter().map(erase::ErasureJson::of).collect();
                (Some(ahead_s(&welcome)), seats.iter().map(SeatJson::of).collect(), twice, erasures)
            }
            None => (None, Vec::new(), Vec::new(), Vec::new()),
        };
        write_line(out, &RoomJson { room, there, unsent, clock_differs_s, seats, unsettled, counted_twice, erasures })?;
        return Ok(Outcome::Done);
    }
    writeln!(out, "{} in the room {}", caller.joined.seat, caller.joined.address)?;
    let Some((welcome, exchanged, _, seats, twice, erasures)) = round else {
        writeln!(out, "the room is away; {unsent} not sent yet, all kept here")?;
        return Ok(Outcome::Done);
    };
    say_if_clocks_differ(&welcome);
    writeln!(out, "{}; {unsent} not sent yet", in_words(exchanged))?;
    if unsettled > 0 {
        writeln!(out, "{} to settle: `dioptray boxes` says in which box", counted(unsettled, "lens", "lenses"))?;
    }
    for twice in &twice {
        writeln!(out, "{}", twice.in_words())?;
    }
    for seat in &seats {
        let site = seat.site.as_deref().map_or_else(String::new, |site| format!(" at {site}"));
        writeln!(out, "  {}{site}: {}, {}", seat.name, counted(seat.head as usize, "entry", "entries"), heard(seat))?;
    }
    erase::write_list(out, &erasures)?;
    Ok(Outcome::Done)
}

fn heard(seat: &SeatThere) -> String {
    let ago = match seat.ago_s {
        ago if ago < 60.0 => "heard just now".to_owned(),
        ago if ago < 5400.0 => format!("not heard for {:.0} min", ago / 60.0),
        ago if ago < 48.0 * 3600.0 => format!("not heard for {:.0} h", ago / 3600.0),
        ago => format!("not heard for {:.0} days", ago / 86400.0),
    };
    if seat.is_gone { "left the room".to_owned() } else { ago }
}

impl SeatJson {
    fn of(seat: &SeatThere) -> Self {
        Self {
            seat: seat.name.clone(),
            site: seat.site.clone(),
            heard: rfc_3339(seat.heard_s),
            head: seat.head,
            gone: seat.is_gone,
        }
    }
}
