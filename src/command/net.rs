//! `dioptray net`: what a stack of lenses really makes.

use std::io::Write;
use std::path::PathBuf;

use anyhow::{Context as _, bail};
use clap::{Args, ValueEnum};
use serde::Serialize;

use super::json::{PowerJson, PrismJson, SplitJson, SureJson, write_line};
use super::working::Working;
use super::{CAUTION, Context, Outcome, files, text, values};
use crate::frame::DeclaredFrame;
use crate::frame::sureness::{Limits, SetLens, Sureness, sureness};
use crate::kit::Lens;
use crate::kit::document::fault::{choice, most_like};
use crate::optics::notation::{LensToken, Style, parse_figure, parse_lens, write_lens};
use crate::optics::prism::{STRONG_PRISMS_DO_NOT_ADD, stack_is_too_strong_to_add};
use crate::optics::vergence::{Step, at_vertex, net, steps};
use crate::optics::{Dioptres, Eye, Millimetres, Power, Prism, bounds};
use crate::screen::settings::Settings;

/// The arguments of `dioptray net`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Net {
    /// The frame file: its cells and the gaps between them. Without it, the four-cell frame that comes with the program.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    frame: Option<PathBuf>,
    /// Vertex distance of cell 1 in millimetres, 0 to 40, instead of the frame's.
    #[arg(long, value_name = "MM", value_parser = values::figure)]
    vertex: Option<String>,
    /// The eye: it decides where in and out are.
    #[arg(long, value_enum, default_value_t = EyeName::Right)]
    eye: EyeName,
    /// Split the net prism in halves between both eyes: in and out stay what they are, up becomes down.
    #[arg(long)]
    split: bool,
    /// Show the way of the light from cell to cell, to follow with a pencil.
    #[arg(long)]
    working: bool,
    /// The lenses from cell 1, nearest the eye, outward: -4.25 a sphere, -0.75x180 a cylinder, 3BU 3BD 3BI 3BO 3b225 a
    /// prism, occluder and whatever else is known by its name, . an empty cell.
    ///
    /// The marks are taken for thin lenses of that power; no box is asked. A cylinder is taken in any cell, whether or
    /// not the cell turns.
    #[arg(required = true, value_name = "LENS", value_parser = values::text())]
    lenses: Vec<String>,
}

const EXAMPLES: &str = "Examples:
  dioptray net -4.25 . -0.75x180
  dioptray net --frame frame.yaml --vertex 13 +10.00 +2.00
  dioptray net --eye left --json plano 3BI
  dioptray net 6BO 2BU --split

Behind an occluder there is no power to show: net, cornea and sure are null then, and \"occluded\" is true.

What a person's hand may spoil is said from 0.12 D on: every axis half a mark of the frame off, every gap 0.5 mm, and every lens \
off its mark by the mark_tolerance_d of the settings. It is the worst case of all of them at once, in dioptres of miss.";

/// An eye on the command line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum EyeName {
    /// The patient's right eye.
    Right,
    /// The patient's left eye.
    Left,
}

impl From<EyeName> for Eye {
    fn from(name: EyeName) -> Self {
        match name {
            EyeName::Right => Self::Right,
            EyeName::Left => Self::Left,
        }
    }
}

#[derive(Serialize)]
struct NetJson {
    marked: PowerJson,
    net: Option<PowerJson>,
    cornea: Option<PowerJson>,
    prism: PrismJson,
    /// Null behind an occluder, or where a hand may bring the light to a focus.
    sure: Option<SureJson>,
    #[serde(skip_serializing_if = "Option::is_none")]
    split: Option<SplitJson>,
    #[serde(skip_serializing_if = "Option::is_none")]
    caution: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    working: Option<Vec<String>>,
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    occluded: bool,
}

/// What stands before the eye, added up.
struct Stacked {
    powers: Vec<Power>,
    prisms: Vec<Prism>,
    occluded: bool,
}

