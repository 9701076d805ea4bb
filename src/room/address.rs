//! Where a room is.

use std::fmt;
use std::net::IpAddr;
use std::str::FromStr;

use thiserror::Error;
use tokio_postgres::Config;
use tokio_postgres::config::Host;

/// The port of PostgreSQL where none is named (its public documentation).
const PORT: u16 = 5432;

/// A room by its login, computer and database: `postgresql://lane3@clinic.example/room`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Address {
    text: String,
    /// The login.
    pub user: String,
    /// The computer, by name or number.
    pub host: String,
    /// The port.
    pub port: u16,
    /// The database.
    pub database: String,
}

/// A text that is not the address of a room.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NotAnAddress {
    /// It has a password, which others would read in the list of programs and in files.
    #[error("an address with a password in it is not taken: {WHERE_TO_PUT_IT}")]
    HasPassword,
    /// It says how to connect, which is not left to an address.
    #[error(
        "`{text}`: an address ends with the database; what stands behind ? is not taken (encryption is always on, except on this computer)"
    )]
    HasOptions {
        /// The text.
        text: String,
    },
    /// Something is missing or another thing.
    #[error(
        "`{text}` is not the address of a room: postgresql://LOGIN@COMPUTER/DATABASE, as in postgresql://lane3@clinic.example/room"
    )]
    Other {
        /// The text.
        text: String,
    },
}

/// Where a password belongs.
pub const WHERE_TO_PUT_IT: &str = "put the password alone into a file that only you can read, and name the file in DIOPTRAY_ROOM_PASSWORD_FILE, or call it room.password in the folder of the settings";

impl FromStr for Address {
    type Err = NotAnAddress;

    fn from_str(text: &str) -> Result<Self, NotAnAddress> {
        // the text is not said again where a password may stand in it
        let Some(rest) = text.strip_prefix("postgresql://").or_else(|| text.strip_prefix("postgres://")) else {
            let hides = text.contains('@') || text.to_ascii_lowercase().contains("password");
            return Err(if hides && text.contains([':', '=']) {
                NotAnAddress::HasPassword
            } else {
                NotAnAddress::Other { text: text.to_owned() }
            });
        };
        let before = rest.rsplit_once('@').map_or("", |(login, _)| login);
        if before.contains(':') || rest.to_ascii_lowercase().contains("password=") {
            return Err(NotAnAddress::HasPassword);
        }
        if rest.contains(['?', '#']) {
            return Err(NotAnAddress::HasOptions { text: text.to_owned() });
        }
        let other = || NotAnAddress::Other { text: text.to_owned() };
        let config = Config::from_str(text).map_err(|_| other())?;
        let (user, database) = (config.get_user().ok_or_else(other)?, config.get_dbname().ok_or_else(other)?);
        let ([Host::Tcp(host)], ports) = (config.get_hosts(), config.get_ports()) else { return Err(other()) };
        if user.is_empty() || host.is_empty() || database.is_empty() || ports.len() > 1 {
            return Err(other());
        }
        Ok(Self {
            text: text.to_owned(),
            user: user.to_owned(),
            host: host.clone(),
            port: ports.first().copied().unwrap_or(PORT),
            database: database.to_owned(),
        })
    }
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl Address {
    /// Whether the room is on this computer, so that nothing goes over a wire.
    pub fn is_on_this_computer(&self) -> bool {
        self.host == "localhost" || self.host.parse::<IpAddr>().is_ok_and(|number| number.is_loopback())
    }
}
