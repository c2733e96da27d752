//! One side of a comparison: a file, a folder, or either in a revision of git.

use std::{
    collections::BTreeMap,
    env, fs,
    io::Write as _,
    path::{Path, PathBuf},
    process::{Command, Stdio},
    sync::atomic::{AtomicUsize, Ordering},
};

use halfsplit_base::disk;

use crate::{Failure, circuits};

/// Files by the names under which they are compared.
pub struct Tree {
    /// As the person wrote it.
    written: String,
    files: BTreeMap<String, PathBuf>,
    is_one_file: bool,
    /// Where the files of a revision lie meanwhile.
    _copy: Option<Copy>,
}

/// A folder that goes when this goes.
struct Copy(PathBuf);

impl Drop for Copy {
    fn drop(&mut self) {
        // What stays behind is a copy in the system's own folder for such things.
        let _ = fs::remove_dir_all(&self.0);
    }
}

impl Tree {
    /// Finds the files.
    ///
    /// # Errors
    /// If there is no such file, folder or revision, or no circuit in it.
    pub fn open(written: &str) -> Result<Tree, Failure> {
        let path = Path::new(written);
        match written.split_once(':') {
            Some((revision, inside)) if !path.exists() => {
                let copy = Copy::new()?;
                let place = check_out(revision, inside, &copy.0)?;
                Tree::of(written, &place, Some(copy))
            }
            _ => Tree::of(written, path, None),
        }
    }

    fn of(written: &str, place: &Path, copy: Option<Copy>) -> Result<Tree, Failure> {
        let is_folder = place.is_dir();
        let place = place.to_path_buf();
        let walk = circuits::circuits(std::slice::from_ref(&place)).map_err(|error| match copy {
            // Where the copy lies is nobody's business.
            Some(_) => format!("{written}: there is no circuit in this revision").into(),
            None => error,
        })?;
        if let Some(words) = walk.unread.first() {
            return Err(words.clone().into());
        }
        let name = |path: &PathBuf| match is_folder {
            true => path.strip_prefix(&place).unwrap_or(path).display().to_string(),
            false => place.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default(),
        };
        let files = walk.files.into_iter().map(|path| (name(&path), path)).collect();
        Ok(Tree { written: written.to_owned(), files, is_one_file: !is_folder, _copy: copy })
    }

    pub fn is_one_file(&self) -> bool {
        self.is_one_file
    }

    /// The name of the file, where it is one.
    pub fn one_file(&self) -> Option<&str> {
        self.names().next().filter(|_| self.is_one_file)
    }

    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.files.keys().map(String::as_str)
    }

    pub fn has(&self, name: &str) -> bool {
        self.files.contains_key(name)
    }

    /// Where a file lies.
    pub fn place(&self, name: &str) -> PathBuf {
        self.files.get(name).cloned().unwrap_or_default()
    }

    /// What to call a file.
    pub fn shown(&self, name: &str) -> String {
        if self.is_one_file { self.written.clone() } else { name.to_owned() }
    }

    /// A file's text.
    pub fn read(&self, name: &str) -> Result<String, Failure> {
        Ok(disk::read(&self.place(name))?)
    }
}

impl Copy {
    fn new() -> Result<Copy, Failure> {
        static COUNT: AtomicUsize = AtomicUsize::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let folder = env::temp_dir().join(format!("halfsplit-diff-{}-{count}", std::process::id()));
        fs::create_dir(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
        Ok(Copy(folder))
    }
}

/// Writes the circuits of a revision into a folder, through an index of its own: what is staged stays as it is. Gives where
/// in it the asked file or folder lies.
fn check_out(revision: &str, inside: &str, folder: &Path) -> Result<PathBuf, Failure> {
    let here = Path::new(".");
    let top = git(here, None, &["rev-parse", "--show-toplevel"], b"")
        .map_err(|why| format!("{revision}:{inside}: no such file, and no revision: {why}"))?;
    let top = PathBuf::from(top.trim_end_matches('\n'));
    let prefix = git(here, None, &["rev-parse", "--show-prefix"], b"")?;
    let named = format!("{revision}^{{tree}}");
    let tree = git(here, None, &["rev-parse", "--verify", "--quiet", "--end-of-options", &named], b"");
    let tree = tree.map_err(|_| format!("{revision}:{inside}: git knows no revision `{revision}`"))?;
    let tree = tree.lines().last().unwrap_or_default().to_owned();

    let (index, out) = (folder.join("index"), folder.join("tree"));
    git(&top, Some(&index), &["read-tree", &tree], b"")?;
    let all = git(&top, Some(&index), &["ls-files", "-z"], b"")?;
    let wanted = |name: &&str| {
        let path = Path::new(name);
        circuits::is_circuit(path) || path.file_name().is_some_and(|name| name == disk::ROOT_MARK)
    };
    let names: String = all.split('\0').filter(wanted).map(|name| format!("{name}\0")).collect();
    let prefix_out = format!("--prefix={}/", out.display());
    git(&top, Some(&index), &["checkout-index", "-z", "--stdin", &prefix_out], names.as_bytes())?;

    // As git reads it: from the top of the repository, or from here where it begins with a dot.
    let path = match inside.starts_with('.') {
        true => Path::new(prefix.trim_end_matches('\n')).join(inside),
        false => PathBuf::from(inside),
    };
    let mut place = out;
    for part in path.components() {
        match part {
            std::path::Component::Normal(name) => place.push(name),
            std::path::Component::ParentDir => drop(place.pop()),
            _ => {}
        }
    }
    if !place.starts_with(folder.join("tree")) || !place.exists() {
        return Err(format!("{revision}:{inside}: there is no circuit in this revision").into());
    }
    Ok(place)
}

/// Runs git, and gives what it prints.
fn git(folder: &Path, index: Option<&Path>, arguments: &[&str], input: &[u8]) -> Result<String, Failure> {
    let mut command = Command::new("git");
    command.current_dir(folder).args(arguments);
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    if let Some(index) = index {
        command.env("GIT_INDEX_FILE", index);
    }
    let mut child = command.spawn().map_err(|error| format!("git: {error}"))?;
    if let Some(mut stdin) = child.stdin.take() {
        // One that does not read its input has another complaint, which it prints.
        let _ = stdin.write_all(input);
    }
    let out = child.wait_with_output()?;
    match out.status.success() {
        true => Ok(String::from_utf8_lossy(&out.stdout).into_owned()),
        false => Err(format!("git: {}", String::from_utf8_lossy(&out.stderr).trim()).into()),
    }
}
