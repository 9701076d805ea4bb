//! Accessories: what a box holds besides lenses with a power.

use std::fmt;
use std::sync::Arc;

/// Makes the type and what is true of each known accessory from one table.
macro_rules! accessories {
    ($($(#[doc = $doc:literal])+ $variant:ident: $name:literal, covers $covers:literal, turns $turns:literal;)+) => {
        /// An accessory: a piece without power that is known by its name.
        ///
        /// Written as its name; one of a box's own says after it what it does: `patch (covers)`, `grating (turns)`.
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Accessory {
            $($(#[doc = $doc])+ $variant,)+
            /// One of the box's own.
            Other {
                /// Its name.
                name: Arc<str>,
                /// Whether it covers the eye, so that there is no power to speak of.
                covers: bool,
                /// Whether it has a direction that a turning cell sets.
                turns: bool,
            },
        }

        impl Accessory {
            /// Those that every box may declare by their name alone.
            pub const KNOWN: &[Self] = &[$(Self::$variant),+];

            /// The names of [`Accessory::KNOWN`].
            pub const KNOWN_NAMES: &[&str] = &[$($name),+];

            /// Its name.
            pub fn name(&self) -> &str {
                match self {
                    $(Self::$variant => $name,)+
                    Self::Other { name, .. } => name,
                }
            }

            /// Whether it covers the eye, so that there is no power to speak of.
            pub fn covers(&self) -> bool {
                match self {
                    $(Self::$variant => $covers,)+
                    Self::Other { covers, .. } => *covers,
                }
            }

            /// Whether it has a direction that a turning cell sets.
            pub fn turns(&self) -> bool {
                match self {
                    $(Self::$variant => $turns,)+
                    Self::Other { turns, .. } => *turns,
                }
            }
        }
    };
}

accessories! {
    /// A disc that covers the eye.
    Occluder: "occluder", covers true, turns false;
    /// A disc with a small hole.
    Pinhole: "pinhole", covers false, turns false;
    /// A disc with a slit that is turned to a meridian.
    Slit: "slit", covers false, turns true;
    /// Parallel rods that draw a point of light out into a streak.
    MaddoxRod: "maddox rod", covers false, turns true;
    /// A red filter.
    Red: "red", covers false, turns false;
    /// A green filter.
    Green: "green", covers false, turns false;
    /// A disc with a cross, for centring.
    CrossLines: "cross lines", covers false, turns false;
    /// A disc that lets light through but no letters.
    Frosted: "frosted", covers false, turns false;
    /// Two pairs of lenses on a handle.
    Flipper: "flipper", covers false, turns false;
}

/// What an accessory of one's own does, as it is written after its name.
const DOES: [(&str, bool, bool); 3] =
    [(" (covers)", true, false), (" (turns)", false, true), (" (covers, turns)", true, true)];

impl Accessory {
    /// The known accessory of this name, if there is one.
    pub fn known(name: &str) -> Option<Self> {
        Self::KNOWN.iter().find(|known| known.name() == name).cloned()
    }

    /// The known name that this name was perhaps meant for: the same in other letters, or but for a letter or two.
    pub fn meant_by(name: &str) -> Option<&'static str> {
        let name = name.to_lowercase();
        let slips = if name.chars().count() > 5 { 2 } else { 1 };
        Self::KNOWN_NAMES.iter().copied().find(|known| strsim::damerau_levenshtein(&name, known) <= slips)
    }

    /// An accessory by its name: a known one, or one of a box's own of that name which neither covers nor turns.
    ///
    /// The name is taken as it is; [`super::Lens::accessory`] checks one that a person writes.
    pub fn named(name: &str) -> Self {
        Self::known(name).unwrap_or_else(|| Self::Other { name: name.into(), covers: false, turns: false })
    }

    /// The name in a label, and what a label says that an accessory of one's own does: whether it covers, whether it turns.
    pub(super) fn parts_of_label(label: &str) -> (&str, bool, bool) {
        let found = DOES.iter().find_map(|(does, covers, turns)| Some((label.strip_suffix(does)?, *covers, *turns)));
        found.unwrap_or((label, false, false))
    }
}

impl From<&str> for Accessory {
    fn from(name: &str) -> Self {
        Self::named(name)
    }
}

impl fmt::Display for Accessory {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())?;
        match self {
            Self::Other { covers, turns, .. } => {
                let does = DOES.iter().find(|(_, c, t)| (c, t) == (covers, turns));
                f.write_str(does.map_or("", |(does, _, _)| does))
            }
            Self::Occluder
            | Self::Pinhole
            | Self::Slit
            | Self::MaddoxRod
            | Self::Red
            | Self::Green
            | Self::CrossLines
            | Self::Frosted
            | Self::Flipper => Ok(()),
        }
    }
}
