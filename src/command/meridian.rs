//! A meridian with the power along it, as an argument: `180:+2.25`.

use anyhow::{Context as _, bail};

use crate::optics::cross::MeridianPower;
use crate::optics::notation::{parse_figure, parse_power};
use crate::optics::{Axis, Dioptres, bounds};

/// Reads `DEG:POWER`.
///
/// # Errors
/// When it is anything else, naming the argument.
pub fn read(written: &str) -> anyhow::Result<MeridianPower> {
    let Some((degrees, power)) = written.split_once(':') else {
        bail!("meridian {written}: write the meridian, a colon and the power, like 180:+2.25");
    };
    let at = || format!("meridian {written}");
    let meridian = Axis::nearest(parse_figure(degrees, &bounds::AXIS).with_context(at)?);
    let power = Dioptres(parse_power(power).with_context(at)?);
    Ok(MeridianPower { meridian, power })
}
