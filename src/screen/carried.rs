//! What stays from one person to the next, as one value: the room and how the screen looks.
//!
//! What belongs to a person goes with the person: the planned vertex distance is that of one pair of glasses (the settings
//! name it for all), and the frame is set to somebody's pupillary distance.

use super::app::App;
use super::settings::{Settings, ThemeName};
use super::ui::Ui;
use crate::exam::{Detail, Event, State};
use crate::optics::CylinderForm;

/// What stays from one person to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Carried {
    /// How far chart, near work and retinoscopy are from the eye here.
    pub room: Room,
    /// Sign of the written cylinder.
    pub form: CylinderForm,
    /// Colours.
    pub theme: ThemeName,
    /// Whether a screening pass begins with whoever is called in.
    pub screens: bool,
}

/// Distances of the room in metres, as far as they were said.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Room {
    /// From the eye to the chart.
    pub chart_metres: Option<f64>,
    /// For which the chart's figures are printed.
    pub chart_made_for_metres: Option<f64>,
    /// Of near work.
    pub near_metres: Option<f64>,
    /// Of retinoscopy.
    pub working_metres: Option<f64>,
}

impl Carried {
    /// What stays of a screen.
    pub fn of(app: &App) -> Self {
        Self {
            room: Room::of(app.state(), &app.settings),
            form: app.ui.form,
            theme: app.ui.theme,
            screens: app.ui.screens,
        }
    }

    /// The screen on which the next exam begins.
    pub fn next_screen(self, settings: &Settings) -> Ui {
        Ui { form: self.form, theme: self.theme, screens: self.screens, ..Ui::new(settings) }
    }
}

impl Room {
    /// The room of an exam, without what the settings say anyway.
    pub fn of(state: &State, settings: &Settings) -> Self {
        let person = &state.person;
        Self {
            chart_metres: person.chart_metres.filter(|metres| *metres != settings.chart_m),
            chart_made_for_metres: person.chart_made_for_metres,
            near_metres: person.near_metres,
            working_metres: person.working_metres,
        }
    }

    /// The events with which the next exam begins, so that its record has the room too.
    pub fn events(self) -> Vec<Event> {
        let details = [
            self.chart_metres.map(Detail::ChartMetres),
            self.chart_made_for_metres.map(Detail::ChartMadeForMetres),
            self.near_metres.map(Detail::NearMetres),
            self.working_metres.map(Detail::WorkingMetres),
        ];
        details.into_iter().flatten().map(Event::Detail).collect()
    }

    /// The room in a few words: `chart 4 m, near work 0.4 m`; empty when nothing was said.
    pub fn in_words(self) -> String {
        let distances = [
            ("chart", self.chart_metres),
            ("chart made for", self.chart_made_for_metres),
            ("near work", self.near_metres),
            ("retinoscopy", self.working_metres),
        ];
        let word = |(name, metres): (&str, Option<f64>)| metres.map(|metres| format!("{name} {metres} m"));
        distances.into_iter().filter_map(word).collect::<Vec<_>>().join(", ")
    }
}
