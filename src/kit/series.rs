//! One entry of `powers` in a box file: a power, or a series like `±0.25 to ±4.00 by 0.25`.

use super::document::Refusal;
use super::document::fault::quoted;
use super::lens::{KindPowerError, Lens, PoweredKind};
use super::mark::{Mark, PowerTextError, Sign, read_power};
use crate::optics::bounds;

/// Reads one entry into lenses: the plus ones first when it has both signs, the weaker before the stronger.
///
/// # Errors
/// What is wrong with the entry and how to write it: no power, a sign missing or where none can be, no step, a step that is
/// not above zero or does not end on the last power, a series from strong to weak or of more than 400 powers.
pub fn read_series(kind: PoweredKind, entry: &str) -> Result<Vec<Lens>, Refusal> {
    let words: Vec<&str> = entry.split_whitespace().collect();
    match words[..] {
        [power] => single(kind, power),
        [first, "to", last, "by", step] => series(kind, entry, first, last, step),
        [_, "to", _] => {
            Err(Refusal::new(format!("the series {} has no step", quoted(entry))).allowed("write `… to … by 0.25`"))
        }
        _ => Err(Refusal::new(format!("{} is neither a power nor a series", quoted(entry)))
            .allowed(format!("write it like {}", example(kind)))),
    }
}

fn example(kind: PoweredKind) -> &'static str {
    if kind.is_signed() { "`±0.25`, `-0.50` or `±0.25 to ±4.00 by 0.25`" } else { "`0.50` or `1 to 6 by 1`" }
}

fn power(kind: PoweredKind, text: &str) -> Result<(Sign, Mark), Refusal> {
    read_power(text, kind.range()).map_err(|error| match error {
        PowerTextError::OutOfRange(outside) => Refusal::new(outside.to_string()),
        PowerTextError::NotAPower | PowerTextError::TooFine => Refusal::new(format!("{} {error}", quoted(text))),
    })
}

fn lens(kind: PoweredKind, text: &str, sign: Sign, amount: Mark) -> Result<Lens, Refusal> {
    Lens::with_power(kind, sign, amount).map_err(|error| kind_refusal(kind, text, error, amount))
}

fn kind_refusal(kind: PoweredKind, text: &str, error: KindPowerError, amount: Mark) -> Refusal {
    let refusal = Refusal::new(format!("the {} {} {error}", kind.word(), quoted(text)));
    let amount = amount.unsigned();
    match error {
        KindPowerError::NoSign => refusal.allowed(format!("write +{amount}, -{amount} or ±{amount} for both")),
        KindPowerError::Signed => refusal.allowed(format!("write {amount}")),
        KindPowerError::BothSigns | KindPowerError::Plano => refusal,
    }
}

fn single(kind: PoweredKind, text: &str) -> Result<Vec<Lens>, Refusal> {
    let (sign, amount) = power(kind, text)?;
    if sign == Sign::Both && kind.is_signed() && !amount.is_plano() {
        return Ok(vec![lens(kind, text, Sign::Plus, amount)?, lens(kind, text, Sign::Minus, amount)?]);
    }
    let sign = if amount.is_plano() && kind.is_signed() { Sign::Unsigned } else { sign };
    Ok(vec![lens(kind, text, sign, amount)?])
}

