//! The thread that sends what is kept and brings what others did. It reads the logbook and never writes it; nobody waits for it.

use std::sync::{Arc, Mutex, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use jiff::Timestamp;
use jiff::tz::TimeZone;
use rand::RngExt as _;
use tokio::runtime::Builder;
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};

use super::error::RoomError;
use super::here::{Due, Here};
use super::joining::Caller;
use super::link::{Link, Woken};
use super::prepare::Role;
use crate::session::writing::zone_here;
use crate::sharing::news::{News, Reached, SendsOn, Told, WhenNew};

/// Asked this often, a room that is there: for what a hint missed.
const ASKS_EVERY: Duration = Duration::from_secs(5);
/// What is done here is sent at once, and what is done within this time after that in one go.
const SENT_APART: Duration = Duration::from_millis(50);
/// What one key does is told within this time.
const OF_ONE_KEY: Duration = Duration::from_millis(2);
/// Looks at what others did are so far apart at least.
const LOOKED_APART: Duration = Duration::from_millis(40);
/// After the first failure it is tried again so soon, then after twice as long each time, up to the longest.
const FIRST_PAUSE: Duration = Duration::from_millis(100);
const LONGEST_PAUSE: Duration = Duration::from_secs(2);
/// Whoever only calls in does so this often, and tries as seldom at most while the room is away.
const CALLS_EVERY: Duration = Duration::from_secs(300);
const LONGEST_PAUSE_OF_CALLS: Duration = Duration::from_secs(60);
/// A room that refuses is asked again this often: somebody may have mended it.
const REFUSED_PAUSE: Duration = Duration::from_secs(30);
/// Whoever leaves waits at most as long for what is being sent.
const LEAVES_WITHIN: Duration = Duration::from_millis(700);

/// What the thread and the screen have in common.
#[derive(Default)]
struct Shared {
    news: Mutex<Arc<News>>,
    when_new: Mutex<Option<WhenNew>>,
}

impl Shared {
    fn news(&self) -> Arc<News> {
        self.news.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    fn publish(&self, news: News) {
        let mut now = self.news.lock().unwrap_or_else(PoisonError::into_inner);
        if **now == news {
            return;
        }
        *now = Arc::new(news);
        drop(now);
        let call = self.when_new.lock().unwrap_or_else(PoisonError::into_inner).clone();
        if let Some(call) = call {
            call();
        }
    }
}

/// The thread, for whoever tells it what was done.
pub struct Sender {
    told: Option<UnboundedSender<Told>>,
    shared: Arc<Shared>,
    thread: Option<JoinHandle<()>>,
}

impl Sender {
    /// Starts the thread for a logbook that joined a room.
    pub fn start(caller: Caller) -> Self {
        let (told, hears) = unbounded_channel();
        let shared = Arc::new(Shared::default());
        let drives = Arc::clone(&shared);
        let thread = thread::spawn(move || {
            let _says_so = SaysIfItFails(Arc::clone(&drives));
            Driver::new(caller, hears, drives).drive();
        });
        Self { told: Some(told), shared, thread: Some(thread) }
    }
}

/// A fault in the thread ends it alone: nothing at the screen waits for it, but it must not look as if all were sent.
struct SaysIfItFails(Arc<Shared>);

impl Drop for SaysIfItFails {
    fn drop(&mut self) {
        if thread::panicking() {
            let why = "what sends to the room failed; all is kept here, and is sent after the next start".to_owned();
            self.0.publish(News { reached: Reached::Refuses { why }, ..(*self.0.news()).clone() });
        }
    }
}

impl SendsOn for Sender {
    fn tell(&self, told: Told) {
        // a thread that has ended has said why
        let _ = self.told.as_ref().map(|to| to.send(told));
    }

    fn news(&self) -> Arc<News> {
        self.shared.news()
    }

