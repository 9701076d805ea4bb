//! Joining a room, being in it, leaving it.

use std::path::{Path, PathBuf};

use super::address::Address;
use super::calls::{Home, Welcome, hello, leave as leave_room};
use super::error::RoomError;
use super::exchange::{Exchanged, Meanwhile, exchange, parted_after};
use super::joined::Joined;
use super::link::Link;
use super::secret::password;
use crate::logbook::Logbook;
use crate::logbook::parcels::error::ParcelError;
use crate::sharing::{SeatName, WriterId};

/// The logbook that calls, as the room is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caller {
    /// The logbook.
    pub path: PathBuf,
    /// The writer that it is now.
    pub writer: WriterId,
    /// The computer.
    pub machine: String,
    /// The room that it joined, or joins.
    pub joined: Joined,
    /// The folder of the settings, where the password may be.
    pub settings_folder: Option<PathBuf>,
}

impl Caller {
    /// The logbook with the room that it joined.
    ///
    /// # Errors
    /// When it joined none, or cannot be read.
    pub fn of(path: &Path, settings_folder: Option<PathBuf>) -> Result<Self, RoomError> {
        let joined = Joined::of(path)?.ok_or(RoomError::NotJoined)?;
        Self::with(path, joined, settings_folder)
    }

    fn with(path: &Path, joined: Joined, settings_folder: Option<PathBuf>) -> Result<Self, RoomError> {
        // opened to be written in: on another computer than it was made on it takes an identity of its own first
        let (writer, machine) = Logbook::open(path)?.home()?;
        Ok(Self { path: path.to_owned(), writer, machine, joined, settings_folder })
    }

    fn home(&self) -> Home<'_> {
        let Self { writer, machine, joined, .. } = self;
        let (seat, site) = (&joined.seat, joined.site.as_deref());
        Home { writer: *writer, seat, site, machine }
    }

    /// Connects and says hello.
    ///
    /// # Errors
    /// When the room is away, or refuses.
    pub fn connect(&self) -> Result<(Link, Welcome), RoomError> {
        let link = connect(&self.joined.address, self.joined.certificate.as_deref(), self.settings_folder.as_deref())?;
        let welcome = hello(&link, self.home())?;
        Ok((link, welcome))
    }

    /// One round: sends what the room has not, takes in what is not here.
    ///
    /// # Errors
    /// As [`exchange`].
    pub fn exchange(&self, link: &Link) -> Result<Exchanged, RoomError> {
        self.exchange_while(link, &mut || Ok(()))
    }

    /// The same, with something done between two goes of it.
    ///
    /// # Errors
    /// As [`exchange`], and whatever is met meanwhile.
    pub fn exchange_while(&self, link: &Link, meanwhile: Meanwhile<'_>) -> Result<Exchanged, RoomError> {
        exchange(&self.path, link, self.home(), meanwhile)
    }
}

/// Connects to a room with the password that this computer has for it.
///
/// # Errors
/// When the password is not kept as it should be, or the room is away or refuses.
pub fn connect(
    address: &Address,
    certificate: Option<&Path>,
    settings_folder: Option<&Path>,
) -> Result<Link, RoomError> {
    Link::connect(address, password(settings_folder)?.as_deref(), certificate)
}

/// Joins a room with a logbook, which is made where there is none, and sends what it has. What the room has of others comes too. As
/// a new one it goes on under another identity: where a copy of it went on too, each is one of its own from now on.
///
/// # Errors
/// When it is in another room, or the room is away or refuses; nothing is kept of it then.
pub fn join(
    path: &Path,
    joined: Joined,
    as_new: bool,
    settings_folder: Option<PathBuf>,
) -> Result<(Welcome, Exchanged), RoomError> {
    if let Some(before) = Joined::of(path)?.filter(|before| before.address != joined.address) {
        return Err(RoomError::JoinedAnother { address: before.address.to_string() });
    }
    let mut logbook = Logbook::open(path)?;
    if logbook.is_of_practice()? {
        return Err(ParcelError::NotOnesOwn { path: path.to_owned() }.into());
    }
    if as_new {
        // nothing is changed here before the room said where the two parted
        let link = connect(&joined.address, joined.certificate.as_deref(), settings_folder.as_deref())?;
        let after = parted_after(&logbook, &link, logbook.home()?.0)?;
        let again = logbook.go_on_as_another(after)?;
        tracing::info!(again, "went on under another identity");
    }
    let caller = Caller::with(path, joined, settings_folder)?;
    let (link, welcome) = caller.connect()?;
    logbook.name_seat(caller.joined.seat.as_str())?;
    if let Some(site) = &welcome.site {
        logbook.name_site(site)?;
    }
    drop(logbook);
    let joined = Joined { site: welcome.site.clone(), ..caller.joined.clone() };
    joined.keep(path)?;
    let exchanged = caller.exchange(&link)?;
    Ok((welcome, exchanged))
}

/// Sends what the room has not, and leaves it.
///
/// # Errors
/// When the room is away, refuses, or does not take what is not sent yet: the logbook stays in it then.
pub fn leave(path: &Path, settings_folder: Option<PathBuf>) -> Result<(SeatName, Exchanged), RoomError> {
    let caller = Caller::of(path, settings_folder)?;
    let (link, _) = caller.connect()?;
    let exchanged = caller.exchange(&link)?;
    leave_room(&link, caller.writer)?;
    Joined::forget(path)?;
    Ok((caller.joined.seat, exchanged))
}
