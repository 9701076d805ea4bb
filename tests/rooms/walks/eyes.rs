//! What is shown of an eye is of that eye: two screens on which the eyes have changed places differ in nothing else, and what is
//! done before one eye changes nothing that is shown of the other.
#![expect(clippy::unwrap_used, reason = "a test may stop")]

use dioptray::optics::Eye;
use dioptray::screen::settings::table::{Kind, SETTINGS};
use dioptray::screen::{App, Settings};
use proptest::prelude::*;

use super::bench::{options, rows_of};
use super::laws::press;

/// Deeds that mean the same before either eye.
fn deeds() -> impl Strategy<Value = Vec<&'static str>> {
    let deed = prop::sample::select(vec![
        "-4<enter>",
        "-10<enter>",
        "+0.50<enter>",
        "<right><right>-0.75x30<enter>",
        "<right><right>-2x175<enter>",
        "3BU<enter>",
        "h-0.25<enter>",
        "o",
        "w-4.25/-0.75x180<enter><esc>",
        "a",
        "<tab>",
    ]);
    prop::collection::vec(deed, 1..10)
}

/// Settings of nobody, or with one word of one setting.
fn settings() -> impl Strategy<Value = Settings> {
    let words = SETTINGS.iter().filter_map(|setting| match setting.kind {
        Kind::Words(words) => Some(words.iter().map(move |word| format!("{}: {}\n", setting.key, word.word))),
        Kind::Figure(..) | Kind::Text(_) | Kind::Minutes(..) | Kind::Keys => None,
    });
    prop::sample::select(words.flatten().collect::<Vec<_>>()).prop_map(|text| Settings::read(&text, "").unwrap())
}

/// What stands of an eye above the panels, without its name.
fn of_eye(app: &App, eye: Eye, (columns, rows): (u16, u16)) -> Vec<String> {
    let name = format!("{eye} eye").to_uppercase();
    let panels =
        rows_of(app, Eye::Right, columns, rows).iter().position(|row| row.starts_with("─ ") || row.starts_with("- "));
    let rows = rows_of(app, eye, columns, rows).into_iter().take(panels.unwrap_or(usize::from(rows) - 2)).skip(1);
    rows.map(|row| row.replace(&name, &" ".repeat(name.len())).trim_end().to_owned()).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, ..ProptestConfig::default() })]

    #[test]
    fn eyes_that_change_places_are_shown_in_changed_places(deeds in deeds(), settings in settings()) {
        let deeds = deeds.concat();
        let screen = |keys: &str| {
            let start = options(settings.clone()).unwrap();
            let mut app = App::new(start.session, start.settings);
            press(&mut app, keys).unwrap();
            app
        };
        let (app, changed) = (screen(&deeds), screen(&format!("<tab>{deeds}")));
        // an odd number of columns is shared evenly
        for size in [(81, 24), (121, 36)] {
            for eye in Eye::BOTH {
                prop_assert_eq!(of_eye(&app, eye, size), of_eye(&changed, eye.other(), size), "{} after {}", eye, deeds);
            }
        }
    }

    #[test]
    fn what_is_done_before_one_eye_is_not_shown_of_the_other(
        before in deeds(), after in deeds(), settings in settings(), fellow in any::<bool>(),
    ) {
        let before = format!("{}{}", if fellow { "<tab>" } else { "" }, before.concat());
        let start = options(settings).unwrap();
        let mut app = App::new(start.session, start.settings);
        press(&mut app, &before).unwrap();
        let eye = app.ui.eye;
        let shown = |app: &App| [(81, 24), (121, 36)].map(|size| of_eye(app, eye, size).join("\n").replace('▸', " "));
        let of_first = shown(&app);
        let after: String = after.into_iter().filter(|deed| *deed != "<tab>").collect();
        press(&mut app, &format!("<tab>{after}<tab>")).unwrap();
        // the box may have been opened meanwhile
        prop_assume!(app.ui.page.is_none());
        prop_assert_eq!(of_first, shown(&app), "{} after {} and then {}", eye, before, after);
    }
}
