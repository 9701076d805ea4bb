//! Ready-made pairs: what is offered against its rules and sources, and what is left whatever happens.

#![expect(clippy::unwrap_used, reason = "a test stops where something is not as it must be")]

use approx::assert_abs_diff_eq;
use dioptray::day::{
    Against, Caller, Day, DayEvent, DayRefusal, DaySettings, DayShelf, NewPerson, NotKnown, Offer, ShelfLeft, Wearer,
    WearerEye,
};
use dioptray::exam::{CheckedStep, Event, Exam, GivenPair, Outcome, ReadyMadeLimits};
use dioptray::guide::believed_line;
use dioptray::kit::shelf::{DeclaredShelf, ShelfPair, parse_shelf};
use dioptray::logbook::{BeganWith, ExamInDay, Logbook, LogbookError, OpenExam};
use dioptray::optics::quarter::nearest_quarter;
use dioptray::optics::{Acuity, Dioptres, Eye, Eyes, Millimetres, Power, SpheroCylinder};
use dioptray::practice::sight::{Condition, Look};
use dioptray::practice::{Care, Law, Person};
use jiff::{SignedDuration, Timestamp};
use proptest::prelude::*;
use uuid::Uuid;

use crate::invented::opening;
use crate::kept_exam::named;

const LIMITS: ReadyMadeLimits = ReadyMadeLimits::Common;

