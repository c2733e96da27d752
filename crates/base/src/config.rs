//! What a library asks of its checks: the text of `halfsplit.toml`.
//!
//! An empty text is a configuration: everything as usual. A key that is not known is an error, since whoever wrote it
//! believes that it does something.

use std::{fmt, path::Path};

use halfsplit_syntax::nearest;
use toml::{
    Spanned,
    de::{DeTable, DeValue},
};

use crate::{File, Severity};

/// What a library asks of its checks.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Config {
    /// The largest circuit file that is read, in bytes.
    pub largest: u64,
    /// Findings of this weight and heavier fail a check.
    pub deny: Severity,
    /// Most findings of one rule that are shown of one file; the rest are counted. 0 shows all.
    pub most: usize,
}

/// The largest circuit file that is read unless a library says otherwise, in bytes: 16 MB, some 400,000 lines.
pub const LARGEST: u64 = 16 << 20;

/// Most findings of one rule that are shown of one file unless something else is asked for.
pub const MOST: usize = 50;

/// No configuration can ask for larger files, in bytes: spans are 32 bits wide, and counted in signed numbers by some.
const LARGEST_OF_ALL: u64 = 1 << 30;

impl Default for Config {
    fn default() -> Config {
        Config { largest: LARGEST, deny: Severity::Error, most: MOST }
    }
}

/// What is wrong with a configuration, and where.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ConfigError {
    /// Line, from 1.
    pub line: u32,
    /// Column in characters, from 1.
    pub column: u32,
    /// In plain words, with the likely slip.
    pub message: String,
}

impl ConfigError {
    /// In one line, with the file: `halfsplit.toml:3:1: there is no key …`.
    pub fn in_file(&self, path: &Path) -> String {
        format!("{}:{}:{}: {}", path.display(), self.line, self.column, self.message)
    }
}

impl fmt::Display for ConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, column {}: {}", self.line, self.column, self.message)
    }
}

impl std::error::Error for ConfigError {}

/// The table that holds the keys, and the keys.
const TABLE: &str = "check";
const KEYS: [&str; 3] = ["largest-file", "deny", "most-findings"];

type Slip = (usize, String);

impl Config {
    /// Reads a configuration.
    ///
    /// # Errors
    /// The first thing that is wrong: what is no TOML, a key that nothing reads, a value that cannot be.
    pub fn parse(text: &str) -> Result<Config, ConfigError> {
        read(text).map_err(|(at, message)| {
            let position = File::new("halfsplit.toml".into(), text).position(at as u32);
            ConfigError { line: position.line, column: position.column, message }
        })
    }
}

fn read(text: &str) -> Result<Config, Slip> {
    let top = DeTable::parse(text).map_err(|error| {
        let at = error.span().map_or(0, |span| span.start);
        (at, format!("this is no TOML: {}", error.message().trim()))
    })?;
    let mut config = Config::default();
    for (key, value) in top.get_ref() {
        if key.get_ref() != TABLE {
            return Err((key.span().start, unknown(key.get_ref())));
        }
        let DeValue::Table(table) = value.get_ref() else {
            return Err((
                value.span().start,
                format!("`{TABLE}` is a table: write `[{TABLE}]` on a line of its own"),
            ));
        };
        for (key, value) in table {
            match key.get_ref().as_ref() {
                "largest-file" => config.largest = bytes(value)?,
                "deny" => config.deny = severity(value)?,
                "most-findings" => config.most = count(value)?,
                other => return Err((key.span().start, unknown(other))),
            }
        }
    }
    Ok(config)
}

/// What is said of a key that nothing reads.
fn unknown(key: &str) -> String {
    if KEYS.contains(&key) {
        return format!("`{key}` belongs under `[{TABLE}]`");
    }
    match nearest(key, KEYS.into_iter().chain([TABLE])) {
        Some(TABLE) => format!("nothing reads a table `{key}`; was `[{TABLE}]` meant?"),
        Some(near) => format!("nothing reads a key `{key}`; was `{near}` meant?"),
        None => format!(
            "nothing reads `{key}`; under `[{TABLE}]` stand {}",
            KEYS.map(|key| format!("`{key}`")).join(", ")
        ),
    }
}

