//! A PostgreSQL of the tests' own.

use std::fs;
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::atomic::{AtomicU16, Ordering};
use std::sync::{Mutex, OnceLock, PoisonError};
use std::time::Duration;

use dioptray::room::link::Link;
use dioptray::room::prepare::{Role, allow, prepare};
use tempfile::TempDir;

use super::Failure;

/// The owner of the databases, who has no password to type: the tests' folder is theirs.
pub const OWNER: &str = "keeper";

/// A server, stopped and gone when it is dropped.
pub struct Server {
    folder: TempDir,
    pub port: u16,
}

fn as_postgres(program: &str) -> Command {
    // PostgreSQL refuses to run as root
    if rustix::process::geteuid().is_root() {
        let mut command = Command::new("runuser");
        command.args(["-u", "postgres", "--", program]);
        command
    } else {
        Command::new(program)
    }
}

/// Where the programs of the newest PostgreSQL lie.
fn programs() -> Result<PathBuf, Failure> {
    let installed =
        fs::read_dir("/usr/lib/postgresql").map_err(|_| "no PostgreSQL here: apt-get install postgresql")?;
    let mut versions: Vec<(u32, PathBuf)> = installed
        .filter_map(|entry| {
            let path = entry.ok()?.path();
            Some((path.file_name()?.to_str()?.parse().ok()?, path.join("bin")))
        })
        .collect();
    versions.sort();
    Ok(versions.pop().ok_or("no PostgreSQL in /usr/lib/postgresql")?.1)
}

fn succeeded(output: &Output) -> Result<String, Failure> {
    let said = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    if output.status.success() { Ok(said) } else { Err(said.into()) }
}

/// A port below those that a system gives to whoever calls (from 32768 on Linux): while the server is down nobody else has it, and
/// a program that calls again and again never happens to call itself.
fn free_port() -> Result<u16, Failure> {
    static TRIED: AtomicU16 = AtomicU16::new(0);
    let ours = (std::process::id() % 1200 * 10) as u16;
    let next = || 20_000 + (ours + TRIED.fetch_add(1, Ordering::SeqCst) % 12_000) % 12_000;
    let port = std::iter::repeat_with(next).take(12_000).find(|port| TcpListener::bind(("127.0.0.1", *port)).is_ok());
    Ok(port.ok_or("no port is free")?)
}

impl Server {
    /// A server with this in its settings besides; by SCRAM for everybody but the owner.
    pub fn start(settings: &str) -> Result<Self, Failure> {
        let folder = tempfile::Builder::new().prefix("dioptray-room-").tempdir()?;
        let port = free_port()?;
        if rustix::process::geteuid().is_root() {
            succeeded(&Command::new("chown").arg("postgres").arg(folder.path()).output()?)?;
        }
        let server = Self { folder, port };
        let initdb = programs()?.join("initdb");
        let initdb = initdb.to_str().ok_or("odd path")?;
        succeeded(&as_postgres(initdb).args(["-A", "trust", "-U", OWNER, "-D"]).arg(server.data()).output()?)?;
        let settings = format!(
            "port = {port}\nlisten_addresses = '127.0.0.1'\nunix_socket_directories = ''\nfsync = off\n{settings}\n"
        );
        server.append("postgresql.conf", &settings)?;
        let rights = format!("host all {OWNER} 127.0.0.1/32 trust\nhost all all 127.0.0.1/32 scram-sha-256\n");
        fs::write(server.data().join("pg_hba.conf"), rights)?;
        server.up()?;
        Ok(server)
    }

    pub fn data(&self) -> PathBuf {
        self.folder.path().join("data")
    }

    /// A file beside the data that the server can read.
    pub fn put(&self, name: &str, content: &[u8]) -> Result<PathBuf, Failure> {
        let path = self.folder.path().join(name);
        fs::write(&path, content)?;
        if rustix::process::geteuid().is_root() {
            succeeded(&Command::new("chown").arg("postgres").arg(&path).output()?)?;
        }
        succeeded(&Command::new("chmod").arg("600").arg(&path).output()?)?;
        Ok(path)
    }

    fn append(&self, name: &str, text: &str) -> Result<(), Failure> {
        let path = self.data().join(name);
        let before = fs::read_to_string(&path)?;
        Ok(fs::write(path, before + text)?)
    }

    fn pg_ctl(&self, arguments: &[&str]) -> Result<(), Failure> {
        let pg_ctl = programs()?.join("pg_ctl");
        let mut command = as_postgres(pg_ctl.to_str().ok_or("odd path")?);
        command.arg("-D").arg(self.data()).args(["-w", "-t", "30", "-l"]).arg(self.folder.path().join("log"));
        let status = command.args(arguments).stdout(Stdio::null()).stderr(Stdio::null()).status()?;
        let log = || fs::read_to_string(self.folder.path().join("log")).unwrap_or_default();
        if status.success() { Ok(()) } else { Err(format!("pg_ctl {arguments:?}: {}", log()).into()) }
    }

    pub fn up(&self) -> Result<(), Failure> {
        self.pg_ctl(&["start"])
    }

    /// Ends it as a power cut would.
    pub fn kill(&self) -> Result<(), Failure> {
        self.pg_ctl(&["stop", "-m", "immediate"])
    }

    /// Starts it anew, with a certificate and its key.
    pub fn encrypts(&self, certificate: &[u8], key: &[u8]) -> Result<(), Failure> {
        let owner = self.owner("postgres")?;
        owner.run(&format!("ALTER SYSTEM SET ssl_cert_file = '{}'", self.put("server.pem", certificate)?.display()))?;
        owner.run(&format!("ALTER SYSTEM SET ssl_key_file = '{}'", self.put("server.key", key)?.display()))?;
        owner.run("ALTER SYSTEM SET ssl = on")?;
        self.kill()?;
        self.up()
    }

