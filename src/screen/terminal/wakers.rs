//! What wakes the screen: the terminal, signals, and that the terminal is gone. Signals have a way of their own, so that they
//! are heard whatever was typed before them.

use std::io;
use std::sync::Arc;
use std::thread;
use std::time::Duration;

use crossbeam_channel::{Receiver, Sender, bounded, unbounded};
use crossterm::event::{self, Event, KeyEvent};

use super::decoder::Decoder;
#[cfg(unix)]
use super::taken;

/// The most keys that wait: whatever is faster is left in the terminal.
const MOST_WAITING: usize = 1024;
/// How long the rest of a sequence may take to come.
const REST_COMES_WITHIN: Duration = Duration::from_millis(80);

/// How long the screen may take to leave, once it was asked twice.
#[cfg(unix)]
const HEEDED_WITHIN: Duration = Duration::from_secs(1);

/// What must be heard first.
#[cfg_attr(not(unix), expect(dead_code, reason = "signals and the end of a terminal come on Unix only"))]
pub enum Call {
    /// A signal.
    Signal(i32),
    /// Nobody is at the other end of the terminal.
    Gone,
    /// The disk does not take what was kept.
    DiskFails,
    /// Something was computed.
    Computed,
}

/// What wakes the screen.
pub struct Wakers {
    /// What must be heard first.
    pub calls: Receiver<Call>,
    /// What came from the terminal.
    pub events: Receiver<io::Result<Event>>,
    reads: Sender<io::Result<Event>>,
    calls_in: Sender<Call>,
}

impl Wakers {
    /// Listens for signals and for the terminal's end.
    ///
    /// # Errors
    /// When signals cannot be listened for.
    pub fn listen() -> io::Result<Self> {
        let (calls_in, calls) = unbounded();
        let (reads, events) = bounded(MOST_WAITING);
        listen_for_signals(calls_in.clone())?;
        watch_for_the_end(calls_in.clone());
        Ok(Self { calls, events, reads, calls_in })
    }

    /// Calls once the disk fails.
    pub fn caller_of_the_disk(&self) -> Box<dyn FnOnce() + Send> {
        let calls = self.calls_in.clone();
        Box::new(move || {
            // nobody hears it where the screen has ended
            let _ = calls.send(Call::DiskFails);
        })
    }

    /// Calls each time something was computed.
    pub fn caller_of_what_is_computed(&self) -> Arc<dyn Fn() + Send + Sync> {
        let calls = self.calls_in.clone();
        Arc::new(move || {
            let _ = calls.send(Call::Computed);
        })
    }

    /// Reads the terminal, once that is taken over.
    pub fn read(&self, is_bound: impl Fn(KeyEvent) -> bool + Send + 'static) {
        let reads = self.reads.clone();
        thread::spawn(move || read_terminal(&reads, Decoder::new(is_bound)));
    }
}

fn read_terminal(reads: &Sender<io::Result<Event>>, mut decoder: Decoder<impl Fn(KeyEvent) -> bool>) {
    loop {
        let more = if decoder.waits() { event::poll(REST_COMES_WITHIN) } else { Ok(true) };
        let came = match more.and_then(|more| more.then(event::read).transpose()) {
            Ok(Some(event)) => decoder.feed(event),
            Ok(None) => decoder.pause(),
            Err(error) => {
                let _ = reads.send(Err(error));
                return;
            }
        };
        for event in came {
            if reads.send(Ok(event)).is_err() {
                return;
            }
        }
    }
}

#[cfg(unix)]
fn listen_for_signals(calls: Sender<Call>) -> io::Result<()> {
    use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGTSTP, SIGWINCH};
    // SIGWINCH too: whoever reads the keys hears it only from then on, and a resize before that would be lost
    let heard = [SIGTERM, SIGHUP, SIGINT, SIGQUIT, SIGTSTP, SIGCONT, SIGWINCH];
    let mut signals = signal_hook::iterator::Signals::new(heard)?;
    thread::spawn(move || {
        let mut ends = false;
        for signal in &mut signals {
            let goes_on = matches!(signal, SIGTSTP | SIGCONT | SIGWINCH);
            // the screen does not heed the first while it writes to a terminal that takes nothing
            if !goes_on && std::mem::replace(&mut ends, true) {
                thread::sleep(HEEDED_WITHIN);
                taken::give_back_unwritten();
                let _ = signal_hook::low_level::emulate_default_handler(signal);
            }
            if calls.send(Call::Signal(signal)).is_err() {
                return;
            }
        }
    });
    Ok(())
}

#[cfg(not(unix))]
fn listen_for_signals(_calls: Sender<Call>) -> io::Result<()> {
    Ok(())
}

/// A terminal that is closed without a hang-up says so only to whoever asks.
#[cfg(unix)]
fn watch_for_the_end(calls: Sender<Call>) {
    use rustix::event::{PollFd, PollFlags, poll};
    thread::spawn(move || {
        let stdin = io::stdin();
        loop {
            // nothing is asked for: only the end, which is always reported
            let mut watched = [PollFd::new(&stdin, PollFlags::empty())];
            match poll(&mut watched, None) {
                Ok(_) if watched[0].revents().is_empty() => {}
                Err(rustix::io::Errno::INTR) => {}
                Ok(_) | Err(_) => {
                    let _ = calls.send(Call::Gone);
                    return;
                }
            }
        }
    });
}

#[cfg(not(unix))]
fn watch_for_the_end(_calls: Sender<Call>) {}
