//! What is to be known of an eye beside its net power: wanted, marks, cornea, planned glasses, prism, hand.

use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::app::App;
use super::super::words;
use super::pen::Pen;
use crate::optics::vergence::{at_vertex, away_from_eye};
use crate::optics::{Eye, Millimetres};

/// Marked sum and net are shown side by side from this difference on, in dioptres.
const MARKS_DIFFER_FROM_D: f64 = 0.06;

/// Draws the facts, the most urgent first; none is drawn half.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, eye: Eye) {
    let rows = facts(pen, area, app, eye);
    for (row, (text, style)) in rows.iter().enumerate() {
        pen.text(area, row as u16, 1, text, *style);
    }
}

fn facts(pen: &Pen<'_>, area: Rect, app: &App, eye: Eye) -> Vec<(String, Style)> {
    let theme = pen.theme;
    let state = app.state();
    let form = app.ui.form;
    let before = app.in_front_of(eye);
    let width = usize::from(area.width.saturating_sub(1));
    let mut rows = Vec::new();

    let wanted = state.wanted[eye];
    let induced = induced_in_words(app, eye);
    let prism = words::prism(before.prism, eye);
    let prism = match &induced {
        Some(induced) if *induced == prism => format!("prism {prism} from the frame's PD"),
        Some(induced) => format!("prism {prism}, of it {induced} from PD"),
        None => format!("prism {prism}"),
    };
    let prism_style = if induced.is_some() { theme.warning } else { theme.text };
    if before.occluded {
        rows.extend(wanted.map(|wanted| (format!("wanted {}", words::power(wanted.power(), form)), theme.text)));
        rows.push((prism, prism_style));
        return rows;
    }
    if state.fitted.held(eye).is_some() {
        rows.push((format!("with the hand {}", words::power(before.net_with_hand, form)), theme.warning));
    }
    if let Some(wanted) = wanted {
        let miss = before.net.miss(wanted.power());
        let off = if miss < 0.005 { "made".to_owned() } else { format!("{miss:.2} D off") };
        rows.push((format!("wanted {}, {off}", words::power(wanted.power(), form)), theme.text));
    }
    if let Some(accepted) = state.results.refraction[eye] {
        let stands = accepted.miss(before.net) < 0.005;
        let in_cells = if stands { "" } else { ", changed" };
        let style = if stands { theme.done } else { theme.text };
        rows.push((format!("accepted {}{in_cells}", words::power(accepted, form)), style));
    }
    let marks = words::power(before.marked, form);
    let differ = before.marked.miss(before.net);
    if differ >= MARKS_DIFFER_FROM_D {
        let net = words::power(before.net, form);
        let beside = [format!("marks {marks}   net {net}"), format!("marks {marks} net {net}")];
        let fits = beside.into_iter().find(|text| text.len() <= width);
        rows.push((fits.unwrap_or_else(|| format!("marks {marks}, {differ:.2} D off net")), theme.warning));
    }
    let cornea = format!("cornea {}", words::power(before.cornea, form));
    let planned = planned(app, eye);
    let together = format!("{cornea}, {planned}");
    if together.len() <= width {
        rows.push((together, theme.text));
    } else {
        rows.push((cornea, theme.text));
        rows.push((planned, theme.text));
    }
    if induced.is_some() {
        rows.push((prism, prism_style));
    } else if differ < MARKS_DIFFER_FROM_D {
        rows.push((format!("{prism}, marks {}", if differ < 0.005 { "= net".to_owned() } else { marks }), theme.quiet));
    } else {
        rows.push((prism, theme.text));
    }
    // where the rows do not suffice the last two facts share one, if they fit
    while rows.len() > usize::from(area.height) {
        let Some((last, _)) = rows.pop() else { break };
        if let Some((text, _)) = rows.last_mut().filter(|(text, _)| text.len() + last.len() + 2 <= width) {
            *text = format!("{text}, {last}");
        }
    }
    rows
}

/// The power that glasses at the planned vertex distance must have.
fn planned(app: &App, eye: Eye) -> String {
    let frame_vertex = app.state().fitted.frame.vertex;
    let vertex = app.planned_vertex();
    if (vertex.0 - frame_vertex.0).abs() < 1e-9 {
        return format!("glasses {} mm = net", vertex.0);
    }
    let net = app.in_front_of(eye).net;
    let at_cornea = at_vertex(net, frame_vertex, Millimetres(0.0));
    format!("glasses {} mm {}", vertex.0, words::power(away_from_eye(at_cornea, vertex), app.ui.form))
}

/// The prism that the lenses in the cells induce because the frame is set to another pupillary distance, if any to speak of.
pub fn induced_in_words(app: &App, eye: Eye) -> Option<String> {
    let induced = app.in_front_of(eye).induced;
    (induced.amount() >= INDUCED_SHOWN_PDPT).then(|| words::prism(induced, eye))
}

/// Half of the last place that a prism is written with.
const INDUCED_SHOWN_PDPT: f64 = 0.05;
