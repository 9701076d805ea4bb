//! The options that change a prescription before anything is asked of it.

use anyhow::Context as _;
use clap::{ArgGroup, Args};

use super::change::Change;
use crate::command::values;
use crate::optics::notation::{parse_figure, parse_prescription};
use crate::optics::tilt::TiltedAbout;
use crate::optics::{Dioptres, Millimetres, SpheroCylinder, bounds};

/// One of these at most.
#[derive(Debug, Args)]
#[command(group(ArgGroup::new("change").args(["sum", "less", "mean", "tilt", "face_form", "add"])))]
pub struct Changes {
    /// Vertex distance it is made for, in millimetres, 0 to 40.
    #[arg(long, value_name = "MM", value_parser = values::figure, conflicts_with_all = ["change", "sheard"])]
    from: Option<String>,
    /// Vertex distance to move it to, in millimetres, 0 to 40. Either one left out is 0, the cornea.
    #[arg(
        long,
        value_name = "MM",
        value_parser = values::figure,
        conflicts_with_all = ["change", "sheard", "accommodation"]
    )]
    to: Option<String>,
    /// Add this prescription, one lens on the other; may be given again.
    #[arg(long, value_name = "RX", value_parser = values::text(), conflicts_with = "sheard")]
    sum: Vec<String>,
    /// Take this prescription off it.
    #[arg(long, value_name = "RX", value_parser = values::text(), conflicts_with = "sheard")]
    less: Option<String>,
    /// The mean of it and this prescription; may be given again.
    #[arg(long, value_name = "RX", value_parser = values::text(), conflicts_with = "sheard")]
    mean: Vec<String>,
    /// How it acts when tilted about the horizontal (pantoscopic), in degrees, 0 to 30.
    #[arg(long, value_name = "DEG", value_parser = values::figure, conflicts_with = "sheard")]
    tilt: Option<String>,
    /// How it acts when turned about the vertical (face form), in degrees, 0 to 30.
    #[arg(long, value_name = "DEG", value_parser = values::figure, conflicts_with = "sheard")]
    face_form: Option<String>,
    /// Reading glasses: it with this addition.
    #[arg(long, value_name = "D", value_parser = values::figure, conflicts_with = "sheard")]
    add: Option<String>,
}

impl Changes {
    /// The one change that is asked for. Where accommodation is asked about, `--from` says where the glasses are, and is no change.
    ///
    /// # Errors
    /// When a figure or a prescription cannot be read.
    pub fn asked(&self, about_accommodation: bool) -> anyhow::Result<Change> {
        let all = |written: &[String], option| -> anyhow::Result<Vec<SpheroCylinder>> {
            written.iter().map(|written| named_prescription(written, option)).collect()
        };
        let degrees = |written: &str| parse_figure(written, &bounds::TILT_DEG);
        Ok(if !self.sum.is_empty() {
            Change::Sum(all(&self.sum, "--sum")?)
        } else if let Some(less) = &self.less {
            Change::Less(named_prescription(less, "--less")?)
        } else if !self.mean.is_empty() {
            Change::Mean(all(&self.mean, "--mean")?)
        } else if let Some(tilt) = &self.tilt {
            Change::Tilt { about: TiltedAbout::Horizontal, degrees: degrees(tilt)? }
        } else if let Some(face_form) = &self.face_form {
            Change::Tilt { about: TiltedAbout::Vertical, degrees: degrees(face_form)? }
        } else if let Some(addition) = &self.add {
            Change::Add(Dioptres(parse_figure(addition, &bounds::ADDITION)?))
        } else if !about_accommodation && (self.from.is_some() || self.to.is_some()) {
            Change::Vertex { from: self.made_for()?, to: millimetres(self.to.as_deref())? }
        } else {
            Change::None
        })
    }

    /// The vertex distance that the glasses are made for; 0 where it is not said.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn made_for(&self) -> anyhow::Result<Millimetres> {
        millimetres(self.from.as_deref())
    }
}

/// The prescription that an option was given.
///
/// # Errors
/// When it cannot be read, naming the option.
pub fn named_prescription(written: &str, option: &str) -> anyhow::Result<SpheroCylinder> {
    parse_prescription(written).with_context(|| option.to_owned())
}

/// A vertex distance; 0 where none is given.
fn millimetres(written: Option<&str>) -> anyhow::Result<Millimetres> {
    let distance = written.map_or(Ok(0.0), |written| parse_figure(written, &bounds::VERTEX_MM));
    Ok(Millimetres(distance?))
}