fn word<'v>(value: &'v Spanned<DeValue<'_>>, wanted: &str) -> Result<&'v str, Slip> {
    match value.get_ref() {
        DeValue::String(word) => Ok(word),
        _ => Err((value.span().start, wanted.to_owned())),
    }
}

fn severity(value: &Spanned<DeValue<'_>>) -> Result<Severity, Slip> {
    let wanted = "`deny` is \"errors\", \"warnings\" or \"notes\"";
    match word(value, wanted)? {
        "errors" => Ok(Severity::Error),
        "warnings" => Ok(Severity::Warning),
        "notes" => Ok(Severity::Note),
        _ => Err((value.span().start, wanted.to_owned())),
    }
}

fn count(value: &Spanned<DeValue<'_>>) -> Result<usize, Slip> {
    let number = match value.get_ref() {
        DeValue::Integer(number) => usize::from_str_radix(number.as_str(), number.radix()).ok(),
        _ => None,
    };
    number.ok_or_else(|| (value.span().start, "`most-findings` is a whole number; 0 shows all".to_owned()))
}

/// `"16 MB"`; kB and MB are powers of 1024.
fn bytes(value: &Spanned<DeValue<'_>>) -> Result<u64, Slip> {
    let wanted = "`largest-file` is a size with its unit: \"16 MB\", \"800 kB\"";
    let slip = |words: &str| (value.span().start, words.to_owned());
    let text = word(value, wanted)?;
    let digits = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    let number: u64 = text[..digits].parse().map_err(|_| slip(wanted))?;
    let shift = match text[digits..].trim() {
        "kB" => 10,
        "MB" => 20,
        "GB" => 30,
        _ => return Err(slip(wanted)),
    };
    match number.checked_mul(1 << shift) {
        Some(bytes @ 1..=LARGEST_OF_ALL) => Ok(bytes),
        _ => Err(slip("`largest-file` is at least 1 kB and at most 1 GB")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn error(text: &str) -> String {
        Config::parse(text).unwrap_err().in_file(Path::new("halfsplit.toml"))
    }

    #[test]
    fn an_empty_text_changes_nothing() {
        assert_eq!(Config::parse("# our cars\n"), Ok(Config::default()));
        let said = "[check]\nlargest-file = \"2 MB\"\ndeny = \"warnings\"\nmost-findings = 0\n";
        assert_eq!(Config::parse(said), Ok(Config { largest: 2 << 20, deny: Severity::Warning, most: 0 }));
    }

    #[test]
    fn what_nothing_reads_is_an_error_with_place_and_likely_word() {
        insta::assert_snapshot!(error("[check]\nlargest-fiel = \"2 MB\"\n"), @"halfsplit.toml:2:1: nothing reads a key `largest-fiel`; was `largest-file` meant?");
        insta::assert_snapshot!(error("# °\n[chekc]\n"), @"halfsplit.toml:2:2: nothing reads a table `chekc`; was `[check]` meant?");
        insta::assert_snapshot!(error("deny = \"warnings\"\n"), @"halfsplit.toml:1:1: `deny` belongs under `[check]`");
        insta::assert_snapshot!(error("[check]\ncolour = 3\n"), @"halfsplit.toml:2:1: nothing reads `colour`; under `[check]` stand `largest-file`, `deny`, `most-findings`");
    }

    #[test]
    fn values_that_cannot_be_are_named() {
        insta::assert_snapshot!(error("[check]\n  deny = \"wornings\"\n"), @r#"halfsplit.toml:2:10: `deny` is "errors", "warnings" or "notes""#);
        insta::assert_snapshot!(error("[check]\nlargest-file = \"16\"\n"), @r#"halfsplit.toml:2:16: `largest-file` is a size with its unit: "16 MB", "800 kB""#);
        insta::assert_snapshot!(error("[check]\nlargest-file = \"2 GB\"\n"), @"halfsplit.toml:2:16: `largest-file` is at least 1 kB and at most 1 GB");
        insta::assert_snapshot!(error("[check]\nmost-findings = -1\n"), @"halfsplit.toml:2:17: `most-findings` is a whole number; 0 shows all");
        insta::assert_snapshot!(error("check = 1\n"), @"halfsplit.toml:1:9: `check` is a table: write `[check]` on a line of its own");
        assert!(
            error("[check\n").starts_with("halfsplit.toml:1:7: this is no TOML: "),
            "{}",
            error("[check\n")
        );
    }
}
