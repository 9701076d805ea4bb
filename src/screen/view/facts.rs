//! What is to be known of an eye beside its net power: wanted, marks, cornea, planned glasses, prism, hand.
//!
//! Every fact has a rank. Where the rows do not suffice the least fall away first; a warning never does: it is shortened, and the
//! eyes take rows from what is below (see [`super::layout`]).

use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::app::App;
use super::super::words;
use super::pen::Pen;
use crate::exam::prescription::strongest_meridian;
use crate::frame::sureness::{Sureness, VERTEX_OFF};
use crate::optics::tilt::{TiltedAbout, tilted};
use crate::optics::vergence::{at_vertex, away_from_eye};
use crate::optics::{Eye, Millimetres, Power, WornKind};

/// Marked sum and net are shown side by side from this difference on, in dioptres.
const MARKS_DIFFER_FROM_D: f64 = 0.06;

/// How much a fact matters where the rows do not suffice, the least first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Rank {
    Prism,
    Glasses,
    Cornea,
    Sureness,
    Accepted,
    Tilt,
    Wanted,
    /// Shown at any size.
    Warning,
}

/// How a fact is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Meaning {
    Plain,
    Done,
    Warning,
}

/// A fact of one eye.
struct Fact {
    rank: Rank,
    meaning: Meaning,
    text: String,
    /// The same where there is little room.
    short: String,
}

impl Fact {
    fn new(rank: Rank, meaning: Meaning, text: String) -> Self {
        Self { rank, meaning, short: text.clone(), text }
    }

    fn warning(text: String, short: String) -> Self {
        Self { rank: Rank::Warning, meaning: Meaning::Warning, text, short }
    }
}

/// Facts that share a row.
type FactRow = Vec<(String, Meaning)>;

/// Between two facts that share a row.
const BETWEEN: usize = 3;

/// Columns of an area that facts can take: the first and the last stay free.
fn columns(width: u16) -> usize {
    usize::from(width.saturating_sub(2))
}

/// How many rows the warnings of the eye take that has more of them, so that both eyes look alike.
pub fn warning_rows(app: &App, width: u16) -> u16 {
    let of_eye = |eye: Eye| {
        let mut facts = facts(app, eye, columns(width));
        facts.retain(|fact| fact.rank == Rank::Warning);
        packed(&facts, columns(width), true).len() as u16
    };
    Eye::BOTH.map(of_eye).into_iter().max().unwrap_or(0)
}

/// The facts of an eye, in full.
pub fn in_words(app: &App, eye: Eye) -> Vec<String> {
    facts(app, eye, usize::MAX).into_iter().map(|fact| fact.text).collect()
}

/// Draws the facts as they are read; none is drawn half.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, eye: Eye) {
    let theme = pen.theme;
    let style = |meaning: Meaning| -> Style {
        match meaning {
            Meaning::Plain => theme.text,
            Meaning::Done => theme.done,
            Meaning::Warning => theme.warning,
        }
    };
    let facts = facts(app, eye, columns(area.width));
    for (row, facts) in rows(facts, columns(area.width), usize::from(area.height)).into_iter().enumerate() {
        let mut column = 1;
        for (text, meaning) in facts {
            column = pen.text(area, row as u16, column, &text, style(meaning)) + BETWEEN as u16;
        }
    }
}

/// The rows that fit: the last fact of the least rank falls away until they do; warnings alone are shortened instead.
fn rows(mut facts: Vec<Fact>, width: usize, height: usize) -> Vec<FactRow> {
    loop {
        for short in [false, true] {
            let rows = packed(&facts, width, short);
            if rows.len() <= height {
                return rows;
            }
        }
        let least = (0..facts.len()).rev().min_by_key(|&at| facts[at].rank);
        match least.filter(|&at| facts[at].rank != Rank::Warning) {
            Some(least) => drop(facts.remove(least)),
            None => return packed(&facts, width, true),
        }
    }
}

