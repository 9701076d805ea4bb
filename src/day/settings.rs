//! What holds for everybody of a day, set once.

use serde::{Deserialize, Serialize};

use super::shelf::DayShelf;
use crate::exam::{Detail, Person, State};

/// What holds for everybody of a day. Box, frame and vertex distance are those of the exams; the notation is that of the
/// settings.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct DaySettings {
    /// Where: a school, a vision centre.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// What the box is called.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub box_name: Option<String>,
    /// What the frame is called.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frame: Option<String>,
    /// The room, as details that every exam of the day begins with: at most one of each kind.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub room: Vec<Detail>,
    /// The shelf from which ready-made pairs are given, if there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shelf: Option<DayShelf>,
}

impl DaySettings {
    /// Sets a detail of the room in place of what was there; one of the person changes nothing.
    pub fn set_room(&mut self, detail: &Detail) {
        if !detail.holds_for_a_day() {
            return;
        }
        let kind = std::mem::discriminant(detail);
        self.room.retain(|held| std::mem::discriminant(held) != kind);
        self.room.push(detail.clone());
    }

    /// What a day has that goes on from an exam: its box, its frame and its room.
    pub fn of(exam: &State, place: Option<String>) -> Self {
        Self {
            place,
            box_name: Some(exam.fitted.stock.box_name.clone()),
            frame: Some(exam.fitted.frame.name.clone()),
            room: room_of(&exam.person),
            shelf: None,
        }
    }
}

/// The room of an exam.
fn room_of(person: &Person) -> Vec<Detail> {
    let distances = [
        person.chart_metres.map(Detail::ChartMetres),
        person.chart_made_for_metres.map(Detail::ChartMadeForMetres),
        person.near_metres.map(Detail::NearMetres),
        person.working_metres.map(Detail::WorkingMetres),
        person.planned_vertex.map(Detail::PlannedVertex),
        person.strategy.map(Detail::Strategy),
    ];
    distances.into_iter().flatten().collect()
}
