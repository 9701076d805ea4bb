//! A class: its code, and what is handed in.

mod code;
