//! One evaluation as it is answered.

use serde::Serialize;

use super::worst::WorstJson;
use crate::practice::evaluation::Figures;

/// One evaluation with what it was of.
#[derive(Debug, Serialize)]
pub(super) struct EvaluationJson {
    pub(super) strategy: &'static str,
    pub(super) care: &'static str,
    pub(super) law: &'static str,
    pub(super) seed: u64,
    pub(super) r#box: String,
    pub(super) frame: String,
    #[serde(flatten)]
    pub(super) figures: Figures,
    /// Processor time.
    pub(super) seconds: f64,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) worst: Vec<WorstJson>,
}
