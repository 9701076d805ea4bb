//! Keys: how they are written, what they ask for, and the one table of which key does what where.
//!
//! - [`chord`]: one key press and its name; [`strokes`]: keys and the mouse as text;
//! - [`action`]: what a key can ask for, by place;
//! - [`table`]: the key table `keys.yaml`; help, hints, rebinding and the README's table are queries over it.

pub mod action;
pub mod chord;
pub mod strokes;
pub mod table;

pub use action::{
    Action, BoxAction, CellsAction, ConfirmationAction, CountingAction, DayAction, DetailsAction, ExportAction,
    GuideAction, ListsAction, LookingAction, MakesAction, OutcomeAction, PracticeAction, PracticeEyeAction,
    RecordsAction, ScreenAction, ScreeningAction, SightAction, StepsAction, TrailAction, TypingAction,
};
pub use chord::{Chord, ChordError};
pub use table::{Binding, Context, KeyConflict, KeyTable};
