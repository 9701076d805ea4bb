//! What a teacher hides from a student.

/// What is hidden in an exam of a practice eye.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[expect(clippy::struct_excessive_bools, reason = "each is hidden or not by itself")]
pub struct Hidden {
    /// The guide.
    pub guide: bool,
    /// The net power before the eyes.
    pub net: bool,
    /// What the eye sees.
    pub picture: bool,
    /// What the guide would do, on request.
    pub hints: bool,
}

impl Hidden {
    /// What can be hidden, by its name on the command line.
    pub const NAMES: [&str; 4] = ["guide", "net", "picture", "hints"];

    /// With one more hidden, by its name; `None` when nothing is called so.
    #[must_use]
    pub fn with(self, name: &str) -> Option<Self> {
        let at = Self::NAMES.iter().position(|of| *of == name)?;
        let mut each = self.each();
        each[at] = true;
        Some(Self::of(each))
    }

    /// Whether each is hidden, in the order of [`NAMES`](Self::NAMES).
    pub fn each(self) -> [bool; 4] {
        let Self { guide, net, picture, hints } = self;
        [guide, net, picture, hints]
    }

    /// From whether each is hidden, in the order of [`NAMES`](Self::NAMES).
    pub fn of([guide, net, picture, hints]: [bool; 4]) -> Self {
        Self { guide, net, picture, hints }
    }

    /// The names of what is hidden.
    pub fn names(self) -> impl Iterator<Item = &'static str> {
        Self::NAMES.into_iter().zip(self.each()).filter_map(|(name, hidden)| hidden.then_some(name))
    }
}
