//! Lessons: an order of eyes and drills with a few sentences between, each declared in a YAML file.
//!
//! - [`declared`]: a lesson as its file declares it; [`mod@file`]: how a lesson file is read;
//! - [`schema`]: what a lesson file looks like, for editors; [`shipped`]: the lessons that come with the program.

pub mod declared;
pub mod file;
pub mod schema;
pub mod shipped;

pub use declared::{Lesson, LessonEye, LessonStep};
pub use file::parse_lesson;
pub use shipped::read_lesson;
