//! What is typed for a sheet: the keeper's limits where it holds lenses against them, and its file.

use std::path::PathBuf;

use super::super::super::box_page::BoxPage;
use super::super::super::page::Page;
use super::super::super::request::BoxRequest;
use super::super::super::ui::{BoxLine, Purpose, Ui};
use super::super::decision::Decision;
use super::super::fault::LineFault;
use crate::export::table::TableForm;
use crate::optics::bounds;
use crate::optics::notation::parse_figure;
use crate::sheets::{Limits, SheetKind};

/// Before the months after which a lens is to be measured again.
const EVERY: &str = "every";

/// Asks what is needed for the chosen sheet.
pub fn ask(page: &BoxPage, mut ui: Ui) -> Decision {
    let Some(sheet) = page.chosen_sheet() else { return Decision::of(ui) };
    match sheet.kind {
        SheetKind::Verify => ui.start_line(Purpose::Box(BoxLine::SheetLimits), in_words(page.limits)),
        kind @ (SheetKind::Order
        | SheetKind::Pick
        | SheetKind::CheckIn
        | SheetKind::Loans
        | SheetKind::Labels
        | SheetKind::StockTake
        | SheetKind::Keeper) => ui.start_line(Purpose::Box(BoxLine::SheetFile), named(kind)),
    }
    Decision::of(ui)
}

/// What its file is called unless another name is typed.
fn named(kind: SheetKind) -> String {
    format!("{}.pdf", kind.name())
}

/// Takes the limits, and asks for the file.
pub fn limits(mut ui: Ui, text: &str) -> Result<Decision, LineFault> {
    let limits = read(text)?;
    if let Some(Page::Box(page)) = &mut ui.page {
        page.limits = limits;
    }
    ui.start_line(Purpose::Box(BoxLine::SheetFile), named(SheetKind::Verify));
    Ok(Decision::of(ui))
}

/// `0.12 every 12`: by how many dioptres at most, and after how many months; either alone, or nothing.
fn read(text: &str) -> Result<Limits, LineFault> {
    let how = || LineFault::plain(format!("`{text}`: write dioptres and months like 0.12 every 12, or one of the two"));
    let (within, months) = match text.split_whitespace().collect::<Vec<_>>()[..] {
        [] => (None, None),
        [within] if within != EVERY => (Some(within), None),
        [EVERY, months] => (None, Some(months)),
        [within, EVERY, months] => (Some(within), Some(months)),
        _ => return Err(how()),
    };
    let within = within.map(|figure| parse_figure(figure, &bounds::OFF_ITS_MARK)).transpose()?;
    let months = months.map(|figure| parse_figure(figure, &bounds::MONTHS)).transpose()?;
    Ok(Limits { within, every_months: months.map(|months| months as u16) })
}

/// Limits as they are typed.
fn in_words(limits: Limits) -> String {
    let Limits { within, every_months } = limits;
    let within = within.map(|within| within.to_string());
    let months = every_months.map(|months| format!("{EVERY} {months}"));
    within.into_iter().chain(months).collect::<Vec<_>>().join(" ")
}

/// Writes the chosen sheet into a file.
pub fn file(page: &BoxPage, ui: Ui, text: &str) -> Result<Decision, LineFault> {
    let Some(sheet) = page.chosen_sheet() else { return Ok(Decision::of(ui)) };
    let file = PathBuf::from(text);
    let form = TableForm::of_file(&file);
    let form = form.ok_or_else(|| LineFault::plain("end its name in .txt, .csv or .pdf: that is its form"))?;
    Ok(Decision::of(ui).with_request(BoxRequest::WriteSheet { sheet, form, file }))
}
