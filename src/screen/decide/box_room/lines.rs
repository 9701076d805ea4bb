//! What is typed on the Box screen.

use jiff::civil::Date;

use super::super::super::app::App;
use super::super::super::box_page::{BoxPage, BoxShown};
use super::super::super::page::Page;
use super::super::super::request::{BoxRequest, OwnBox};
use super::super::super::ui::{BoxLine, Ui};
use super::super::decision::Decision;
use super::super::fault::LineFault;
use super::changes::{Happening, Without, happens, happens_as};
use super::{counting, new_frame, sheets};
use crate::keeping::pieces_for;
use crate::kit::change::bare;
use crate::kit::own_marks::LONGEST_MARK;
use crate::kit::shipped::templates;
use crate::kit::stock_take::Said;
use crate::kit::{BoxChange, Further, Lens, Measurement, StockedPiece};
use crate::optics::bounds;
use crate::optics::notation::parse_figure;
use crate::session::{BagOut, ToNote};

/// Whether an empty line says something too.
pub fn takes_empty(line: BoxLine) -> bool {
    match line {
        // of a new frame what is so now is taken
        BoxLine::Damaged
        | BoxLine::CountDamaged
        | BoxLine::CountNote
        | BoxLine::Prices
        | BoxLine::Budget
        | BoxLine::SheetLimits
        | BoxLine::OfNewFrame(_) => true,
        BoxLine::Place
        | BoxLine::Lent
        | BoxLine::Measured
        | BoxLine::Added
        | BoxLine::Moved
        | BoxLine::Note
        | BoxLine::NewBox
        | BoxLine::OwnBox
        | BoxLine::NewFrame
        | BoxLine::CheckOut
        | BoxLine::CountStrange
        | BoxLine::SheetFile
        | BoxLine::CountMeasured => false,
    }
}

/// Whether it takes as many words as it needs.
pub fn is_in_words(line: BoxLine) -> bool {
    match line {
        // names of cells, the path of a file
        BoxLine::Note
        | BoxLine::CountNote
        | BoxLine::Prices
        | BoxLine::SheetFile
        | BoxLine::OwnBox
        | BoxLine::NewFrame
        | BoxLine::OfNewFrame(_) => true,
        BoxLine::Place
        | BoxLine::Lent
        | BoxLine::Measured
        | BoxLine::Added
        | BoxLine::Moved
        | BoxLine::Damaged
        | BoxLine::NewBox
        | BoxLine::CheckOut
        | BoxLine::CountDamaged
        | BoxLine::CountStrange
        | BoxLine::CountMeasured
        | BoxLine::SheetLimits
        | BoxLine::Budget => false,
    }
}

/// Does what the line says.
pub fn confirm(app: &App, ui: Ui, line: BoxLine, text: &str) -> Result<Decision, LineFault> {
    let Some(page) = app.ui.box_page() else {
        return Ok(Decision::of(ui));
    };
    let noted = |happening: Result<Happening, String>| {
        Ok(Decision::of(ui.clone()).with_request(happening.map_err(LineFault::plain)?.noted()))
    };
    match line {
        BoxLine::Place => go_to(page, ui, text),
        BoxLine::Lent => {
            let (to, until) = borrower(text, page.now.today)?;
            let by = until.map(|until| format!(" until {until}")).unwrap_or_default();
            noted(happens_as(page, &Without::LENT, &format!("lent to {to}{by}"), |piece| BoxChange::Lent {
                piece,
                to: Some(to.clone()),
                until,
            }))
        }
        BoxLine::Damaged => {
            let what = (!text.is_empty()).then(|| text.to_owned());
            let said = what.as_ref().map_or_else(|| "damaged".to_owned(), |what| format!("damaged ({what})"));
            noted(happens_as(page, &Without::DAMAGED, &said, |piece| BoxChange::Damaged { piece, what: what.clone() }))
        }
        BoxLine::Measured if text == "mended" => noted(happens(page, &Without::MENDED)),
        BoxLine::Measured => noted(measured(page, text)?),
        BoxLine::Moved => {
            let (to, name) = another_box(app, page, text)?;
            noted(happens_as(page, &Without::MOVED, &format!("moved to {name}"), |piece| {
                BoxChange::moved_to(piece, &to)
            }))
        }
        BoxLine::Note if text.starts_with(MARK) => noted(marked(page, text[MARK.len()..].trim())?),
        BoxLine::Note => {
            noted(happens_as(page, &Without::NOTE, "noted", |piece| BoxChange::Note { piece, text: text.to_owned() }))
        }
        BoxLine::NewBox => {
            let (name, template) = of_template(text)?;
            Ok(Decision::of(ui).with_request(BoxRequest::NewBox { name, template }))
        }
        BoxLine::OwnBox => {
            let own = if new_frame::is_a_file(text) {
                OwnBox::File(text.into())
            } else {
                let (name, template) = of_template(text)?;
                OwnBox::OfTemplate { name, template }
            };
            Ok(Decision::of(ui).with_request(BoxRequest::OwnBox(own)))
        }
        BoxLine::NewFrame => new_frame::begin(ui, text),
        BoxLine::OfNewFrame(question) => new_frame::answered(ui, question, text),
        BoxLine::CheckOut => check_out(app, page, ui, text),
        BoxLine::CountDamaged | BoxLine::CountStrange | BoxLine::CountMeasured | BoxLine::CountNote => {
            in_count(app, ui, line, text)
        }
        BoxLine::Prices => Ok(Decision::of(ui).with_request(BoxRequest::Prices(text.to_owned()))),
        BoxLine::Budget => budget(page, ui, text),
        BoxLine::SheetLimits => sheets::limits(ui, text),
        BoxLine::SheetFile => sheets::file(page, ui, text),
        BoxLine::Added => {
            let lens: Lens = text.parse().map_err(|error| LineFault::plain(format!("{error}")))?;
            let said = format!("added: {lens}");
            let changes = vec![BoxChange::Added(Further::from(lens))];
            Ok(Decision::of(ui).with_request(BoxRequest::ChangeBox { to_note: ToNote { changes, note: None }, said }))
        }
    }
}

