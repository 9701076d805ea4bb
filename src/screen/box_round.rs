//! What a key asks of a box, done: shown, changed, counted.

use std::path::Path;
use std::rc::Rc;

use super::app::App;
use super::box_page::{BoxPage, BoxShown, Buying, PriceList};
use super::box_sheets::SheetAsked;
use super::box_words::still_counted;
use super::counting::Counting;
use super::page::Page;
use super::request::{BoxRequest, OwnBox};
use super::spot::Spot;
use crate::export::saving::{Existing, save};
use crate::export::table::TableForm;
use crate::keeping::read_price_list;
use crate::kit::BoxChange;
use crate::optics::Eyes;
use crate::session::RecordError;

/// More pieces than these are counted.
const MOST_NAMED: usize = 3;

impl App {
    /// Does what was asked of a box.
    pub(super) fn run_of_box(&mut self, request: BoxRequest) -> Result<(), RecordError> {
        let other = self.ui.box_page().and_then(BoxPage::other);
        let other = other.as_deref();
        match request {
            BoxRequest::ShowBox(other) => {
                let now = self.session.box_now(other.as_deref())?;
                self.ui.page = Some(Page::Box(BoxPage::of(now)));
            }
            BoxRequest::ChangeBox { to_note, said } => {
                let before = self.still_counted();
                self.session.change_box(other, &to_note)?;
                self.show_again(other)?;
                match self.still_counted().filter(|now| before.as_ref() != Some(now)) {
                    Some(still) => self.ui.done(format!("{said}; {still}")),
                    None => self.ui.done(said),
                }
            }
            BoxRequest::TakeBackOfBox => {
                let slip = self.session.take_back_of_box(other)?;
                self.show_again(other)?;
                self.ui.done(format!("taken back, and kept in the history as a slip: {}", in_words(&slip)));
            }
            BoxRequest::ListBoxes => {
                let list = self.session.boxes()?;
                if let Some(Page::Box(page)) = &mut self.ui.page {
                    let chosen = list.iter().position(|known| known.key == page.now.key).unwrap_or(0);
                    page.shown = BoxShown::Boxes(list.into(), chosen);
                }
            }
            BoxRequest::NextBox => self.show_next_box()?,
            BoxRequest::Count => {
                let take = self.session.stock_take(other)?;
                if let Some(Page::Box(page)) = &mut self.ui.page {
                    page.shown = BoxShown::Counting(Box::new(Counting::of(take)));
                }
            }
            BoxRequest::KeepCount(counting) => {
                self.session.keep_stock_take(other, Some(&counting.take))?;
                if let Some(Page::Box(page)) = &mut self.ui.page {
                    page.shown = BoxShown::Counting(counting);
                }
            }
            BoxRequest::EndCount => {
                // as the box is in this moment
                let now = self.session.box_now(other)?;
                let comes_to = |stock| self.ui.counting().map(|counting| counting.take.ending(stock));
                let was_shown = self.ui.box_page().and_then(|page| comes_to(&page.now.stock));
                let Some(ending) = comes_to(&now.stock) else { return Ok(()) };
                if was_shown.as_ref() != Some(&ending) {
                    self.show_again(other)?;
                    self.ui.refused("the box has changed meanwhile: read what the count comes to now, then say yes");
                    return Ok(());
                }
                self.session.end_stock_take(other, &ending)?;
                self.show_again(other)?;
                self.show_tray();
                self.ui.done(format!("the count is noted: {}", in_words(&ending.changes)));
            }
            BoxRequest::NewBox { name, template } => {
                let (key, file) = self.session.new_box(&name, &template)?;
                self.run_of_box(BoxRequest::ShowBox(Some(key)))?;
                self.run_of_box(BoxRequest::Count)?;
                self.ui.done(format!("{name} is written: {}. Count what is there, row by row", file.display()));
            }
            BoxRequest::OwnBox(own) => self.own_box(own)?,
            BoxRequest::NewFrame(frame) => {
                let (file, at_once) = self.session.new_frame(&frame)?;
                self.on_the_frame(&format!("{} is written: {}", frame.name, file.display()), at_once);
            }
            BoxRequest::UseFrame(file) => {
                let (name, at_once) = self.session.use_frame(&file)?;
                self.on_the_frame(&name, at_once);
            }
            BoxRequest::CheckOut(bag) => {
                let file = self.session.check_out(other, &bag)?;
                self.show_again(other)?;
                self.show_tray();
                let pieces = bag.pieces.len();
                self.ui.done(format!(
                    "{pieces} pieces lent to {}; the bag is a box of its own: {}",
                    bag.to,
                    file.display()
                ));
            }
            BoxRequest::NextBeside => self.show_next_beside()?,
            BoxRequest::WriteSheet { sheet, form, file } => self.write_sheet(other, &sheet, form, &file)?,
            BoxRequest::Prices(file) => self.read_prices(&file),
            BoxRequest::GiveUpCount => {
                self.session.keep_stock_take(other, None)?;
                self.show_again(other)?;
                self.show_tray();
                self.ui.done("the count is given up: nothing of it is noted");
            }
        }
        Ok(())
    }

