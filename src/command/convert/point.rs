//! A place on a lens as it is typed: `X,Y` in millimetres.

use anyhow::{Context as _, bail};

use crate::optics::notation::parse_figure;
use crate::optics::{Millimetres, bounds};

/// Reads a place; with decimal commas a semicolon stands between the two, or the commas are three.
///
/// # Errors
/// When it is not two figures, or one of them is refused; `option` names what was given.
pub fn read(written: &str, option: &str) -> anyhow::Result<(Millimetres, Millimetres)> {
    let Some((x, y)) = apart(written) else {
        bail!(
            "{option} {written}: write x and y with a comma between, like 0,-8; where decimals are written with a comma, a \
             semicolon, like 3,85;-6,67"
        );
    };
    let figure = |text: &str| {
        let value = parse_figure(text, &bounds::PLACE_MM).with_context(|| format!("{option} {written}"))?;
        anyhow::Ok(Millimetres(value))
    };
    Ok((figure(x)?, figure(y)?))
}

fn apart(written: &str) -> Option<(&str, &str)> {
    if let Some(two) = written.split_once(';') {
        return Some(two);
    }
    let commas: Vec<usize> = written.match_indices(',').map(|(at, _)| at).collect();
    match commas[..] {
        [middle] | [_, middle, _] => Some((&written[..middle], &written[middle + 1..])),
        _ => None,
    }
}