/// Name and template of a new box: `Clinic 3 from outreach`.
fn of_template(text: &str) -> Result<(String, String), LineFault> {
    let there = || templates().collect::<Vec<_>>().join(", ");
    let Some((name, template)) = text.rsplit_once(" from ") else {
        return Err(LineFault::plain(format!("write its name, then the template: Clinic 3 from {}", there())));
    };
    let (name, template) = (name.trim().to_owned(), template.trim().to_owned());
    if !templates().any(|known| known == template) {
        let place = Some(name.chars().count() + " from ".len());
        return Err(LineFault { problem: format!("there is no template `{template}`; there are {}", there()), place });
    }
    Ok((name, template))
}

/// Checks the bag out that is shown.
fn check_out(app: &App, page: &BoxPage, ui: Ui, text: &str) -> Result<Decision, LineFault> {
    let BoxShown::Pack(pieces) = page.shown else { return Ok(Decision::of(ui)) };
    let (to, until) = borrower(text, page.now.today)?;
    let packed = app.packed(&page.now.stock, pieces);
    let packed = packed.ok_or_else(|| LineFault::plain("the bag is still being chosen: wait until it is shown"))?;
    let free = |stocked: &StockedPiece| stocked.is_free();
    let taken = pieces_for(&page.now.stock, &packed.bag.take, &packed.beside, &free)
        .map_err(|lens| LineFault::plain(format!("{lens} stands before an eye: take it out there first")))?;
    let bag = BagOut { name: format!("Bag for {to}"), pieces: taken, to, until };
    Ok(Decision::of(ui).with_request(BoxRequest::CheckOut(bag)))
}

/// What is typed in a stock-take.
fn in_count(app: &App, ui: Ui, line: BoxLine, text: &str) -> Result<Decision, LineFault> {
    let Some(counting) = app.ui.counting() else { return Ok(Decision::of(ui)) };
    let gone = || LineFault::plain("no piece of this lens is shown as here");
    let next = if line == BoxLine::CountDamaged {
        counting::damaged(counting, text).ok_or_else(gone)?
    } else if line == BoxLine::CountNote {
        counting.then(|take| take.write_note((!text.is_empty()).then(|| text.to_owned())))
    } else if line == BoxLine::CountStrange {
        counting.then(|take| take.strange(counting.row, text))
    } else {
        let of = counting.meant(Said::is_there).ok_or_else(gone)?;
        let measurement = measurement(&of.piece.lens, text)?;
        counting.then(|take| take.measure(&of.piece, measurement))
    };
    Ok(counting::keep(ui, next))
}

