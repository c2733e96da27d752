//! The door to `plan` and `case`: a question goes out as a command line, JSON comes back, or why there is none.
//!
//! Each question has a process of its own, so that one that never ends can be ended, and one that breaks breaks
//! nothing else. The process is this program itself in the command's place ([`super::answer`]), or any `halfsplit`.

use std::io::Read;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::sync::mpsc;
use std::time::{Duration, Instant};

use serde_json::Value;

/// Longest that a question may take.
pub const LIMIT: Duration = Duration::from_secs(10);

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

    /// Asks, and says how long it took.
    pub fn ask(&self, words: &[String]) -> (Answer, Duration) {
        let begun = Instant::now();
        let answer = self.answer(words).unwrap_or_else(Answer::Broken);
        (answer, begun.elapsed())
    }

    fn answer(&self, words: &[String]) -> Result<Answer, String> {
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
        let Ok(text) = told.recv_timeout(self.limit) else {
            let _ = child.kill();
            let _ = child.wait();
            return Ok(Answer::Late);
        };
        let status = child.wait().map_err(|error| error.to_string())?;
        let words = words.join().unwrap_or_default();
        if words.contains("panicked") {
            return Ok(Answer::Broken(words));
        }
        if !status.success() {
            return Ok(Answer::Refused(words.trim().to_owned()));
        }
        serde_json::from_str(&text).map(Answer::Json).map_err(|error| format!("no JSON: {error}"))
    }
}
