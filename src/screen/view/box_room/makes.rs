//! What a box makes: a map of figures, spheres across and cylinders down, and the part of the people for whom it is made.

use ratatui::layout::{Constraint, Layout, Rect};

use super::super::super::app::App;
use super::super::super::box_page::{BoxPage, Makes};
use super::super::super::words;
use super::super::pen::Pen;
use super::{keys, told};
use crate::keeping::{Coverage, CoverageMap, MapEyes, People, Shares, Wanted, Zoom};
use crate::optics::{Power, SpheroCylinder};

/// Columns of the cylinders at the left.
const CYLINDERS: u16 = 11;
/// Columns of what the figures mean at the right, from so many columns of the screen on.
const MEANING: u16 = 20;
const MEANING_FROM: u16 = 100;

/// Draws the map, or that it is being computed.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, page: &BoxPage, makes: Makes) {
    let Some(coverage) = app.makes(&page.now.stock, makes.both) else {
        pen.heading(area, &title(makes), true);
        let text = "being computed: go on meanwhile, it is shown when it is there";
        pen.text(Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area }, 0, 1, text, pen.theme.quiet);
        return;
    };
    let beside = page.beside.as_ref().and_then(|now| {
        let coverage = app.makes(&now.stock, makes.both);
        if coverage.is_none() {
            let text = format!("{} is being computed", now.stock.box_name);
            pen.text(Rect { y: area.bottom() - 1, height: 1, ..area }, 0, 1, &text, pen.theme.quiet);
        }
        Some((now.stock.box_name.as_str(), coverage?))
    });
    let beside = beside.as_ref().map(|(name, coverage)| (*name, coverage.as_ref()));
    let eyes = if makes.both { MapEyes::Both } else { MapEyes::One };
    let map = CoverageMap::of(&coverage, beside.map(|(_, coverage)| coverage), eyes, makes.zoom);
    let here = here(app, page, makes, &coverage, beside);
    let meaning = area.width >= MEANING_FROM;
    let mut lines = here;
    if !meaning {
        lines.extend(in_a_sentence(&coverage, makes, beside).map(|line| (line, false)));
    }
    let said_rows = told::rows(&lines, area.width);
    let map_rows = (map.rows.len() as u16 + 3).min(area.height.saturating_sub(said_rows));
    let [top, said, below] =
        Layout::vertical([Constraint::Length(map_rows), Constraint::Length(said_rows), Constraint::Min(0)]).areas(area);
    pen.heading(top, &title(makes), true);
    let inside = Rect { y: top.y + 1, height: top.height.saturating_sub(1), ..top };
    let width = if meaning { inside.width - MEANING - 2 } else { inside.width };
    draw_map(pen, Rect { width, ..inside }, &map, makes);
    if meaning {
        let at = Rect { x: inside.right() - MEANING, width: MEANING, ..inside };
        let lines = meanings(pen, beside).into_iter().chain(shares(&coverage, makes, beside));
        for (row, line) in lines.enumerate() {
            pen.text(at.intersection(inside), row as u16, 0, &line, pen.theme.text);
        }
    }
    told::draw(pen, said, &format!("here: {}", written(makes.wanted)), &lines);
    if below.height >= 2 {
        keys::draw(pen, below, app);
    }
}

/// Another box by its name, and what it makes.
type Beside<'a> = (&'a str, &'a Coverage);

fn title(makes: Makes) -> String {
    let eyes = if makes.both { "both eyes alike" } else { "one eye" };
    let zoom = match makes.zoom {
        Zoom::Quarter => "quarter steps",
        Zoom::Half => "half steps, worst of four quarters",
    };
    format!("fewest lenses, {eyes}, {zoom}")
}

/// What stands for a prescription that is not made.
fn not_made(pen: &Pen<'_>) -> char {
    if pen.glyphs.ascii { '.' } else { '·' }
}

