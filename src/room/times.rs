//! Times of a room's clock.

use jiff::Timestamp;

/// A time of the room, RFC 3339 in UTC, from seconds since 1970; `None` where that is none.
pub fn rfc_3339(at_s: f64) -> Option<String> {
    Timestamp::from_millisecond((at_s * 1000.0) as i64).ok().map(|at| at.to_string())
}
