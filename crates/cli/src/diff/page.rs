//! A comparison as text, Markdown and JSON.

use std::fmt::Write as _;

use halfsplit_check::diff::{Told, Topic};
use serde_json::{Value, json};

use super::{Compared, Said};

/// What is said where a comparison finds nothing.
const NOTHING: &str = "nothing changed on the car";

/// All files that were compared.
pub struct Page<'c> {
    pub files: &'c [Compared],
}

impl Page<'_> {
    /// For people: what was there behind `-`, what is there behind `+`.
    pub fn text(&self) -> String {
        let mut out = String::new();
        for file in self.told() {
            let _ = writeln!(out, "{}", file.name());
            if let Some(whole) = whole(file) {
                let _ = writeln!(out, "  {whole}");
            }
            for (topic, changes) in by_topic(file) {
                let _ = writeln!(out, "  {}", topic.title());
                for said in changes {
                    let change = &said.change;
                    match in_one_line(topic, said) {
                        Some(words) => drop(writeln!(out, "    {}: {words}", change.what)),
                        None => {
                            let _ = writeln!(out, "    {}", change.what);
                            out.push_str(&signed("      - ", change.old.as_ref(), said.old_line));
                            out.push_str(&signed("      + ", change.new.as_ref(), said.new_line));
                        }
                    }
                }
            }
            out.push('\n');
        }
        out + &self.summary() + "\n"
    }

    /// For a comment of a review.
    pub fn markdown(&self) -> String {
        let mut out = String::new();
        for file in self.told() {
            let _ = writeln!(out, "### {}\n", code(&file.name()));
            if let Some(whole) = whole(file) {
                let _ = writeln!(out, "{whole}\n");
            }
            for (topic, changes) in by_topic(file) {
                let _ =
                    writeln!(out, "**{}**\n\n| what | before | after |\n| --- | --- | --- |", topic.title());
                for said in changes {
                    let change = &said.change;
                    let cell = |told: &Option<Told>| {
                        let words = told.as_ref().map(|told| told.words.as_str()).unwrap_or_default();
                        if topic == Topic::Line { code(words) } else { escaped(words) }
                    };
                    let (old, new) = (cell(&change.old), cell(&change.new));
                    let _ = writeln!(out, "| {} | {old} | {new} |", escaped(&change.what));
                }
                out.push('\n');
            }
        }
        out + &self.summary() + "\n"
    }

    /// For programs.
    pub fn json(&self) -> Value {
        let told = |told: &Option<Told>, line: Option<u32>| {
            told.as_ref().map(|told| json!({ "words": told.words, "line": line }))
        };
        let change = |said: &Said| {
            json!({
                "topic": said.change.topic.word(),
                "what": said.change.what,
                "old": told(&said.change.old, said.old_line),
                "new": told(&said.change.new, said.new_line),
            })
        };
        let file = |file: &Compared| {
            let changes: Vec<Value> = file.changes.iter().map(change).collect();
            json!({ "old": file.old, "new": file.new, "changed": file.is_changed(), "changes": changes })
        };
        json!({
            "schema": halfsplit_render::json::SCHEMA,
            "changed": self.files.iter().filter(|file| file.is_changed()).count(),
            "files": self.files.iter().map(file).collect::<Vec<Value>>(),
        })
    }

    /// The files of which there is something to say.
    fn told(&self) -> impl Iterator<Item = &Compared> {
        let several = self.files.len() > 1;
        self.files.iter().filter(move |file| file.is_changed() || several && file.old != file.new)
    }

    fn summary(&self) -> String {
        let changed = self.files.iter().filter(|file| file.is_changed()).count();
        match (self.files.len(), changed) {
            (1, 0) => format!("{}: {NOTHING}", self.files[0].name()),
            (all, 0) => format!("{all} files compared: {NOTHING}"),
            (1, _) => "1 file compared, and it changed".to_owned(),
            (all, changed) => format!("{all} files compared, {changed} changed"),
        }
    }
}

/// What is said of a file as a whole.
fn whole(file: &Compared) -> Option<&'static str> {
    match (&file.old, &file.new) {
        (None, _) => Some("a new file"),
        (_, None) => Some("this file is gone"),
        (Some(_), Some(_)) if file.changes.is_empty() => Some("only moved"),
        _ => None,
    }
}

/// The changes of a file, topic by topic.
fn by_topic(file: &Compared) -> Vec<(Topic, Vec<&Said>)> {
    let of = |topic| file.changes.iter().filter(move |said| said.change.topic == topic).collect();
    let all = Topic::ALL.into_iter().map(|topic| (topic, of(topic)));
    all.filter(|(_, changes): &(Topic, Vec<&Said>)| !changes.is_empty()).collect()
}

/// Both states side by side, where they are short.
fn in_one_line(topic: Topic, said: &Said) -> Option<String> {
    if matches!(topic, Topic::Line | Topic::Finding) {
        return None;
    }
    match (&said.change.old, &said.change.new) {
        (Some(old), Some(new)) => Some(format!("{} -> {}", old.words, new.words)),
        (Some(old), None) => Some(format!("{} -> gone", old.words)),
        (None, Some(new)) => Some(new.words.clone()),
        (None, None) => None,
    }
}

fn signed(sign: &str, told: Option<&Told>, line: Option<u32>) -> String {
    let line = line.map(|line| format!("  (line {line})")).unwrap_or_default();
    told.map(|told| format!("{sign}{}{line}\n", told.words)).unwrap_or_default()
}

/// As code in Markdown, whatever ticks are in it. In a table a bar ends the cell even there.
fn code(words: &str) -> String {
    match words {
        "" => String::new(),
        words if words.contains('`') => format!("`` {} ``", words.replace('|', "\\|")),
        words => format!("`{}`", words.replace('|', "\\|")),
    }
}

fn escaped(words: &str) -> String {
    words.replace('|', "\\|").replace('<', "&lt;")
}
