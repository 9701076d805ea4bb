//! Where the screen is short of room, of characters, or of sense in what was typed.
#![expect(clippy::unwrap_used, reason = "a test may stop")]

use dioptray::screen::settings::Characters;
use dioptray::screen::{Settings, Size, Surroundings};

use super::bench::{options, walk, walk_with};
use super::{Failure, picture, pictures};
use crate::pictures::Album;

#[test]
fn what_cannot_be_read_is_pointed_at_and_stays_on_the_line() -> Result<(), Failure> {
    let album = Album::of("edges");
    pictures(&album, "unread-1-axis", "-0.75x190<enter>")?;
    pictures(&album, "unread-2-no-axis", "w-4.25/-0.75<enter>")?;
    pictures(&album, "unread-3-name", "nmonocle<enter>")?;
    pictures(&album, "unread-4-mended", "-0.75x190<enter><backspace><backspace>80<enter>")
}

#[test]
fn small_screens_keep_what_is_essential() -> Result<(), Failure> {
    let album = Album::of("edges");
    picture(&album, "small-1-least", "-4<enter>-0.75x30<enter>w-4.25/-0.75x180<enter>", "60x20")?;
    picture(&album, "small-2-too-small", "-4<enter>", "59x20")?;
    picture(&album, "small-3-large", "-4<enter>-0.75x30<enter>w-4.25/-0.75x180<enter>", "160x50")
}

#[test]
fn every_size_down_to_nothing_is_drawn() -> Result<(), Failure> {
    let keys = "-4<enter>-0.75x30<enter>h-0.50<enter><tab>w-4.25/-0.75x180<enter>-3.2";
    for keys in [
        keys,
        &format!("{keys}<enter>"),
        "o!",
        "-4<enter>d",
        "-4<enter>?<pagedown>",
        "-4<enter>ai<down><down>",
        "aC",
        "e",
    ] {
        for columns in (1..40).step_by(7).chain([59, 60, 61, 79, 80, 109, 110, 111, 300]) {
            for rows in (1..20).step_by(3).chain([19, 20, 21, 24, 33, 34, 35, 100]) {
                let frame = walk(keys, &format!("{columns}x{rows}"))?;
                assert_eq!(frame.lines().count(), rows, "{columns}x{rows}");
                assert!(frame.lines().all(|line| line.chars().count() <= columns), "{columns}x{rows}");
            }
        }
    }
    Ok(())
}

#[test]
fn poor_terminals_get_ascii_alone() -> Result<(), Failure> {
    let album = Album::of("edges");
    let mut settings = Settings::shipped()?;
    Surroundings { utf8: true, term: "dumb".to_owned(), ..Surroundings::default() }.adapt(&mut settings);
    assert_eq!(settings.characters, Characters::Ascii);
    for size in ["120x36", "80x24"] {
        let keys = "-4<enter>-0.75x150<enter>w-4.25/-0.75x180<enter>";
        let frame = walk_with(options(settings.clone())?, keys, size)?;
        assert!(frame.is_ascii(), "{frame}");
        album.screen(&format!("ascii-1-{size}"), keys, &frame);
        let frame = walk_with(options(settings.clone())?, "o?", size)?;
        assert!(frame.is_ascii(), "{frame}");
        album.screen(&format!("ascii-2-help-{size}"), "o?", &frame);
    }
    Ok(())
}

#[test]
fn the_cautions_stand_until_the_first_key_which_puts_them_away_and_does_nothing_else() -> Result<(), Failure> {
    let start = || -> Result<_, Failure> {
        let mut options = options(Settings::shipped()?)?;
        options.cautions = true;
        Ok(options)
    };
    assert!(walk_with(start()?, "", "80x24")?.contains("Press any key"));
    let after = walk_with(start()?, "-4<enter>", "80x24")?;
    assert!(!after.contains("Press any key"));
    assert!(after.contains(")( -4.00"), "{after}");
    assert!(!walk_with(start()?, "<esc>", "80x24")?.contains("Press any key"));
    let untouched = walk_with(options(Settings::shipped()?)?, "", "80x24")?;
    for key in ["o", "g", "d", "N", "<tab>", "<enter>", "?"] {
        assert_eq!(walk_with(start()?, key, "80x24")?, untouched, "{key}");
    }
    Ok(())
}

