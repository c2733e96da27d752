//! The door to `plan` and `case`: a question goes out as a command line, JSON comes back, or why there is none.
//!
//! Each question has a process of its own, so that one that never ends can be ended, and one that breaks breaks
//! nothing else. The process is this program itself in the command's place ([`super::answer`]), or any `halfsplit`.

use std::io::Read;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::sync::mpsc;
use std::time::Duration;

use serde_json::Value;

/// Longest that a question may take, in processor time where the system tells it.
pub const LIMIT: Duration = Duration::from_secs(10);
/// How many times as long is waited by looks, where the process hardly gets to work: the machine has other work too.
const PATIENCE: u32 = 12;
/// How often a process is looked at.
const LOOK: Duration = Duration::from_millis(20);
/// Ticks in a second by which Linux counts processor time (`sysconf(_SC_CLK_TCK)`, 100 on every common build).
const TICKS: f64 = 100.0;

/// Who is asked.
#[derive(Clone, Debug)]
pub struct Door {
    /// The program.
    pub program: PathBuf,
    /// Words before the verb.
    pub lead: Vec<String>,
    /// Longest that an answer may take.
    pub limit: Duration,
}

/// What came back.
#[derive(Clone, Debug)]
pub enum Answer {
    /// JSON.
    Json(Value),
    /// No answer, and why, in the program's words.
    Refused(String),
    /// The program broke down.
    Broken(String),
    /// No answer in time.
    Late,
}

impl Door {
    /// The technician's own program in the command's place.
    pub fn own(program: PathBuf) -> Door {
        Door { program, lead: vec!["--answer".to_owned()], limit: LIMIT }
    }

    /// A `halfsplit` command.
    pub fn command(program: PathBuf) -> Door {
        Door { program, lead: Vec::new(), limit: LIMIT }
    }

    /// Asks, and says how long it took: processor time where the system tells it.
    pub fn ask(&self, words: &[String]) -> (Answer, Duration) {
        self.answer(words).unwrap_or_else(|error| (Answer::Broken(error), Duration::ZERO))
    }

    fn answer(&self, words: &[String]) -> Result<(Answer, Duration), String> {
        let mut command = Command::new(&self.program);
        command.args(&self.lead).args(words).args(["--format", "json"]);
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().map_err(|error| format!("{}: {error}", self.program.display()))?;
        let (mut out, mut err) = match (child.stdout.take(), child.stderr.take()) {
            (Some(out), Some(err)) => (out, err),
            _ => return Err("no pipe".to_owned()),
        };
        let (tell, told) = mpsc::channel();
        std::thread::spawn(move || {
            let mut text = String::new();
            let _ = out.read_to_string(&mut text);
            let _ = tell.send(text);
        });
        let words = std::thread::spawn(move || {
            let mut text = String::new();
            let _ = err.read_to_string(&mut text);
            text
        });
        // Waiting is counted by looks: whoever holds the process up for a while mostly holds this one up too.
        let (mut took, mut waited) = (Duration::ZERO, Duration::ZERO);
        let text = loop {
            match told.recv_timeout(LOOK) {
                Ok(text) => break text,
                Err(_) => waited += LOOK,
            }
            took = worked(child.id()).unwrap_or(waited);
            if took > self.limit || waited > PATIENCE * self.limit {
                let _ = child.kill();
                let _ = child.wait();
                return Ok((Answer::Late, took));
            }
        };
        let took = worked(child.id()).unwrap_or(waited).max(took);
        let status = child.wait().map_err(|error| error.to_string())?;
        let words = words.join().unwrap_or_default();
        if words.contains("panicked") {
            return Ok((Answer::Broken(words), took));
        }
        if !status.success() {
            return Ok((Answer::Refused(words.trim().to_owned()), took));
        }
        let json = serde_json::from_str(&text).map_err(|error| format!("no JSON: {error}"))?;
        Ok((Answer::Json(json), took))
    }
}

/// Processor time of a process so far; `None` where the system does not tell.
fn worked(process: u32) -> Option<Duration> {
    let line = std::fs::read_to_string(format!("/proc/{process}/stat")).ok()?;
    // The command's name stands in brackets and may hold spaces; user and system ticks are the 12th and 13th behind it.
    let mut fields = line.rsplit_once(')')?.1.split_whitespace().skip(11);
    let ticks = fields.next()?.parse::<f64>().ok()? + fields.next()?.parse::<f64>().ok()?;
    Some(Duration::from_secs_f64(ticks / TICKS))
}
