//! Walks: keys in, screens out, through the same door as `--keys … --print`. Every picture was read before it was kept.

mod acuity;
mod belief;
mod bench;
mod box_kept;
mod box_of_seats;
mod box_room;
mod day;
mod decoder;
mod details;
mod deviation;
mod drills;
mod edges;
mod ended;
mod eyes;
mod face;
mod forms;
mod frame;
mod guide;
mod laws;
mod learning;
mod led;
mod looking;
mod new_frame;
mod person;
mod pixels;
mod plain_lines;
mod practising;
mod ready_made;
mod room;
mod settings;
mod shared;
mod sight;
mod sight_page;
mod sure;
mod typed_answers;
mod under_frame;
mod warnings;
mod whole_day;

use crate::pictures::Album;
use bench::walk;

type Failure = Box<dyn std::error::Error>;

/// Compares the screen after some keys with its picture in `snapshots/`.
fn picture(album: &Album, name: &str, keys: &str, size: &str) -> Result<(), Failure> {
    album.screen(&format!("{name}-{size}"), keys, &walk(keys, size)?);
    Ok(())
}

/// The same at the size the screen is designed for and at the smallest common one.
fn pictures(album: &Album, name: &str, keys: &str) -> Result<(), Failure> {
    picture(album, name, keys, "120x36")?;
    picture(album, name, keys, "80x24")
}