    /// Writes a sheet of the box into a file that is not there yet.
    fn write_sheet(
        &mut self,
        other: Option<&str>,
        sheet: &SheetAsked,
        form: TableForm,
        file: &Path,
    ) -> Result<(), RecordError> {
        let Some(page) = self.ui.box_page() else { return Ok(()) };
        let on = self.session.box_on_record(other)?;
        match self.sheet(page, sheet, &on) {
            Ok(table) => {
                let file = save(file, &form.write(&table)?, Existing::Stays).map_err(RecordError::SheetFile)?;
                self.ui.done(format!("written: {}", file.display()));
            }
            Err(why) => self.ui.refused(why),
        }
        Ok(())
    }

    /// Has exams be on a box of one's own, and shows it; a new one is counted.
    fn own_box(&mut self, own: OwnBox) -> Result<(), RecordError> {
        let (key, written) = match own {
            OwnBox::OfTemplate { name, template } => {
                let (key, file) = self.session.new_box(&name, &template)?;
                (key, Some(file))
            }
            OwnBox::File(file) => (self.session.know_box(&file)?, None),
        };
        let notes = self.session.go_over_to_box(&key)?;
        self.run_of_box(BoxRequest::ShowBox(notes.is_none().then_some(key)))?;
        self.ui.form = self.state().fitted.stock.form_in_use(self.settings.form);
        let name = self.ui.box_page().map(|page| page.now.stock.box_name.clone()).unwrap_or_default();
        let mut said = vec![match (&notes, &written) {
            (None, _) => format!("{name}: start with --box to have exams be on it"),
            (Some(_), None) => format!("exams are on {name} from here on"),
            (Some(_), Some(file)) => {
                format!("{name} is written: {}; exams are on it. Count what is there, row by row", file.display())
            }
        }];
        said.extend(notes.iter().flatten().map(ToString::to_string));
        if written.is_some() {
            self.run_of_box(BoxRequest::Count)?;
        }
        self.ui.done(said.join("; "));
        Ok(())
    }

    /// Says from when on exams are on a frame.
    fn on_the_frame(&mut self, frame: &str, at_once: bool) {
        let from = if at_once { "this exam is on it" } else { "exams are on it from the next one on" };
        // back to the cells of the exam
        self.ui.page = None;
        self.ui.spots = Eyes::both(Spot::Cell(1));
        self.ui.done(format!("{frame}; {from}"));
    }

