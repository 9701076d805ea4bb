//! The last things tried, newest first.

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::settings::AcuityNotation;
use super::super::words;
use super::pen::Pen;
use crate::exam::Judgement;
use crate::optics::Acuity;

/// Draws the trail.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    pen.heading(area, "trail", false);
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    for (row, tried) in app.state().trail.iter().rev().take(usize::from(room.height)).enumerate() {
        let (word, style) = match tried.judgement {
            Some(Judgement::Better) => ("better", pen.theme.done),
            Some(Judgement::Same) => ("same", pen.theme.text),
            Some(Judgement::Worse) => ("worse", pen.theme.warning),
            None => ("", pen.theme.text),
        };
        let acuity = tried.acuity.map(|acuity| written(acuity, app.settings.acuity)).unwrap_or_default();
        let kept = if tried.kept { "kept" } else { "" };
        let power = words::power(tried.power, app.ui.form);
        pen.text(room, row as u16, 0, &format!(" {:<5} {power:<18} {acuity:<7} {word:<6} {kept}", tried.eye), style);
    }
}

fn written(acuity: Acuity, notation: AcuityNotation) -> String {
    let (Some(log_mar), Some(denominator)) = (acuity.log_mar(), acuity.denominator_6_m()) else {
        return "none".to_owned();
    };
    match notation {
        AcuityNotation::SixMetres => format!("6/{}", rounded(denominator)),
        AcuityNotation::TwentyFeet => format!("20/{}", rounded(denominator / 6.0 * 20.0)),
        AcuityNotation::Decimal => format!("{:.2}", 6.0 / denominator),
        AcuityNotation::LogMar => format!("{log_mar:.2}"),
    }
}

fn rounded(value: f64) -> String {
    let tenths = (value * 10.0).round() / 10.0;
    tenths.to_string()
}
