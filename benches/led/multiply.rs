//! Many exams of few.

use std::path::Path;

use dioptray::sharing::body::{ExamRow, exam_body};
use dioptray::sharing::{Entry, EntryKind, Hash, WriterId};
use rusqlite::Connection;
use uuid::Uuid;

use super::led::LED;

/// Adds closed exams like those that are there until there are that many, each with its entry.
pub fn multiply(path: &Path, exams: usize) {
    let mut connection = Connection::open(path).unwrap();
    let transaction = connection.transaction().unwrap();
    let writer: Uuid = transaction.query_row("SELECT writer FROM me", [], |row| row.get(0)).unwrap();
    let sql = "SELECT number, hash FROM entry ORDER BY number DESC LIMIT 1";
    let (mut last, hash) = transaction.query_row(sql, [], |row| Ok((row.get(0)?, row.get::<_, Vec<u8>>(1)?))).unwrap();
    let mut hash = Hash::from_bytes(&hash).unwrap();
    let (led, exams) = (i64::try_from(LED).unwrap(), i64::try_from(exams).unwrap());
    for number in led + 1..=exams {
        let (of, id) = ((number - 1) % led + 1, Uuid::now_v7());
        let opened = format!("2026-03-{:02}T{:02}:{:02}:00Z", number / 1000 + 1, number / 60 % 24, number % 60);
        let sql = "INSERT INTO exam (number, id, box, opened, label, finished, found)
                   SELECT ?1, ?2, box, ?3, 'P' || ?1, finished, found FROM exam WHERE number = ?4";
        transaction.execute(sql, (number, id, &opened, of)).unwrap();
        let sql = "INSERT INTO opening (exam, format, opening) SELECT ?1, format, opening FROM opening WHERE exam = ?2";
        transaction.execute(sql, [number, of]).unwrap();
        let sql = "INSERT INTO step (exam, number, at, format, events)
                   SELECT ?1, number, at, format, events FROM step WHERE exam = ?2 ORDER BY number";
        transaction.execute(sql, [number, of]).unwrap();
        let sql = "SELECT 0, ?2, format, opening FROM opening WHERE exam = ?1
                   UNION ALL SELECT number, at, format, events FROM step WHERE exam = ?1 ORDER BY 1";
        let mut select = transaction.prepare_cached(sql).unwrap();
        let rows = select.query_map((number, &opened), |row| {
            Ok((row.get::<_, i64>(0)?, row.get::<_, String>(1)?, row.get::<_, i64>(2)?, row.get::<_, String>(3)?))
        });
        let rows: Vec<_> = rows.unwrap().collect::<Result<_, _>>().unwrap();
        let as_kept =
            rows.iter().map(|(number, at, format, text)| ExamRow { number: *number, at, format: *format, text });
        let entry = Entry {
            kind: EntryKind::Exam,
            about: id.as_bytes().to_vec(),
            by: None,
            at: rows.last().unwrap().1.clone(),
            after: None,
            format: 1,
            body_hash: Hash::of(&exam_body(as_kept)),
        };
        let sealed = entry.seal(WriterId::new(writer), last, hash);
        (last, hash) = (sealed.number, sealed.hash);
        let sql = "INSERT INTO entry (writer, number, kind, about, at, format, body_hash, hash)
                   VALUES (?1, ?2, 'exam', ?3, ?4, 1, ?5, ?6)";
        let hashes = (sealed.entry.body_hash.as_bytes().as_slice(), hash.as_bytes().as_slice());
        transaction
            .execute(sql, (writer, last, id.as_bytes().as_slice(), &sealed.entry.at, hashes.0, hashes.1))
            .unwrap();
    }
    transaction.commit().unwrap();
}
