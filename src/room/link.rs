//! One connection to a room. Nothing waits longer for it than is said here, whatever becomes of the server or the wire.

use std::collections::HashMap;
use std::error::Error as _;
use std::future::Future;
use std::path::Path;
use std::sync::atomic::{AtomicI32, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use tokio::io::{AsyncRead, AsyncWrite};
use tokio::runtime::{Builder, Runtime};
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};
use tokio::time::timeout;
use tokio_postgres::config::{ChannelBinding, SslMode};
use tokio_postgres::error::{DbError, SqlState};
use tokio_postgres::tls::{MakeTlsConnect, TlsConnect};
use tokio_postgres::types::ToSql;
use tokio_postgres::{AsyncMessage, Client, Config, Connection, NoTls, Row, Socket, Statement};

use super::address::Address;
use super::error::RoomError;
use super::hint::Hint;
use super::tls::checked_by;

/// The longest that a connection is waited for, encryption and login among it.
const CONNECTS_WITHIN: Duration = Duration::from_secs(4);
/// The longest that the wire is waited for.
const WIRE_ANSWERS_WITHIN: Duration = Duration::from_secs(2);
/// The longest that an answer is waited for.
const ANSWERS_WITHIN: Duration = Duration::from_secs(5);
/// The longest that the owner waits for something done to all that a room holds.
const OWNER_WAITS: Duration = Duration::from_secs(3600);
/// What the server calls hints that something is new, and those of steps of open exams, which only whoever looks on wants.
const HINTS: &str = "dioptray_room";
const STEPS: &str = "dioptray_room_steps";

/// A connection, with what drives it.
pub struct Link {
    runtime: Runtime,
    client: Client,
    /// What was asked before is not explained to the server again.
    explained: Mutex<HashMap<String, Statement>>,
    hints: UnboundedReceiver<Hint>,
    /// The number by which the server knows this connection, once it listens: its own hints are not heard.
    own: Arc<AtomicI32>,
    address: Address,
}

/// What ended a wait.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Woken<T> {
    /// Somebody here asked for it.
    Asked(T),
    /// Others say that something is new.
    Knocked(Vec<Hint>),
    /// Nothing came for as long.
    Nothing,
    /// Whoever asks is gone.
    Left,
    /// The connection is gone.
    Broken,
}

impl Link {
    /// Connects: off this computer encrypted only, to a server whose certificate and name are shown to be right, and with
    /// a password that is never sent as it is (SCRAM, bound to the encrypted channel; RFC 5802 and RFC 5929).
    ///
    /// # Errors
    /// When nobody is there, or who is there is not the room, or does not let the login in.
    pub fn connect(address: &Address, password: Option<&str>, certificate: Option<&Path>) -> Result<Self, RoomError> {
        let mut config = Config::new();
        config.host(&address.host).port(address.port).user(&address.user).dbname(&address.database);
        config.application_name("dioptray").connect_timeout(WIRE_ANSWERS_WITHIN).tcp_user_timeout(ANSWERS_WITHIN);
        config.options(format!("-c statement_timeout={}", ANSWERS_WITHIN.as_millis()));
        if let Some(password) = password {
            config.password(password);
        }
        let plainly = address.is_on_this_computer() && certificate.is_none();
        if plainly {
            config.ssl_mode(SslMode::Disable);
            Self::over(&config, NoTls, address)
        } else {
            config.ssl_mode(SslMode::Require).channel_binding(ChannelBinding::Require);
            Self::over(&config, checked_by(certificate)?, address)
        }
    }

    fn over<T>(config: &Config, tls: T, address: &Address) -> Result<Self, RoomError>
    where
        T: MakeTlsConnect<Socket>,
        T::Stream: Send + 'static,
        T::TlsConnect: TlsConnect<Socket>,
    {
        let runtime = Builder::new_current_thread().enable_all().build();
        let runtime = runtime.map_err(|error| away(address, error.to_string()))?;
        let connecting = async { timeout(CONNECTS_WITHIN, config.connect(tls)).await };
        let (client, connection) = runtime
            .block_on(connecting)
            .map_err(|_| away(address, "it did not answer in time".to_owned()))?
            .map_err(|error| meaning(&error, address))?;
        let (hears, hints) = unbounded_channel();
        let own = Arc::new(AtomicI32::new(0));
        runtime.spawn(driven(connection, hears, Arc::clone(&own)));
        Ok(Self { runtime, client, explained: Mutex::default(), hints, own, address: address.clone() })
    }

