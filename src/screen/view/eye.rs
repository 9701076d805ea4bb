//! One eye: title, net power in large figures, the dial beside it, facts and cells.

use super::super::app::App;
use super::super::ui::Target;
use super::super::words;
use super::figures::Face;
use super::layout::EyePlan;
use super::pen::Pen;
use super::{cells, dial, facts, strip};
use crate::optics::{Axis, Eye};

/// Whether a teacher hides the net power of a practice eye.
pub fn hides_net(app: &App) -> bool {
    app.ui.practice.as_ref().is_some_and(|seated| seated.seat.hidden.net) && !app.state().finished
}

/// One eye line by line: net power, what is in its cells and before it, and the facts.
pub fn in_words(app: &App, eye: Eye) -> Vec<String> {
    let before = app.in_front_of(eye);
    let net = match (before.occluded, hides_net(app)) {
        (true, _) => "covered".to_owned(),
        (false, true) => "hidden".to_owned(),
        (false, false) => words::power(before.net, app.ui.form),
    };
    let mut lines = vec![format!("{eye} eye: net {net}")];
    lines.extend(cells::in_words(app, eye));
    let facts = if hides_net(app) { Vec::new() } else { facts::in_words(app, eye) };
    lines.extend(facts.into_iter().map(|fact| format!("{eye} eye: {fact}")));
    lines
}

/// Whether the cylinder of the net power is drawn in figures.
pub fn has_cylinder(app: &App, eye: Eye) -> bool {
    let before = app.in_front_of(eye);
    !before.occluded
        && !hides_net(app)
        && before.net.is_finite()
        && words::is_written(app.ui.form.of(before.net).cylinder)
}

/// Draws one eye.
pub fn draw(pen: &mut Pen<'_>, plan: &EyePlan, face: Face, app: &App, eye: Eye) {
    title(pen, plan, app, eye);
    if !app.in_front_of(eye).occluded && !hides_net(app) {
        dial::draw(pen, plan.dial, app, eye);
    }
    net(pen, plan, face, app, eye);
    if !hides_net(app) {
        facts::draw(pen, plan.facts, app, eye);
    }
    strip::draw(pen, plan.cells, app, eye);
}

fn title(pen: &mut Pen<'_>, plan: &EyePlan, app: &App, eye: Eye) {
    let name = format!("{eye} eye").to_uppercase();
    let focused = app.works_on(eye);
    let (pointer, style) = if focused { (pen.glyphs.pointer, pen.theme.focus) } else { (" ", pen.theme.title) };
    let end = pen.text(plan.title, 0, 0, &format!("{pointer}{name} "), style);
    pen.clickable(ratatui::layout::Rect { width: end.min(plan.title.width), ..plan.title }, Target::Dial(eye));
}

/// The net power of what is in the cells, or why there is none.
fn net(pen: &mut Pen<'_>, plan: &EyePlan, face: Face, app: &App, eye: Eye) {
    let style = if app.works_on(eye) { pen.theme.net } else { pen.theme.net_other };
    let before = app.in_front_of(eye);
    let glyphs = pen.glyphs;
    if before.occluded {
        face.of_words().write(pen.buffer, plan.sphere, "covered", glyphs, pen.theme.warning);
        return;
    }
    if hides_net(app) {
        pen.text(plan.sphere, 0, 0, " the net power is hidden: work it out", pen.theme.quiet);
        return;
    }
    if !before.net.is_finite() {
        face.of_words().write(pen.buffer, plan.sphere, "focus", glyphs, pen.theme.warning);
        pen.text(plan.cylinder, 0, 0, "light comes to a focus between the cells", pen.theme.warning);
        return;
    }
    let net = app.ui.form.of(before.net);
    face.write(pen.buffer, plan.sphere, &words::figures(net.sphere), glyphs, style);
    if !words::is_written(net.cylinder) {
        pen.text(plan.cylinder, 0, 0, "no cylinder", pen.theme.quiet);
        return;
    }
    let cylinder = words::figures(net.cylinder);
    let axis = format!("x{}", Axis::nearest(net.axis));
    if face.columns_of(&format!("{cylinder}{axis}")) <= plan.cylinder.width {
        face.write(pen.buffer, plan.cylinder, &format!("{cylinder}{axis}"), glyphs, style);
    } else {
        let end = face.write(pen.buffer, plan.cylinder, &cylinder, glyphs, style);
        pen.text(plan.cylinder, face.rows() / 2, end, &axis, style);
    }
}
