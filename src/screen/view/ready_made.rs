//! The ready-made pairs of the shelf for somebody, and what is left on it.

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::day_page::{DayPage, Offered};
use super::super::words;
use super::pen::Pen;
use super::said::Said;
use crate::day::{Against, DayShelf, NotKnown, Offer, ShelfLeft};
use crate::exam::ReadyMadeLimits;
use crate::export::wrapping::wrapped_to_columns;
use crate::kit::document::fault::counted;
use crate::kit::shelf::ShelfPair;
use crate::optics::near_print::print_points;
use crate::optics::{Acuity, Eye};

/// What the shelf has for the person of the open exam.
pub fn offered(app: &App, offered: &Offered) -> Vec<Said> {
    let mut lines = vec![Said::Strong(format!("“A ready-made pair off the shelf {}?”", offered.shelf)), Said::Nothing];
    for (nth, offer) in offered.offers.iter().enumerate() {
        lines.extend(one(app, offered, nth + 1, offer));
        lines.push(Said::Nothing);
    }
    lines.push(Said::Answer(offered.offers.len() + 1, "another pair of the shelf, typed".to_owned()));
    lines.push(Said::Nothing);
    lines.push(Said::Quiet(format!(
        "Limits: {} ({}). Lines are what is believed of people, not what was read; the choice is yours.",
        offered.limits,
        ReadyMadeLimits::SOURCE
    )));
    lines
}

fn one(app: &App, offered: &Offered, digit: usize, offer: &Offer) -> Vec<Said> {
    let what = if offer.near { "for near" } else { "for distance" };
    let head = match offer.pair {
        Some(pair) if offer.serves() => format!("{what}: yes, {}", pair_in_words(pair)),
        Some(pair) => format!("{what}: no; the nearest is {}", pair_in_words(pair)),
        None => format!("{what}: none"),
    };
    let eye = |eye: Eye| Some(format!("{eye} eye {}", of_eye(app, offered, offer, eye)?));
    let eyes: Vec<String> = Eye::BOTH.into_iter().filter_map(eye).collect();
    let prism = offer.prism.map(|prism| match prism {
        Some(part) => format!("prism {:.2} Δ base {} between the eyes", part.amount, part.base),
        None => "no prism".to_owned(),
    });
    let known: Vec<String> = eyes.into_iter().chain(prism).collect();
    let against =
        offer.against.iter().map(|against| format!("Against it: {}.", against_in_words(app, offer, *against)));
    let not_known = offer.not_known.iter().map(|not_known| not_known_in_words(*not_known).to_owned());
    let known = (!known.is_empty()).then(|| Said::Text(format!("{}.", known.join("; "))));
    std::iter::once(Said::Answer(digit, head))
        .chain(known)
        .chain(against.map(Said::Text))
        .chain(not_known.map(Said::Quiet))
        .collect()
}

fn pair_in_words(pair: ShelfPair) -> String {
    format!("{}, centres {} mm", words::dioptres(pair.sphere), pair.centres_mm)
}

/// What a pair would do for an eye: `6/7.5 of 6/6, 0.25 D too plus`.
fn of_eye(app: &App, offered: &Offered, offer: &Offer, eye: Eye) -> Option<String> {
    let of_eye = offer.eyes[eye]?;
    let line = |log_mar: f64| {
        if offer.near {
            format!("N{}", print_points(libm::pow(10.0, log_mar), offered.wearer.near_metres))
        } else {
            words::acuity_in_short(Acuity::of_log_mar(log_mar), app.settings.acuity)
        }
    };
    let reads = of_eye.with_pair_log_mar.zip(of_eye.full_log_mar);
    let reads = reads.map(|(with_pair, full)| format!("{} ({} with the full power)", line(with_pair), line(full)));
    let off = match of_eye.off_d {
        off if off > 0.005 => Some(format!("{off:.2} D more plus than it needs")),
        off if off < -0.005 => Some(format!("{:.2} D less plus than it needs", -off)),
        _ => None,
    };
    let known: Vec<String> = reads.into_iter().chain(off).collect();
    (!known.is_empty()).then(|| known.join(", "))
}