/// Which terminals report their characters how: POSIX for the locale; the rest common practice, no source.
#[test]
fn without_a_locale_that_has_more_only_ascii_is_drawn() -> Result<(), Failure> {
    let characters = |utf8: bool, term: &str| -> Result<Characters, Failure> {
        let mut settings = Settings::shipped()?;
        Surroundings { utf8, term: term.to_owned(), ..Surroundings::default() }.adapt(&mut settings);
        Ok(settings.characters)
    };
    assert_eq!(characters(true, "xterm-256color")?, Characters::Auto);
    assert_eq!(characters(false, "xterm-256color")?, Characters::Ascii);
    assert_eq!(characters(true, "linux")?, Characters::Ascii);
    let mut chosen = Settings { characters: Characters::Unicode, ..Settings::shipped()? };
    Surroundings { term: "xterm".to_owned(), ..Surroundings::default() }.adapt(&mut chosen);
    assert_eq!(chosen.characters, Characters::Unicode, "what was chosen stands");
    Ok(())
}

#[test]
fn labels_of_every_script_are_seen_whole_and_turn_nothing_round() -> Result<(), Failure> {
    let details = |label: &str| walk(&format!("i{label}<enter>"), "120x36");
    assert!(details("山田太郎")?.contains("山田太郎"));
    // a long line of wide letters is seen at its end while it is typed
    let long = walk(&format!("i{}末", "山田".repeat(14)), "80x24")?;
    assert!(long.contains('末'), "{long}");
    // what only turns the direction of others is not drawn, and what runs from the right is kept to itself
    assert!(!details("ab\u{202e}cd")?.contains('\u{202e}'));
    let hebrew = details("אבג")?;
    let row = hebrew.lines().find(|row| row.contains("אבג")).ok_or("the label is not there")?;
    let inside = row.split_once('\u{2068}').and_then(|(_, rest)| rest.split_once('\u{2069}')).ok_or("not isolated")?;
    assert_eq!(inside.0.trim(), "אבג", "{row}");
    Ok(())
}

#[test]
fn letters_begin_the_words_of_a_detail_and_run_no_command() -> Result<(), Failure> {
    let frame = walk("-4<enter>ianna<enter>", "120x36")?;
    assert!(frame.contains("anna"), "{frame}");
    let typed = walk("iCN", "120x36")?;
    assert!(typed.contains("label or initials") && typed.contains(": CN"), "{typed}");
    Ok(())
}

#[test]
fn no_more_keys_are_fed_than_any_exam_has() {
    let error = walk(&"u".repeat(10_001), "80x24").unwrap_err().to_string();
    assert_eq!(error, "10001 keys are too many: at most 10000 are fed");
}

#[test]
fn keys_and_sizes_that_cannot_be_read_are_pointed_at() {
    let refused = |keys: &str| walk(keys, "80x24").map(|_| ()).map_err(|error| error.to_string());
    assert_eq!(
        refused("-4<enter").unwrap_err(),
        "keys, character 3: a key name is not closed by `>`; write `<lt>` for the character itself\n  -4<enter\n    ^"
    );
    assert!(refused("-4<entre>").unwrap_err().starts_with("keys, character 3: `entre` names no key:"));
    assert!(refused("<click:5>").unwrap_err().contains("`COLUMN,ROW`"));
    let size = |text: &str| text.parse::<Size>().map_err(|error| error.to_string());
    assert_eq!(size("80x24").unwrap(), Size { columns: 80, rows: 24 });
    for wrong in ["80", "0x24", "80x", "80x24x3", "99999x24", "-1x5", ""] {
        assert!(size(wrong).unwrap_err().contains("120x36"), "{wrong}");
    }
}

#[test]
fn an_exam_that_was_not_closed_is_asked_about_first() -> Result<(), Failure> {
    let after = |keys: &str| -> Result<String, Failure> {
        let mut options = options(Settings::shipped()?)?;
        options.goes_on = Some("Exam 1 (K.M., 23 Nov 16:40)".to_owned());
        walk_with(options, keys, "120x36")
    };
    let asked = after("")?;
    assert!(asked.contains("Exam 1 (K.M., 23 Nov 16:40) was not closed. Go on with it as it stood?"), "{asked}");
    assert!(asked.contains("n begins another"), "{asked}");
    assert!(!after("y")?.contains("was not closed"));
    let label = after("n")?;
    assert!(label.contains("label of the new exam"), "{label}");
    // a lens that is typed at once is not lost: it goes on with the exam
    let typed = after("-4<enter>")?;
    assert!(typed.contains("-4.00 in right 1"), "{typed}");
    Ok(())
}
