//! By what people speak of an exam.

/// The number of an exam, with the seat where that is another one than this: `lane3-14`.
pub fn exam_name(exam: u64, seat: Option<&str>) -> String {
    seat.map_or_else(|| exam.to_string(), |seat| format!("{seat}-{exam}"))
}
