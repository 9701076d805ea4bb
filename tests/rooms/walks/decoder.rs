//! What the terminal sends, put together to what a person did. Sequences: ECMA-48 and the control sequences that terminals
//! document, from memory.

use crossterm::event::{Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use dioptray::screen::terminal::decoder::Decoder;

const NONE: KeyModifiers = KeyModifiers::NONE;

fn key(code: KeyCode) -> Event {
    Event::Key(KeyEvent::new(code, NONE))
}

fn typed(text: &str) -> Vec<Event> {
    text.chars().map(|character| key(KeyCode::Char(character))).collect()
}

fn alt(character: char) -> Event {
    Event::Key(KeyEvent::new(KeyCode::Char(character), KeyModifiers::ALT))
}

fn bell() -> Event {
    Event::Key(KeyEvent::new(KeyCode::Char('g'), KeyModifiers::CONTROL))
}

/// What is done when these come in one go and then nothing.
fn decoded(came: &[&[Event]]) -> Vec<Event> {
    let mut decoder = Decoder::new(|key: KeyEvent| key.code == KeyCode::Char('b'));
    let mut done: Vec<Event> = came.concat().into_iter().flat_map(|event| decoder.feed(event)).collect();
    while decoder.waits() {
        done.extend(decoder.pause());
    }
    done
}

#[test]
fn a_key_in_two_packets_is_one_key() {
    let escape = [key(KeyCode::Esc)];
    for (rest, code, modifiers) in [
        ("[A", KeyCode::Up, NONE),
        ("[C", KeyCode::Right, NONE),
        ("OD", KeyCode::Left, NONE),
        ("[H", KeyCode::Home, NONE),
        ("[Z", KeyCode::BackTab, NONE),
        ("[3~", KeyCode::Delete, NONE),
        ("[6~", KeyCode::PageDown, NONE),
        ("[1;5C", KeyCode::Right, KeyModifiers::CONTROL),
    ] {
        assert_eq!(decoded(&[&escape, &typed(rest)]), [Event::Key(KeyEvent::new(code, modifiers))], "{rest}");
    }
    assert_eq!(decoded(&[&escape, &typed("[<0;50;22M")]), [], "a report of the mouse is no key");
    assert_eq!(decoded(&[&escape, &typed("[200~-2.50")]), [Event::Paste("-2.50".into())]);
}

#[test]
fn escape_is_a_key_and_so_is_what_follows_at_once() {
    let escape = [key(KeyCode::Esc)];
    assert_eq!(decoded(&[&escape]), escape);
    assert_eq!(decoded(&[&[alt('x')]]), [&escape[..], &typed("x")].concat());
    assert_eq!(decoded(&[&escape, &typed("x")]), [&escape[..], &typed("x")].concat());
    assert_eq!(decoded(&[&escape, &typed("[")]), [&escape[..], &typed("[")].concat());
    assert_eq!(decoded(&[&[alt('P')]]), [&escape[..], &typed("P")].concat());
    assert_eq!(decoded(&[&[alt('b')]]), [alt('b')], "what is bound stays as it is");
}

#[test]
fn what_the_terminal_answers_is_nobodys_key() {
    let colour = typed("11;rgb:1c1c/1c1c/1c1c");
    for ends in [bell(), alt('\\')] {
        assert_eq!(decoded(&[&[alt(']')], &colour, &[ends], &typed("-4")]), typed("-4"));
    }
    assert_eq!(decoded(&[&[alt('P')], &typed(">|term 1"), &[alt('\\')]]), []);
    assert_eq!(decoded(&[&[key(KeyCode::Esc)], &typed("]11;rgb:0/0/0"), &[bell()]]), [], "its escape came alone");
    // its rest comes late
    let mut decoder = Decoder::new(|_: KeyEvent| false);
    let mut done: Vec<Event> =
        [vec![alt(']')], typed("11;rgb:1c")].concat().into_iter().flat_map(|e| decoder.feed(e)).collect();
    done.extend(decoder.pause());
    done.extend([typed("1c/1c1c/1c1c"), vec![bell()], typed("7")].concat().into_iter().flat_map(|e| decoder.feed(e)));
    assert_eq!(done, typed("7"));
}

#[test]
fn where_releases_are_reported_escape_is_itself_at_once_and_a_release_does_nothing() {
    let mut decoder = Decoder::new(|_: KeyEvent| false);
    let release = KeyEvent::new_with_kind(KeyCode::Char('a'), NONE, KeyEventKind::Release);
    assert_eq!(decoder.feed(Event::Key(release)), []);
    assert_eq!(decoder.feed(key(KeyCode::Esc)), [key(KeyCode::Esc)]);
    assert!(!decoder.waits());
    assert_eq!(decoder.feed(alt('x')), [alt('x')]);
    let again = Event::Key(KeyEvent::new_with_kind(KeyCode::Right, NONE, KeyEventKind::Repeat));
    assert_eq!(decoder.feed(again.clone()), [again], "a key held down goes on");
}
