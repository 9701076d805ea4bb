//! Glasses to order: of one exam, or of everybody of a day; nothing in it names anyone.

use crate::exam::cautions;
use crate::export::glasses::{EyeOrder, GlassRecord, LIMITS_BY, OrderRecord};
use crate::export::glasses_words::tenth_below;
use crate::export::table::{Cell, ColumnKind, Group, Table, column};
use crate::export::words;

/// The order of one exam.
#[derive(Debug)]
pub struct OrderRow {
    /// By what it is known: `number 7, exam 14`.
    pub name: String,
    /// The order.
    pub order: OrderRecord,
}

/// The list of what is to be ordered.
pub fn glasses(about: Vec<String>, orders: &[OrderRow], unread: &[String]) -> Table {
    let columns = vec![
        column("for", ColumnKind::Words),
        column("eye", ColumnKind::Words),
        column("sphere D", ColumnKind::Figures),
        column("cylinder D", ColumnKind::Figures),
        column("axis", ColumnKind::Figures),
        column("addition D", ColumnKind::Figures),
        column("prism", ColumnKind::Words),
        column("instead", ColumnKind::Words),
        column("vertex mm", ColumnKind::Figures),
        column("centre mm", ColumnKind::Figures),
        column("off side mm", ColumnKind::Figures),
        column("off height mm", ColumnKind::Figures),
    ];
    let groups = orders.iter().map(|row| Group { name: row.name.clone(), rows: rows(&row.order) }).collect();
    let lacking = orders.iter().flat_map(|row| {
        row.order.lacking_in_words.iter().map(|lacks| format!("{}: {lacks}", words::sentence(&row.name)))
    });
    let near = orders.iter().filter_map(|row| {
        let has_near = row.order.eyes().into_iter().any(|of| of.near.is_some());
        let metres = row.order.near_metres.filter(|_| has_near)?;
        Some(format!(
            "{}: centres for near are for {:.0} cm from the glasses.",
            words::sentence(&row.name),
            metres * 100.0
        ))
    });
    let says = [
        "For far: with the addition where the lens has one. For near: the same as reading glasses, addition counted in.".to_owned(),
        format!("Centres from the middle of the nose, and how far each may be off at most: {LIMITS_BY}."),
    ];
    Table {
        title: "Glasses to order".to_owned(),
        about,
        groups_are: Some("order"),
        columns,
        groups,
        nothing: "Nobody is to be given glasses.",
        notes: lacking.chain(unread.iter().cloned()).chain(near).chain(says).collect(),
        across: None,
        signed_by: vec!["prescribed by (licensed under local rules)"],
        caution: cautions::GENERAL[1].full,
    }
}

fn rows(order: &OrderRecord) -> Vec<Vec<Cell>> {
    let eyes = order.eyes();
    let far = eyes.into_iter().map(|of| row(order, of, "far", of.far));
    let near = eyes.into_iter().filter(|of| of.near.is_some()).map(|of| row(order, of, "near", of.near));
    far.chain(near).collect()
}

fn row(order: &OrderRecord, of: &EyeOrder, what: &str, glass: Option<GlassRecord>) -> Vec<Cell> {
    let power = glass.map(|glass| glass.power);
    let cylinder = power.filter(|power| power.cylinder != 0.0);
    let tenths = |value: f64| Cell::Figure { value, places: 1, signed: false };
    let limit = |mm: f64| tenths(tenth_below(mm));
    let is_far = what == "far";
    vec![
        Cell::text(what),
        Cell::text(of.eye),
        Cell::known(power, |power| Cell::power(power.sphere)),
        Cell::known(cylinder, |power| Cell::power(power.cylinder)),
        Cell::known(cylinder, |power| Cell::Figure { value: power.axis, places: 0, signed: false }),
        Cell::known(of.addition.filter(|_| is_far), Cell::power),
        if of.prism.is_empty() { Cell::Empty } else { Cell::text(words::prism(&of.prism)) },
        Cell::known(of.instead, Cell::text),
        Cell::known(power, |_| tenths(order.vertex_mm)),
        Cell::known(glass.and_then(|glass| glass.centre_mm), tenths),
        Cell::known(glass.and_then(|glass| glass.off_to_the_side_mm), limit),
        Cell::known(glass.and_then(|glass| glass.off_up_and_down_mm), limit),
    ]
}