    fn when_new(&self, call: WhenNew) {
        *self.shared.when_new.lock().unwrap_or_else(PoisonError::into_inner) = Some(call);
    }
}

impl Drop for Sender {
    /// Lets the thread send what was done last, but not for long: what is not sent now is sent at the next start.
    fn drop(&mut self) {
        self.told = None;
        let until = Instant::now() + LEAVES_WITHIN;
        let ended = |thread: &JoinHandle<()>| thread.is_finished();
        while self.thread.as_ref().is_some_and(|thread| !ended(thread)) && Instant::now() < until {
            thread::sleep(Duration::from_millis(5));
        }
    }
}

struct Driver {
    caller: Caller,
    here: Here,
    shared: Arc<Shared>,
    /// When the room was last heard, or this began.
    heard: Instant,
    /// When all was last looked at; anything; and when something was last sent from here.
    looked_at_all: Instant,
    looked: Instant,
    sent: Instant,
    as_of: Option<String>,
    unsent: i64,
    /// What was told during a long round.
    left_over: Due,
    is_left: bool,
}

impl Driver {
    fn new(caller: Caller, hears: UnboundedReceiver<Told>, shared: Arc<Shared>) -> Self {
        let now = Instant::now();
        Self {
            caller,
            here: Here::new(hears),
            shared,
            heard: now,
            looked_at_all: now,
            looked: now,
            sent: now,
            as_of: None,
            unsent: 0,
            left_over: Due::default(),
            is_left: false,
        }
    }

    fn drive(mut self) {
        let calls_in = self.caller.joined.calls_in;
        let longest_pause = if calls_in { LONGEST_PAUSE_OF_CALLS } else { LONGEST_PAUSE };
        let mut pause = FIRST_PAUSE;
        while !self.is_left {
            let before = self.heard;
            let ended = if calls_in { self.call_in() } else { self.while_connected() };
            if self.is_left {
                return;
            }
            if self.heard != before {
                pause = FIRST_PAUSE;
            }
            self.count_unsent();
            match ended {
                Ok(()) => {}
                Err(error) if error.is_away() => self.publish(Reached::Away { min: minutes(self.heard.elapsed()) }),
                Err(error) => {
                    self.publish(Reached::Refuses { why: error.to_string() });
                    pause = REFUSED_PAUSE;
                }
            }
            self.rest(not_all_at_once(pause));
            pause = (pause * 2).min(longest_pause);
        }
    }

    /// One round, and then no connection until there is something to send or it is time.
    fn call_in(&mut self) -> Result<(), RoomError> {
        self.call()?;
        let until = Instant::now() + not_all_at_once(CALLS_EVERY);
        loop {
            let heard = heard_within(self.here.hears(), until.saturating_duration_since(Instant::now()));
            let is_due = match heard {
                Heard::Told(_) => {
                    self.count_unsent();
                    self.unsent > 0
                }
                Heard::Nothing => true,
                Heard::Left => {
                    self.is_left = true;
                    self.count_unsent();
                    return if self.unsent > 0 { self.call() } else { Ok(()) };
                }
            };
            if is_due {
                return Ok(());
            }
        }
    }

    fn call(&mut self) -> Result<(), RoomError> {
        let (link, _) = self.caller.connect()?;
        self.caller.exchange(&link)?;
        self.count_unsent();
        self.heard = Instant::now();
        self.publish(Reached::There);
        Ok(())
    }

    /// Waits without a connection, and hears what is told meanwhile.
    fn rest(&mut self, pause: Duration) {
        let until = Instant::now() + pause;
        loop {
            match heard_within(self.here.hears(), until.saturating_duration_since(Instant::now())) {
                Heard::Told(told) => {
                    self.here.hear(told);
                }
                Heard::Nothing => return,
                Heard::Left => {
                    self.is_left = true;
                    return;
                }
            }
        }
    }

    fn while_connected(&mut self) -> Result<(), RoomError> {
        self.here.forget();
        let (mut link, welcome) = self.caller.connect()?;
        link.listen()?;
        let mut due = Due::ALL;
        loop {
            self.round(&link, welcome.role, due)?;
            if self.is_left {
                return Ok(());
            }
            due = self.next_due(&mut link)?;
        }
    }

