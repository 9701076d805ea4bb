//! The exam that is open to be read.

use super::super::page::{Page, Records};
use super::super::ui::Ui;
use crate::session::ListedExam;

/// The records that are open.
pub fn records(ui: &Ui) -> Option<&Records> {
    match &ui.page {
        Some(Page::Records(records)) => Some(records),
        Some(Page::Details(_) | Page::Box(_) | Page::Day(_) | Page::Practice(_) | Page::Sight) | None => None,
    }
}

/// The exam that is open to be read, when it can be amended.
pub fn amendable(ui: &Ui) -> Result<u64, String> {
    let Some(open) = records(ui).and_then(|records| records.open.as_ref()) else {
        return Err("no exam is open to be amended".to_owned());
    };
    match (&open.exam, &open.held) {
        (ListedExam::Elsewhere(name), _) => {
            Err(format!("exam {name} is of another seat and can only be read: whoever examined there adds to it"))
        }
        (exam, Some(holder)) => Err(format!("exam {exam} can only be read: it is open elsewhere, in {holder}")),
        (exam, None) if !open.closed => Err(format!("exam {exam} is not closed: only a closed exam is amended")),
        (ListedExam::Own(exam), None) => Ok(*exam),
    }
}
