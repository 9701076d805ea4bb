//! `dioptray practice evaluate`: the guide against many practice eyes.

use std::io::{self, IsTerminal as _, Write};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use clap::Args;
use cpu_time::ProcessTime;
use indicatif::{ProgressBar, ProgressStyle};

use super::evaluated::EvaluationJson;
use super::worst::{WorstJson, write_worst};
use super::{names, table};
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, files, note, values};
use crate::exam::Strategy;
use crate::export::saving::{Existing, refuse_unsavable, save};
use crate::frame::FittedFrame;
use crate::kit::shipped::full_box;
use crate::kit::{Stock, read_box};
use crate::optics::bounds;
use crate::optics::notation::parse_figure;
use crate::practice::evaluation::Evaluated;
use crate::practice::{Care, Evaluation, Law, Way};

/// The arguments of `dioptray practice evaluate`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Evaluate {
    /// How many eyes are drawn.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=10_000_000))]
    eyes: u32,
    /// The seed: the same one gives the same eyes and answers on any machine.
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
    /// Which way of the guide is measured.
    #[arg(long, value_name = "STRATEGY", default_value = Strategy::default().name(), value_parser = names::strategy())]
    strategy: Strategy,
    /// With how much care people answer.
    #[arg(long, value_name = "CARE", default_value = Care::default().name(), value_parser = names::care())]
    care: Care,
    /// By which law they see and answer.
    #[arg(long, value_name = "LAW", default_value = Law::default().name(), value_parser = names::law())]
    law: Law,
    /// Examine both eyes of each person, with balance and near; without it the right eye alone.
    #[arg(long)]
    both: bool,
    /// Examine every eye twice.
    #[arg(long)]
    retest: bool,
    /// Put slips of the examiner into a share of the exams, half where none is named, and count whether they are noticed at the end.
    #[arg(long, value_name = "SHARE", num_args = 0..=1, default_missing_value = "0.5", value_parser = share)]
    slips: Option<f64>,
    /// Begin with retinoscopy from a distance in metres, 0.1 to 2.
    #[arg(long, value_name = "M", value_parser = values::figure)]
    retinoscopy: Option<String>,
    /// Show the N worst exams question by question.
    #[arg(long, value_name = "N", default_value_t = 0)]
    worst: usize,
    /// The box file; without it, the full box that comes with the program. What a logbook knows of it is not asked.
    #[arg(long = "box", value_name = "FILE", value_parser = values::path())]
    file: Option<PathBuf>,
    /// The frame file; without it, the four-cell frame that comes with the program.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    frame: Option<PathBuf>,
    /// Write a row for each eye into a file.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    csv: Option<PathBuf>,
    /// How many threads; without it, one for each processor. The figures are the same.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    threads: Option<u16>,
    /// Every care and every law, one after the other, as the table in the README.
    #[arg(long, conflicts_with_all = ["care", "law", "worst", "csv"])]
    table: bool,
}

const EXAMPLES: &str = "Examples:
  dioptray practice evaluate --eyes 10000 --seed 1
  dioptray practice evaluate --eyes 2000 --care varied --both --retest
  dioptray practice evaluate --eyes 1000 --law tone --worst 3
  dioptray practice evaluate --eyes 10000 --seed 1 --table --retest

One evaluation is written line by line on a terminal, else as a row of the README's table. Shares are of all eyes drawn; an eye that was not refracted is outside every limit. Practice eyes are simulated: people are \
less steady, and figures about practice eyes say nothing about any person.";

/// A share of the exams.
fn share(value: &str) -> Result<f64, &'static str> {
    let share = value.parse::<f64>().map_err(|_| "a share is a figure from 0 to 1")?;
    if (0.0..=1.0).contains(&share) { Ok(share) } else { Err("a share is a figure from 0 to 1") }
}