/// For how much is bought at most.
fn budget(page: &BoxPage, mut ui: Ui, text: &str) -> Result<Decision, LineFault> {
    let budget = if text.is_empty() { None } else { Some(parse_figure(text, &bounds::PRICE)?) };
    if budget.is_some() && page.buying.prices.is_none() {
        return Err(LineFault::plain("a budget needs prices: name a price list first"));
    }
    if let Some(Page::Box(page)) = &mut ui.page {
        page.buying.budget = budget;
    }
    Ok(Decision::of(ui))
}

/// To whom, and until when: `Clinic 3 until 17 Dec`.
fn borrower(text: &str, today: Date) -> Result<(String, Option<Date>), LineFault> {
    let Some((to, until)) = text.rsplit_once(" until ") else {
        return Ok((text.to_owned(), None));
    };
    let place = to.chars().count() + " until ".len();
    let date = day(until.trim(), today).map_err(|problem| LineFault { problem, place: Some(place) })?;
    Ok((to.trim().to_owned(), Some(date)))
}

/// A day as it is typed: `2026-12-17`, `17 Dec`, `17 Dec 2026`, `14 days`. Without a year it is the next such day.
fn day(text: &str, today: Date) -> Result<Date, String> {
    let wrong = || format!("`{text}` is not a day: write it like 2026-12-17, 17 Dec or 14 days");
    if let Ok(date) = text.parse::<Date>() {
        return Ok(date);
    }
    if let Some(days) = text.strip_suffix("days").or_else(|| text.strip_suffix("day")) {
        let days: i64 = days.trim().parse().ok().filter(|days| (0..=3650).contains(days)).ok_or_else(wrong)?;
        let span = jiff::Span::new().try_days(days).map_err(|_| wrong())?;
        return today.checked_add(span).map_err(|_| wrong());
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    let (text, year) = match words.as_slice() {
        [number, month] => (format!("{number} {month}"), None),
        [number, month, year] => (format!("{number} {month}"), Some(year.parse::<i16>().map_err(|_| wrong())?)),
        _ => return Err(wrong()),
    };
    let of_year = |year: i16| Date::strptime("%d %b %Y", format!("{text} {year}")).ok();
    let date = match year {
        Some(year) => of_year(year),
        None => of_year(today.year()).filter(|date| *date >= today).or_else(|| of_year(today.year() + 1)),
    };
    date.ok_or_else(wrong)
}

/// Before the words of a note that say how the piece is marked.
const MARK: &str = "mark:";

/// How a piece is marked by its keeper: `mark: white dot`, `mark: none` where the mark is gone.
fn marked(page: &BoxPage, mark: &str) -> Result<Result<Happening, String>, LineFault> {
    one_piece(page, &Without::NOTE, "a mark")?;
    if mark.is_empty() || mark.chars().count() > LONGEST_MARK {
        let problem = format!("write the mark in a word or two, at most {LONGEST_MARK} characters: mark: white dot");
        return Err(LineFault::plain(problem));
    }
    let own_mark = (mark != "none").then(|| mark.to_owned());
    let said = own_mark.as_ref().map_or_else(|| "its mark is gone".to_owned(), |mark| format!("its mark: {mark}"));
    Ok(happens_as(page, &Without::NOTE, &said, |piece| BoxChange::Marked { piece, own_mark: own_mark.clone() }))
}

/// The lens of the one piece that is meant, of which something is said that is of one.
fn one_piece<'a>(page: &'a BoxPage, without: &Without, what: &str) -> Result<&'a Lens, LineFault> {
    if happens(page, without).map_err(LineFault::plain)?.count() > 1 {
        return Err(LineFault::plain(format!("several pieces are marked, and {what} is of one")));
    }
    let lens = page.marked.first().map(|piece| &piece.lens).or_else(|| page.lens());
    let lens = lens.ok_or_else(|| LineFault::plain("no place is chosen"))?;
    if page.marked.is_empty() && page.piece.is_none() && page.pieces().count() > 1 {
        return Err(LineFault::plain(format!("there are several of {lens}: leave the line and choose which one")));
    }
    Ok(lens)
}

/// A measured power, and what else was found: `-2.87`, `-2.87 axis 3 prism 0.5 with the focimeter sure`.
fn measured(page: &BoxPage, text: &str) -> Result<Result<Happening, String>, LineFault> {
    let measurement = measurement(one_piece(page, &Without::MEASURED, "a measured power")?, text)?;
    let (power, sure) = (measurement.power, measurement.sure);
    let said = format!("measured {power:+.2}");
    let again = |why: String| {
        if sure || !why.contains("say that you are sure") { why } else { format!("{why}: add the word sure") }
    };
    let happening = happens_as(page, &Without::MEASURED, &said, |piece| BoxChange::Measured {
        piece,
        measurement: measurement.clone(),
    });
    Ok(happening.map_err(again))
}

