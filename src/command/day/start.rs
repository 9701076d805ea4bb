//! `dioptray day start`: what holds for everybody, said once.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use jiff::Timestamp;
use serde::Serialize;

use crate::command::exams::records::examiner;
use crate::command::files::{frame, logbook_path};
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::day::{DaySettings, DayShelf};
use crate::exam::{Detail, ReadyMadeLimits};
use crate::kit::document::fault::counted;
use crate::kit::document::load::from_anywhere;
use crate::kit::read_box;
use crate::kit::shelf::read_shelf;
use crate::kit::shipped::demo_box;
use crate::logbook::{LastUsed, Logbook};
use crate::optics::notation::parse_figure;
use crate::optics::{Millimetres, bounds};
use crate::sheets::day::of_room;

/// The arguments of `dioptray day start`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct StartDay {
    /// Where: a school, a vision centre.
    #[arg(long, value_name = "PLACE", value_parser = values::text())]
    place: Option<String>,
    /// The box file; without it, the box that was used last, or the demo box.
    #[arg(long = "box", value_name = "FILE", value_parser = values::path())]
    box_file: Option<PathBuf>,
    /// The frame file; without it, the frame that was used last, or the demo frame.
    #[arg(long = "frame", value_name = "FILE", value_parser = values::path())]
    frame_file: Option<PathBuf>,
    /// Chart distance in metres.
    #[arg(long, value_name = "M", value_parser = values::figure)]
    chart: Option<String>,
    /// The distance in metres for which the chart's figures are printed, where that is another.
    #[arg(long, value_name = "M", requires = "chart", value_parser = values::figure)]
    chart_made_for: Option<String>,
    /// Near distance in metres.
    #[arg(long, value_name = "M", value_parser = values::figure)]
    near: Option<String>,
    /// Working distance of retinoscopy in metres.
    #[arg(long, value_name = "M", value_parser = values::figure)]
    working: Option<String>,
    /// Vertex distance of the glasses that are made, in millimetres.
    #[arg(long, value_name = "MM", value_parser = values::figure)]
    vertex: Option<String>,
    /// The file of the shelf from which ready-made pairs are given.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    shelf: Option<PathBuf>,
    /// By which limits two eyes are held against one sphere.
    #[arg(long, value_enum, requires = "shelf", default_value_t = LimitsName::Common)]
    limits: LimitsName,
    /// Who examines; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
}

const EXAMPLES: &str = "Examples:
  dioptray day start --place \"School at Ford\" --chart 6 --near 0.4
  dioptray day start --shelf kits/shelf/demo.yaml --limits wider
  dioptray day start --box kits/boxes/outreach.yaml --chart 3 --chart-made-for 6 --vertex 12

What is said here each exam of the day begins with; what is changed in an exam may be made to hold from then on.";

#[derive(Serialize)]
struct StartedJson<'a> {
    day: String,
    place: Option<&'a str>,
    r#box: Option<&'a str>,
    frame: Option<&'a str>,
    room: Vec<String>,
    shelf: Option<&'a str>,
}

/// By which limits two eyes are held against one sphere (PMC6678143).
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum LimitsName {
    /// Cylinder to 0.75, equivalents to 0.50 apart.
    Common,
    /// Cylinder to 1.25, equivalents to 1.50 apart.
    Wider,
}

impl LimitsName {
    fn limits(self) -> ReadyMadeLimits {
        match self {
            Self::Common => ReadyMadeLimits::Common,
            Self::Wider => ReadyMadeLimits::Wider,
        }
    }
}

/// The shelf of a file, without what earlier days gave off it.
fn shelf_of(logbook: &Logbook, file: &Path, limits: ReadyMadeLimits) -> anyhow::Result<DayShelf> {
    let declared = read_shelf(file)?;
    Ok(DayShelf::of(&declared, limits, &logbook.pairs_given(&declared.name, None)?))
}

impl StartDay {
    /// Begins the day.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let read = |typed: Option<&String>, row| typed.map(|typed| parse_figure(typed, row)).transpose();
        let details = [
            read(self.chart.as_ref(), &bounds::CHART_M)?.map(Detail::ChartMetres),
            read(self.chart_made_for.as_ref(), &bounds::CHART_M)?.map(Detail::ChartMadeForMetres),
            read(self.near.as_ref(), &bounds::NEAR_M)?.map(Detail::NearMetres),
            read(self.working.as_ref(), &bounds::WORKING_M)?.map(Detail::WorkingMetres),
            read(self.vertex.as_ref(), &bounds::VERTEX_MM)?.map(|mm| Detail::PlannedVertex(Millimetres(mm))),
        ];
        let mut logbook = Logbook::open(&logbook_path(context)?)?;
        let used = logbook.last_used()?;
        let whole = |file: Option<&PathBuf>| file.map(|file| from_anywhere(file)).transpose();
        let named = LastUsed { box_file: whole(self.box_file.as_ref())?, frame_file: whole(self.frame_file.as_ref())? };
        let declared =
            named.box_file.as_ref().or(used.box_file.as_ref()).map_or_else(demo_box, |file| read_box(file))?;
        let declared_frame = frame(named.frame_file.as_deref().or(used.frame_file.as_deref()))?;
        let limits = self.limits.limits();
        let shelf = self.shelf.as_deref().map(|file| shelf_of(&logbook, file, limits)).transpose()?;
        let settings = DaySettings {
            place: self.place,
            box_name: Some(declared.name),
            frame: Some(declared_frame.name),
            room: details.into_iter().flatten().collect(),
            shelf,
        };
        let by = examiner(self.by)?;
        let now = Timestamp::now();
        let id = logbook.begin_day(settings.clone(), by.as_deref(), now)?;
        // the exams of the day begin on them
        logbook.remember_last_used(&named, now)?;
        let room: Vec<String> = settings.room.iter().filter_map(of_room).collect();
        let shelf = settings.shelf.as_ref().map(|shelf| shelf.name.as_str());
        if context.json {
            let DaySettings { place, box_name, frame, .. } = &settings;
            let (place, box_name, frame) = (place.as_deref(), box_name.as_deref(), frame.as_deref());
            write_line(out, &StartedJson { day: id.to_string(), place, r#box: box_name, frame, room, shelf })?;
            return Ok(Outcome::Done);
        }
        let with_shelf = settings.shelf.as_ref().map(|shelf| format!("shelf {}: {}", shelf.name, shelf.limits));
        let place = settings.place.map(|place| format!(" at {place}")).unwrap_or_default();
        let number = logbook.days()?.len();
        writeln!(out, "day {number}{place} begins; for everybody: {}", counted(room.len(), "setting", "settings"))?;
        for line in
            [settings.box_name.map(|name| format!("box {name}")), settings.frame.map(|name| format!("frame {name}"))]
                .into_iter()
                .flatten()
                .chain(room)
                .chain(with_shelf)
        {
            writeln!(out, "  {line}")?;
        }
        Ok(Outcome::Done)
    }
}
