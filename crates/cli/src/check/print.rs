//! What a check prints, as it comes: for people or for programs.

use std::{
    collections::HashSet,
    hash::{DefaultHasher, Hasher as _},
    io::{self, Write},
};

use halfsplit_render::{
    findings::{self, Counts},
    json,
};
use serde_json::{Value, json};

use super::{
    one::{Answer, Part},
    shard::Shard,
};

/// In which form findings are printed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Shape {
    /// With the stretch of text.
    Human {
        /// Whether with colours.
        colour: bool,
    },
    /// JSON, a finding a line.
    Json,
}

/// Prints files as they are done, and adds them up.
pub struct Printer<W: Write> {
    shape: Shape,
    out: W,
    shard: Option<(Shard, usize)>,
    sum: Sum,
    /// What is wrong in a file that several use is said once.
    said: HashSet<u64>,
    expectations: Vec<String>,
    more: Vec<Value>,
    any: bool,
}

/// What is said at the end.
#[derive(Clone, Copy, Debug, Default)]
pub struct Sum {
    /// Files that were to be checked.
    pub files: usize,
    pub counts: Counts,
    /// Files or folders of them that could not be read.
    pub unread: usize,
    pub untraced: usize,
    /// Expectations: all, met, and those that wait.
    pub expected: [usize; 3],
    /// Whether any finding fails the check.
    pub fails: bool,
}

impl Sum {
    /// The exit code.
    pub fn code(&self) -> u8 {
        match (self.unread, self.fails) {
            (1.., _) => 2,
            (0, true) => 1,
            (0, false) => 0,
        }
    }

    /// The closing line.
    pub fn words(&self) -> String {
        let mut line = findings::summary(self.files, self.counts);
        if self.unread > 0 {
            // What could not be read is not known to be clean.
            line =
                line.strip_suffix(": clean").map_or(line.clone(), |files| format!("{files}: nothing found"));
            line.push_str(&format!("; {} could not be read", self.unread));
        }
        let [all, met, waiting] = self.expected;
        line.push_str(&crate::expect::summary(all, met, waiting));
        if self.untraced > 0 {
            // No finding: a circuit that nobody traced may well be right.
            line.push_str(&format!("; {} not traced on a car", self.untraced));
        }
        line
    }

    pub fn json(&self) -> Value {
        let [all, met, waiting] = self.expected;
        json!({
            "files": self.files,
            "errors": self.counts.errors,
            "warnings": self.counts.warnings,
            "notes": self.counts.notes,
            "unread": self.unread,
            "untraced": self.untraced,
            "expectations": { "all": all, "met": met, "waiting": waiting },
            "fails": self.fails,
        })
    }
}

impl<W: Write> Printer<W> {
    pub fn new(shape: Shape, out: W, shard: Option<(Shard, usize)>) -> Printer<W> {
        Printer {
            shape,
            out,
            shard,
            sum: Sum::default(),
            said: HashSet::new(),
            expectations: Vec::new(),
            more: Vec::new(),
            any: false,
        }
    }

    /// Counts what could not be looked into.
    pub fn unread(&mut self, count: usize) {
        self.sum.unread += count;
    }

    /// How many files are done.
    pub fn files(&self) -> usize {
        self.sum.files
    }

    pub fn start(&mut self) -> io::Result<()> {
        if self.shape == Shape::Json {
            write!(self.out, "{{\n  \"schema\": {},\n  \"findings\": [", json::SCHEMA)?;
        }
        Ok(())
    }

    /// Prints what came of a file.
    pub fn file(&mut self, answer: Answer) -> io::Result<()> {
        self.sum.files += 1;
        let report = match answer {
            Ok(report) => report,
            Err(words) => {
                self.sum.unread += 1;
                eprintln!("halfsplit: {words}");
                return Ok(());
            }
        };
        let expected = report.expected;
        for (sum, more) in self.sum.expected.iter_mut().zip([expected.all, expected.met, expected.waiting]) {
            *sum += more;
        }
        self.sum.untraced += usize::from(report.untraced);
        match self.shape {
            Shape::Human { .. } => {
                expected.text.iter().try_for_each(|list| self.out.write_all(list.as_bytes()))?
            }
            Shape::Json => self.expectations.extend(expected.text),
        }
        self.part(report.own)?;
        report.used.into_iter().try_for_each(|part| self.part(part))?;
        self.out.flush()
    }

    /// Prints what is wrong in one text, if it is not said already.
    fn part(&mut self, mut part: Part) -> io::Result<()> {
        let file = part.file.clone();
        part.said.retain(|said| self.said.insert(hash(&(&file, &said.text))));
        part.more.retain(|more| self.said.insert(hash(&(&file, "more", &more.rule))));
        let counts = part.counts();
        self.sum.counts.errors += counts.errors;
        self.sum.counts.warnings += counts.warnings;
        self.sum.counts.notes += counts.notes;
        self.sum.fails |= part.fails();
        for said in &part.said {
            self.finding(&said.text)?;
        }
        for more in &part.more {
            match self.shape {
                Shape::Human { .. } => {
                    let (count, rule) = (more.count, &more.rule);
                    writeln!(self.out, "{file}: {count} more of {rule}; `--most 0` shows all\n")?;
                }
                Shape::Json => self.more.push(json!({
                    "file": file,
                    "rule": more.rule,
                    "severity": more.severity().word(),
                    "count": more.count,
                })),
            }
        }
        Ok(())
    }

    fn finding(&mut self, text: &str) -> io::Result<()> {
        match self.shape {
            Shape::Human { .. } => writeln!(self.out, "{text}"),
            Shape::Json => {
                let comma = if std::mem::replace(&mut self.any, true) { "," } else { "" };
                write!(self.out, "{comma}\n    {text}")
            }
        }
    }

    /// Prints the end, and gives the exit code. `stopped` is how many files there were, where the user stopped it.
    pub fn finish(mut self, stopped: Option<usize>) -> io::Result<u8> {
        let shard = self.shard;
        match self.shape {
            Shape::Human { .. } => {
                let mut line = self.sum.words();
                if let Some((shard, all)) = shard {
                    line = format!("part {shard} of {all} files, {line}");
                }
                if let Some(all) = stopped {
                    line = format!("stopped after {} of {all} files; {line}", self.sum.files);
                }
                writeln!(self.out, "{line}")?;
            }
            Shape::Json => {
                let end = if self.any { "\n  ]" } else { "]" };
                let mut rest = json!({ "more": self.more, "summary": self.sum.json() });
                if let Some((shard, all)) = shard {
                    rest["shard"] = json!({ "part": shard.part, "parts": shard.parts, "files": all });
                }
                if stopped.is_some() {
                    rest["stopped"] = json!(true);
                }
                let rest = format!("{rest:#}");
                let rest = rest.trim_start_matches('{').trim_end_matches('}').trim_end();
                let expectations = list(&self.expectations);
                writeln!(self.out, "{end},{rest},\n  \"expectations\": {expectations}\n}}")?;
            }
        }
        self.out.flush()?;
        Ok(self.sum.code())
    }
}

fn list(values: &[String]) -> String {
    match values {
        [] => "[]".to_owned(),
        values => format!("[\n    {}\n  ]", values.join(",\n    ")),
    }
}

fn hash(of: &impl std::hash::Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    of.hash(&mut hasher);
    hasher.finish()
}
