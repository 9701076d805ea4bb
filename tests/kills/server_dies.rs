//! The server, killed while seats work, and now and then put back as it was some kills before.

use std::path::Path;
use std::process::Command;
use std::thread::sleep;
use std::time::Duration;

use dioptray::room::link::Link;
use rand::RngExt as _;
use rand_chacha::ChaCha8Rng;

use super::server::Server;
use super::tally::{Asked, Tally};
use super::world::Progress;
use super::{Failure, patiently};

/// Kills it as often as asked, spread over the kills of seats.
pub fn again_and_again(
    server: &Server,
    copies: &Path,
    database: &str,
    asked: Asked,
    chance: &mut ChaCha8Rng,
    progress: &Progress,
) -> Result<Tally, Failure> {
    let mut tally = Tally::default();
    let every = asked.servers.checked_div(asked.restores).unwrap_or(u64::MAX).max(2);
    let mut has_copy = false;
    // the seats' kills keep step: now shortly after each other, now with a while between
    let mut due: Vec<u64> = (0..asked.servers).map(|_| chance.random_range(0..asked.seats.max(1))).collect();
    due.sort_unstable();
    for (nth, due) in (1..).zip(due) {
        progress.may_kill(due + 1);
        while progress.kills() < due {
            if progress.has_failed() {
                return Ok(tally);
            }
            sleep(Duration::from_millis(5));
        }
        sleep(Duration::from_millis(chance.random_range(0..60)));
        let before = patiently(|| each_once(&server.owner(database)?))?;
        server.kill()?;
        tally.servers += 1;
        sleep(Duration::from_millis(chance.random_range(0..150)));
        let is_put_back = has_copy && nth % every == 0;
        if is_put_back {
            put_back(server, copies)?;
            tally.restores += 1;
        } else if nth % every == every / 2 && (!has_copy || chance.random_ratio(2, 3)) {
            // now and then the copy stays older
            copy(server, copies)?;
            has_copy = true;
        }
        server.up()?;
        let after = patiently(|| each_once(&server.owner(database)?))?;
        if is_put_back {
            tally.gone_by_restores += before.saturating_sub(after);
        }
    }
    progress.may_kill(u64::MAX);
    Ok(tally)
}

/// How many entries there are, each of them once and every one up to the last of its writer.
pub fn each_once(owner: &Link) -> Result<u64, Failure> {
    let sql = "SELECT count(*), coalesce(sum(many), 0)::bigint, coalesce(bool_and(many = w.head AND numbers = w.head
                   AND last = w.head AND hash = w.head_hash), true)
               FROM (SELECT e.writer, count(*) AS many, count(DISTINCT e.number) AS numbers, max(e.number) AS last,
                         (array_agg(e.hash ORDER BY e.number DESC))[1] AS hash FROM room.entry AS e GROUP BY e.writer) AS of
               FULL JOIN room.writer AS w ON w.id = of.writer WHERE w.head <> 0 OR of.writer IS NOT NULL";
    let rows = owner.call(sql, &[])?;
    if !rows[0].get::<_, bool>(2) {
        return Err("the room has an entry twice, or not every one up to the last".into());
    }
    Ok(rows[0].get::<_, i64>(1).unsigned_abs())
}

/// Copies the data of a server that is stopped.
fn copy(server: &Server, copies: &Path) -> Result<(), Failure> {
    let kept = copies.join("data");
    run("rm", &["-rf"], &[&kept])?;
    run("cp", &["-a"], &[&server.data(), &kept])
}

/// Puts the copy in the place of the data of a server that is stopped.
fn put_back(server: &Server, copies: &Path) -> Result<(), Failure> {
    run("rm", &["-rf"], &[&server.data()])?;
    run("cp", &["-a"], &[&copies.join("data"), &server.data()])
}

fn run(program: &str, how: &[&str], paths: &[&Path]) -> Result<(), Failure> {
    let status = Command::new(program).args(how).args(paths).status()?;
    if status.success() { Ok(()) } else { Err(format!("{program} {how:?} {paths:?}: {status}").into()) }
}
