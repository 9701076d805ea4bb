//! PostgreSQL's own program: it copies in what would be too much for single calls, and says how a question was answered.

use std::io::Write as _;
use std::process::{Child, ChildStdin, Command, Stdio};

use super::server::OWNER;

/// The questions, as the functions of the room are asked them.
const QUESTIONS: [(&str, &str); 7] = [
    ("the latest 50 of a site", "SELECT * FROM room.exams(NULL, NULL, 'site7', NULL, NULL, NULL, NULL, NULL, 51)"),
    ("one by its spoken number", "SELECT * FROM room.exams('c31', 3, NULL, NULL, NULL, NULL, NULL, NULL, 51)"),
    (
        "a day of a site",
        "SELECT x.* FROM (SELECT min(month) AS month FROM room.month WHERE earliest IS NOT NULL) AS m,
            room.exams(NULL, NULL, 'site7', NULL, (room.begins(m.month) + interval '5 days')::text,
            (room.begins(m.month) + interval '6 days')::text, NULL, NULL, 51) AS x",
    ),
    (
        "a day of all sites",
        "SELECT x.* FROM (SELECT min(month) AS month FROM room.month WHERE earliest IS NOT NULL) AS m,
            room.exams(NULL, NULL, NULL, NULL, (room.begins(m.month) + interval '5 days')::text,
            (room.begins(m.month) + interval '6 days')::text, NULL, NULL, 51) AS x",
    ),
    (
        "the latest 50 of an examiner",
        "SELECT * FROM room.exams(NULL, NULL, NULL, 'Examiner 31', NULL, NULL, NULL, NULL, 51)",
    ),
    (
        "the last 20 entries of a seat",
        "SELECT e.* FROM room.writer AS w, room.entries(w.id, w.head - 20, 200) AS e WHERE w.seat = 'c31'",
    ),
    ("how far each seat is known", "SELECT h.* FROM room.seat AS s, room.heads(s.home) AS h WHERE s.name = 'c31'"),
];

/// As the owner of the database.
pub struct Psql {
    pub port: u16,
}

impl Psql {
    fn command(&self) -> Command {
        let mut command = Command::new("psql");
        command.args(["-XqAt", "-v", "ON_ERROR_STOP=1", "-h", "127.0.0.1", "-U", OWNER, "-d", "room", "-p"]);
        command.arg(self.port.to_string());
        command
    }

    /// What statements answer; they are said on standard input, which takes any length.
    pub fn answer(&self, sql: &str) -> String {
        let (answer, errors) = self.said(sql);
        assert!(!errors.contains("ERROR"), "{errors}");
        answer
    }

    fn said(&self, sql: &str) -> (String, String) {
        let mut child =
            self.command().stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        child.stdin.take().unwrap().write_all(sql.as_bytes()).unwrap();
        let said = child.wait_with_output().unwrap();
        (String::from_utf8_lossy(&said.stdout).into_owned(), String::from_utf8_lossy(&said.stderr).into_owned())
    }

    /// Begins to copy rows in, in PostgreSQL's own form.
    pub fn copies(&self, into: &str) -> (Child, ChildStdin) {
        let sql = format!("COPY {into} FROM STDIN (FORMAT binary)");
        let mut child = self.command().args(["-c", &sql]).stdin(Stdio::piped()).spawn().unwrap();
        let stdin = child.stdin.take().unwrap();
        (child, stdin)
    }

    /// Says how each question is answered: the steps that read something, with times and pages.
    pub fn plans(&self) {
        for (what, sql) in QUESTIONS {
            println!("- {what}");
            let sql = format!(
                "LOAD 'auto_explain'; SET auto_explain.log_min_duration = 0; SET auto_explain.log_analyze = on;
                 SET auto_explain.log_buffers = on; SET auto_explain.log_nested_statements = on;
                 SET client_min_messages = log; {sql};"
            );
            let (_, plans) = self.said(&sql);
            assert!(!plans.contains("ERROR"), "{plans}");
            // of each plan that reads entries or many seats
            let mut is_wanted = false;
            for line in plans.lines() {
                // a question may take several lines
                is_wanted &= !line.contains("Query Text");
                is_wanted |= line.contains("entry AS e") || line.contains("head_hash");
                let reads = line.contains("Scan") || line.contains("Sort  (") || line.contains("Limit  (");
                if is_wanted && (reads || line.contains("Buffers: ")) {
                    println!("    {}", line.trim_start());
                }
            }
        }
    }
}
