//! The person and the room.

use serde::{Deserialize, Serialize};

use super::chosen::Strategy;
use crate::optics::{Eye, Eyes, Millimetres, Power, SpheroCylinder};

/// What the person complains of; it decides the first guess.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Complaint {
    /// Blurred far away only.
    FarBlur,
    /// Blurred at all distances.
    BlurEverywhere,
    /// Only near work is hard.
    NearOnly,
    /// No trouble with seeing at any distance.
    Nothing,
}

/// A steady difference of earlier retinoscopy from the power then found, over closed exams.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct EarlierRetinoscopy {
    /// How many eyes were compared.
    pub eyes: usize,
    /// The parts of the mean difference that are steady, retinoscopy less found power.
    pub differs: Power,
    /// Standard deviation of each part.
    pub spread: Power,
}

/// What is known of the person and the room.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Person {
    /// Label or initials.
    pub label: Option<String>,
    /// Age in whole years.
    pub age_years: Option<u8>,
    /// What the person complains of.
    pub complaint: Option<Complaint>,
    /// Vertex distance for which glasses are planned; the frame's own when not said.
    pub planned_vertex: Option<Millimetres>,
    /// Chart distance in metres.
    pub chart_metres: Option<f64>,
    /// The distance in metres for which the chart's figures are printed; that at which it stands, when not said.
    pub chart_made_for_metres: Option<f64>,
    /// Near distance in metres.
    pub near_metres: Option<f64>,
    /// Working distance of retinoscopy in metres.
    pub working_metres: Option<f64>,
    /// Old glasses, right first.
    pub old_glasses: Eyes<Option<SpheroCylinder>>,
    /// Addition of the old glasses in dioptres, one for both eyes.
    pub old_addition: Option<f64>,
    /// The preferred eye.
    pub dominant_eye: Option<Eye>,
    /// How the examiner's earlier retinoscopy differs from the power then found; once known it stays for the exam.
    pub earlier_retinoscopy: Option<EarlierRetinoscopy>,
    /// In which way the eyes are refracted.
    pub strategy: Option<Strategy>,
}