/// The part of the map around the chosen prescription.
fn draw_map(pen: &mut Pen<'_>, area: Rect, map: &CoverageMap, makes: Makes) {
    // two figures and a space, where another box stands beside
    let each = map.rows.iter().flatten().next().map_or(1, |figure| if figure.beside.is_some() { 3 } else { 1 });
    let columns = usize::from(area.width.saturating_sub(CYLINDERS) / each);
    let rows = usize::from(area.height.saturating_sub(2));
    let Some((row, column)) = map.place_of(makes.wanted) else { return };
    let from =
        |chosen: usize, shown: usize, all: usize| chosen.saturating_sub(shown / 2).min(all.saturating_sub(shown));
    let (first_row, first_column) = (from(row, rows, map.rows.len()), from(column, columns, map.spheres.len()));
    pen.text(area, 0, 0, " sphere", pen.theme.quiet);
    for (at, sphere) in map.spheres.iter().enumerate().skip(first_column).take(columns) {
        let whole = sphere.rem_euclid(3.0) == 0.0;
        if whole {
            let text = if *sphere == 0.0 { "0".to_owned() } else { format!("{sphere:+}") };
            let column = CYLINDERS + (at - first_column) as u16 * each;
            if column + text.len() as u16 <= area.width {
                pen.text(area, 0, column, &text, pen.theme.quiet);
            }
        }
    }
    for (at, line) in map.rows.iter().enumerate().skip(first_row).take(rows) {
        let y = 1 + (at - first_row) as u16;
        let cylinder = map.cylinders[at];
        if cylinder.fract() == 0.0 {
            pen.text(area, y, 0, &format!(" cyl {cylinder:.2}"), pen.theme.quiet);
        }
        let figures = line.iter().skip(first_column).take(columns).map(|of| of.text(not_made(pen)));
        let figures = figures.collect::<Vec<_>>().join(if each == 1 { "" } else { " " });
        pen.text(area, y, CYLINDERS, &figures, pen.theme.text);
        if at == row {
            pen.text(area, y, CYLINDERS - 1, pen.glyphs.pointer, pen.theme.focus);
            let chosen = line[column].text(not_made(pen));
            pen.text(area, y, CYLINDERS + (column - first_column) as u16 * each, &chosen, pen.theme.focus);
        }
    }
    let below = 1 + map.rows.len().min(first_row + rows).saturating_sub(first_row) as u16;
    pen.text(area, below, CYLINDERS + (column - first_column) as u16 * each, "^", pen.theme.focus);
}

fn shares_of(coverage: &Coverage, makes: Makes) -> Option<&Shares> {
    if makes.both { coverage.both_eyes.as_ref() } else { Some(&coverage.one_eye) }
}

/// What the figures mean; a free line after it, or which figure is of the other box.
fn meanings(pen: &Pen<'_>, beside: Option<Beside<'_>>) -> [String; 6] {
    let last = if beside.is_some() { "2nd: the other box" } else { "" };
    let not_made = format!("{} not made", not_made(pen));
    ["1 one lens", "2 two", "3 three", "4 four", &not_made, last].map(str::to_owned)
}

/// The parts of the people; those of another box in a second column.
fn shares(coverage: &Coverage, makes: Makes, beside: Option<Beside<'_>>) -> Vec<String> {
    let Some(shares) = shares_of(coverage, makes) else { return Vec::new() };
    let other = beside.and_then(|(_, coverage)| shares_of(coverage, makes));
    let mut lines = vec![format!("of {} eyes", thousands(People::counted().count()))];
    lines.extend(shares.with_at_most.iter().enumerate().map(|(nth, share)| {
        let other = other.and_then(|other| other.with_at_most.get(nth));
        let (nth, share) = (nth + 1, 100.0 * share);
        other.map_or_else(
            || format!("with {nth}  {share:5.1} %"),
            |other| format!("with {nth} {share:5.1} {:5.1} %", 100.0 * other),
        )
    }));
    lines.extend(shares.mean.map(|mean| {
        let other = other.and_then(|other| other.mean);
        other.map_or_else(|| format!("mean    {mean:5.2}"), |other| format!("mean   {mean:5.2} {other:5.2}"))
    }));
    lines
}

