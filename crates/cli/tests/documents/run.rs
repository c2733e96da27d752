//! What a block must do, and whether it does.

use std::{
    fmt, fs,
    path::{Path, PathBuf},
    process::{Command, Output},
};

use halfsplit_syntax::{parse, shape};
use serde_json::Value;

use crate::blocks::{Block, blocks, replaced};

/// How many blocks there were.
#[derive(Default)]
pub struct Counts {
    pub circuits: usize,
    pub parts: usize,
    pub slips: usize,
    pub commands: usize,
    pub outputs: usize,
    /// Blocks that are not run, and why.
    pub not_run: Vec<String>,
}

impl fmt::Display for Counts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Counts { circuits, parts, slips, commands, outputs, not_run } = self;
        write!(
            f,
            "{circuits} circuits clean, {slips} with the slip they show, {parts} parts read, \
             {commands} commands run, {outputs} outputs compared, {} blocks not run",
            not_run.len(),
        )?;
        not_run.iter().try_for_each(|why| write!(f, "\n  {why}"))
    }
}

/// What came of a document.
pub struct Done {
    /// What is wrong, each with its line.
    pub wrong: Vec<String>,
    /// The document with its outputs written anew, where that is asked for and they differ.
    pub anew: Option<String>,
}

/// Verifies every block of a document.
pub fn verify(name: &str, markdown: &str, counts: &mut Counts) -> Done {
    let blocks = match blocks(markdown) {
        Ok(blocks) => blocks,
        Err(error) => return Done { wrong: vec![error], anew: None },
    };
    let borrowed = match borrowed(name, markdown) {
        Ok(files) => files,
        Err(error) => return Done { wrong: vec![error], anew: None },
    };
    let saves = !borrowed.is_empty() || blocks.iter().any(|block| file_name(block).is_some());
    let root = crate::root();
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("documents").join(name.replace(['/', '.'], "-"));
    let mut document = Document { name, folder, commands_in: root, whole: None, printed: None, counts };
    let _ = fs::remove_dir_all(&document.folder);
    fs::create_dir_all(&document.folder).unwrap();
    fs::write(document.folder.join("halfsplit.toml"), "").unwrap();
    for (file, text) in &borrowed {
        save(&document.folder.join(file), text).unwrap();
    }
    if saves {
        document.commands_in.clone_from(&document.folder);
    }
    let mut done = Done { wrong: Vec::new(), anew: None };
    // From the last to the first, so that the places of those before it stay.
    let mut updates: Vec<(&Block, String)> = Vec::new();
    for block in &blocks {
        match document.block(block) {
            Ok(()) => {}
            Err(Wrong::Stale(now)) if std::env::var_os("UPDATE_DOCUMENTS").is_some() => {
                updates.push((block, now));
            }
            Err(Wrong::Stale(now)) => {
                done.wrong.push(format!("{}: the text is not what the program prints:\n{now}", block.line));
            }
            Err(Wrong::Said(wrong)) => done.wrong.push(format!("{}: {wrong}", block.line)),
        }
    }
    if !updates.is_empty() {
        let all = updates.iter().rev();
        done.anew = Some(all.fold(markdown.to_owned(), |text, (block, now)| replaced(&text, block, now)));
    }
    done
}

/// The files that another document of the same folder saves, where one says `<!-- files of NAME.md -->`.
fn borrowed(name: &str, markdown: &str) -> Result<Vec<(String, String)>, String> {
    let mut files = Vec::new();
    for (number, line) in (1..).zip(markdown.lines()) {
        let Some(other) = line.trim().strip_prefix("<!-- files of ").and_then(|l| l.strip_suffix(" -->"))
        else {
            continue;
        };
        let path = crate::root().join(name).with_file_name(other);
        let text = fs::read_to_string(&path).map_err(|error| format!("{number}: {other}: {error}"))?;
        for block in blocks(&text)? {
            if let Some(file) = file_name(&block) {
                files.push((file.to_owned(), block.text.clone()));
            }
        }
    }
    Ok(files)
}

/// Writes a file, and the folders that it needs.
fn save(path: &Path, text: &str) -> std::io::Result<()> {
    path.parent().map_or(Ok(()), fs::create_dir_all)?;
    fs::write(path, text)
}