/// As many facts to a row as fit, in full or in their short form; what is wider than a row is short in either case.
fn packed(facts: &[Fact], width: usize, short: bool) -> Vec<FactRow> {
    let mut rows: Vec<FactRow> = Vec::new();
    for fact in facts {
        let is_short = short || fact.text.chars().count() > width;
        let text = (if is_short { &fact.short } else { &fact.text }).clone();
        match rows.last_mut() {
            Some(row) if width_of(row) + BETWEEN + text.chars().count() <= width => row.push((text, fact.meaning)),
            _ => rows.push(vec![(text, fact.meaning)]),
        }
    }
    rows
}

fn width_of(row: &FactRow) -> usize {
    row.iter().map(|(text, _)| text.chars().count()).sum::<usize>() + BETWEEN * row.len().saturating_sub(1)
}

/// The facts of an eye in the order in which they are read.
fn facts(app: &App, eye: Eye, width: usize) -> Vec<Fact> {
    let state = app.state();
    let form = app.ui.form;
    let power = app.in_front_of(eye);
    let mut facts = Vec::new();

    let wanted = state.wanted[eye];
    if power.occluded {
        let text = wanted.map(|wanted| format!("wanted {}", words::power(wanted.power(), form)));
        facts.extend(text.map(|text| Fact::new(Rank::Wanted, Meaning::Plain, text)));
        facts.push(prism(app, eye, None));
        facts.extend(strong_prisms(app, eye));
        return facts;
    }
    if state.fitted.held(eye).is_some() {
        let with_hand = words::power(power.net_with_hand, form);
        facts.push(Fact::warning(format!("with the hand {with_hand}"), format!("hand {with_hand}")));
    }
    facts.extend(with_what_stays_on(app, eye, power.net));
    facts.extend(tilted_stack(app, power.net));
    if let Some(wanted) = wanted {
        let miss = power.net.miss(wanted.power());
        let off = match miss {
            made if made < 0.005 => ", made".to_owned(),
            off if off.is_finite() => format!(", off by {off:.2} D"),
            // where nothing that stands there is a power
            _ => String::new(),
        };
        let power = words::power(wanted.power(), form);
        let (text, short) = (format!("wanted {power}{off}"), format!("{power}{off}"));
        facts.push(Fact { rank: Rank::Wanted, meaning: Meaning::Plain, text, short });
    }
    if let Some(accepted) = state.results.refraction[eye] {
        let stands = accepted.miss(power.net) < 0.005;
        let (in_cells, meaning) = if stands { ("", Meaning::Done) } else { (", changed", Meaning::Plain) };
        let text = format!("accepted {}{in_cells}", words::power(accepted, form));
        facts.push(Fact::new(Rank::Accepted, meaning, text));
    }
    let marks = words::power(power.marked, form);
    let differ = power.marked.miss(power.net);
    let marks_differ = differ >= MARKS_DIFFER_FROM_D;
    if marks_differ {
        let net = words::power(power.net, form);
        let beside = [format!("marks {marks}   net {net}"), format!("marks {marks} net {net}")];
        let fits = beside.into_iter().find(|text| text.len() <= width);
        let text = fits.unwrap_or_else(|| format!("marks {marks}, {differ:.2} D off net"));
        facts.push(Fact::warning(text, format!("marks {differ:.2} D off net")));
    }
    let cornea = format!("cornea {}", words::power(power.cornea, form));
    facts.push(Fact::new(Rank::Cornea, Meaning::Plain, cornea));
    facts.push(Fact::new(Rank::Glasses, Meaning::Plain, planned(app, eye)));
    facts.extend(app.sureness()[eye].iter().flat_map(by_hand));
    let same = if differ < 0.005 { "= net".to_owned() } else { marks };
    facts.push(prism(app, eye, (!marks_differ).then_some(same)));
    facts.extend(strong_prisms(app, eye));
    facts
}