impl Evaluate {
    /// Examines them all.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let declared = match &self.file {
            Some(file) => read_box(file)?,
            None => full_box()?,
        };
        let frame = files::frame(self.frame.as_deref())?;
        // before the work of many minutes, not after it
        if let Some(file) = &self.csv {
            refuse_unsavable(file, Existing::IsReplaced)?;
        }
        let fitted = FittedFrame::new(frame, Stock::of(&declared));
        let working = self.retinoscopy.as_ref().map(|written| parse_figure(written, &bounds::WORKING_M)).transpose()?;
        let stop = Arc::new(AtomicBool::new(false));
        #[cfg(unix)]
        anyhow::Context::context(
            signal_hook::flag::register(signal_hook::consts::SIGINT, Arc::clone(&stop)),
            "cannot listen for Ctrl-c",
        )?;
        let threads = rayon::ThreadPoolBuilder::new().num_threads(self.threads.map_or(0, usize::from)).build()?;
        let evaluations: Vec<Evaluation> = self
            .cares_and_laws()
            .into_iter()
            .map(|(care, law)| Evaluation {
                fitted: fitted.clone(),
                eyes: self.eyes as usize,
                seed: self.seed,
                care,
                law,
                way: Way { both: self.both, retinoscopy_m: working, strategy: self.strategy },
                retest: self.retest,
                slips: self.slips.unwrap_or(0.0),
            })
            .collect();
        let progress = progress_bar(evaluations.iter().map(Evaluation::people).sum());
        let mut rows = Vec::new();
        for evaluation in &evaluations {
            // of what was not begun nothing is said
            if !rows.is_empty() && stop.load(Ordering::Relaxed) {
                break;
            }
            let start = ProcessTime::now();
            let evaluated = threads.install(|| evaluation.run(&stop, &|| progress.inc(1)))?;
            let seconds = start.elapsed().as_secs_f64();
            let worst = WorstJson::of(evaluation, &evaluated, self.worst)?;
            self.write_csv(&evaluated)?;
            rows.push(EvaluationJson {
                strategy: self.strategy.name(),
                care: evaluation.care.name(),
                law: evaluation.law.name(),
                seed: self.seed,
                r#box: declared.name.clone(),
                frame: fitted.frame.name.clone(),
                figures: evaluated.figures,
                seconds,
                worst,
            });
        }
        progress.finish_and_clear();
        if stop.load(Ordering::Relaxed) {
            let eyes: usize = rows.iter().map(|row| row.figures.eyes).sum();
            note(format_args!(
                "stopped by Ctrl-c: these are the figures of the {eyes} eyes that were examined by then"
            ));
        }
        write_rows(out, &rows, context)?;
        Ok(Outcome::Done)
    }

    fn cares_and_laws(&self) -> Vec<(Care, Law)> {
        if !self.table {
            return vec![(self.care, self.law)];
        }
        let cares = Care::ALL.iter().map(|&care| (care, Law::Written));
        let laws = Law::ALL.iter().filter(|law| **law != Law::Written).map(|&law| (Care::Typical, law));
        cares.chain(laws).collect()
    }

    fn write_csv(&self, evaluated: &Evaluated) -> anyhow::Result<()> {
        if let Some(file) = &self.csv {
            save(file, &table::csv(&evaluated.outcomes)?, Existing::IsReplaced)?;
        }
        Ok(())
    }
}

fn write_rows(out: &mut dyn Write, rows: &[EvaluationJson], context: &Context) -> io::Result<()> {
    match rows {
        [row] if context.json => write_line(out, row),
        rows if context.json => write_line(out, &rows),
        rows => {
            match rows {
                [row] if io::stdout().is_terminal() => table::write_list(out, row)?,
                rows => table::write_table(out, rows)?,
            }
            for row in rows {
                table::write_more(out, row)?;
                write_worst(out, &row.worst)?;
            }
            let seconds: f64 = rows.iter().map(|row| row.seconds).sum();
            writeln!(out, "\n{seconds:.1} s of processor time")
        }
    }
}

fn progress_bar(people: usize) -> ProgressBar {
    let bar = ProgressBar::new(people as u64);
    if let Ok(style) = ProgressStyle::with_template("{wide_bar} {pos} of {len} exams, {eta} left") {
        bar.set_style(style);
    }
    bar
}
