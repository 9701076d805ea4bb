//! Pictures of the screen and of texts, compared with those that were read and kept in `snapshots/`.

use std::cell::RefCell;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::thread::panicking;

/// The pictures that one test compares, all in one folder of `snapshots/`. A picture that differs does not end the test:
/// its difference is printed, the others are compared as well, and the test fails when the album goes.
pub struct Album {
    folder: &'static str,
    differing: RefCell<Vec<String>>,
}

impl Album {
    pub fn of(folder: &'static str) -> Self {
        Self { folder, differing: RefCell::default() }
    }

    /// Compares the screen after some keys with its picture.
    pub fn screen(&self, name: &str, keys: &str, frame: &str) {
        let mut settings = self.settings();
        settings.set_description(format!("keys: {keys}"));
        self.compare(&settings, name, frame);
    }

    /// Compares a text with the one that is kept.
    pub fn text(&self, name: &str, text: &str) {
        self.compare(&self.settings(), name, text);
    }

    fn settings(&self) -> insta::Settings {
        let mut settings = insta::Settings::clone_current();
        settings.set_snapshot_path(Path::new(env!("CARGO_MANIFEST_DIR")).join("snapshots").join(self.folder));
        settings.set_prepend_module_to_snapshot(false);
        settings.set_omit_expression(true);
        settings
    }

    fn compare(&self, settings: &insta::Settings, name: &str, text: &str) {
        let compared = catch_unwind(AssertUnwindSafe(|| settings.bind(|| insta::assert_snapshot!(name, text))));
        if compared.is_err() {
            self.differing.borrow_mut().push(name.to_owned());
        }
    }
}

impl Drop for Album {
    fn drop(&mut self) {
        let differing = self.differing.borrow();
        // a test that is failing already has printed its differences
        let said = differing.is_empty() || panicking();
        assert!(said, "not as they are kept in snapshots/{}: {}", self.folder, differing.join(", "));
    }
}