/// The prism before an eye; a warning where the frame's pupillary distance has a part in it, and else with the marks where
/// these are still to be said.
fn prism(app: &App, eye: Eye, marks: Option<String>) -> Fact {
    let prism = words::prism(app.in_front_of(eye).prism, eye);
    if let Some(induced) = induced_in_words(app, eye) {
        let text = if induced == prism {
            format!("prism {prism} from the frame's PD")
        } else {
            format!("prism {prism}, of it {induced} from PD")
        };
        return Fact::warning(text, format!("PD adds {induced}"));
    }
    match marks {
        Some(marks) => Fact::new(Rank::Prism, Meaning::Plain, format!("prism {prism}, sum of marks {marks}")),
        None => Fact::new(Rank::Prism, Meaning::Plain, format!("prism {prism}")),
    }
}

/// What a hand may spoil, and what to set with care.
fn by_hand(sure: &Sureness) -> Vec<Fact> {
    let fact = |text: String, short: String| Fact { rank: Rank::Sureness, meaning: Meaning::Plain, text, short };
    let mut facts = Vec::new();
    if sure.is_said() {
        let off = sure.together_d;
        let cells: Vec<String> = sure.careful_axes().flat_map(|axis| &axis.cells).map(u8::to_string).collect();
        facts.push(if cells.is_empty() {
            fact(format!("may be {off:.2} D off by hand"), format!("{off:.2} D off by hand"))
        } else {
            let axes = format!("{} of {}", if cells.len() == 1 { "axis" } else { "axes" }, cells.join(" and "));
            fact(format!("may be {off:.2} D off by hand: {axes}"), format!("{off:.2} D by hand: {axes}"))
        });
    }
    if sure.is_careful_of_vertex() {
        let (mm, spoils) = (VERTEX_OFF.0, sure.vertex_d);
        let text = format!("{mm} mm of vertex: {spoils:.2} D at cornea");
        facts.push(fact(text, format!("vertex {spoils:.2} D a mm")));
    }
    facts
}

/// The warning that the prisms before an eye are too strong to be added, so that the net prism is not what they do.
fn strong_prisms(app: &App, eye: Eye) -> Option<Fact> {
    let short = "strong prisms do not add";
    let text = format!("{short}: more than that");
    app.in_front_of(eye).prisms_do_not_add.then(|| Fact::warning(text, short.to_owned()))
}

/// That the net is over something that stays on, and what the eye takes in all with it, as one lens where the frame stands.
fn with_what_stays_on(app: &App, eye: Eye, net: Power) -> Option<Fact> {
    let worn = app.state().person.stays_on[eye]?;
    let vertex = app.state().fitted.frame.vertex;
    let total = match worn.total(net, vertex) {
        Some(total) => format!("total {}", words::power(total, app.ui.form)),
        None => "no total: frame vertex?".to_owned(),
    };
    let over = match worn.kind {
        WornKind::ContactLens => "over contact lens",
        WornKind::Glasses => "over glasses",
    };
    Some(Fact::warning(format!("{over}, {total}"), total))
}

/// From this power on, in either principal meridian, a declared tilt is said to matter, in dioptres (ours, no source: below it
/// 10° make less than 0.20 D of cylinder).
const TILT_MATTERS_D: f64 = 6.0;

/// What a stack that is tilted as declared does in place of the net, tilt and face form each by itself.
fn tilted_stack(app: &App, net: Power) -> Vec<Fact> {
    let person = &app.state().person;
    if !net.is_finite() || strongest_meridian(net.minus_form()) <= TILT_MATTERS_D {
        return Vec::new();
    }
    let angles = [
        (person.tilt_deg, TiltedAbout::Horizontal, "tilted"),
        (person.face_form_deg, TiltedAbout::Vertical, "face form"),
    ];
    let said = |(degrees, about, word): (Option<f64>, TiltedAbout, &str)| {
        let degrees = degrees.filter(|&degrees| degrees > 0.0)?;
        let acts = words::power(tilted(net, about, degrees), app.ui.form);
        Some(Fact::new(Rank::Tilt, Meaning::Plain, format!("{word} {degrees}°: {acts}")))
    };
    angles.into_iter().filter_map(said).collect()
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
