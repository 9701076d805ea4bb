//! In which form a sheet is written, and where.

use std::io::Write;

use clap::Args;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::asked::day;
use super::stock_take::with_frames;
use crate::command::Context;
use crate::command::files::BoxAsItIs;
use crate::command::table_out::TableOut;
use crate::export::table::Table;
use crate::kit::Tray;
use crate::session::writing::zone_here;
use crate::sheets::{OfBox, SheetKind};

/// The form of a sheet, its day, and its file.
#[derive(Debug, Args)]
pub struct SheetOut {
    #[command(flatten)]
    to: TableOut,
    /// The day of the sheet, where that is not today, like 2026-12-24.
    #[arg(long, value_name = "DAY", value_parser = day)]
    on: Option<Date>,
}

impl SheetOut {
    /// Refuses before the work what could not be written after it.
    pub fn refuse_early(&self, context: &Context) -> anyhow::Result<()> {
        self.to.refuse_early(context)
    }

    /// Makes a sheet of a box and writes it.
    pub fn write(
        &self,
        context: &Context,
        kind: SheetKind,
        mut chosen: BoxAsItIs,
        out: &mut dyn Write,
        make: impl FnOnce(&OfBox<'_>) -> anyhow::Result<Table>,
    ) -> anyhow::Result<()> {
        let name = kind.name();
        chosen.record.stock = with_frames(context, &chosen)?;
        let tray = Tray::of(&chosen.declared.tray, &chosen.record.stock);
        let zone = zone_here().unwrap_or(TimeZone::UTC);
        let on = self.on.unwrap_or_else(|| Timestamp::now().to_zoned_datetime(zone.clone()).date());
        let table =
            make(&OfBox { record: &chosen.record, own_marks: chosen.record.own_marks(), tray: &tray, on, zone })?;
        self.to.write(context, name, Some(&chosen.named.name), &table, out)
    }
}
