//! What a student hands in: it comes back as it was, any one character that changed is found, and it can be gone through again.

use dioptray::exam::{Event, Opening};
use dioptray::frame::FittedFrame;
use dioptray::frame::shipped::demo_frame;
use dioptray::kit::{Lens, LensLine, Stock};
use dioptray::practice::class::hand_in::{HandInError, KeptExam};
use dioptray::practice::class::seal::{keyed_hash, sealed};
use dioptray::practice::class::{ClassCode, HandIn};
use dioptray::practice::seat::Seat;
use proptest::prelude::*;
use proptest::sample::Index;

use super::{Failure, Tested, code, end, led, left_alone, morning, timed};
use crate::plain::box_of;

/// RFC 4231, test cases 1, 2 and 6: a short key, a shorter text, a key longer than a block.
#[test]
fn the_seal_is_made_by_the_keyed_hash_of_the_standard() {
    let hex = |hash: [u8; 32]| hash.map(|byte| format!("{byte:02x}")).concat();
    let published: [(&[u8], &str, &str); 3] = [
        (&[0x0b; 20], "Hi There", "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"),
        (b"Jefe", "what do ya want for nothing?", "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"),
        (
            &[0xaa; 131],
            "Test Using Larger Than Block-Size Key - Hash Key First",
            "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54",
        ),
    ];
    for (key, text, expected) in published {
        assert_eq!(hex(keyed_hash(key, text.as_bytes())), expected, "{text}");
    }
}

#[test]
fn what_was_handed_in_comes_back_as_it_was() -> Tested {
    let code = code(3, 2026)?;
    let (kept, _) = led(code, 2, morning(), false)?;
    let hand_in = HandIn::collect("0.1.0", code, "Ana P.", [kept, left_alone(code, 1, morning())?]);
    assert_eq!(hand_in.stations.iter().map(|station| station.number).collect::<Vec<_>>(), [1, 2]);
    assert_eq!(hand_in.missing(), [3]);
    let text = hand_in.write()?;
    assert_eq!(HandIn::read(&text)?, hand_in);
    assert_eq!(text.matches("\"axis_marks_deg\"").count(), 1, "box and frame stand in it once");
    for told in ["\"code\":\"4422-22HU-N22F-J754-8EK4\"", "\"seed\":2026", "\"by\":\"Ana P.\""] {
        assert!(text.contains(told), "{told}");
    }
    Ok(())
}

/// A small file: one station that was left alone, of a box with one lens.
fn small() -> Result<String, Failure> {
    let line = LensLine { lens: "-1.00 sphere".parse::<Lens>()?, declared: 1, missing: 0 };
    let fitted = FittedFrame::new(demo_frame()?, Stock::of(&box_of("Small", vec![line])));
    let code = ClassCode::new(1, 5, &fitted.stock, &fitted.frame)?;
    let opening = Opening { fitted, sitter: Some(Seat::coded(code, 1)?.sitter()) };
    let hand_in = HandIn::collect("0.1.0", code, "Ana", [timed(morning(), opening, vec![end(false)])]);
    let text = hand_in.write()?;
    assert_eq!(HandIn::read(&text)?, hand_in);
    Ok(text)
}

/// Every place of a file: the character there another one, cut, doubled, and one put before it.
#[test]
fn any_one_character_changed_cut_or_added_is_found() -> Tested {
    let text = small()?;
    assert!(text.is_ascii() && text.len() < 5_000, "{} characters", text.len());
    let refused = |changed: &str, at: usize| {
        let found = HandIn::read(changed);
        assert!(matches!(found, Err(HandInError::NotOne | HandInError::Changed)), "at {at}: {found:?}");
    };
    for at in 0..text.len() {
        let (before, behind) = (&text[..at], &text[at + 1..]);
        let here = &text[at..=at];
        let swapped_case = if here.chars().all(char::is_lowercase) { here.to_uppercase() } else { here.to_lowercase() };
        let digit = here.parse::<u8>().map(|digit| ((digit + 1) % 10).to_string()).unwrap_or_default();
        for other in ["", "x", "0", " ", &swapped_case, &digit] {
            if other != here {
                refused(&format!("{before}{other}{behind}"), at);
            }
        }
        for added in ["x", " ", "\n"] {
            refused(&format!("{before}{added}{here}{behind}"), at);
        }
    }
    for added in [" ", "\n", "x"] {
        refused(&format!("{text}{added}"), text.len());
    }
    refused(&text.replace('\n', "\r\n"), text.len());
    refused(&format!("\u{feff}{text}"), 0);
    refused("", 0);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn any_character_in_the_place_of_another_is_found(at in any::<Index>(), other in any::<char>()) {
        let text = small().map_err(|error| TestCaseError::fail(error.to_string()))?;
        let mut changed: Vec<char> = text.chars().collect();
        let at = at.index(changed.len());
        prop_assume!(changed[at] != other);
        changed[at] = other;
        prop_assert!(HandIn::read(&changed.into_iter().collect::<String>()).is_err());
    }
}