/// Why a block is wrong.
enum Wrong {
    Said(String),
    /// An output that is written out whole; what the program prints now.
    Stale(String),
}

impl From<String> for Wrong {
    fn from(said: String) -> Self {
        Self::Said(said)
    }
}

impl From<&str> for Wrong {
    fn from(said: &str) -> Self {
        Self::Said(said.to_owned())
    }
}

/// A file's name, where a block names one.
fn file_name(block: &Block) -> Option<&str> {
    block.info.split_whitespace().next().filter(|word| word.contains('.') && !word.ends_with(['.', ':']))
}

struct Document<'a> {
    name: &'a str,
    /// Where its files are saved.
    folder: PathBuf,
    commands_in: PathBuf,
    /// Its last whole file: name and text.
    whole: Option<(String, String)>,
    /// What was printed last, until a block comes between.
    printed: Option<String>,
    counts: &'a mut Counts,
}

impl Document<'_> {
    fn block(&mut self, block: &Block) -> Result<(), Wrong> {
        let printed = self.printed.take();
        let words = block.words();
        match (block.language.as_str(), words.first().copied()) {
            ("", _) => Err("the block says no language".into()),
            (_, Some("not-run:")) => {
                let why = block.info["not-run:".len()..].trim();
                if why.is_empty() {
                    return Err("say why it is not run".into());
                }
                self.counts.not_run.push(format!("{}:{}: {why}", self.name, block.line));
                Ok(())
            }
            ("circuit" | "case", _) => self.circuit(block),
            ("sh", None) => self.commands(block, 0),
            ("sh", Some("fails")) => self.commands(block, 1),
            ("text", Some("drawing")) => Ok(()),
            ("text", None) => {
                let printed =
                    printed.ok_or("a `text` has no output before it; a drawing is a `text drawing`")?;
                self.printed = Some(printed.clone());
                self.counts.outputs += 1;
                compare(&block.text, &printed)
            }
            (language, _) => match file_name(block) {
                Some(name) if language != "sh" && language != "text" => {
                    save(&self.folder.join(name), &block.text).map_err(|error| error.to_string())?;
                    Ok(())
                }
                _ => Err(format!(
                    "nothing is known of a block `{language}` with `{}`; see this test's head",
                    block.info
                )
                .into()),
            },
        }
    }

    fn circuit(&mut self, block: &Block) -> Result<(), Wrong> {
        let mut words = block.words();
        let as_typed = words.contains(&"as-typed");
        words.retain(|word| *word != "as-typed");
        let finds: Vec<&str> = match words.iter().position(|word| *word == "finds") {
            Some(at) => words.split_off(at).split_off(1),
            None => Vec::new(),
        };
        let unknown = || format!("nothing is known of `{}`; see this test's head", block.info);
        match words[..] {
            [] => {
                self.whole = Some((format!("whole.{}", block.language), block.text.clone()));
            }
            ["part"] => {
                self.counts.parts += 1;
                return part(shape::TOP, &block.text, as_typed);
            }
            ["in", keyword] => {
                self.counts.parts += 1;
                return part(keyword, &block.text, as_typed);
            }
            ["change" | "add" | "delete"] => {
                let (name, text) = self.whole.clone().ok_or("there is no whole file before it")?;
                let edited = edited(words[0], &text, &block.text)?;
                let said = self.check(&name, &edited, &finds, as_typed || !finds.is_empty());
                // What is shown is a try; the file stays.
                fs::write(self.folder.join(&name), text).map_err(|error| error.to_string())?;
                return said;
            }
            [name] if file_name(block) == Some(name) => {
                self.whole = Some((name.to_owned(), block.text.clone()));
            }
            _ => return Err(unknown().into()),
        }
        let (name, text) = self.whole.clone().ok_or_else(unknown)?;
        self.check(&name, &text, &finds, as_typed || !finds.is_empty())
    }

    /// Holds a whole file against the rules that it must give.
    fn check(&mut self, name: &str, text: &str, finds: &[&str], as_typed: bool) -> Result<(), Wrong> {
        save(&self.folder.join(name), text).map_err(|error| error.to_string())?;
        let ask = |words: &[&str]| halfsplit(&self.folder, words);
        let json: Value = serde_json::from_slice(&ask(&["check", name, "--format", "json"]).stdout)
            .map_err(|error| format!("`halfsplit check` did not answer: {error}"))?;
        let list = json["findings"].as_array().cloned().unwrap_or_default();
        let mut found: Vec<&str> = list.iter().filter_map(|finding| finding["rule"].as_str()).collect();
        found.sort_unstable();
        found.dedup();
        let mut wanted = finds.to_vec();
        wanted.sort_unstable();
        let printed = stdout(&ask(&["check", name]));
        if found != wanted {
            return Err(
                format!("finds [{}], expected [{}]:\n{printed}", found.join(" "), finds.join(" ")).into()
            );
        }
        self.printed = Some(printed);
        if finds.is_empty() {
            self.counts.circuits += 1;
        } else {
            self.counts.slips += 1;
        }
        let tidy = ask(&["fmt", "--diff", name]);
        if !as_typed && !tidy.status.success() {
            return Err(format!("is not laid out:\n{}", stdout(&tidy)).into());
        }
        Ok(())
    }

    fn commands(&mut self, block: &Block, wanted: i32) -> Result<(), Wrong> {
        let mut printed = String::new();
        for line in block.text.replace("\\\n", " ").lines().map(str::trim) {
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let words = words(line).ok_or_else(|| format!("a quotation mark is not closed: {line}"))?;
            let words: Vec<&str> = words.iter().map(String::as_str).collect();
            let ours = match &words[..] {
                ["halfsplit", rest @ ..]
                | ["cargo", "run", "--release", "--bin", "halfsplit", "--", rest @ ..] => rest,
                _ => {
                    return Err(format!("only `halfsplit` is run; mark others `not-run: WHY`: {line}").into());
                }
            };
            let out = halfsplit(&self.commands_in, ours);
            self.counts.commands += 1;
            let code = out.status.code();
            if code != Some(wanted) {
                let (code, said) = (code.unwrap_or(-1), String::from_utf8_lossy(&out.stderr).into_owned());
                return Err(format!("`{line}` ends with exit code {code}:\n{}{said}", stdout(&out)).into());
            }
            printed += &stdout(&out);
        }
        self.printed = Some(printed);
        Ok(())
    }
}