impl Net {
    /// Works out the stack.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let frame = files::frame(self.frame.as_deref())?;
        let vertex = match &self.vertex {
            Some(written) => Millimetres(parse_figure(written, &bounds::VERTEX_MM)?),
            None => frame.vertex,
        };
        let lenses = self.read_lenses(&frame)?;
        let stacked = stack(&lenses, self.eye.into());
        let net_power = net(&stacked.powers, &frame.gaps());
        let cornea = at_vertex(net_power, vertex, Millimetres(0.0));
        if !net_power.is_finite() || !cornea.is_finite() {
            bail!("the light comes to a focus exactly in a cell or on the cornea: there is no power there");
        }
        let settings = Settings::own()?;
        let sure = sure(&lenses, &DeclaredFrame { vertex, ..frame.clone() }, settings.mark_tolerance);
        let sure = sure.filter(|_| !stacked.occluded);
        let marked: Power = stacked.powers.iter().copied().sum();
        let eye = Eye::from(self.eye);
        let prism: Prism = stacked.prisms.iter().copied().sum();
        let caution = stack_is_too_strong_to_add(&stacked.prisms).then_some(STRONG_PRISMS_DO_NOT_ADD);
        let working = if stacked.occluded {
            Working::of("no light comes through an occluder")
        } else {
            way_of_the_light(&lenses, &stacked.powers, &frame.gaps(), vertex)
        };
        if context.json {
            let seen = |power: Power| (!stacked.occluded).then(|| PowerJson::from(power));
            let answer = NetJson {
                marked: marked.into(),
                net: seen(net_power),
                cornea: seen(cornea),
                prism: prism.into(),
                sure: sure.as_ref().map(SureJson::from),
                split: self.split.then(|| SplitJson::of(prism, eye)),
                caution,
                working: self.working.then(|| working.steps().to_vec()),
                occluded: stacked.occluded,
            };
            write_line(out, &answer)?;
            return Ok(Outcome::Done);
        }
        writeln!(out, "{eye} eye, {}", frame.name)?;
        for (cell, lens) in (1..).zip(&lenses) {
            if *lens != LensToken::Empty {
                writeln!(out, "  cell {cell}  {}", write_lens(lens, Style::Ascii))?;
            }
        }
        if self.working {
            working.write(out)?;
        }
        let written = |power: Power| text::power_in(settings.form, power);
        let shown = |power: Power| if stacked.occluded { "occluded".to_owned() } else { written(power) };
        writeln!(out, "marked           {}", written(marked))?;
        writeln!(out, "net              {}  at cell 1", shown(net_power))?;
        if !stacked.occluded {
            text::write_equivalent_and_quarter(out, net_power, settings.form)?;
        }
        writeln!(out, "cornea           {}  {} mm behind cell 1", shown(cornea), vertex.0)?;
        writeln!(out, "prism            {}", text::prism(prism, eye))?;
        if self.split {
            text::write_split(out, prism, eye)?;
        }
        if let Some(caution) = caution {
            writeln!(out, "caution          {caution}")?;
        }
        if let Some(sure) = &sure {
            for (nth, line) in sure.in_words().into_iter().chain(sure.cares()).enumerate() {
                writeln!(out, "{:<17}{line}", if nth == 0 { "sure" } else { "" })?;
            }
        }
        Ok(Outcome::Done)
    }

    fn read_lenses(&self, frame: &DeclaredFrame) -> anyhow::Result<Vec<LensToken>> {
        let lenses = (1..).zip(&self.lenses).map(|(cell, written)| {
            let lens = parse_lens(written).with_context(|| format!("lens {cell}"))?;
            if let LensToken::Accessory(name) = &lens {
                known_by_name(name).with_context(|| format!("lens {cell}"))?;
            }
            Ok(lens)
        });
        let lenses: Vec<LensToken> = lenses.collect::<anyhow::Result<_>>()?;
        let cells = frame.cells.len();
        if lenses.len() > cells {
            bail!(
                "{} lenses and empty cells for {cells} cells: {} has {cells} before an eye",
                lenses.len(),
                frame.name
            );
        }
        Ok(lenses)
    }
}

