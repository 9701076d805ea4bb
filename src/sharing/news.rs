//! What a logbook that shares a record tells whoever sends it on, and what it is told.

use std::sync::Arc;

/// A piece before an eye, as a room counts it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Holding {
    /// The lens, as its box writes it.
    pub lens: String,
    /// The numbers of the pieces that are alike, any of which it may be; its own comes first.
    pub numbers: Vec<i32>,
}

/// What is told to whoever sends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Told {
    /// Something was kept in the logbook; with the number of the exam that is open, if one is.
    Kept {
        /// The exam.
        exam: Option<i64>,
    },
    /// What stands before the eyes now, all of it, and the key of the box in use.
    Holds {
        /// The box.
        in_box: String,
        /// The pieces.
        all: Vec<Holding>,
    },
}

/// A piece that is before an eye at another seat.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HeldElsewhere {
    /// The lens, as its box writes it.
    pub lens: String,
    /// The seat.
    pub seat: String,
    /// For how many minutes that seat was not heard, if it is long.
    pub not_heard_min: Option<u32>,
}

/// How it stands with the room.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Reached {
    /// It was not called yet.
    #[default]
    NotYet,
    /// It answers.
    There,
    /// It does not, for so many minutes.
    Away {
        /// Minutes since it last did, or since the start.
        min: u32,
    },
    /// It answers, and refuses: why, and what to do.
    Refuses {
        /// The words.
        why: String,
    },
}

/// What is known of the room and of others' lenses.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct News {
    /// Whether it is there.
    pub reached: Reached,
    /// Entries that are kept here and not sent yet.
    pub unsent: i64,
    /// Pieces of the box in use that other seats have before an eye.
    pub held: Vec<HeldElsewhere>,
    /// Lenses in a hand here of which every piece is counted at another seat: the lens, and that seat.
    pub counted_twice: Vec<(String, String)>,
    /// Lenses in a hand here that were counted at a seat that is not heard: the lens, and that seat.
    pub taken_over: Vec<(String, String)>,
    /// The seat that goes on with the exam that is open here, where one does.
    pub taken_by: Option<String>,
    /// When others' lenses were last asked for, as hours and minutes on the clock here; none where they are as of now.
    pub as_of: Option<String>,
}

/// Calls whoever waits for news.
pub type WhenNew = Arc<dyn Fn() + Send + Sync>;

/// Whoever sends what is kept, without anybody waiting for it.
pub trait SendsOn: Send {
    /// Tells what was done; never waits.
    fn tell(&self, told: Told);
    /// What is known now; never waits.
    fn news(&self) -> Arc<News>;
    /// Whom to call once there is other news.
    fn when_new(&self, call: WhenNew);
}