fn halfsplit(folder: &Path, words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(words)
        .current_dir(folder)
        .env("COLUMNS", "100")
        .env("NO_COLOR", "1")
        .output()
        .unwrap()
}

fn stdout(out: &Output) -> String {
    String::from_utf8_lossy(&out.stdout).into_owned()
}

/// The words of a command line; text in quotation marks is one word.
fn words(line: &str) -> Option<Vec<String>> {
    let mut words = Vec::new();
    let mut word: Option<String> = None;
    let mut quote = None;
    for letter in line.chars() {
        match quote {
            Some(mark) if letter == mark => quote = None,
            Some(_) => word.get_or_insert_default().push(letter),
            None if letter == '"' || letter == '\'' => {
                quote = Some(letter);
                word.get_or_insert_default();
            }
            None if letter.is_whitespace() => words.extend(word.take()),
            None => word.get_or_insert_default().push(letter),
        }
    }
    words.extend(word);
    quote.is_none().then_some(words)
}

/// Holds an output against what is written; a line `…` stands for any lines.
fn compare(written: &str, printed: &str) -> Result<(), Wrong> {
    let lines =
        |text: &str| -> Vec<String> { text.trim_end().lines().map(|l| l.trim_end().to_owned()).collect() };
    let (written, printed) = (lines(written), lines(printed));
    if matches(&written, &printed) {
        return Ok(());
    }
    let now = printed.join("\n") + "\n";
    if written.iter().any(|line| line == "…") {
        return Err(format!("the lines are not among those that the program prints:\n{now}").into());
    }
    Err(Wrong::Stale(now))
}