    /// Hears from now on what others say is new, but for steps of open exams.
    ///
    /// # Errors
    /// As [`Link::call`].
    pub fn listen(&self) -> Result<(), RoomError> {
        let own = self.call("SELECT pg_backend_pid()", &[])?;
        self.own.store(own.first().map_or(0, |row| row.get(0)), Ordering::Relaxed);
        self.run(&format!("LISTEN {HINTS}"))
    }

    /// Hears of the steps of open exams too.
    ///
    /// # Errors
    /// As [`Link::call`].
    pub fn listen_to_steps(&self) -> Result<(), RoomError> {
        self.listen()?;
        self.run(&format!("LISTEN {STEPS}"))
    }

    /// Runs some statements that give nothing back, all or none.
    ///
    /// # Errors
    /// As [`Link::call`].
    pub fn run(&self, statements: &str) -> Result<(), RoomError> {
        self.within(self.client.batch_execute(statements))
    }

    /// The same for what the owner of a room does to all that it holds: that is waited for longer, and nobody at a seat waits for it.
    ///
    /// # Errors
    /// As [`Link::call`].
    pub fn run_for_long(&self, statements: &str) -> Result<(), RoomError> {
        let longer = |limit: Duration| format!("SET statement_timeout = {}", limit.as_millis());
        self.run(&longer(OWNER_WAITS))?;
        let done = self.limited(OWNER_WAITS, self.client.batch_execute(statements));
        // a connection that broke needs no limit any more
        let _ = self.run(&longer(ANSWERS_WITHIN));
        done
    }

    /// Calls a function of the room, and gives the rows that it answers with.
    ///
    /// # Errors
    /// When the room does not answer in time, or refuses.
    pub fn call(&self, sql: &str, values: &[&(dyn ToSql + Sync)]) -> Result<Vec<Row>, RoomError> {
        self.within(async { self.client.query(&self.explain(sql).await?, values).await })
    }

    async fn explain(&self, sql: &str) -> Result<Statement, tokio_postgres::Error> {
        let explained = || self.explained.lock().unwrap_or_else(PoisonError::into_inner);
        let known = explained().get(sql).cloned();
        if let Some(known) = known {
            return Ok(known);
        }
        let statement = self.client.prepare(sql).await?;
        explained().insert(sql.to_owned(), statement.clone());
        Ok(statement)
    }

    fn within<T>(&self, asked: impl Future<Output = Result<T, tokio_postgres::Error>>) -> Result<T, RoomError> {
        self.limited(ANSWERS_WITHIN, asked)
    }

    fn limited<T>(
        &self,
        limit: Duration,
        asked: impl Future<Output = Result<T, tokio_postgres::Error>>,
    ) -> Result<T, RoomError> {
        let answer = self.runtime.block_on(async { timeout(limit, asked).await });
        answer
            .map_err(|_| away(&self.address, "it did not answer in time".to_owned()))?
            .map_err(|error| meaning(&error, &self.address))
    }

    /// Waits until somebody here asks for something, others say that something is new, or for as long.
    pub fn wait<T>(&mut self, asked: &mut UnboundedReceiver<T>, longest: Duration) -> Woken<T> {
        let Self { runtime, hints, .. } = self;
        runtime.block_on(async {
            tokio::select! {
                biased;
                one = asked.recv() => one.map_or(Woken::Left, Woken::Asked),
                hint = hints.recv() => hint.map_or(Woken::Broken, |first| Woken::Knocked(all_of(first, hints))),
                () = tokio::time::sleep(longest) => Woken::Nothing,
            }
        })
    }

    /// Waits for as long whatever comes, and gives what others said meanwhile.
    pub fn rest(&mut self, pause: Duration) -> Vec<Hint> {
        let Self { runtime, hints, .. } = self;
        // made where its clock is
        runtime.block_on(async { tokio::time::sleep(pause).await });
        hints.try_recv().map_or_else(|_| Vec::new(), |first| all_of(first, hints))
    }

    /// What the room is called by where something is refused.
    pub fn address(&self) -> &Address {
        &self.address
    }
}

fn all_of(first: Hint, hints: &mut UnboundedReceiver<Hint>) -> Vec<Hint> {
    let mut all = vec![first];
    while let Ok(next) = hints.try_recv() {
        // many say the same
        if !all.contains(&next) {
            all.push(next);
        }
    }
    all
}

