//! What is typed on the day.

use std::path::PathBuf;

use super::super::super::app::App;
use super::super::super::day_page::DayShown;
use super::super::super::field::COMPLAINTS;
use super::super::super::page::Page;
use super::super::super::request::DayRequest;
use super::super::super::ui::{DayLine, Ui};
use super::super::decision::Decision;
use super::super::details::acuity;
use super::super::fault::LineFault;
use super::go_over;
use crate::day::{Caller, DayEvent, NewPerson, Offer};
use crate::exam::screening_pass::{ScreeningStep, as_the_person_came, next_step};
use crate::exam::{Detail, DropsPut, Event, Outcome, ReadyMadeLimits};
use crate::optics::notation::parse_figure;
use crate::optics::{Eye, bounds};

/// The most characters of a label.
const LONGEST_LABEL: usize = 40;

/// Does what a line of the day says.
pub fn confirm(app: &App, ui: Ui, line: DayLine, text: &str) -> Result<Decision, LineFault> {
    match line {
        DayLine::Place => {
            let place = Some(text.to_owned()).filter(|place| !place.is_empty());
            Ok(Decision::of(ui).with_request(DayRequest::Begin { place }))
        }
        DayLine::New => {
            let request = DayRequest::Call(Caller::New(person(text)?));
            Ok(go_over(app, ui, request))
        }
        DayLine::Waits => {
            let person = person(text)?;
            let said = "on the list".to_owned();
            Ok(Decision::of(ui).with_request(DayRequest::Note { events: vec![DayEvent::Waits(person)], said }))
        }
        DayLine::Drops => {
            let put = drops(app, text)?;
            let mut ui = ui;
            let into = put.eye.map_or_else(|| "both eyes".to_owned(), |eye| format!("the {eye} eye alone"));
            ui.done(format!("{} in {into}: ready after {} min, your protocol decides", put.what, put.ready_after_min));
            Ok(Decision::of(ui).with_step(Event::Detail(Detail::DropsPut(put))))
        }
        DayLine::ReadyMade => {
            let sphere = parse_figure(text, &bounds::POWER)?;
            Ok(chosen(ui, Outcome::ReadyMade { sphere, near: false, given: None }))
        }
        DayLine::OtherPair => other_pair(ui, text),
        DayLine::Shelf => {
            let (file, limits) = shelf(text);
            Ok(Decision::of(ui).with_request(DayRequest::UseShelf { file, limits }))
        }
        DayLine::ReferWhy => {
            let mut ui = ui;
            if let Some(Page::Day(page)) = &mut ui.page {
                page.shown = DayShown::HowSoon { why: text.to_owned() };
            }
            Ok(Decision::of(ui))
        }
        DayLine::NotRefractedWhy => Ok(chosen(ui, Outcome::NotRefracted { why: text.to_owned() })),
        DayLine::Acuity => {
            let limit = app.settings.screening_line;
            let ScreeningStep::Read(eye) = next_step(app.state(), limit) else {
                return Err(LineFault::plain("no line is asked for now"));
            };
            let through = as_the_person_came(app.state());
            Ok(Decision::of(ui).with_step(acuity(app, through, Some(eye), text)?))
        }
    }
}

/// Whether an empty line says something too.
pub fn takes_empty(line: DayLine) -> bool {
    match line {
        DayLine::Place | DayLine::New | DayLine::Waits => true,
        DayLine::Drops
        | DayLine::ReadyMade
        | DayLine::OtherPair
        | DayLine::Shelf
        | DayLine::ReferWhy
        | DayLine::NotRefractedWhy
        | DayLine::Acuity => false,
    }
}

/// The outcome, noted in the exam.
pub(super) fn chosen(mut ui: Ui, outcome: Outcome) -> Decision {
    ui.done(format!("outcome: {outcome}"));
    if let Some(Page::Day(page)) = &mut ui.page {
        page.shown = DayShown::Outcome;
    }
    Decision::of(ui).with_step(Event::Outcome(outcome))
}