fn against_in_words(app: &App, offer: &Offer, against: Against) -> String {
    let limits = offer.limits;
    match against {
        Against::NothingWritten(eye) if offer.near => format!("the {eye} eye has no prescription with an addition"),
        Against::NothingWritten(eye) => format!("the {eye} eye has no prescription"),
        Against::FoundOver(eye) => {
            format!("the power of the {eye} eye was found over what stayed on: a pair would be worn over it too")
        }
        Against::Cylinder { eye, cylinder_d } => {
            format!(
                "the {eye} eye has a cylinder of {:.2} D, the limit is {:.2}",
                cylinder_d.abs(),
                limits.cylinder_d()
            )
        }
        Against::Apart { apart_d } => {
            format!("the equivalents are {apart_d:.2} D apart, the limit is {:.2}", limits.apart_d())
        }
        Against::ChildBeforeDrops => "a child who needs plus gets none before refraction under drops".to_owned(),
        Against::PlusWithoutAge => {
            "it is plus and the age is not known: enter it, a child gets none before refraction under drops".to_owned()
        }
        Against::TooMuchMinus { eye, by_d } => {
            format!("the {eye} eye would get {by_d:.2} D more minus, or less plus, than it needs")
        }
        Against::NoneFits => "the shelf has no power within its own step of what both eyes need".to_owned(),
        Against::NoneLeft(pair) => format!("of {} none is left", pair_in_words(pair)),
        Against::Centres { off_mm, allowed_mm } => {
            format!("its centres are {off_mm:.1} mm off the pupils, made glasses may be {allowed_mm:.1}")
        }
        Against::LosesLines(lines) => {
            format!("the better eye reads {lines:.1} lines less than with the full power, more than one")
        }
        Against::GainsLess(lines) => format!("the better eye gains {lines:.1} lines over unaided, less than two"),
        Against::LineNotKnown if app.state().person.age_years.is_none() && offer.pair.is_some_and(|pair| pair.near) => {
            "what it reads is not known without the age and a line with the full power".to_owned()
        }
        Against::LineNotKnown => "what it reads is not known: no line was read with the full power".to_owned(),
    }
}

fn not_known_in_words(not_known: NotKnown) -> &'static str {
    match not_known {
        NotKnown::Age => "The age is not known: nothing is given that would make a young eye work.",
        NotKnown::Centres => "No pupillary distance was entered: the prism is not known.",
        NotKnown::Unaided => "No line unaided of both eyes was entered: what is gained is not known.",
    }
}

/// What is left of a kind, as a row: use, power, centres, declared, given, left.
fn row(kind: &ShelfLeft) -> String {
    let what = if kind.pair.near { "reading" } else { "distance" };
    let (power, centres) = (words::dioptres(kind.pair.sphere), kind.pair.centres_mm);
    format!("{what:<9}{power:>7}{centres:>9} mm{:>10}{:>7}{:>6}", kind.declared, kind.given, kind.left())
}

const HEAD: &str = "for        power     centres  declared  given  left";

/// The name of the shelf, what it holds all in all, and by which limits.
fn about(shelf: &DayShelf, left: &[ShelfLeft]) -> [String; 2] {
    let sum = |count: fn(&ShelfLeft) -> u32| left.iter().map(count).sum::<u32>();
    let pairs = counted(usize::try_from(sum(|kind| kind.declared)).unwrap_or(usize::MAX), "pair", "pairs");
    let all = format!("{pairs} declared, {} given, {} left", sum(|kind| kind.given), sum(ShelfLeft::left));
    let limits = format!("{all}; limits: {} ({})", shelf.limits, ReadyMadeLimits::SOURCE);
    [format!("shelf {}", shelf.name), limits]
}

/// Draws what is left on the shelf, from a line on.
pub fn draw_shelf(pen: &mut Pen<'_>, area: Rect, app: &App, page: &DayPage, first: usize) {
    let Some((shelf, left)) = of_page(page) else {
        pen.heading(area, "no shelf", true);
        return;
    };
    let [name, all] = about(shelf, &left);
    pen.heading(area, &name, true);
    let width = usize::from(area.width.saturating_sub(2)).max(1);
    let mut at = 1;
    for line in wrapped_to_columns(&all, width) {
        pen.text(area, at, 1, &line, pen.theme.text);
        at += 1;
    }
    pen.text(area, at, 1, HEAD, pen.theme.quiet);
    let rows = area.height.saturating_sub(at + 1);
    app.page_rows.set(rows);
    for (kind, row_at) in left.iter().skip(first).zip(at + 1..area.height) {
        // of what is quiet nothing is left
        let style = if kind.left() == 0 { pen.theme.quiet } else { pen.theme.text };
        pen.text(area, row_at, 1, &row(kind), style);
    }
}

/// What is left on the shelf, in words.
pub fn shelf_in_words(page: &DayPage) -> Vec<String> {
    let Some((shelf, left)) = of_page(page) else { return vec!["no shelf".to_owned()] };
    let each = left.iter().map(|kind| {
        let what = if kind.pair.near { "reading" } else { "distance" };
        format!("{what} {}: {} left of {}", pair_in_words(kind.pair), kind.left(), kind.declared)
    });
    about(shelf, &left).into_iter().chain(each).collect()
}

fn of_page(page: &DayPage) -> Option<(&DayShelf, Vec<ShelfLeft>)> {
    let day = &page.now.as_ref()?.day;
    Some((day.settings.shelf.as_ref()?, day.left_on_shelf()))
}
