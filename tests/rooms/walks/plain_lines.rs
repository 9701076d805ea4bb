//! The screen line by line: the same decisions, and what is new said once.

use dioptray::exam::Strategy;
use dioptray::screen::settings::Characters;
use dioptray::screen::{PrintForm, ScreenStart, Settings, print, run_lines};

use super::Failure;
use super::bench::options;
use super::guide::outreach_led;
use super::person::{lead, short_sighted};
use crate::pictures::Album;

/// What is said after each of the lines, and before the first.
fn said(start: ScreenStart, lines: &[&str]) -> Result<Vec<String>, Failure> {
    let mut out = Vec::new();
    run_lines(start, (lines.join("\n") + "\n").as_bytes(), &mut out)?;
    Ok(String::from_utf8(out)?.split("\n\n").map(str::to_owned).collect())
}

#[test]
fn what_changed_is_said_and_nothing_else() -> Result<(), Failure> {
    let said = said(
        options(Settings::shipped()?)?,
        &["-4", "<right>", "-0.75x30", "-0.75x190", "-0.50x90", "w-4.25", "u", "q", "x"],
    )?;
    assert!(said[0].contains("right eye: net plano") && said[0].contains("left eye: net plano"), "{}", said[0]);
    assert!(said[1].contains("right eye: net -4.00") && said[1].contains("right 1: -4.00"), "{}", said[1]);
    assert!(!said[1].contains("left eye"), "{}", said[1]);
    assert!(said[3].contains("right eye: net -4.00/-0.75x30"), "{}", said[3]);
    assert!(said[4].contains("axis") && !said[4].contains("net"), "it is refused: {}", said[4]);
    assert!(!said[5].contains("190"), "a line is said anew: {}", said[5]);
    assert!(said[6].contains("wanted -4.25") && said[6].contains("1: "), "{}", said[6]);
    assert!(said[7].starts_with("undone"), "{}", said[7]);
    assert_eq!(said.len(), 9, "nothing is said after leaving: {said:?}");
    Ok(())
}

/// A rule of a panel and a sign look alike in ASCII.
#[test]
fn no_sign_is_lost_in_lists_and_pages() -> Result<(), Failure> {
    for characters in [Characters::Unicode, Characters::Ascii] {
        let settings = Settings { characters, ..Settings::shipped()? };
        let said = said(options(settings)?, &["d", "<esc>", "-4", "w-4.25", "a", "i"])?;
        assert!(said[1].lines().any(|line| line.starts_with("-0.50")), "{}", said[1]);
        assert!(!said[1].lines().any(|line| line.starts_with("0.50")), "{}", said[1]);
        assert!(said[6].contains("final power") && said[6].contains("-4.00"), "{}", said[6]);
    }
    Ok(())
}

#[test]
fn what_is_no_line_of_keys_is_refused_and_does_nothing() -> Result<(), Failure> {
    let long = "x".repeat(5000);
    let mut out = Vec::new();
    let lines = [b"-4\n".as_slice(), b"\xff\n", long.as_bytes(), b"\n<click:1,1>\n<entre>\nu\n"].concat();
    run_lines(options(Settings::shipped()?)?, lines.as_slice(), &mut out)?;
    let text = String::from_utf8(out)?;
    let said: Vec<&str> = text.split("\n\n").collect();
    assert!(said[2].contains("not UTF-8") && said[3].contains("more than 4096 bytes"), "{said:?}");
    assert!(said[4].contains("nothing here to point at") && said[5].contains("names no key"), "{said:?}");
    assert!(said[6].starts_with("undone"), "the lens was the last step: {said:?}");
    Ok(())
}

#[test]
fn cautions_are_said_and_no_key_is_lost_on_them() -> Result<(), Failure> {
    let start = ScreenStart { cautions: true, ..options(Settings::shipped()?)? };
    let said = said(start, &["g"])?;
    assert!(said[0].contains("It is not a medical"), "{}", said[0]);
    assert!(said[1].contains("1 history and frame"), "{}", said[1]);
    Ok(())
}

#[test]
fn an_exam_is_led_to_the_same_prescription_as_on_the_screen() -> Result<(), Failure> {
    let mut person = short_sighted();
    let start = outreach_led(Strategy::Ladder)?;
    let led = lead(dioptray::screen::App::new(start.session, start.settings), &mut person, |_| None)?;
    let lines: Vec<&str> = std::iter::once("g").chain(led.asked.iter().map(|asked| asked.keys.as_str())).collect();
    let said = said(outreach_led(Strategy::Ladder)?, &lines)?;
    let frame = print(outreach_led(Strategy::Ladder)?, &led.all_keys(), "120x36".parse()?, PrintForm::Text)?;
    // the prescription opens by itself once it is written
    let end = &said[lines.len()];
    let is_written = |line: &&str| line.starts_with("right -") || line.starts_with("left  -");
    let written: Vec<&str> = end.lines().filter(is_written).collect();
    assert_eq!(written.len(), 2, "{end}");
    for line in written {
        assert!(frame.contains(line), "{line} is not in\n{frame}");
    }
    for (nth, asked) in led.asked.iter().enumerate() {
        // each answer can be given by what was said before it
        let before = said[..=nth + 1].join("\n");
        for choice in &asked.presentation.choices {
            assert!(before.contains(&choice.label.to_string()), "{} is not said before {}", choice.label, asked.keys);
        }
    }
    let text: String = said.iter().take(12).map(|said| said.clone() + "\n\n").collect();
    Album::of("guide").screen("plain-lines", "g and the first answers", &text);
    Ok(())
}