/// Another pair of the shelf, by its sphere: the one of it with the nearest centres.
fn other_pair(ui: Ui, text: &str) -> Result<Decision, LineFault> {
    let Some(DayShown::ReadyMade(offered)) = ui.day_page().map(|page| page.shown.clone()) else {
        return Err(LineFault::plain("no shelf is shown"));
    };
    let (typed, near) = match text.strip_suffix("near") {
        Some(typed) => (typed.trim_end(), true),
        None => (text, false),
    };
    let sphere = parse_figure(typed, &bounds::SHELF_POWER)?;
    let pair = offered.wearer.nearest_pair(&offered.left, sphere, near).ok_or_else(|| {
        let what = if near { "for near" } else { "for distance" };
        LineFault::plain(format!("no pair {typed} {what} is left on the shelf {}", offered.shelf))
    })?;
    let offer = Offer::of_pair(&offered.wearer, pair, offered.limits);
    Ok(chosen(ui, offered.outcome_of(pair, offer.serves())))
}

/// The file of a shelf as it is typed, and by which limits.
fn shelf(text: &str) -> (PathBuf, ReadyMadeLimits) {
    let named = ReadyMadeLimits::ALL.into_iter().find_map(|limits| {
        let file = text.strip_suffix(limits.name())?;
        file.ends_with(' ').then(|| (PathBuf::from(file.trim_end()), limits))
    });
    named.unwrap_or_else(|| (PathBuf::from(text), ReadyMadeLimits::default()))
}

/// Somebody as they are typed: the last word is the age where it is a whole number that can be one, and what stands before it
/// the label. Behind an age may stand what the person came for.
fn person(text: &str) -> Result<NewPerson, LineFault> {
    let words: Vec<&str> = text.split([' ', ',']).filter(|word| !word.is_empty()).collect();
    let age = |words: &[&str]| words.last().and_then(|word| parse_figure(word, &bounds::AGE_YEARS).ok());
    let named = |words: &[&str]| {
        let (last, before) = words.split_last()?;
        age(before)?;
        COMPLAINTS.iter().find(|(word, _)| word.eq_ignore_ascii_case(last)).map(|(_, complaint)| *complaint)
    };
    let complaint = named(&words);
    let words = if complaint.is_some() { &words[..words.len() - 1] } else { &words[..] };
    let age = age(words);
    let label = if age.is_some() { &words[..words.len() - 1] } else { words }.join(" ");
    if label.chars().count() > LONGEST_LABEL {
        return Err(LineFault::plain(format!("a label has at most {LONGEST_LABEL} characters")));
    }
    Ok(NewPerson {
        number: None,
        label: Some(label).filter(|label| !label.is_empty()),
        age_years: age.map(|age| age as u8),
        complaint,
        note: None,
    })
}

/// Drops as they are typed: what, after how many minutes they are ready, and the eye where it is one alone.
fn drops(app: &App, text: &str) -> Result<DropsPut, LineFault> {
    let wanted = "write what was put in, after how many minutes it is ready by your protocol, and the eye if it is one: cyclopentolate 60 left";
    let wrong = || {
        let known: Vec<&str> = app.settings.drops.keys().map(String::as_str).collect();
        LineFault::plain(format!("{wanted}; minutes may be left out after {}", known.join(", ")))
    };
    let words: Vec<&str> = text.split([' ', ',']).filter(|word| !word.is_empty()).collect();
    let named = |eye: &Eye| words.last().is_some_and(|word| word.eq_ignore_ascii_case(&eye.to_string()));
    let eye = Eye::BOTH.into_iter().find(named);
    let words = if eye.is_some() { &words[..words.len() - 1] } else { &words[..] };
    let by_settings = app.settings.drops.get(&words.join(" ").to_lowercase());
    let (what, ready_after_min) = if let Some(minutes) = by_settings {
        (words, *minutes)
    } else {
        let (minutes, what) = words.split_last().filter(|(_, what)| !what.is_empty()).ok_or_else(wrong)?;
        (what, parse_figure(minutes, &bounds::DROPS_MIN).map_err(|_| wrong())? as u32)
    };
    let by = app.settings.examiner.clone();
    Ok(DropsPut { what: what.join(" "), eye, at: app.session.clock(), ready_after_min, by })
}
