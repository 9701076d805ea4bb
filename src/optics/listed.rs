//! Enums that list their variants, so that whoever goes through all of them forgets none.

/// Declares an enum whose variants hold nothing, with the list of all of them as `ALL`.
macro_rules! listed {
    ($(#[$attribute:meta])* pub enum $name:ident { $($(#[$of_variant:meta])* $variant:ident,)+ }) => {
        $(#[$attribute])*
        pub enum $name {
            $($(#[$of_variant])* $variant,)+
        }

        impl $name {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];
        }
    };
}

pub(crate) use listed;