/// What a hand may spoil of these lenses in the cells of a frame.
fn sure(lenses: &[LensToken], frame: &DeclaredFrame, tolerance: Option<Dioptres>) -> Option<Sureness> {
    let set = |(cell, lens): (u8, &LensToken)| {
        let of = |dioptres: f64| match lens {
            LensToken::Sphere(_) => Some(Power::sphere(Dioptres(dioptres))),
            LensToken::Cylinder { axis, .. } => Some(Power::cylinder(Dioptres(dioptres), f64::from(axis.degrees()))),
            LensToken::Prism { .. } | LensToken::Accessory(_) | LensToken::Empty => None,
        };
        Some(SetLens { cell, power: power_of(lens), mark: Some(of(1.0)?) })
    };
    let lenses: Vec<SetLens> = (1..).zip(lenses).filter_map(set).collect();
    sureness(&lenses, frame, &frame.gaps(), &Limits::of(frame, tolerance))
}

fn power_of(lens: &LensToken) -> Power {
    match lens {
        LensToken::Sphere(power) => Power::sphere(Dioptres(*power)),
        LensToken::Cylinder { power, axis } => Power::cylinder(Dioptres(*power), f64::from(axis.degrees())),
        LensToken::Prism { .. } | LensToken::Accessory(_) | LensToken::Empty => Power::ZERO,
    }
}

/// The steps from the outermost lens to the cornea.
fn way_of_the_light(lenses: &[LensToken], powers: &[Power], gaps: &[Millimetres], vertex: Millimetres) -> Working {
    let mut working = Working::of(
        "light goes inward; on the way a vergence V becomes V / (1 - d V), d in metres, along each meridian",
    );
    let mut behind_last = Power::ZERO;
    let to_come_through =
        steps(powers, gaps).into_iter().zip(lenses.iter().rev()).skip_while(|(step, _)| step.behind == Power::ZERO);
    for (Step { cell, before, behind }, lens) in to_come_through {
        if let (Some(gap), false) = (gaps.get(cell - 1), behind_last == Power::ZERO) {
            working.step(format!("{} mm on to cell {cell}", gap.0));
            working.nearer(behind_last, gap.metres());
        }
        let lens = write_lens(lens, Style::Ascii);
        working.step(match (lens.as_str(), before == Power::ZERO) {
            (".", _) => format!("cell {cell} is empty: {}", text::power(behind)),
            (_, true) => format!("cell {cell} has {lens}: {}", text::power(behind)),
            (_, false) => format!(
                "cell {cell} has {lens}, with {} that comes to it: {}",
                text::power(before),
                text::power(behind)
            ),
        });
        behind_last = behind;
    }
    working.step(format!("{} mm on to the cornea", vertex.0));
    working.nearer(behind_last, vertex.metres());
    working
}

fn known_by_name(name: &str) -> anyhow::Result<Lens> {
    let known: Vec<Lens> = Lens::known_by_name().collect();
    if let Some(lens) = known.iter().find(|lens| lens.name() == Some(name)) {
        return Ok(lens.clone());
    }
    let names: Vec<&str> = known.iter().filter_map(Lens::name).collect();
    let perhaps =
        most_like(name, names.iter().copied()).map(|like| format!("; did you mean `{like}`?")).unwrap_or_default();
    bail!("`{name}` is not a lens: known by name are {}{perhaps}", choice(&names));
}

fn stack(lenses: &[LensToken], eye: Eye) -> Stacked {
    let mut stacked = Stacked { powers: Vec::new(), prisms: Vec::new(), occluded: false };
    for lens in lenses {
        stacked.powers.push(power_of(lens));
        match lens {
            LensToken::Prism { amount, base } => {
                stacked.prisms.push(Prism::polar(*amount, base.degrees(eye)));
            }
            LensToken::Accessory(name) => stacked.occluded |= known_by_name(name).is_ok_and(|lens| lens.occludes()),
            LensToken::Sphere(_) | LensToken::Cylinder { .. } | LensToken::Empty => {}
        }
    }
    stacked
}