/// Drives a connection to its end, and passes on each hint of others.
async fn driven<S, T>(mut connection: Connection<S, T>, hears: UnboundedSender<Hint>, own: Arc<AtomicI32>)
where
    S: AsyncRead + AsyncWrite + Unpin,
    T: AsyncRead + AsyncWrite + Unpin,
{
    loop {
        match std::future::poll_fn(|context| connection.poll_message(context)).await {
            Some(Ok(AsyncMessage::Notification(said))) => {
                let is_own = said.process_id() == own.load(Ordering::Relaxed);
                if !is_own && hears.send(Hint::from_text(said.payload())).is_err() {
                    return;
                }
            }
            Some(Ok(_)) => {}
            Some(Err(_)) | None => return,
        }
    }
}

fn away(address: &Address, reason: String) -> RoomError {
    RoomError::Away { host: address.host.clone(), reason }
}

/// What an error of the client means to whoever uses the room.
fn meaning(error: &tokio_postgres::Error, address: &Address) -> RoomError {
    if let Some(said) = error.as_db_error() {
        return said_by_server(said, address);
    }
    // the client wraps what it met
    let mut reason = error.to_string();
    let mut source = error.source();
    while let Some(inner) = source {
        reason = inner.to_string();
        if inner.downcast_ref::<rustls::Error>().is_some() {
            return RoomError::NotSafe { host: address.host.clone(), reason };
        }
        // an input or output error hides what it carries from `source`
        source = match inner.downcast_ref::<std::io::Error>().and_then(std::io::Error::get_ref) {
            Some(carried) => Some(carried),
            None => inner.source(),
        };
    }
    let whole = error.to_string();
    if whole.contains("TLS") {
        return RoomError::NotSafe { host: address.host.clone(), reason };
    }
    if whole.contains("authentication") || whole.contains("password") {
        return RoomError::NotLetIn { host: address.host.clone(), user: address.user.clone(), reason };
    }
    away(address, reason)
}

fn said_by_server(said: &DbError, address: &Address) -> RoomError {
    let detail = || said.detail().unwrap_or_default().to_owned();
    let (host, reason) = (address.host.clone(), said.message().to_owned());
    match said.code().code() {
        "DR001" => RoomError::NotAllowed { login: detail() },
        "DR002" => RoomError::NotOfThisRole { role: detail() },
        "DR003" => RoomError::NoSeat,
        "DR004" => RoomError::AnotherSite { site: detail() },
        "DR005" => RoomError::SeatTaken { seat: detail() },
        "DR006" => RoomError::AnotherLogin { login: detail() },
        "DR008" => RoomError::HasAName { seat: detail() },
        "DR007" => RoomError::TooLarge,
        "DR009" => RoomError::NoSuchExamThere { name: detail() },
        "DR010" => RoomError::NotBelowAYear,
        "DR011" => RoomError::NamedTwice { exam: detail() },
        "DR012" => RoomError::NoSuchExam { exam: detail() },
        "DR013" => RoomError::NoReason,
        "DR014" => RoomError::AskedAlready { by: detail() },
        "DR015" => RoomError::ErasedAlready { exam: detail() },
        "DR016" => RoomError::NotAskedFor,
        "DR017" => RoomError::AskedByTheSame { login: detail() },
        "DR018" => RoomError::AskedByAnother { by: detail() },
        _ => match *said.code() {
            SqlState::INVALID_PASSWORD | SqlState::INVALID_AUTHORIZATION_SPECIFICATION => {
                RoomError::NotLetIn { host, user: address.user.clone(), reason }
            }
            SqlState::INVALID_SCHEMA_NAME | SqlState::UNDEFINED_FUNCTION => {
                RoomError::NotPrepared { host, database: address.database.clone() }
            }
            // without a right to the schema its functions are not found
            SqlState::INSUFFICIENT_PRIVILEGE => RoomError::NotAllowed { login: address.user.clone() },
            SqlState::ADMIN_SHUTDOWN
            | SqlState::CRASH_SHUTDOWN
            | SqlState::CANNOT_CONNECT_NOW
            | SqlState::TOO_MANY_CONNECTIONS
            | SqlState::QUERY_CANCELED
            | SqlState::DISK_FULL => RoomError::Away { host, reason },
            _ => RoomError::Server { reason },
        },
    }
}