    /// Waits until something has to be looked at.
    fn next_due(&mut self, link: &mut Link) -> Result<Due, RoomError> {
        let (mut of_here, mut of_others) = (std::mem::take(&mut self.left_over), Due::default());
        while !of_here.and(of_others).is_any() {
            match link.wait(self.here.hears(), ASKS_EVERY.saturating_sub(self.looked_at_all.elapsed())) {
                Woken::Asked(told) => of_here = self.here.hear(told),
                Woken::Knocked(hints) => of_others = Due::of_hints(&hints),
                Woken::Nothing => return Ok(Due::ALL),
                // one more round for what was done last
                Woken::Left => {
                    self.is_left = true;
                    return Ok(Due::ALL);
                }
                Woken::Broken => {
                    let host = self.caller.joined.address.host.clone();
                    return Err(RoomError::Away { host, reason: "the connection was closed".to_owned() });
                }
            }
        }
        // at once, unless something was sent or looked at just before
        let pause = if of_here.is_any() {
            SENT_APART.saturating_sub(self.sent.elapsed()).max(OF_ONE_KEY)
        } else {
            LOOKED_APART.saturating_sub(self.looked.elapsed())
        };
        let came = if pause.is_zero() { Vec::new() } else { link.rest(pause) };
        of_here = of_here.and(self.here.hear_all());
        if of_here.is_any() {
            self.sent = Instant::now();
            self.count_unsent();
            of_here.entries = self.unsent > 0;
        }
        Ok(of_here.and(of_others).and(Due::of_hints(&came)))
    }

    fn round(&mut self, link: &Link, role: Role, due: Due) -> Result<(), RoomError> {
        let now = Instant::now();
        self.looked = now;
        if due == Due::ALL {
            self.looked_at_all = now;
        }
        let Self { caller, here, .. } = self;
        here.send(caller, link, role, due)?;
        if due.entries {
            let mut is_new = false;
            let done = caller.exchange_while(link, &mut || {
                let due = here.hear_all();
                is_new = is_new || due.is_any();
                here.send(caller, link, role, due)
            })?;
            if done.sent > 0 || done.new > 0 {
                tracing::debug!(sent = done.sent, new = done.new, "a round with the room");
            }
            self.count_unsent();
            self.left_over.entries = is_new && self.unsent > 0;
        }
        self.heard = Instant::now();
        self.as_of = Some(clock_here());
        self.publish(Reached::There);
        Ok(())
    }

    /// How many entries the room has not, as far as it was heard.
    fn count_unsent(&mut self) {
        let counted = self.here.unsent(&self.caller);
        self.unsent = counted.unwrap_or_else(|error| {
            tracing::debug!(%error, "what is not sent cannot be counted");
            0
        });
    }

    fn publish(&self, reached: Reached) {
        let is_there = reached == Reached::There;
        self.shared.publish(News {
            reached,
            unsent: self.unsent,
            held: self.here.of_others.held.clone(),
            counted_twice: self.here.of_others.counted_twice.clone(),
            taken_over: self.here.of_others.taken_over.clone(),
            taken_by: self.here.taken_by().map(str::to_owned),
            as_of: self.as_of.clone().filter(|_| !is_there),
        });
    }
}

/// What came of waiting for whoever tells.
enum Heard {
    Told(Told),
    Nothing,
    Left,
}

/// Sleeps until something is told, or for as long.
fn heard_within(hears: &mut UnboundedReceiver<Told>, longest: Duration) -> Heard {
    let Ok(runtime) = Builder::new_current_thread().enable_time().build() else {
        thread::sleep(longest);
        return Heard::Nothing;
    };
    match runtime.block_on(async { tokio::time::timeout(longest, hears.recv()).await }) {
        Ok(Some(told)) => Heard::Told(told),
        Ok(None) => Heard::Left,
        Err(_) => Heard::Nothing,
    }
}

/// About as long: seats that lost the room together do not all call at one moment.
fn not_all_at_once(pause: Duration) -> Duration {
    pause.mul_f64(rand::rng().random_range(0.75..1.25))
}

fn minutes(since: Duration) -> u32 {
    u32::try_from(since.as_secs() / 60).unwrap_or(u32::MAX)
}

/// Hours and minutes on the clock here.
fn clock_here() -> String {
    let zone = zone_here().unwrap_or(TimeZone::UTC);
    Timestamp::now().to_zoned_datetime(zone).strftime("%H:%M").to_string()
}
