//! What takes long to compute, computed beside the screen: a key never waits for it.

use std::rc::Rc;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;

/// Has somebody told, from another thread, that something was computed.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

/// What was computed last of a question, and what is being computed.
pub struct Computed<Asked, Answer> {
    done: Vec<(Asked, Rc<Answer>)>,
    running: Option<(Asked, Receiver<Answer>)>,
}

/// That many answers are kept.
const MOST_KEPT: usize = 4;

impl<Asked, Answer> Default for Computed<Asked, Answer> {
    fn default() -> Self {
        Self { done: Vec::new(), running: None }
    }
}

impl<Asked: Clone + PartialEq + Send + 'static, Answer: Send + 'static> Computed<Asked, Answer> {
    /// The answer, where it is known by now; else it is begun in a thread of its own, which tells somebody when it is there.
    /// Where nobody would hear that it is waited for.
    pub fn of(&mut self, asked: Asked, wake: Option<&Wake>, compute: fn(&Asked) -> Answer) -> Option<Rc<Answer>> {
        self.take_what_came();
        if let Some((_, done)) = self.done.iter().find(|(done, _)| *done == asked) {
            return Some(Rc::clone(done));
        }
        let Some(wake) = wake.cloned() else {
            let answer = compute(&asked);
            return Some(self.keep(asked, answer));
        };
        if self.running.as_ref().is_none_or(|(running, _)| *running != asked) {
            let (send, receive) = channel();
            let of = asked.clone();
            thread::spawn(move || {
                // nobody waits for it where something else was asked meanwhile
                if send.send(compute(&of)).is_ok() {
                    wake();
                }
            });
            self.running = Some((asked, receive));
        }
        None
    }

    fn take_what_came(&mut self) {
        let Some((asked, receive)) = self.running.take() else { return };
        match receive.try_recv() {
            Ok(answer) => {
                self.keep(asked, answer);
            }
            Err(TryRecvError::Empty) => self.running = Some((asked, receive)),
            Err(TryRecvError::Disconnected) => {}
        }
    }

    fn keep(&mut self, asked: Asked, answer: Answer) -> Rc<Answer> {
        let answer = Rc::new(answer);
        self.done.push((asked, Rc::clone(&answer)));
        let spare = self.done.len().saturating_sub(MOST_KEPT);
        self.done.drain(..spare);
        answer
    }
}
