//! A box as its file declares it, every series written out.

use serde::{Deserialize, Serialize};

use super::lens::{Lens, Piece};

/// How the maker computed the marks of the box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LensForm {
    /// Each lens has its mark as its own power; stacks follow the distances between the cells.
    #[default]
    Thin,
    /// Computed by its maker so that marks add up in the frame.
    Additive,
}

/// How a box marks the sign of its lenses on their rims.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Rims {
    /// Word for the rim of a plus lens.
    pub plus: Option<String>,
    /// Word for the rim of a minus lens.
    pub minus: Option<String>,
}

/// A labelled place in the box: a lens and how many of it were declared.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LensLine {
    /// What the label of the place says.
    pub lens: Lens,
    /// Pieces declared, 1 to 99.
    pub declared: u8,
    /// Pieces of these that the file itself lists as missing.
    pub missing: u8,
}

/// A piece that was measured and has another power than its mark.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    /// The piece that was on the focimeter.
    pub piece: Piece,
    /// Its measured power in dioptres (the cylinder's power for a cylinder, prism dioptres for a prism).
    pub power: f64,
    /// Why, if the file says so.
    pub note: Option<String>,
}

/// A row of the tray in which the box lies.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TrayRow {
    /// What it is called.
    pub name: String,
    /// The lenses in it, from left to right; the pieces of one lie together.
    pub lenses: Vec<Lens>,
}

/// One declared set of trial lenses.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DeclaredBox {
    /// What people call the box.
    pub name: String,
    /// By what the logbook knows the box; where the file says none, its name.
    #[serde(default)]
    pub id: Option<String>,
    /// What is to be remembered of it.
    pub note: Option<String>,
    /// How the marks were computed.
    pub form: LensForm,
    /// How the rims are marked, if they are.
    pub rims: Rims,
    /// The labelled places, each lens once, in the order of the file.
    pub lines: Vec<LensLine>,
    /// Pieces with a measured power.
    pub measured: Vec<Measured>,
    /// The rows in which lenses lie, where the file says so.
    #[serde(default)]
    pub tray: Vec<TrayRow>,
}