/// Every quarter to 6 D and beyond in halves, one centre distance, as many pairs as are wanted.
const FULL: &str = "shelf: Full
pairs:
  - {for: distance, powers: [\"±0.25 to ±6.00 by 0.25\", \"±6.50 to ±12.00 by 0.50\"], centres_mm: [62], each: 999}
  - {for: reading, powers: [\"+0.75 to +4.00 by 0.25\"], centres_mm: [58, 62], each: 999}
";

fn shelf(text: &str) -> DeclaredShelf {
    parse_shelf("shelf.yaml", text).unwrap()
}

fn left(shelf: &DeclaredShelf) -> Vec<ShelfLeft> {
    DayShelf::of(shelf, LIMITS, &[]).left(&[])
}

fn rx(sphere: f64, cylinder: f64, axis: f64) -> SpheroCylinder {
    SpheroCylinder { sphere, cylinder, axis }
}

/// Somebody who reads 6/6 with the full power and 6/60 without, the pupils 62 mm apart.
fn wearer(age_years: u8, right: SpheroCylinder, left: SpheroCylinder) -> Wearer {
    let eye = |written| Some(WearerEye { written, addition: None, best: Some(Acuity::of_6_m(6.0)) });
    Wearer {
        age_years: Some(age_years),
        under_drops: false,
        found_over: Eyes::both(false),
        eyes: Eyes::new(eye(right), eye(left)),
        unaided: Eyes::both(Some(Acuity::of_6_m(60.0))),
        near_metres: 0.40,
        vertex: Millimetres(12.0),
        pd: Eyes::both(Some(Millimetres(31.0))),
    }
}

fn with_addition(wearer: &Wearer, addition: f64) -> Wearer {
    let eyes = wearer.eyes.map(|eye| eye.map(|eye| WearerEye { addition: Some(Dioptres(addition)), ..eye }));
    Wearer { eyes, ..wearer.clone() }
}

fn far(wearer: &Wearer) -> Offer {
    Offer::of(wearer, &left(&shelf(FULL)), false, LIMITS)
}

fn sphere_of(offer: &Offer) -> Option<f64> {
    offer.pair.map(|pair| pair.sphere)
}

/// PMC6678143: cylinder to 0.75 and equivalents to 0.50 apart; wider, 1.25 and 1.50.
#[test]
fn the_limits_are_those_of_their_source() {
    let beyond = |right, left, limits| {
        let offer = Offer::of(&wearer(30, right, left), &self::left(&shelf(FULL)), false, limits);
        offer.against.iter().any(|against| matches!(against, Against::Cylinder { .. } | Against::Apart { .. }))
    };
    for (limits, cylinder, apart) in [(ReadyMadeLimits::Common, 0.75, 0.50), (ReadyMadeLimits::Wider, 1.25, 1.50)] {
        let plain = rx(-2.0, 0.0, 180.0);
        assert!(!beyond(rx(-1.5, -cylinder, 90.0), rx(-1.5, -cylinder, 90.0), limits), "{limits}");
        assert!(beyond(rx(-1.5, -cylinder - 0.25, 90.0), rx(-1.5, -cylinder - 0.25, 90.0), limits), "{limits}");
        assert!(!beyond(plain, rx(-2.0 - apart, 0.0, 180.0), limits), "{limits}");
        assert!(beyond(plain, rx(-2.25 - apart, 0.0, 180.0), limits), "{limits}");
        assert!(ReadyMadeLimits::SOURCE.contains("PMC6678143"));
    }
}

#[test]
fn a_simple_short_sighted_pair_is_offered_with_its_line() {
    let offer = far(&wearer(30, rx(-1.50, 0.0, 180.0), rx(-1.50, 0.0, 180.0)));
    assert_eq!((offer.serves(), sphere_of(&offer)), (true, Some(-1.50)));
    for eye in offer.eyes {
        let eye = eye.unwrap();
        assert_abs_diff_eq!(eye.with_pair_log_mar.unwrap(), 0.0, epsilon = 0.001);
        assert_eq!(eye.off_d, 0.0);
    }
    assert_eq!((offer.prism, offer.not_known.len()), (Some(None), 0));
    // the eye that needs less minus decides, the other gets less than it needs
    let offer = far(&wearer(30, rx(-1.50, 0.0, 180.0), rx(-1.75, -0.25, 90.0)));
    assert_eq!(sphere_of(&offer), Some(-1.50));
    assert_eq!(offer.eyes.left.unwrap().off_d, 0.375);
}

/// Morjaria 2017 (PMC5847082): within a line of the full correction, and two lines gained, in the better eye.
#[test]
fn what_reads_too_little_or_gains_too_little_is_said() {
    let coarse =
        shelf("shelf: C\npairs: [{for: distance, powers: [\"-1.00 to -3.00 by 1.00\"], centres_mm: [62], each: 1}]\n");
    let short = wearer(30, rx(-1.75, 0.0, 180.0), rx(-1.75, 0.0, 180.0));
    let offer = Offer::of(&short, &left(&coarse), false, LIMITS);
    // 0.75 D too plus: by either law of blur more than two lines
    assert!(matches!(offer.against[..], [Against::LosesLines(lines)] if (1.5..4.0).contains(&lines)), "{offer:?}");
    let mut hardly = wearer(30, rx(-0.50, 0.0, 180.0), rx(-0.50, 0.0, 180.0));
    hardly.unaided = Eyes::both(Some(Acuity::of_6_m(9.0)));
    let offer = far(&hardly);
    assert!(matches!(offer.against[..], [Against::GainsLess(lines)] if (lines - 1.76).abs() < 0.01), "{offer:?}");
    hardly.unaided = Eyes::new(None, Some(Acuity::of_6_m(9.0)));
    assert_eq!(far(&hardly).not_known, [NotKnown::Unaided]);
    hardly.eyes = hardly.eyes.map(|eye| eye.map(|eye| WearerEye { best: None, ..eye }));
    assert_eq!(far(&hardly).against, [Against::LineNotKnown]);
}

#[test]
fn a_child_with_plus_gets_none_before_drops() {
    let mut child = wearer(9, rx(2.0, 0.0, 180.0), rx(2.0, 0.0, 180.0));
    assert_eq!((sphere_of(&far(&child)), far(&child).against), (None, vec![Against::ChildBeforeDrops]));
    child.under_drops = true;
    assert_eq!(sphere_of(&far(&child)), Some(2.0));
    // who may be a child is taken for one
    let unknown = Wearer { age_years: None, under_drops: false, ..child.clone() };
    assert_eq!((sphere_of(&far(&unknown)), far(&unknown).against), (None, vec![Against::PlusWithoutAge]));
    let grown = Wearer { age_years: Some(30), under_drops: false, ..child.clone() };
    assert_eq!(sphere_of(&far(&grown)), Some(2.0));
    // minus needs no drops, and no age
    let short = Wearer { age_years: None, ..wearer(9, rx(-2.0, 0.0, 180.0), rx(-2.0, 0.0, 180.0)) };
    assert_eq!((sphere_of(&far(&short)), far(&short).not_known), (Some(-2.0), vec![NotKnown::Age]));
    // a typed pair is not refused, but what speaks against it is said
    let plus = ShelfPair { sphere: 1.0, near: false, centres_mm: 62.0 };
    let typed = Offer::of_pair(&Wearer { under_drops: false, ..child }, plus, LIMITS);
    assert!(typed.against.contains(&Against::ChildBeforeDrops) && !typed.serves(), "{typed:?}");
}

#[test]
fn an_eye_without_a_prescription_has_no_pair() {
    let mut one = wearer(30, rx(-2.0, 0.0, 180.0), rx(-2.0, 0.0, 180.0));
    one.eyes.left = None;
    assert_eq!((sphere_of(&far(&one)), far(&one).against), (None, vec![Against::NothingWritten(Eye::Left)]));
}

/// Prentice: 1 mm off the centre of 2 D makes 0.2 prism dioptres before an eye. Limits of made glasses: 6.7/|F| mm, at least 2.5
/// (ANSI Z80.1-2015, quick reference).
#[test]
fn prism_is_that_of_prentice_with_its_base_where_the_centres_stand() {
    let at = |pd: f64, sphere: f64| {
        let eye = rx(sphere, 0.0, 180.0);
        let offer = far(&Wearer { pd: Eyes::both(Some(Millimetres(pd / 2.0))), ..wearer(30, eye, eye) });
        let part = offer.prism.unwrap().unwrap();
        let off = offer.against.iter().any(|against| matches!(against, Against::Centres { .. }));
        (part.amount, part.base.to_string(), off)
    };
    // the centres of 62 mm stand outside pupils of 60: minus has its thick edge towards the nose, plus its thick middle outside
    let (amount, base, off) = at(60.0, -4.0);
    assert_abs_diff_eq!(amount, 0.8, epsilon = 1e-9);
    assert_eq!((base.as_str(), off), ("in", false));
    let (amount, base, off) = at(60.0, 4.0);
    assert_abs_diff_eq!(amount, 0.8, epsilon = 1e-9);
    assert_eq!((base.as_str(), off), ("out", false));
    // inside pupils of 65 the other way round, and 3 mm are more than 2.5
    let (amount, base, off) = at(65.0, -4.0);
    assert_abs_diff_eq!(amount, 1.2, epsilon = 1e-9);
    assert_eq!((base.as_str(), off), ("out", true));
    // 1 D may be 6.7 mm off
    assert!(!at(68.5, -1.0).2 && at(68.9, -1.0).2);
    let unknown = Wearer {
        pd: Eyes::new(None, Some(Millimetres(31.0))),
        ..wearer(30, rx(-2.0, 0.0, 180.0), rx(-2.0, 0.0, 180.0))
    };
    assert_eq!((far(&unknown).prism, far(&unknown).not_known), (None, vec![NotKnown::Centres]));
}

#[test]
fn what_was_found_over_something_that_stays_on_serves_nobody_alone() {
    let over = Wearer { found_over: Eyes::new(false, true), ..wearer(30, rx(-2.0, 0.0, 180.0), rx(-2.0, 0.0, 180.0)) };
    assert_eq!((far(&over).serves(), far(&over).against), (false, vec![Against::FoundOver(Eye::Left)]));
}

/// Pupils 62 mm apart turned to 40 cm: 62 × 400/(400 + 12 + 15) = 58.1 mm at the glasses.
#[test]
fn for_near_the_addition_counts_and_the_eyes_converge() {
    let reads = with_addition(&wearer(55, rx(-0.50, 0.0, 180.0), rx(-0.50, 0.0, 180.0)), 2.0);
    let offer = Offer::of(&reads, &left(&shelf(FULL)), true, LIMITS);
    let pair = offer.pair.unwrap();
    assert_eq!((pair.sphere, pair.near, pair.centres_mm), (1.50, true, 58.0));
    let prism = offer.prism.unwrap().unwrap();
    assert_abs_diff_eq!(prism.amount, 0.1 * 1.50 * (62.0 * 400.0 / 427.0 - 58.0), epsilon = 1e-6);
    assert_eq!(prism.base.to_string(), "in", "plus with its centres nasal of the lines of sight");
    assert!(offer.serves(), "{offer:?}");
    // without an addition near is not a question
    let young = wearer(30, rx(-0.50, 0.0, 180.0), rx(-0.50, 0.0, 180.0));
    let offers = Offer::all(&young, &left(&shelf(FULL)), LIMITS);
    assert_eq!(offers.iter().map(|offer| offer.near).collect::<Vec<_>>(), [false]);
}

/// 6/5 reads 6/12 through +1.00 (*Optometry in Practice* 2004;5(4)); accommodation by age makes up for plus that is missing.
#[test]
fn the_line_is_that_which_is_believed_of_people() {
    let line = |missing: f64, age| believed_line(-0.0792, Power::sphere(Dioptres(missing)), age).unwrap();
    assert_abs_diff_eq!(line(-1.0, Some(30)), 0.301, epsilon = 0.03);
    assert_abs_diff_eq!(line(0.0, None), -0.0792, epsilon = 0.001);
    // somebody of 10 makes up for 2 D, somebody of 60 for hardly any
    assert!(line(2.0, Some(10)) < 0.1 && line(2.0, Some(60)) > 0.4);
    assert!((1..20).all(|step| line(-0.1 * f64::from(step), Some(30)) < line(-0.1 * f64::from(step + 1), Some(30))));
}

fn any_rx() -> impl Strategy<Value = SpheroCylinder> {
    (-32..=32_i32, -8..=0_i32, 1..=180_u8)
        .prop_map(|(sphere, cylinder, axis)| rx(f64::from(sphere) / 4.0, f64::from(cylinder) / 4.0, f64::from(axis)))
}

fn any_shelf() -> impl Strategy<Value = Vec<ShelfLeft>> {
    let kind = (-40..=40_i32, any::<bool>(), 52..70_u8, 0..3_u32, 0..3_u32).prop_filter_map(
        "a pair has power",
        |(eighths_of_two, near, centres, declared, given)| {
            let sphere = f64::from(eighths_of_two) / 4.0;
            let sound = sphere != 0.0 && (!near || sphere > 0.0);
            let pair = ShelfPair { sphere, near, centres_mm: f64::from(centres) };
            sound.then_some(ShelfLeft { pair, declared, given })
        },
    );
    proptest::collection::vec(kind, 0..60)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    /// Whoever accommodates never gets more minus, or less plus, than either eye needs, and more plus than the eye that needs more
    /// of it by less than the widest step of the shelf.
    #[test]
    fn nobody_who_accommodates_gets_more_minus_than_is_needed(
        right in any_rx(), left in any_rx(), age in proptest::option::of(1..90_u8), drops: bool,
        addition in proptest::option::of(2..14_u8), shelf in any_shelf(), wider: bool,
    ) {
        let mut of = wearer(30, right, left);
        of.age_years = age;
        of.under_drops = drops;
        if let Some(addition) = addition {
            of = with_addition(&of, f64::from(addition) / 4.0);
        }
        let limits = if wider { ReadyMadeLimits::Wider } else { ReadyMadeLimits::Common };
        for offer in Offer::all(&of, &shelf, limits) {
            let Some(pair) = offer.pair else {
                prop_assert!(!offer.against.is_empty(), "no pair, and nothing is said");
                continue;
            };
            let on_shelf = shelf.iter().any(|kind| kind.pair == pair && kind.given < kind.declared);
            prop_assert!(on_shelf, "{pair} is not on the shelf");
            prop_assert_eq!(pair.near, offer.near);
            let add = if offer.near { f64::from(addition.unwrap()) / 4.0 } else { 0.0 };
            let needs = [right, left].map(|rx| rx.sphere + rx.cylinder / 2.0 + add);
            if age.is_none_or(|age| age < 45) {
                let most_plus = needs[0].max(needs[1]);
                prop_assert!(needs.iter().all(|need| pair.sphere >= need - 1e-9), "{pair}: {needs:?}");
                let mut same: Vec<f64> = shelf.iter().map(|kind| kind.pair)
                    .filter(|other| other.near == pair.near && other.sphere * pair.sphere > 0.0)
                    .map(|other| other.sphere).collect();
                same.sort_by(f64::total_cmp);
                same.dedup();
                let widest = same.windows(2).map(|two| two[1] - two[0]).fold(0.25, f64::max);
                prop_assert!(pair.sphere - most_plus < widest, "{pair}: {needs:?}, step {widest}");
            }
            if pair.sphere > 0.0 && !drops {
                prop_assert!(age.is_some_and(|age| age >= 18), "{pair} for somebody of {age:?} without drops");
            }
            if offer.serves() {
                let apart = (needs[0] - needs[1]).abs();
                prop_assert!(apart <= limits.apart_d() + 1e-9);
                prop_assert!([right, left].iter().all(|rx| -rx.cylinder <= limits.cylinder_d() + 1e-9));
            }
        }
    }

    /// Whatever is given and comes back, in whatever order: what is left and what was given is what was declared, and never more.
    #[test]
    fn what_is_left_and_what_was_given_add_up(
        steps in proptest::collection::vec((1..6_u128, proptest::option::of(0..3_usize)), 0..80)
    ) {
        let text = "shelf: S\npairs: [{for: distance, powers: [\"-1.00 to -2.00 by 0.50\"], centres_mm: [62], each: 2}]\n";
        let declared = shelf(text);
        let settings = DaySettings { shelf: Some(DayShelf::of(&declared, LIMITS, &[])), ..DaySettings::default() };
        let mut day = Day::new(settings, at(0));
        for number in 1..6 {
            day.apply(&DayEvent::Waits(NewPerson { number: Some(number), ..NewPerson::default() }), at(0));
        }
        let mut has: [Option<usize>; 6] = [None; 6];
        for (exam, kind) in steps {
            let number = exam as u32;
            let off = kind.map(|kind| outcome(declared.lines[kind].pair).off_the_shelf().unwrap());
            let events = day.pairs_to_note(number, Uuid::from_u128(exam), off.as_ref());
            let mut after = day.clone();
            let taken = events.iter().all(|event| {
                let fine = after.check(event).is_ok();
                after.apply(event, at(0));
                fine
            });
            if taken {
                day = after;
                has[number as usize] = kind;
            }
            let gone = |kind: usize| has.iter().flatten().filter(|other| **other == kind).count() as u32;
            for (nth, kind) in day.left_on_shelf().iter().enumerate() {
                prop_assert_eq!((kind.given, kind.left()), (gone(nth), 2 - gone(nth)));
            }
        }
    }
}

fn at(minutes: i64) -> Timestamp {
    "2026-03-14T08:00:00Z".parse::<Timestamp>().unwrap() + SignedDuration::from_mins(minutes)
}

fn outcome(pair: ShelfPair) -> Outcome {
    let given = GivenPair { shelf: "S".to_owned(), centres_mm: pair.centres_mm, limits: LIMITS, meets: true };
    Outcome::ReadyMade { sphere: pair.sphere, near: pair.near, given: Some(given) }
}

/// Two programs, each with an exam of a person of one day, and one pair on the shelf.
struct Two {
    _folder: tempfile::TempDir,
    logbooks: [Logbook; 2],
    exams: [(OpenExam, Exam); 2],
}

const LAST: ShelfPair = ShelfPair { sphere: -1.0, near: false, centres_mm: 62.0 };

impl Two {
    fn new() -> (Self, dioptray::logbook::DayId) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("logbook.db");
        let mut logbooks = [Logbook::open(&path).unwrap(), Logbook::open(&path).unwrap()];
        let one = shelf("shelf: S\npairs: [{for: distance, powers: [\"-1.00\"], centres_mm: [62], each: 1}]\n");
        let settings = DaySettings { shelf: Some(DayShelf::of(&one, LIMITS, &[])), ..DaySettings::default() };
        let day = logbooks[0].begin_day(settings, None, at(0)).unwrap();
        let exams = [0, 1].map(|nth| {
            let applied = dioptray::sharing::Heads::default();
            let with = BeganWith { in_box: named("Hillside"), applied, by: None, procedures_version: 1 };
            let new = Caller::New(NewPerson::default());
            let ExamInDay { open, .. } =
                logbooks[nth].begin_exam_in_day(&opening("Hillside"), &with, day, &new, at(1)).unwrap();
            (open, Exam::open(opening("Hillside")))
        });
        (Self { _folder: folder, logbooks, exams }, day)
    }

    fn step(&self, nth: usize, events: Vec<Event>) -> CheckedStep {
        self.exams[nth].1.check(events).unwrap()
    }
}

#[test]
fn two_programs_do_not_give_out_the_last_pair_twice() {
    let (mut two, day) = Two::new();
    let steps = [0, 1].map(|nth| two.step(nth, vec![Event::Outcome(outcome(LAST))]));
    let mut give = |nth: usize| {
        let open = &mut two.exams[nth].0;
        two.logbooks[nth].append_with_pair(open, &steps[nth], day, Some("K.M."), at(2))
    };
    give(0).unwrap();
    let refused = give(1).unwrap_err();
    assert!(matches!(refused, LogbookError::Day(DayRefusal::NoneLeft { .. })), "{refused}");
    assert!(refused.to_string().contains("-1.00, centres 62 mm"), "{refused}");
    // nothing of the second is there: neither pair nor outcome
    let exams: Vec<_> = two.exams.iter().map(|(open, _)| two.logbooks[0].read_exam(open.number()).unwrap()).collect();
    let outcomes: Vec<_> = exams.iter().map(|stored| stored.exam.state().outcome.clone()).collect();
    assert_eq!(outcomes, [Some(outcome(LAST)), None]);
    let on_record = two.logbooks[1].day(day).unwrap();
    assert_eq!(on_record.day.given.len(), 1);
    assert_eq!(on_record.entries.last().and_then(|entry| entry.by.as_deref()), Some("K.M."));
    // what an exam did is taken back in the exam, not in the list
    assert!(matches!(two.logbooks[0].undo_in_day(day, None, at(3)), Err(LogbookError::NothingToTakeBackOfDay)));
}

#[test]
fn a_pair_that_comes_back_can_be_given_again_and_the_next_day_knows_what_is_gone() {
    let (mut two, day) = Two::new();
    let step = two.step(0, vec![Event::Outcome(outcome(LAST))]);
    two.logbooks[0].append_with_pair(&mut two.exams[0].0, &step, day, None, at(2)).unwrap();
    two.exams[0].1.accept(step);
    let undone = two.step(0, vec![Event::Undone]);
    two.logbooks[0].append_with_pair(&mut two.exams[0].0, &undone, day, None, at(3)).unwrap();
    assert_eq!(two.logbooks[1].day(day).unwrap().day.given, []);
    let step = two.step(1, vec![Event::Outcome(outcome(LAST))]);
    two.logbooks[1].append_with_pair(&mut two.exams[1].0, &step, day, None, at(4)).unwrap();
    // what was given and came back in an earlier day counts too, also after its end
    two.logbooks[0].note_in_day(day, &[DayEvent::Ended], None, at(9)).unwrap();
    let gone = two.logbooks[0].pairs_given("S", None).unwrap();
    assert_eq!(gone.iter().map(|off| off.pair).collect::<Vec<_>>(), [LAST]);
    let declared = shelf("shelf: S\npairs: [{for: distance, powers: [\"-1.00\"], centres_mm: [62], each: 3}]\n");
    let next = DayShelf::of(&declared, LIMITS, &gone).left(&[]);
    assert_eq!(next.iter().map(|kind| (kind.given, kind.left())).collect::<Vec<_>>(), [(1, 2)]);
    let given = two.logbooks[0].day(day).unwrap().day.given[0].clone();
    let back = DayEvent::PairBack { number: given.number, exam: given.exam, shelf: "S".to_owned(), pair: LAST };
    two.logbooks[0].note_in_day(day, std::slice::from_ref(&back), None, at(10)).unwrap();
    assert_eq!(two.logbooks[0].pairs_given("S", None).unwrap(), []);
    assert!(two.logbooks[0].note_in_day(day, &[back], None, at(11)).is_err(), "it comes back once");
}

/// Somebody drawn as practice eyes are, refracted without error: what is written, and what is read with it and without.
fn drawn(number: u64) -> Wearer {
    let person = Person::drawn(1, number, Care::Typical, Law::Written);
    let line = |eye: Eye, before: Power| person.eyes[eye].log_mar(&Look::at_chart(before, 6.0), Condition::default());
    let needs = person.needs();
    let eye = |eye: Eye| {
        let written = nearest_quarter(needs[eye], 1);
        let best = Some(Acuity::of_log_mar(line(eye, written.power())));
        Some(WearerEye { written, addition: None, best })
    };
    Wearer {
        eyes: Eyes::from_fn(eye),
        unaided: Eyes::from_fn(|eye| Some(Acuity::of_log_mar(line(eye, Power::ZERO)))),
        ..wearer(person.age_years, rx(0.0, 0.0, 180.0), rx(0.0, 0.0, 180.0))
    }
}

/// `cargo test --test rooms -- --ignored --nocapture share_of_people`: printed beside what was published, tuned to nothing.
#[test]
#[ignore = "prints a measure; it has no target"]
fn share_of_people_who_could_wear_a_ready_made_pair() {
    const PEOPLE: u64 = 20_000;
    let all = left(&shelf(FULL));
    let fails_6_9 = |of: &Wearer| {
        let better = Eye::BOTH.map(|eye| of.unaided[eye].unwrap().log_mar().unwrap());
        better[0].min(better[1]) > Acuity::of_6_m(9.0).log_mar().unwrap() + 1e-6
    };
    let people: Vec<Wearer> = (0..PEOPLE).map(drawn).filter(fails_6_9).collect();
    for (limits, published) in [(ReadyMadeLimits::Common, "62.8 to 64.0 %"), (ReadyMadeLimits::Wider, "about 87 %")] {
        let offers: Vec<Offer> = people.iter().map(|of| Offer::of(of, &all, false, limits)).collect();
        let share = |counts: &dyn Fn(&Offer) -> bool| {
            100.0 * offers.iter().filter(|offer| counts(offer)).count() as f64 / offers.len() as f64
        };
        let beyond = |offer: &Offer, of: fn(&Against) -> bool| offer.against.iter().any(of);
        let within = share(&|offer| !beyond(offer, |a| matches!(a, Against::Cylinder { .. } | Against::Apart { .. })));
        println!(
            "{limits}: of {} people {within:.1} % within the limits (published {published}), {:.1} % offered; \
             against: cylinder {:.1} (of the right eye alone {:.1}), apart {:.1}, loses a line {:.1}, gains less {:.1}, no power {:.1}",
            people.len(),
            share(&|offer| offer.serves()),
            share(&|offer| beyond(offer, |a| matches!(a, Against::Cylinder { .. }))),
            share(&|offer| beyond(offer, |a| matches!(a, Against::Cylinder { eye: Eye::Right, .. }))),
            share(&|offer| beyond(offer, |a| matches!(a, Against::Apart { .. }))),
            share(&|offer| beyond(offer, |a| matches!(a, Against::LosesLines(_)))),
            share(&|offer| beyond(offer, |a| matches!(a, Against::GainsLess(_)))),
            share(&|offer| beyond(offer, |a| matches!(a, Against::NoneFits))),
        );
    }
}
