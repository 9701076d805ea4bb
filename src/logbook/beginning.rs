//! How an exam began, as it is kept: the box once for each state of it, under the hash of its content, everything else with
//! the exam. An exam's own part has at most 4 kB for any box.

use std::path::Path;

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::engine::{BoxState, Engine};
use super::error::LogbookError;
use super::names::BoxKey;
use super::row::{self, Stored};
use crate::exam::Opening;
use crate::sharing::body::inflate;
use crate::sharing::{Hash, Heads};

/// The form of this kind of row. In form 1 it holds the opening with the whole box and nothing else.
const FORMAT: i64 = 2;

/// A box has at most some 10 MB as text.
const MOST_BYTES: u64 = 64 << 20;

/// The version of the procedures in exams that were begun before it was noted.
pub const BEFORE_VERSIONS: u32 = 1;

/// What an exam's beginning holds beside the opening.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Beginning {
    /// By what the logbook knew the box; `None` in exams from before that was noted.
    pub box_key: Option<BoxKey>,
    /// The version of the guide's procedures; [`BEFORE_VERSIONS`] in exams from before it was noted.
    pub procedures_version: u32,
    /// The last changes of the box that the opening has in it; `None` in exams from before that was noted.
    pub applied: Option<Heads>,
}

/// The row. The opening is as [`Opening`] writes itself, but for the box: that has only its hash.
#[derive(Serialize, Deserialize)]
struct BeginningRow {
    #[serde(rename = "box")]
    box_key: Option<BoxKey>,
    box_state: String,
    procedures: u32,
    applied: Option<Heads>,
    opening: Value,
}

/// Where the box is in an opening as it writes itself.
fn box_in(opening: &mut Value) -> Option<&mut Value> {
    opening.get_mut("fitted")?.get_mut("stock")
}

/// Writes the beginning of an exam as a row and a state of its box, and refuses one that would not read back as it is.
pub fn encode(opening: &Opening, beginning: &Beginning) -> Result<(Stored, BoxState), LogbookError> {
    let refused = |reason: String| LogbookError::NotStorable { what: "the beginning of the exam".to_owned(), reason };
    let mut value = serde_json::to_value(opening).map_err(|error| refused(error.to_string()))?;
    let stock = box_in(&mut value).ok_or_else(|| refused("it has no box".to_owned()))?.take();
    let content = stock.to_string();
    let hash = Hash::of(content.as_bytes());
    let row = BeginningRow {
        box_key: beginning.box_key.clone(),
        box_state: hash.to_string(),
        procedures: beginning.procedures_version,
        applied: beginning.applied.clone(),
        opening: value,
    };
    let text = serde_json::to_string(&row).map_err(|error| refused(error.to_string()))?;
    let (back, beside) = from_texts(&text, |_| Ok(content.clone().into_bytes()))
        .map_err(|error| refused(format!("it holds something that is not a number or not a text ({error})")))?;
    if back != *opening || beside != *beginning {
        return Err(refused("it would not read back as it was".to_owned()));
    }
    Ok((Stored { format: FORMAT, text }, BoxState { hash, content: content.into_bytes() }))
}

/// Reads the beginning of an exam; `what` names the row in an error.
pub fn decode(
    engine: &dyn Engine,
    stored: &Stored,
    path: &Path,
    what: &str,
) -> Result<(Opening, Beginning), LogbookError> {
    let refused = |reason| LogbookError::unreadable(path, what, reason);
    let (opening, beginning) = match stored.format {
        row::FORMAT => {
            let before = Beginning { box_key: None, procedures_version: BEFORE_VERSIONS, applied: None };
            (stored.decode::<Opening>(path, what)?, before)
        }
        FORMAT => {
            let mut failed = None;
            let content = |hash| match box_state(engine, hash) {
                Ok(content) => content,
                Err(error) => {
                    failed = Some(error);
                    Err("its box cannot be read".to_owned())
                }
            };
            let read = from_texts(&stored.text, content);
            if let Some(error) = failed {
                return Err(error);
            }
            read.map_err(refused)?
        }
        newer => return Err(refused(format!("it has row form {newer}, and this program knows forms to {FORMAT}"))),
    };
    if !opening.fitted.frame.is_within_limits() {
        return Err(refused("its frame has no cell, or more than can be".to_owned()));
    }
    Ok((opening, beginning))
}

/// The hash of the box with which an exam began; none where the row holds the box itself, or cannot be read.
pub fn box_state_of(stored: &Stored) -> Option<Hash> {
    let row: BeginningRow = serde_json::from_str(&stored.text).ok().filter(|_| stored.format == FORMAT)?;
    Hash::from_text(&row.box_state)
}

/// Reads the beginning of an exam that is in no logbook yet, with the boxes that came with it; or why it cannot be read.
pub fn decode_sent(
    stored: &Stored,
    box_state: impl FnOnce(Hash) -> Option<Vec<u8>>,
) -> Result<(Opening, Beginning), String> {
    let content = |hash| {
        let deflated = box_state(hash).ok_or_else(|| format!("the box {hash} is not there"))?;
        let content = inflate(&deflated, MOST_BYTES).map_err(|error| error.to_string())?;
        if Hash::of(&content) == hash { Ok(content) } else { Err(format!("the box {hash} is not as it was written")) }
    };
    let (opening, beginning) = match stored.format {
        row::FORMAT => {
            let opening: Opening = serde_json::from_str(&stored.text).map_err(|error| error.to_string())?;
            (opening, Beginning { box_key: None, procedures_version: BEFORE_VERSIONS, applied: None })
        }
        FORMAT => from_texts(&stored.text, content)?,
        newer => return Err(format!("it has row form {newer}, and this program knows forms to {FORMAT}")),
    };
    let fits = opening.fitted.frame.is_within_limits();
    if fits { Ok((opening, beginning)) } else { Err("its frame has no cell, or more than can be".to_owned()) }
}

/// The content of a state of a box, or why it is not available; the outer error is the engine's.
fn box_state(engine: &dyn Engine, hash: Hash) -> Result<Result<Vec<u8>, String>, LogbookError> {
    Ok(match engine.box_state(hash)? {
        None => Err(format!("the box {hash} is not there")),
        Some(deflated) => match inflate(&deflated, MOST_BYTES) {
            Ok(content) if Hash::of(&content) == hash => Ok(content),
            Ok(_) => Err(format!("the box {hash} is not as it was written")),
            Err(error) => Err(format!("the box {hash}: {error}")),
        },
    })
}

fn from_texts(
    text: &str,
    content: impl FnOnce(Hash) -> Result<Vec<u8>, String>,
) -> Result<(Opening, Beginning), String> {
    let mut row: BeginningRow = serde_json::from_str(text).map_err(|error| error.to_string())?;
    let hash = Hash::from_text(&row.box_state).ok_or("the hash of its box is not one")?;
    let stock = serde_json::from_slice(&content(hash)?).map_err(|error| format!("its box: {error}"))?;
    *box_in(&mut row.opening).ok_or("it has no place for a box")? = stock;
    let opening = serde_json::from_value(row.opening).map_err(|error| error.to_string())?;
    Ok((opening, Beginning { box_key: row.box_key, procedures_version: row.procedures, applied: row.applied }))
}
