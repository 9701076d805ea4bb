//! Practice eyes, and what the guide comes to on them.

mod figures;
