//! Named cases: invented people, each declared in a YAML file, for teaching and for trying the guide.
//!
//! - [`declared`]: a case with the person that it declares;
//! - [`mod@file`]: how a case file is read;
//! - [`schema`]: what a case file looks like, for editors;
//! - [`shipped`]: the cases that come with the program.

pub mod declared;
pub mod file;
pub mod schema;
pub mod shipped;

pub use declared::Case;
pub use file::parse_case;
pub use shipped::read_case;
