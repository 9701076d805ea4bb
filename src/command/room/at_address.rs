//! A room that is named by its address.

use std::path::PathBuf;

use clap::Args;

use crate::command::files::settings_folder as folder;
use crate::command::values;
use crate::room::address::Address;
use crate::room::error::RoomError;
use crate::room::joining::connect;
use crate::room::link::Link;

/// The room, and by what it is known.
#[derive(Debug, Args)]
pub struct AtAddress {
    /// The room: postgresql://LOGIN@COMPUTER/DATABASE.
    #[arg(value_name = "ADDRESS", value_parser = values::text())]
    pub address: String,
    /// The certificate by which the computer is known, or of whoever signed it (PEM).
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    pub certificate: Option<PathBuf>,
}

impl AtAddress {
    /// Where it is, and the connection to it.
    ///
    /// # Errors
    /// When it is no address, or the room is away or refuses.
    pub fn link(&self) -> Result<(Address, Link), RoomError> {
        let address: Address = self.address.parse()?;
        let link = connect(&address, self.certificate.as_deref(), folder().as_deref())?;
        Ok((address, link))
    }
}