fn matches(written: &[String], printed: &[String]) -> bool {
    match written.split_first() {
        None => printed.is_empty(),
        Some((line, rest)) if line == "…" => {
            (0..=printed.len()).any(|from| matches(rest, &printed[from..]))
        }
        Some((line, rest)) => printed.first() == Some(line) && matches(rest, &printed[1..]),
    }
}

/// A whole file with lines changed, added or deleted.
fn edited(how: &str, text: &str, lines: &str) -> Result<String, String> {
    let mut all: Vec<&str> = text.lines().collect();
    match how {
        "add" => all.extend(lines.lines()),
        "delete" => {
            // Lines that stand in the file like this, one below the other.
            let gone: Vec<&str> = lines.lines().map(str::trim).collect();
            let stand = |from: &usize| {
                all.iter().skip(*from).take(gone.len()).map(|line| line.trim()).eq(gone.iter().copied())
            };
            let places: Vec<usize> = (0..all.len()).filter(stand).collect();
            let [from] = places[..] else {
                return Err(format!("the lines stand {} times in the file", places.len()));
            };
            all.drain(from..from + gone.len());
        }
        _ => {
            for line in lines.lines().filter(|line| !line.trim().is_empty()) {
                let place = alike(&all, line);
                let place = place
                    .ok_or_else(|| format!("no line of the file, or several, open like `{}`", line.trim()))?;
                all[place] = line;
            }
        }
    }
    Ok(all.into_iter().map(|line| format!("{line}\n")).collect())
}

/// The one line that opens with most of the same words; of several, the one with as many words.
fn alike(all: &[&str], line: &str) -> Option<usize> {
    let words = |line: &str| -> Vec<String> { line.split_whitespace().map(str::to_owned).collect() };
    let wanted = words(line);
    let score = |other: &str| {
        let other = words(other);
        let same = other.iter().zip(&wanted).take_while(|(one, two)| one == two).count();
        (same, same > 0 && other.len() == wanted.len())
    };
    let best = all.iter().map(|other| score(other)).max().filter(|(same, _)| *same > 0)?;
    let mut places = all.iter().enumerate().filter(|(_, other)| score(other) == best).map(|(place, _)| place);
    let place = places.next()?;
    places.next().is_none().then_some(place)
}

/// Holds lines that may stand in a place against the parser and the layout.
fn part(place: &str, text: &str, as_typed: bool) -> Result<(), Wrong> {
    let holders = holders(place).ok_or_else(|| format!("no statement is called `{place}`"))?;
    let depth = holders.len();
    let headed = text.starts_with("halfsplit ");
    let mut whole = String::from(if headed { "" } else { "halfsplit 1\n" });
    for (deep, holder) in holders.iter().enumerate() {
        whole += &format!("{}{holder} {{\n", "  ".repeat(deep));
    }
    let before = whole.lines().count();
    for line in text.lines() {
        let line = format!("{}{line}", "  ".repeat(depth));
        whole += line.trim_end();
        whole.push('\n');
    }
    for deep in (0..depth).rev() {
        whole += &format!("{}}}\n", "  ".repeat(deep));
    }
    let said: Vec<String> = parse(whole.as_str())
        .errors
        .iter()
        .map(|error| format!("{}: {}", error.rule, error.message))
        .collect();
    if !said.is_empty() {
        return Err(said.join("\n").into());
    }
    let tidy = halfsplit_format::format(&whole).map_err(|error| error.to_string())?;
    let count = text.lines().count();
    let inside =
        |text: &str| -> Vec<String> { text.lines().skip(before).take(count).map(str::to_owned).collect() };
    if !as_typed && inside(&tidy) != inside(&whole) {
        return Err(format!("is not laid out; that would be:\n{}", inside(&tidy).join("\n")).into());
    }
    Ok(())
}

/// The lines of the blocks in which a statement's block stands, the outermost first.
fn holders(keyword: &str) -> Option<Vec<&'static str>> {
    if keyword == shape::TOP {
        return Some(Vec::new());
    }
    let shape = shape::all().iter().find(|shape| shape.keyword == keyword && !shape.inside().is_empty())?;
    let outer = if shape.allowed_in(shape::TOP) { shape::TOP } else { shape.places().next()? };
    let mut all = holders(outer)?;
    all.push(shape.entry.example);
    Some(all)
}
