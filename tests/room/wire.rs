//! A wire that fails: it passes on what it is given until it is told to do otherwise.

use std::io::{Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicU8, Ordering};
use std::thread;
use std::time::Duration;

use super::Failure;

/// What a wire does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Wire {
    Passes,
    /// It takes and gives nothing.
    Stalls,
    /// Each packet takes two seconds.
    IsSlow,
    /// It is cut in the middle of the next message.
    HalfAMessage,
    /// It is cut, and nobody answers.
    IsCut,
}

/// A wire to a server on loopback.
pub struct Proxy {
    pub port: u16,
    now: Arc<AtomicU8>,
}

impl Proxy {
    pub fn to(server: u16) -> Result<Self, Failure> {
        let listener = TcpListener::bind("127.0.0.1:0")?;
        let port = listener.local_addr()?.port();
        let now = Arc::new(AtomicU8::new(Wire::Passes as u8));
        let of_all = Arc::clone(&now);
        thread::spawn(move || {
            for client in listener.incoming().flatten() {
                if of_all.load(Ordering::SeqCst) == Wire::IsCut as u8 {
                    continue;
                }
                let Ok(server) = TcpStream::connect(("127.0.0.1", server)) else { continue };
                for (from, to) in [(client.try_clone(), server.try_clone()), (server.try_clone(), client.try_clone())] {
                    if let (Ok(from), Ok(to)) = (from, to) {
                        let now = Arc::clone(&of_all);
                        thread::spawn(move || pass_on(from, to, &now));
                    }
                }
            }
        });
        Ok(Self { port, now })
    }

    pub fn does(&self, what: Wire) {
        self.now.store(what as u8, Ordering::SeqCst);
    }
}

fn pass_on(mut from: TcpStream, mut to: TcpStream, now: &AtomicU8) {
    let mut buffer = [0; 16384];
    let is = |what: Wire| now.load(Ordering::SeqCst) == what as u8;
    while let Ok(read) = from.read(&mut buffer) {
        while is(Wire::Stalls) {
            thread::sleep(Duration::from_millis(10));
        }
        if is(Wire::IsSlow) {
            thread::sleep(Duration::from_secs(2));
        }
        let given = if is(Wire::HalfAMessage) { read / 2 } else { read };
        if read == 0 || is(Wire::IsCut) || to.write_all(&buffer[..given]).is_err() || given < read {
            break;
        }
    }
    let _ = (from.shutdown(Shutdown::Both), to.shutdown(Shutdown::Both));
}
