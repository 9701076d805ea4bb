//! What a box makes, computed beside the screen: a key never waits for it.

use std::rc::Rc;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;

use crate::frame::DeclaredFrame;
use crate::keeping::{Asked, Cells, Coverage, Holdings, People};
use crate::kit::Stock;

/// Has somebody told, from another thread, that something was computed.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

/// Everything that it depends on.
#[derive(Debug, Clone, PartialEq)]
struct Of {
    holdings: Holdings,
    cells: Cells,
    both: bool,
}

/// What was computed last, and what is being computed.
#[derive(Default)]
pub struct Computed {
    done: Vec<(Of, Rc<Coverage>)>,
    running: Option<(Of, Receiver<Coverage>)>,
    wake: Option<Wake>,
}

/// What was computed for at most so many boxes is kept.
const MOST_KEPT: usize = 4;

impl Computed {
    /// From now on what is computed is computed in a thread of its own, and somebody is told; without that it is waited for.
    pub fn wake_with(&mut self, wake: Wake) {
        self.wake = Some(wake);
    }

    /// What a box makes with a frame, where that is known by now; else it is begun.
    pub fn of(&mut self, stock: &Stock, frame: &DeclaredFrame, both: bool) -> Option<Rc<Coverage>> {
        let of = Of { holdings: Holdings::of(stock), cells: Cells::of(frame, stock.form), both };
        self.take_what_came();
        if let Some((_, done)) = self.done.iter().find(|(done, _)| *done == of) {
            return Some(Rc::clone(done));
        }
        let Some(wake) = self.wake.clone() else {
            let coverage = compute(&of);
            return Some(self.keep(of, coverage));
        };
        if self.running.as_ref().is_none_or(|(running, _)| *running != of) {
            let (send, receive) = channel();
            let asked = of.clone();
            thread::spawn(move || {
                // nobody waits for it where something else was asked meanwhile
                if send.send(compute(&asked)).is_ok() {
                    wake();
                }
            });
            self.running = Some((of, receive));
        }
        None
    }

    fn take_what_came(&mut self) {
        let Some((of, receive)) = self.running.take() else { return };
        match receive.try_recv() {
            Ok(coverage) => {
                self.keep(of, coverage);
            }
            Err(TryRecvError::Empty) => self.running = Some((of, receive)),
            Err(TryRecvError::Disconnected) => {}
        }
    }

    fn keep(&mut self, of: Of, coverage: Coverage) -> Rc<Coverage> {
        let coverage = Rc::new(coverage);
        self.done.push((of, Rc::clone(&coverage)));
        let spare = self.done.len().saturating_sub(MOST_KEPT);
        self.done.drain(..spare);
        coverage
    }
}

fn compute(of: &Of) -> Coverage {
    let asked = if of.both { Asked::BothEyes } else { Asked::OneEye };
    Coverage::of(&of.holdings, &of.cells, &People::counted(), asked)
}