    /// Stops every process of it, or lets them go on.
    pub fn freeze(&self, is_frozen: bool) -> Result<(), Failure> {
        let pid = fs::read_to_string(self.data().join("postmaster.pid"))?;
        let pid = pid.lines().next().ok_or("no number")?.to_owned();
        let signal = if is_frozen { "-STOP" } else { "-CONT" };
        // the first of them makes no more from then on
        succeeded(&Command::new("kill").args([signal, &pid]).output()?)?;
        let children = Command::new("pgrep").args(["-P", &pid]).output()?.stdout;
        let children = String::from_utf8(children)?;
        // one that served somebody who left may be gone by now
        for process in children.split_whitespace() {
            Command::new("kill").args([signal, process]).stderr(Stdio::null()).status()?;
        }
        Ok(())
    }

    pub fn address(&self, login: &str, database: &str) -> String {
        format!("postgresql://{login}@127.0.0.1:{}/{database}", self.port)
    }

    /// As the owner of a database.
    pub fn owner(&self, database: &str) -> Result<Link, Failure> {
        Ok(Link::connect(&self.address(OWNER, database).parse()?, None, None)?)
    }

    /// A room with logins, each with its role and site; the password of a login is its name.
    pub fn room(&self, database: &str, logins: &[(&str, Role, Option<&str>)]) -> Result<(), Failure> {
        self.owner("postgres")?.run(&format!("CREATE DATABASE {database}"))?;
        let owner = self.owner(database)?;
        prepare(&owner)?;
        for (login, role, site) in logins {
            owner.run(&format!("CREATE ROLE {login} LOGIN PASSWORD '{login}'"))?;
            allow(&owner, login, *role, *site)?;
        }
        Ok(())
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.freeze(false);
        let _ = self.pg_ctl(&["stop", "-m", "immediate"]);
    }
}

/// A room on the server that most tests share, with two examiners of one site and whoever else is named; their names begin
/// with that of the room.
pub struct SharedRoom {
    pub database: &'static str,
}

impl SharedRoom {
    pub fn new(database: &'static str, others: &[(&str, Role, Option<&str>)]) -> Result<Self, Failure> {
        // one after the other: databases are copied from one that nobody may look at
        static ONE: Mutex<()> = Mutex::new(());
        let one = ONE.lock().unwrap_or_else(PoisonError::into_inner);
        let site = Some("hillside");
        let logins = [("a", Role::Examiner, site), ("b", Role::Examiner, site)];
        let named: Vec<(String, Role, Option<&str>)> = logins
            .iter()
            .chain(others)
            .map(|(name, role, site)| (format!("{database}_{name}"), *role, *site))
            .collect();
        let named: Vec<(&str, Role, Option<&str>)> =
            named.iter().map(|(name, role, site)| (name.as_str(), *role, *site)).collect();
        shared()?.room(database, &named)?;
        drop(one);
        Ok(Self { database })
    }

    pub fn login(&self, name: &str) -> String {
        format!("{}_{name}", self.database)
    }

    pub fn address(&self, name: &str) -> Result<String, Failure> {
        Ok(shared()?.address(&self.login(name), self.database))
    }

    pub fn owner(&self) -> Result<Link, Failure> {
        shared()?.owner(self.database)
    }
}

/// A certificate for a name, with its key, by the openssl of the system.
pub fn certificate(folder: &Path, name: &str) -> Result<(Vec<u8>, Vec<u8>), Failure> {
    let (key, file) = (folder.join("key.pem"), folder.join("certificate.pem"));
    let done = Command::new("openssl")
        .args(["req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-days", "30"])
        .args([
            "-addext",
            "basicConstraints=critical,CA:FALSE",
            "-subj",
            "/CN=room",
            "-addext",
            &format!("subjectAltName={name}"),
            "-keyout",
        ])
        .arg(&key)
        .arg("-out")
        .arg(&file)
        .output()?;
    assert!(done.status.success(), "{done:?}");
    Ok((fs::read(file)?, fs::read(key)?))
}

/// The server that most tests share; it ends with them, since the program that runs them does not.
pub fn shared() -> Result<&'static Server, Failure> {
    static SHARED: OnceLock<Result<Server, String>> = OnceLock::new();
    let server = SHARED.get_or_init(|| {
        let server = Server::start("max_connections = 200").map_err(|error| error.to_string())?;
        end_with_us(&server.data()).map_err(|error| error.to_string())?;
        Ok(server)
    });
    server.as_ref().map_err(|error| error.clone().into())
}

/// Ends a server once this process is gone: what is static is not dropped.
fn end_with_us(data: &Path) -> Result<(), Failure> {
    let script = "while kill -0 $0 2>/dev/null; do sleep 0.5; done; kill -QUIT $(head -1 $1/postmaster.pid); sleep 1; rm -rf $(dirname $1)";
    let us = std::process::id().to_string();
    Command::new("setsid")
        .args(["sh", "-c", script, &us])
        .arg(data)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .spawn()?;
    Ok(())
}

/// Waits until something is so.
pub fn until(what: &str, mut is_so: impl FnMut() -> Result<bool, Failure>) -> Result<(), Failure> {
    for _ in 0..600 {
        if is_so()? {
            return Ok(());
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    Err(format!("not within 30 s: {what}").into())
}
