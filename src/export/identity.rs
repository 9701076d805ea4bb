//! What names the parts of an exported record for other programs: the same record always gives the same names.

use uuid::Uuid;

use super::record::Record;

/// The identity of a part of a record: it follows from the exam's own, or from its number and the time it began where it
/// has none.
pub fn of_part(record: &Record, part: &str) -> Uuid {
    let Record { id, exam, opened, .. } = record;
    if let Some(id) = id {
        return Uuid::new_v5(id, part.as_bytes());
    }
    let name = format!("dioptray exam {exam} opened {} {part}", opened.timestamp());
    Uuid::new_v5(&Uuid::NAMESPACE_OID, name.as_bytes())
}
