//! What is due when, and in which order.

use dioptray::practice::drills::progress::Sitting;
use dioptray::practice::drills::{Drill, Hurts, Level, Progress, Skill, Slip};
use jiff::tz::{TimeZone, offset};
use jiff::{Timestamp, ToSpan as _};

fn at(day: i64) -> Result<Timestamp, jiff::Error> {
    "2026-03-01T09:00:00Z".parse::<Timestamp>()?.checked_add((24 * day).hours())
}

fn skill(drill: Drill) -> Skill {
    Skill { drill, level: Level::One }
}

fn sitting(drill: Drill, day: i64, right: u32, slips: &[Slip]) -> Result<Sitting, jiff::Error> {
    Ok(Sitting { skill: skill(drill), at: at(day)?, right, of: 10, slips: slips.to_vec() })
}

#[test]
fn what_is_new_comes_in_the_order_of_what_hurts() -> Result<(), jiff::Error> {
    let due = Progress::default().due(&at(0)?.to_zoned_datetime(TimeZone::UTC));
    assert_eq!(due.len(), 20, "the first level of each");
    let hurts: Vec<Hurts> = due.iter().map(|skill| skill.drill.hurts()).collect();
    assert!(hurts.is_sorted(), "{hurts:?}");
    assert_eq!((hurts[0], hurts[19]), (Hurts::Sign, Hurts::Nothing));
    assert!([Hurts::Sign, Hurts::Eye, Hurts::Axis, Hurts::Vertex, Hurts::Nothing].is_sorted());
    Ok(())
}

#[test]
fn what_went_well_comes_later_each_time_and_what_did_harm_soon() -> Result<(), Box<dyn std::error::Error>> {
    let well = sitting(Drill::Clock, 0, 10, &[])?;
    let days = |sittings: &[Sitting], from: i64| -> Result<i64, Box<dyn std::error::Error>> {
        let progress = Progress::of(sittings);
        let known = progress.skill(skill(Drill::Clock)).ok_or("never drilled")?;
        Ok((known.due.as_second() - at(from)?.as_second()) / 86_400)
    };
    let first = days(std::slice::from_ref(&well), 0)?;
    let again = sitting(Drill::Clock, first, 10, &[])?;
    let second = days(&[well.clone(), again], first)?;
    assert!(first >= 1 && second > 2 * first, "{first} days, then {second}");
    // nine of ten right, but an axis across
    let harm = sitting(Drill::Clock, first, 9, &[Slip::Axis])?;
    let after_harm = days(&[well.clone(), harm], first)?;
    let slip = sitting(Drill::Clock, first, 9, &[Slip::Arithmetic])?;
    let after_slip = days(&[well, slip], first)?;
    assert!(after_harm < after_slip && after_slip < second, "{after_harm}, {after_slip}, {second}");
    Ok(())
}

#[test]
fn the_longest_overdue_day_comes_first_and_the_next_level_opens_by_the_one_below() -> Result<(), jiff::Error> {
    // what hurts least, drilled badly long ago, against what hurts most and is new
    let progress = Progress::of(&[sitting(Drill::Refer, 0, 2, &[Slip::Arithmetic; 8])?]);
    assert_eq!(progress.due(&at(30)?.to_zoned_datetime(TimeZone::UTC))[0], skill(Drill::Refer));
    assert!(!progress.is_open(Skill { drill: Drill::Refer, level: Level::Two }));
    let progress = Progress::of(&[sitting(Drill::Refer, 0, 10, &[])?]);
    assert!(
        !progress.due(&at(0)?.to_zoned_datetime(TimeZone::UTC)).contains(&skill(Drill::Refer)),
        "not again on the same day"
    );
    assert!(progress.is_open(Skill { drill: Drill::Refer, level: Level::Two }));
    assert!(!progress.is_open(Skill { drill: Drill::Refer, level: Level::Three }));
    Ok(())
}

#[test]
fn a_day_begins_where_the_person_is() -> Result<(), jiff::Error> {
    let progress = Progress::of(&[sitting(Drill::Clock, 0, 2, &[Slip::Axis])?]);
    let due = |hours: i64, zone: i8| -> Result<bool, jiff::Error> {
        let now = at(0)?.checked_add(hours.hours())?.to_zoned_datetime(offset(zone).to_time_zone());
        Ok(progress.due(&now).contains(&skill(Drill::Clock)))
    };
    // drilled at 9 UTC and due a day later; the next day begins at 14 UTC in the east, 8 UTC of the next day in the west
    assert!(!due(4, 10)? && due(6, 10)?, "in the east");
    assert!(!due(14, 0)? && due(15, 0)?, "in UTC");
    assert!(!due(22, -8)? && due(23, -8)?, "in the west");
    Ok(())
}