    /// Shows the box after the one that is shown beside this one, of those whose file is known; none after the last.
    fn show_next_beside(&mut self) -> Result<(), RecordError> {
        let Some(page) = self.ui.box_page() else { return Ok(()) };
        let key = page.now.key.clone();
        let shown = page.beside.as_ref().map(|beside| beside.key.clone());
        let known = self.session.boxes()?.into_iter();
        let others: Vec<_> =
            known.filter(|known| known.key != key && (known.is_of_the_exam || known.file.is_some())).collect();
        if others.is_empty() {
            self.ui.refused("no other box is known: use one once with --box");
            return Ok(());
        }
        let first = shown.and_then(|shown| others.iter().position(|known| known.key == shown)).map_or(0, |at| at + 1);
        let mut beside = None;
        let mut passed_over = Vec::new();
        for known in &others[first..] {
            let other = (!known.is_of_the_exam).then_some(known.key.as_str());
            match self.session.box_now(other) {
                Ok(now) => {
                    beside = Some(now);
                    break;
                }
                Err(error) => passed_over.push(error.to_string()),
            }
        }
        let said = beside.as_ref().map_or_else(
            || "no box beside this one any more".to_owned(),
            |now| format!("the second figure is of {}", now.stock.box_name),
        );
        if let Some(Page::Box(page)) = &mut self.ui.page {
            page.beside = beside.map(Rc::new);
        }
        if passed_over.is_empty() {
            self.ui.done(said);
        } else {
            self.ui.refused(format!("{said}; passed over: {}", passed_over.join("; ")));
        }
        Ok(())
    }

    /// Reads what can be bought; a list with faults leaves the one that was read before.
    fn read_prices(&mut self, file: &str) {
        let prices = if file.is_empty() {
            None
        } else {
            match read_price_list(Path::new(file)) {
                Ok(offers) => Some(Rc::new(PriceList { file: file.into(), offers })),
                Err(faults) => {
                    self.ui.refused(faults.in_a_line());
                    return;
                }
            }
        };
        let said = match &prices {
            Some(list) => format!("{} lenses can be bought, of {file}", list.offers.len()),
            None => "no price list any more: the powers of the full box".to_owned(),
        };
        if let Some(Page::Box(page)) = &mut self.ui.page {
            page.buying = Buying { budget: page.buying.budget.filter(|_| prices.is_some()), prices };
        }
        self.ui.done(said);
    }

    fn still_counted(&self) -> Option<String> {
        still_counted(&self.ui.box_page()?.now, self.state())
    }

    fn show_tray(&mut self) {
        if let Some(Page::Box(page)) = &mut self.ui.page {
            page.shown = BoxShown::Tray;
        }
    }

    fn show_again(&mut self, other: Option<&str>) -> Result<(), RecordError> {
        let now = self.session.box_now(other)?;
        if let Some(Page::Box(page)) = &mut self.ui.page {
            page.show(now);
        }
        Ok(())
    }

    /// Shows the box after the one that is shown, of those whose file is known.
    fn show_next_box(&mut self) -> Result<(), RecordError> {
        let Some(key) = self.ui.box_page().map(|page| page.now.key.clone()) else { return Ok(()) };
        let known = self.session.boxes()?;
        let there: Vec<_> = known.into_iter().filter(|known| known.is_of_the_exam || known.file.is_some()).collect();
        let at = there.iter().position(|known| known.key == key).unwrap_or(0);
        let Some(next) = there.get((at + 1) % there.len().max(1)).filter(|next| next.key != key) else {
            self.ui.refused("no other box is known: use one once with --box");
            return Ok(());
        };
        let other = (!next.is_of_the_exam).then(|| next.key.clone());
        self.run_of_box(BoxRequest::ShowBox(other))
    }
}

/// Changes in words: each where they are few, else how many there are.
fn in_words(changes: &[BoxChange]) -> String {
    match changes.len() {
        0 => "everything is as it was known to be".to_owned(),
        few if few <= MOST_NAMED => {
            let each = changes.iter().map(|change| format!("{} {}", change.word(), change.subject()));
            each.collect::<Vec<_>>().join(", ")
        }
        many => format!("{many} pieces"),
    }
}
