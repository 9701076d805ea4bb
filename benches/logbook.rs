//! How long a confirmed key waits for the logbook, and an exam for being read back: median and 99th percentile.
//!
//! `cargo bench --bench logbook`, on the disk of the system's folder for temporary files (`TMPDIR` names another).

use std::error::Error;
use std::time::{Duration, Instant};

use cpu_time::ProcessTime;
use dioptray::exam::{Answer, Event, Exam, Opening, ProcedureName};
use dioptray::frame::{CellSpec, DeclaredFrame, FittedFrame, Move};
use dioptray::guide;
use dioptray::kit::{DeclaredBox, Lens, LensForm, LensLine, Mark, Piece, Rims, Stock};
use dioptray::logbook::{BeganWith, Logbook, NamedBox};
use dioptray::optics::{Acuity, Eye, Millimetres};
use dioptray::session::Session;
use dioptray::sharing::Heads;

const STEPS: u32 = 1000;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("logbook.db");
    let mut logbook = Logbook::open(&path)?;
    let at = "2026-03-01T09:30:00Z".parse()?;
    let opening = opening();
    let in_box = NamedBox::new(None, &opening.fitted.stock.box_name);
    let with = BeganWith { in_box, applied: Heads::default(), by: None, procedures_version: 1 };
    let mut kept = logbook.begin_exam(&opening, &with, at)?;
    let mut exam = Exam::open(opening);
    let piece = Piece { lens: Lens::Sphere(Mark::nearest(-3.0)), number: 1 };
    let (eye, cell) = (Eye::Right, 1);
    let put = [Event::Moved(Move::Put { piece: piece.clone(), eye, cell, direction: None })];
    let take = [Event::Moved(Move::Take { piece, eye, cell })];
    let mut append = Vec::new();
    for number in 0..STEPS {
        let step = if number % 2 == 0 { &put } else { &take };
        let since = Instant::now();
        let checked = exam.check(step.to_vec())?;
        logbook.append(&mut kept, &checked, None, at)?;
        exam.accept(checked);
        append.push(since.elapsed());
    }
    report("append a step, on the disk", append);

    let mut undo = Vec::new();
    for number in 0..200 {
        let step = if number % 2 == 0 { Event::Undone } else { Event::Redone };
        let since = Instant::now();
        let checked = exam.check(vec![step])?;
        logbook.append(&mut kept, &checked, None, at)?;
        exam.accept(checked);
        undo.push(since.elapsed());
    }
    report("undo or redo after 1000 steps, on the disk", undo);
    drop(logbook);

    let mut open = Vec::new();
    let mut read = Vec::new();
    for _ in 0..100 {
        let since = Instant::now();
        let logbook = Logbook::open(&path)?;
        open.push(since.elapsed());
        let since = Instant::now();
        logbook.read_exam(kept.number())?;
        read.push(since.elapsed());
    }
    report("open the logbook", open);
    report("read an exam of 1200 steps back", read);
    for steps in [1250, 2500, 5000] {
        undo_all("moves", steps, |session, number| {
            session.take(if number % 2 == 0 { put.to_vec() } else { take.to_vec() }).map_err(Into::into)
        })?;
        undo_all("guided", steps, |session, _| {
            let step = match session.guide().running() {
                None => guide::begin(session.guide(), session.exam(), ProcedureName::BestSphere, Some(Eye::Right))?,
                Some(_) => guide::answer(session.guide(), session.exam(), Answer::Read(Acuity::of_6_m(60.0)))
                    .or_else(|_| guide::leave(session.guide(), session.exam()))?,
            };
            session.take(step).map_err(Into::into)
        })?;
    }
    Ok(())
}

/// Takes that many steps and undoes them one by one, as keys do, without a disk: the processor time of both.
fn undo_all(
    what: &str,
    steps: usize,
    mut step: impl FnMut(&mut Session, usize) -> Result<(), Box<dyn Error>>,
) -> Result<(), Box<dyn Error>> {
    let mut session = Session::in_memory(Exam::open(opening()));
    let begun = ProcessTime::now();
    for number in 0..steps {
        step(&mut session, number)?;
    }
    let taken = begun.elapsed();
    let begun = ProcessTime::now();
    for _ in 0..steps {
        session.take(Event::Undone)?;
    }
    println!(
        "{steps} steps ({what}): taken in {taken:.2?}, undone one by one in {:.2?} of the processor",
        begun.elapsed()
    );
    Ok(())
}

fn report(what: &str, mut times: Vec<Duration>) {
    times.sort_unstable();
    let share = |percent: usize| times[(times.len() * percent / 100).min(times.len() - 1)];
    println!("{what}: median {:.2?}, 99th percentile {:.2?}", share(50), share(99));
}

/// A box of 266 pieces and a frame of four cells.
fn opening() -> Opening {
    let lenses =
        (1..=66).flat_map(|step| [Mark::nearest(f64::from(step) * 0.25), Mark::nearest(f64::from(-step) * 0.25)]);
    let mut lines: Vec<LensLine> =
        lenses.map(|mark| LensLine { lens: Lens::Sphere(mark), declared: 2, missing: 0 }).collect();
    lines.push(LensLine { lens: Lens::Accessory("occluder".into()), declared: 2, missing: 0 });
    let declared = DeclaredBox {
        name: "Full".to_owned(),
        id: None,
        note: None,
        form: LensForm::Thin,
        rims: Rims::default(),
        lines,
        measured: Vec::new(),
        tray: Vec::new(),
    };
    let cells = (1..=4u8).map(|number| CellSpec {
        name: number.to_string(),
        gap: Millimetres(if number == 1 { 0.0 } else { 3.5 }),
        turns: number > 1,
        ring: None,
    });
    let frame = DeclaredFrame {
        name: "Four cells".to_owned(),
        vertex: Millimetres(12.0),
        pd: None,
        axis_marks_deg: 5,
        cells: cells.collect(),
    };
    Opening::of(FittedFrame::new(frame, Stock::of(&declared)))
}
