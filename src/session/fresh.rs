//! The empty frame with the box as it is now, for the exam after this one.

use std::path::PathBuf;

use super::known::{KnownBox, known_by_name, left_out, named};
use super::note::Note;
use crate::frame::{DeclaredFrame, FittedFrame, read_frame};
use crate::kit::document::Faults;
use crate::kit::shipped::demo_box;
use crate::kit::{DeclaredBox, Stock, read_box};
use crate::logbook::{Later, Logbook, LogbookError, NamedBox, RefusedChange};
use crate::sharing::Heads;

/// Where the box and the frame of the open exam come from.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sources {
    /// The file of the box; the box that comes with the program, or one whose file is not known, has none.
    pub box_file: Option<PathBuf>,
    /// The file of the frame; the frame that comes with the program has none.
    pub frame_file: Option<PathBuf>,
}

/// The box of the open exam as the logbook knows it.
#[derive(Debug, Clone)]
pub struct KeptBox {
    /// By what it is known.
    pub in_box: NamedBox,
    /// The last changes of it that the exam began with; `None` where that was not noted.
    pub applied: Option<Heads>,
    /// Its pieces as the exam began with them, where some went away before it went on.
    pub began_with: Option<Stock>,
}

/// An empty frame and a box for another exam.
#[derive(Debug)]
pub struct Fresh {
    /// By what the logbook knows the box.
    pub in_box: NamedBox,
    /// The last changes of it that are in the box.
    pub applied: Heads,
    /// The frame and the box.
    pub fitted: FittedFrame,
    /// What has to be said of them.
    pub notes: Vec<Note>,
}

impl Fresh {
    /// Reads box and frame again; `frame` and `stock` are as they are known. What cannot be read, or has become something else, stays as the exam before began with it,
    /// with the changes of the box since then, and that is said.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    pub fn after(
        frame: &DeclaredFrame,
        stock: &Stock,
        kept: &KeptBox,
        sources: &Sources,
        logbook: &Logbook,
    ) -> Result<Self, LogbookError> {
        let mut notes = Vec::new();
        let frame = frame_again(frame, sources, &mut notes);
        if let Some((named, declared)) = box_again(kept, sources, logbook, &mut notes)? {
            let known = KnownBox::of(logbook, named, &declared, sources.box_file.as_deref())?;
            notes.extend(known.notes);
            let fitted = FittedFrame::new(frame, known.stock);
            return Ok(Self { in_box: known.named, applied: known.applied, fitted, notes });
        }
        let mut stock = kept.began_with.clone().unwrap_or_else(|| stock.clone());
        let since = logbook.changes_since(&kept.in_box.key, kept.applied.as_ref(), &stock)?;
        for later in since.later {
            match (later.apply(&mut stock), later) {
                (Err(why), Later::Happened(stored)) => {
                    notes.push(left_out(RefusedChange { stored, why }, &kept.in_box.name));
                }
                // a piece that is not in this box was not as it was either
                (Ok(()) | Err(_), Later::Happened(_) | Later::TakenBack(_)) => {}
            }
        }
        let fitted = FittedFrame::new(frame, stock);
        Ok(Self { in_box: kept.in_box.clone(), applied: since.all, fitted, notes })
    }
}

fn frame_again(before: &DeclaredFrame, sources: &Sources, notes: &mut Vec<Note>) -> DeclaredFrame {
    let read = sources.frame_file.as_deref().map(read_frame).transpose();
    match unless_at_fault("frame", read, notes) {
        Some(frame) if frame.name == before.name => frame,
        Some(other) => {
            let file = sources.frame_file.clone().unwrap_or_default();
            notes.push(Note::Another { what: "frame", file, name: other.name });
            before.clone()
        }
        None => before.clone(),
    }
}

/// The box of the exam from its file, or the one that comes with the program; `None` where it stays as it was.
fn box_again(
    kept: &KeptBox,
    sources: &Sources,
    logbook: &Logbook,
    notes: &mut Vec<Note>,
) -> Result<Option<(NamedBox, DeclaredBox)>, LogbookError> {
    let read = match &sources.box_file {
        Some(file) => read_box(file).map(Some),
        None => demo_box().map(Some),
    };
    let Some(declared) = unless_at_fault("box", read, notes) else {
        return Ok(None);
    };
    let named = named(&declared);
    if logbook.is_same_box(&named.key, &kept.in_box.key)? {
        return Ok(Some((named, declared)));
    }
    // its file has gained an id meanwhile: the next start asks, until then it is known by its name
    if known_by_name(logbook, &named)?.as_ref() == Some(&kept.in_box.key) {
        return Ok(Some((kept.in_box.clone(), declared)));
    }
    if let Some(file) = sources.box_file.clone() {
        notes.push(Note::Another { what: "box", file, name: declared.name });
    }
    Ok(None)
}

fn unless_at_fault<T>(what: &'static str, read: Result<Option<T>, Faults>, notes: &mut Vec<Note>) -> Option<T> {
    read.unwrap_or_else(|faults| {
        notes.push(Note::Unread { what, faults });
        None
    })
}
