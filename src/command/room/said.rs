//! What a round with a room comes to, and what its clock shows.

use jiff::Timestamp;

use crate::command::note;
use crate::kit::document::fault::counted;
use crate::room::calls::Welcome;
use crate::room::exchange::Exchanged;

/// Clocks that differ by more are told.
const CLOCKS_DIFFER_S: f64 = 60.0;

/// How many entries went and came.
pub fn in_words(exchanged: Exchanged) -> String {
    let sent = counted(exchanged.sent, "entry", "entries");
    format!("{sent} sent, {} new here", exchanged.new)
}

/// By how many seconds the clock here is ahead of that of the room.
pub fn ahead_s(welcome: &Welcome) -> f64 {
    Timestamp::now().as_millisecond() as f64 / 1000.0 - welcome.clock_s
}

/// Says so where the clock here is off that of the room.
pub fn say_if_clocks_differ(welcome: &Welcome) {
    let ahead = ahead_s(welcome);
    if ahead.abs() > CLOCKS_DIFFER_S {
        let way = if ahead > 0.0 { "ahead of" } else { "behind" };
        note(format_args!(
            "the clock of this computer is {:.0} s {way} the room's: times are kept as they are here, and nothing is ordered by them",
            ahead.abs()
        ));
    }
}