#[test]
fn what_another_version_wrote_and_what_does_not_fit_is_refused_in_words() -> Tested {
    let text = small()?;
    let open = text.rsplit_once(",\"seal\"").ok_or("no seal")?.0;
    let again = |from: &str, to: &str| HandIn::read(&sealed(&format!("{}}}", open.replacen(from, to, 1)))).err();
    assert_eq!(again("Ana", "Ben"), None, "only the program itself can seal what is sealed so");
    assert_eq!(again("_hand_in\":1,", "_hand_in\":2,"), Some(HandInError::AnotherVersion { has: 2 }));
    let code = open.split_once("\"code\":\"").ok_or("no code")?.1[..24].to_owned();
    let other_code = super::code(1, 5)?.to_string();
    assert!(matches!(again(&code, &code.replacen('4', "5", 1)), Some(HandInError::Code(_))));
    let another = again(&code, &other_code).ok_or("taken")?.to_string();
    assert!(another.contains("station 1: this code was made for another box"), "{another}");
    assert!(matches!(again("\"kit\":0", "\"kit\":1"), Some(HandInError::Unreadable(_))));
    assert!(matches!(again("\"station\":1", "\"station\":2"), Some(HandInError::Unreadable(_))));
    assert!(matches!(HandIn::read(&sealed("{\"dioptray_hand_in\":1}")).err(), Some(HandInError::Unreadable(_))));
    Ok(())
}

/// Of several exams of a station the last one that was ended counts; what was not ended, and what is of another code, does not.
#[test]
fn the_last_exam_of_a_station_that_was_ended_counts() -> Tested {
    let (code, other) = (code(2, 7)?, super::code(2, 8)?);
    let hour = |hours: i64| morning() + jiff::SignedDuration::from_hours(hours);
    let mut open = left_alone(code, 1, hour(3))?;
    open.steps.clear();
    let mut taken_back = left_alone(code, 2, hour(4))?;
    taken_back.steps[0].events.pop();
    taken_back.steps.push(taken_back.steps[0].clone());
    taken_back.steps[1].events = vec![Event::Undone];
    let person =
        KeptExam { opening: Opening { sitter: None, ..open.opening.clone() }, ..left_alone(code, 1, hour(5))? };
    let exams = [
        left_alone(code, 1, hour(0))?,
        left_alone(code, 1, hour(1))?,
        left_alone(other, 2, hour(2))?,
        open,
        taken_back,
        person,
    ];
    let hand_in = HandIn::collect("0.1.0", code, "Ana", exams);
    let [station] = hand_in.stations.as_slice() else { return Err("not one station".into()) };
    assert_eq!((station.number, station.attempts, station.kept.began), (1, 2, hour(1)));
    assert_eq!(hand_in.missing(), [2]);
    Ok(())
}

#[test]
fn an_exam_is_gone_through_again_step_by_step() -> Tested {
    let code = code(1, 11)?;
    let (kept, exam) = led(code, 1, morning(), false)?;
    let mut again = kept.from_the_beginning().ok_or("it does not begin")?;
    assert!(again.standing_steps().is_empty());
    assert_eq!(again.state().fitted, kept.opening.fitted);
    let steps = exam.standing_steps().len();
    assert_eq!(again.redoable(), steps + 1, "each step, and that it was ended");
    for step in 1..=steps {
        again.apply(&[Event::Redone])?;
        assert_eq!(again.state().fitted, exam.state_after(step)?.fitted, "step {step}");
    }
    again.apply(&[Event::Redone])?;
    assert_eq!(again.state().practised.as_ref().and_then(|practised| practised.ended), Some(false));
    assert_eq!(again.state().results, exam.state().results);
    Ok(())
}
