//! What an object has no place for, in words.

use super::ways;
use crate::export::record::Record;
use crate::export::{glasses_words, words};

/// What stands in the comments of every object, as these have no place of their own for it.
pub fn only_in_words(record: &Record) -> Vec<String> {
    let without_power = record.eyes().into_iter().filter(|eye| eye.written.is_none()).map(|eye| {
        let prism = match eye.prism.as_slice() {
            [] => String::new(),
            parts => format!("; prism {}", words::prism(parts)),
        };
        format!("{}: {}{prism}.", words::sentence(&words::eye(eye.eye)), eye.outcome.shown())
    });
    without_power.chain(ways::only_in_words(record)).collect()
}

/// The comments of an object.
pub fn comments(record: &Record) -> String {
    let draft = record.draft.then(|| "DRAFT: this exam is not closed.".to_owned());
    let lines = draft
        .into_iter()
        .chain(only_in_words(record))
        .chain(record.eyes().into_iter().filter_map(|eye| words::stays_on(record, eye)))
        .chain(words::outcome(record))
        .chain(record.eyes().into_iter().filter_map(words::through_plus_two))
        .chain(record.cautions_in_words.iter().cloned())
        .chain(words::circumstances(record))
        .chain(record.notes.iter().map(|note| format!("Note: {note}")))
        .chain(record.amendments.iter().map(|text| format!("Added after closing: {text}")))
        .chain(record.came_back.iter().map(glasses_words::came_back_head))
        .chain(record.notice.iter().map(|&text| text.to_owned()));
    let lines: Vec<String> = lines.map(|text| words::printable(&text)).collect();
    lines.join("\r\n")
}
