//! Walks: keys in, screens out, through the same door as `--keys … --print`. Every picture was read before it was kept.

mod bench;
mod details;
mod edges;
mod frame;
mod guide;
mod laws;
mod led;
mod person;
mod records;
mod room;
#[expect(clippy::unwrap_used, clippy::panic, reason = "shared with the tests of the guide; a test may stop")]
#[path = "../guide/scripted_eye.rs"]
mod scripted_eye;
mod settings;
mod warnings;

use bench::walk;

type Failure = Box<dyn std::error::Error>;

/// Compares the screen after some keys with its picture in `snapshots/`.
fn picture(name: &str, keys: &str, size: &str) -> Result<(), Failure> {
    compare(&format!("{name}-{size}"), keys, &walk(keys, size)?);
    Ok(())
}

/// The same at the size the screen is designed for and at the smallest common one.
fn pictures(name: &str, keys: &str) -> Result<(), Failure> {
    picture(name, keys, "120x36")?;
    picture(name, keys, "80x24")
}

fn compare(name: &str, keys: &str, frame: &str) {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../../snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.set_description(format!("keys: {keys}"));
    settings.bind(|| insta::assert_snapshot!(name, frame));
}
