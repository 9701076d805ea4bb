//! Practice eyes: what they see and answer, and the exams that are led on them.

mod cases;
