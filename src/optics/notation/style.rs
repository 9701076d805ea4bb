//! With which characters things are written.

use crate::optics::listed::listed;

listed! {
    /// With which characters powers are written; both are read everywhere.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
    pub enum Style {
        /// `-` and `x`: for files, commands and terminals without other characters.
        #[default]
        Ascii,
        /// The minus sign `−` and the multiplication sign `×`.
        Typographic,
    }
}

impl Style {
    /// The sign of minus.
    pub fn minus(self) -> char {
        match self {
            Self::Ascii => '-',
            Self::Typographic => '\u{2212}',
        }
    }

    /// What stands between a cylinder and its axis.
    pub fn times(self) -> char {
        match self {
            Self::Ascii => 'x',
            Self::Typographic => '\u{d7}',
        }
    }
}