fn series(kind: PoweredKind, entry: &str, first: &str, last: &str, step: &str) -> Result<Vec<Lens>, Refusal> {
    let wrong = |what: &str| Refusal::new(format!("the series {} {what}", quoted(entry)));
    let (first_sign, first_amount) = power(kind, first)?;
    let (last_sign, last_amount) = power(kind, last)?;
    let by = read_step(kind, step)?;
    // plano is neither, and so goes with either sign
    let both = (first_sign == Sign::Both || first_amount.is_plano()) && last_sign == Sign::Both;
    if !both {
        if first_sign == Sign::Both || last_sign == Sign::Both {
            return Err(wrong("has ± at one end only").allowed("write ± before both powers or before none"));
        }
        for (text, sign, amount) in [(first, first_sign, first_amount), (last, last_sign, last_amount)] {
            lens(kind, text, sign, amount)?;
        }
    } else if !kind.is_signed() {
        return Err(kind_refusal(kind, first, KindPowerError::Signed, first_amount));
    } else if first_amount.is_plano() && !kind.may_be_plano() {
        return Err(kind_refusal(kind, first, KindPowerError::Plano, first_amount));
    }
    let signed = |sign, amount: Mark| if sign == Sign::Minus { -amount.thousandths() } else { amount.thousandths() };
    let (from, to) = (signed(first_sign, first_amount), signed(last_sign, last_amount));
    let outward = (from >= 0 && to >= from) || (from <= 0 && to <= from);
    let through_zero = from < 0 && to > 0;
    if from > 0 && to < 0 && from != -to {
        // turned round it would run through plano, and fill a box with lenses of the sign that was a slip
        let (weaker, stronger) = (first_amount.min(last_amount), first_amount.max(last_amount));
        let (weaker, stronger) = (weaker.unsigned(), stronger.unsigned());
        let of = |sign: char| format!("`{sign}{weaker} to {sign}{stronger} by {step}`");
        let which = format!("which sign was meant? write {}, {} or {}", of('+'), of('-'), of('±'));
        return Err(wrong("begins with plus and ends with minus").allowed(which));
    }
    if !(outward || through_zero) {
        let turned = format!("write `{last} to {first} by {step}`");
        return Err(wrong("runs backwards").allowed(format!("from the weaker power to the stronger, {turned}")));
    }
    let length = (to - from).abs();
    let count = (length / by + 1) * if both { 2 } else { 1 };
    if bounds::SERIES.check(f64::from(count)).is_err() {
        let most = bounds::SERIES.most;
        return Err(wrong(&format!("has {count} powers")).allowed(format!("at most {most}; is the step right?")));
    }
    let direction = if to < from { -1 } else { 1 };
    let powers: Vec<i32> = (0..=length / by).map(|index| from + direction * index * by).collect();
    if length % by != 0 {
        let before = powers.last().copied().unwrap_or(from);
        let (before, after) = (decimal(before), decimal(before + direction * by));
        return Err(
            wrong(&format!("does not end on {last}")).allowed(format!("its steps fall on {before} and {after}"))
        );
    }
    if let Some(&odd) = powers.iter().find(|&&power| Mark::of_thousandths(power).thousandths() != power) {
        let rule =
            "marks have two places; 0.12, 0.37, 0.62 and 0.87 stand for the eighths 0.125, 0.375, 0.625 and 0.875";
        return Err(wrong(&format!("falls on {}, which is not a mark", decimal(odd))).allowed(rule));
    }
    let lenses = |sign: Sign| {
        powers.iter().filter(move |&&power| sign != Sign::Minus || power != 0).map(move |&power| {
            let sign = if power < 0 { Sign::Minus } else { sign };
            let sign = if power == 0 || !kind.is_signed() { Sign::Unsigned } else { sign };
            lens(kind, entry, sign, Mark::of_thousandths(power.abs()))
        })
    };
    if both { lenses(Sign::Plus).chain(lenses(Sign::Minus)).collect() } else { lenses(Sign::Plus).collect() }
}

/// The step in thousandths; above zero.
fn read_step(kind: PoweredKind, text: &str) -> Result<i32, Refusal> {
    let (sign, amount) = power(kind, text)?;
    if sign == Sign::Unsigned && !amount.is_plano() {
        return Ok(amount.thousandths());
    }
    let what = if amount.is_plano() { "is zero, so the series never ends" } else { "has a sign" };
    Err(Refusal::new(format!("the step {} {what}", quoted(text))).allowed("write a plain number above 0, like 0.25"))
}

/// Thousandths as a signed decimal: `+4.05`, `-0.125`.
fn decimal(thousandths: i32) -> String {
    let sign = if thousandths < 0 { '-' } else { '+' };
    let amount = thousandths.abs();
    let places = format!("{:03}", amount % 1000);
    let places = places.strip_suffix('0').unwrap_or(&places);
    format!("{sign}{}.{places}", amount / 1000)
}
