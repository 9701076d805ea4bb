//! Still to come.