/// The same as a sentence, where there is no room beside the map.
fn in_a_sentence(coverage: &Coverage, makes: Makes, beside: Option<Beside<'_>>) -> Option<String> {
    let shares = shares_of(coverage, makes)?;
    let other = beside.and_then(|(_, coverage)| shares_of(coverage, makes));
    let and = |other: Option<String>| other.map_or_else(String::new, |other| format!(" and {other}"));
    let with = shares.with_at_most.iter().enumerate().map(|(nth, share)| {
        let other = other.and_then(|other| other.with_at_most.get(nth));
        let lenses = if nth == 0 { "1 lens".to_owned() } else { (nth + 1).to_string() };
        format!("{:.1}{} with {lenses}", 100.0 * share, and(other.map(|share| format!("{:.1}", 100.0 * share))))
    });
    let mean = shares.mean.map(|mean| {
        let other = other.and_then(|other| other.mean);
        format!("; mean {mean:.2}{}", and(other.map(|mean| format!("{mean:.2}"))))
    });
    let with = with.collect::<Vec<_>>().join(", ");
    Some(format!("per cent of {} eyes: {with}{}", thousands(People::counted().count()), mean.unwrap_or_default()))
}

/// A whole number with a comma for the thousands.
fn thousands(count: f64) -> String {
    let count = count.round() as u64;
    if count < 1000 { count.to_string() } else { format!("{},{:03}", count / 1000, count % 1000) }
}

fn written(wanted: Wanted) -> String {
    words::power(power(wanted), crate::optics::CylinderForm::Minus)
}

fn power(wanted: Wanted) -> Power {
    SpheroCylinder { sphere: wanted.sphere, cylinder: wanted.cylinder, axis: 180.0 }.power()
}

/// How a box makes the chosen prescription.
fn made_in_words(coverage: &Coverage, makes: Makes) -> Option<String> {
    let made = coverage.at(makes.wanted)?;
    let fewest = if makes.both { made.both } else { made.lenses };
    Some(match fewest {
        Some(0) => "needs no lens".to_owned(),
        Some(1) => "1 lens makes it".to_owned(),
        Some(lenses) => format!("{lenses} lenses{} make it", if makes.both { " an eye" } else { "" }),
        None => format!("not made with four lenses: the nearest is off by {:.2} D", made.miss),
    })
}

/// What is made of the chosen prescription.
fn here(
    app: &App,
    page: &BoxPage,
    makes: Makes,
    coverage: &Coverage,
    beside: Option<Beside<'_>>,
) -> Vec<(String, bool)> {
    let Some(made) = made_in_words(coverage, makes) else { return Vec::new() };
    let mut lines = vec![match beside {
        Some(_) => format!("{}: {made}", page.now.stock.box_name),
        None => made,
    }];
    lines.extend(beside.and_then(|(name, of)| Some(format!("{name}: {}", made_in_words(of, makes)?))));
    if makes.with_stack {
        let offers = app.stacks_of(&page.now.stock, power(makes.wanted), makes.both);
        lines.push(match offers.list.first() {
            Some(offer) => format!("{}, off by {:.2} D", offer.lenses, offer.miss_d),
            None => "no stack comes near".to_owned(),
        });
    }
    lines.into_iter().map(|line| (line, false)).collect()
}

/// The same in words.
pub fn said(app: &App, page: &BoxPage, makes: Makes) -> Vec<String> {
    let Some(coverage) = app.makes(&page.now.stock, makes.both) else {
        return vec![title(makes), "being computed".to_owned()];
    };
    let mut said = vec![title(makes), format!("here: {}", written(makes.wanted))];
    let other = page.beside.as_ref().and_then(|now| Some((now, app.makes(&now.stock, makes.both)?)));
    let beside = other.as_ref().map(|(now, coverage)| (now.stock.box_name.as_str(), coverage.as_ref()));
    said.extend(here(app, page, makes, &coverage, beside).into_iter().map(|(line, _)| line));
    said.extend(shares(&coverage, makes, beside));
    said
}
