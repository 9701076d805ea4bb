//! A record that is shared with other seats, as the screen has it: what others hold, and what is said of the room.

use std::sync::Arc;

use dioptray::screen::Settings;
use dioptray::session::Session;
use dioptray::sharing::news::{HeldElsewhere, News, Reached, SendsOn, Told, WhenNew};

use super::Failure;
use super::bench::{options, walk_with};

/// A room of which this is known.
struct Room(Arc<News>);

impl SendsOn for Room {
    fn tell(&self, _told: Told) {}

    fn news(&self) -> Arc<News> {
        Arc::clone(&self.0)
    }

    fn when_new(&self, _call: WhenNew) {}
}

fn shown(news: News, keys: &str) -> Result<String, Failure> {
    let mut start = options(Settings::shipped()?)?;
    // as one that is kept: what is not kept is not shared
    start.session = Session::looked_on(start.session.exam().clone());
    start.sends = Some(Box::new(Room(Arc::new(news))));
    walk_with(start, keys, "80x24")
}

fn held(pieces: usize) -> News {
    let one = HeldElsewhere { lens: "-2.00 sphere".to_owned(), seat: "lane7".to_owned(), not_heard_min: None };
    News { reached: Reached::There, held: vec![one; pieces], ..News::default() }
}

/// The lenses of each stack that is proposed, in their order.
fn stacks(shown: &str) -> Vec<String> {
    let stack = |line: &str| line.split_once("  cost ").map(|(lenses, _)| lenses.trim().to_owned());
    shown.lines().filter(|line| line.contains("off by")).filter_map(stack).collect()
}

#[test]
fn a_lens_that_others_have_is_marked_and_proposed_after_what_does_without() -> Result<(), Failure> {
    let wanted = "w-2<enter>";
    let alone = shown(News::default(), wanted)?;
    assert!(stacks(&alone)[0].ends_with("1 -2.00"), "{alone}");
    // one of two is free still
    let one = shown(held(1), wanted)?;
    assert_eq!(stacks(&one), stacks(&alone));
    let both = shown(held(2), wanted)?;
    let stacks = stacks(&both);
    assert!(stacks.len() > 2 && stacks.iter().all(|lenses| !lenses.ends_with(" -2.00")), "{both}");
    assert!(shown(held(2), "")?.contains("-2.00  ss") && shown(held(1), "")?.contains("-2.00  •s"));
    // the hand is right: what is put in counts, whoever has it
    let put = shown(held(2), "-2<enter>")?;
    assert!(put.contains("-2.00  Rs") && put.contains("cornea -1.95"), "{put}");
    // on the drawer the seat is named
    let drawer = shown(held(2), "d-2.00")?;
    assert!(drawer.contains("-2.00 sphere: none, 2 at lane7"), "{drawer}");
    Ok(())
}

#[test]
fn the_top_line_says_that_the_room_is_away_and_nothing_while_it_is_there() -> Result<(), Failure> {
    let news = |reached| News { reached, unsent: 12, as_of: None, ..News::default() };
    let top = |shown: String| shown.lines().next().unwrap_or_default().to_owned();
    let without = top(shown(News::default(), "")?);
    assert_eq!(top(shown(news(Reached::There), "")?), without);
    let away = shown(News { as_of: Some("09:12".to_owned()), ..news(Reached::Away { min: 4 }) }, "")?;
    assert!(away.contains("others' lenses as of 09:12"), "{away}");
    assert!(top(away.clone()).contains("room away 4 min, 12 kept here"), "{away}");
    let refuses = news(Reached::Refuses { why: "the room refuses".to_owned() });
    assert!(top(shown(refuses, "")?).contains("room refuses"));
    Ok(())
}
