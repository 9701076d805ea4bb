//! Drops that rest the accommodation: what was put in, when, and when it is ready. The program names no dose.

use jiff::{SignedDuration, Timestamp};
use serde::{Deserialize, Serialize};

use crate::optics::Eye;

/// Drops that were put in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DropsPut {
    /// What, in the words of whoever put it in.
    pub what: String,
    /// Into which eye; both where none is named.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub eye: Option<Eye>,
    /// When.
    pub at: Timestamp,
    /// After how many minutes they are ready by the local protocol.
    pub ready_after_min: u32,
    /// By whom, if that was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

impl DropsPut {
    /// When they are ready.
    pub fn ready(&self) -> Timestamp {
        self.at.checked_add(SignedDuration::from_mins(i64::from(self.ready_after_min))).unwrap_or(Timestamp::MAX)
    }
}

/// When all drops are ready; `None` where none were put in.
pub fn ready(put: &[DropsPut]) -> Option<Timestamp> {
    put.iter().map(DropsPut::ready).max()
}