/// A measured power of a lens, and what else was found.
fn measurement(lens: &Lens, text: &str) -> Result<Measurement, LineFault> {
    let no_power = || LineFault::plain(format!("{lens} has no power that could be measured"));
    let range = lens.power_range().ok_or_else(no_power)?;
    let (text, sure) = text.strip_suffix(" sure").map_or((text, false), |text| (text, true));
    let (text, instrument) = text.split_once(" with ").map_or((text, None), |(text, with)| (text, Some(with)));
    let mut words = text.split_whitespace();
    let power = parse_figure(words.next().unwrap_or_default(), &range.measured())?;
    let mut measurement =
        Measurement { sure, instrument: instrument.map(|with| with.trim().to_owned()), ..Measurement::of(power) };
    while let Some(word) = words.next() {
        let figure = words.next().unwrap_or_default();
        match word {
            "axis" => measurement.axis_off_deg = Some(parse_figure(figure, &bounds::AXIS)?),
            "prism" => measurement.prism = Some(parse_figure(figure, &bounds::PRISM)?),
            _ => return Err(LineFault::plain(format!("`{word}`: write it like -2.87 axis 3 prism 0.5 with its name"))),
        }
    }
    Ok(measurement)
}

/// Another box by its name or its id, and what it is called.
fn another_box(app: &App, page: &BoxPage, text: &str) -> Result<(String, String), LineFault> {
    let known = app.session.boxes().map_err(|error| LineFault::plain(error.to_string()))?;
    let others: Vec<_> = known.into_iter().filter(|known| known.key != page.now.key).collect();
    let is = |name: &str| name.to_lowercase() == text.to_lowercase();
    let found = others.iter().find(|known| is(bare(&known.key)) || is(&known.name));
    match found {
        Some(found) => Ok((found.key.clone(), found.name.clone())),
        None if others.is_empty() => Err(LineFault::plain("no other box is known: use one once with --box")),
        None => {
            let names: Vec<&str> = others.iter().map(|known| known.name.as_str()).collect();
            Err(LineFault::plain(format!("no other box is called `{text}`; there are {}", names.join(", "))))
        }
    }
}

/// Goes to the place of a lens that is typed as in a stack, without an axis, or by its name.
fn go_to(page: &BoxPage, mut ui: Ui, text: &str) -> Result<Decision, LineFault> {
    let is_name = text.starts_with(char::is_alphabetic);
    let named = |name: &str| page.places().position(|place| is_name && place.to_string().starts_with(name));
    let lens = lens_of(text);
    let Some(at) = lens.as_ref().and_then(|lens| page.place_of(lens)).or_else(|| named(text)) else {
        let in_box = &page.now.stock.box_name;
        return Err(LineFault::plain(match lens {
            Some(lens) => format!("{in_box} has no {lens}"),
            None if text.starts_with(|c: char| c.is_ascii_digit()) => {
                format!("`{text}` has no sign: +{text} or -{text}, and a prism is {text}b")
            }
            None => format!("`{text}` is not a place: type a power like -3, -0.75x or 3b, or a name like pinhole"),
        }));
    };
    if let Some(Page::Box(page)) = &mut ui.page {
        page.go_to(at);
        if let (BoxShown::Counting(counting), Some(lens)) =
            (&mut page.shown, page.rows.iter().flat_map(|row| &row.lenses).nth(at))
            && let Some((row, lens)) = counting.place_of(lens)
        {
            counting.go_to(row, lens);
        }
    }
    Ok(Decision::of(ui))
}

/// `-3` is a sphere, `-0.75x` a cylinder, `3b` a prism; else it is a label.
fn lens_of(text: &str) -> Option<Lens> {
    let of_kind = |power: &str, kind: &str| format!("{} {kind}", power.trim()).parse().ok();
    let cylinder = text.strip_suffix(['x', 'X', '\u{d7}']).and_then(|power| of_kind(power, "cylinder"));
    let prism = text.strip_suffix(['b', 'B', '\u{394}']).and_then(|power| of_kind(power, "prism"));
    cylinder.or(prism).or_else(|| text.parse().ok()).or_else(|| of_kind(text, "sphere"))
}
