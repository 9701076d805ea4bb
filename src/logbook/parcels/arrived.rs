//! An exam of another seat, as it comes out of the body of its entry.

use std::collections::HashMap;
use std::path::Path;

use uuid::Uuid;

use crate::exam::Exam;
use crate::logbook::beginning::decode_sent;
use crate::logbook::engine::{ArrivedExam, EntryRow, StepRow};
use crate::logbook::names::{BoxKey, ExamId, NamedBox};
use crate::logbook::once::Written;
use crate::logbook::row::Stored;
use crate::logbook::summary::Found;
use crate::sharing::body::exam_rows;
use crate::sharing::{EntryKind, Hash};

/// The exam of an entry, with its body as it was before it was deflated; none where it is no exam, or one that this program
/// cannot read: made by a newer one.
pub fn arrived(
    row: &EntryRow,
    body: &str,
    number: Option<i64>,
    box_states: &HashMap<Hash, &[u8]>,
) -> Option<ArrivedExam> {
    let entry = &row.sealed.entry;
    if entry.kind != EntryKind::Exam {
        return None;
    }
    let rows = exam_rows(body)?;
    let (first, steps) = rows.split_first().filter(|(first, _)| first.number == 0)?;
    let opening = Stored { format: first.format, text: first.text.to_owned() };
    let (begun, beginning) =
        decode_sent(&opening, |hash| box_states.get(&hash).map(|content| content.to_vec())).ok()?;
    let steps: Vec<StepRow> = steps
        .iter()
        .map(|step| StepRow {
            number: step.number,
            at: step.at.to_owned(),
            events: Stored { format: step.format, text: step.text.to_owned() },
        })
        .collect();
    let in_order = (1..).zip(&steps).all(|(number, step)| step.number == number);
    let mut written = Written::default();
    let decoded = steps.iter().map(|step| written.decode(&step.events, Path::new(""), "a step"));
    let history = decoded.collect::<Result<Vec<_>, _>>().ok().filter(|_| in_order)?;
    let name = begun.fitted.stock.box_name.clone();
    let key = beginning.box_key.unwrap_or_else(|| BoxKey::of_name(&name));
    let exam = Exam::replay(begun, history).ok()?;
    Some(ArrivedExam {
        id: ExamId::new(Uuid::from_slice(&entry.about).ok()?),
        number: number?,
        in_box: NamedBox { key, name },
        opened: first.at.to_owned(),
        by: entry.by.clone(),
        label: exam.state().person.label.clone(),
        finished: entry.at.clone(),
        found: Found::of(exam.state()).encode().ok()?,
        opening,
        steps,
        is_of_practice: exam.state().practised.is_some(),
    })
}
