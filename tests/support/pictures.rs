//! Pictures of the screen and of texts, compared with those that were read and kept in `snapshots/`.

use std::path::Path;

/// The settings under which every picture is compared: one folder at the top of the package, and no name of a test's file.
pub fn settings() -> insta::Settings {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path(Path::new(env!("CARGO_MANIFEST_DIR")).join("snapshots"));
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings
}

/// Compares the screen after some keys with its picture.
pub fn compare(name: &str, keys: &str, frame: &str) {
    let mut settings = settings();
    settings.set_description(format!("keys: {keys}"));
    settings.bind(|| insta::assert_snapshot!(name, frame));
}

/// Compares a text with the one that is kept.
pub fn compare_text(name: &str, text: &str) {
    settings().bind(|| insta::assert_snapshot!(name, text));
}
