//! The files that a circuit is made of, found before any of them is lowered.

use std::{collections::BTreeSet, path::Path, sync::Arc};

use halfsplit_base::{File, FileId, Files, Refused, Use};

use halfsplit_syntax::Fact;

use super::Lowering;
use crate::{Place, Problem, ProblemKind, library, std_library};

/// The texts that are lowered together, and what was wrong with bringing them together.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sources {
    /// The root file, the overlays of one car, then the files used, each once.
    pub(crate) texts: Vec<(FileId, Arc<File>)>,
    /// How many of them are not there by `use`.
    pub(crate) own: usize,
    pub(crate) problems: Vec<Problem>,
    /// Every `use` line that leads somewhere: where it stands, the file as written, the file.
    pub(crate) uses: Vec<(Place, String, FileId)>,
}

impl Sources {
    /// The files of a circuit, as far as they are in `files`.
    pub(crate) fn of(files: &Files, own: &[FileId]) -> Sources {
        let mut sources = Sources { own: own.len(), ..Sources::default() };
        sources.texts.extend(own.iter().map(|&file| (file, Arc::clone(files.get(file)))));
        for &file in own {
            let mut walk = Walk {
                files,
                root: files.root(file),
                chain: vec![(file, shown(files.root(file), &files.get(file).path))],
                done: sources.texts.iter().map(|(file, _)| *file).collect(),
                sources: &mut sources,
            };
            walk.file(file);
        }
        sources
    }
}

impl Lowering {
    /// Notes the root file's `use` lines of which nothing is used. What only declares kinds serves where one
    /// of them is named; parts are always there.
    pub(super) fn unused(
        &mut self,
        sources: &Sources,
        parsed: &[(FileId, Vec<Fact>)],
        mut useful: BTreeSet<FileId>,
    ) {
        useful.extend(parsed.iter().filter(|(_, facts)| facts.iter().any(joins)).map(|(file, _)| *file));
        // A file that uses a useful one is so itself.
        loop {
            let before = useful.len();
            let over = sources.uses.iter().filter(|(_, _, used)| useful.contains(used));
            let over: Vec<FileId> = over.map(|(place, ..)| place.file).collect();
            useful.extend(over);
            if useful.len() == before {
                break;
            }
        }
        for (place, written, used) in &sources.uses {
            if place.file == self.file && !useful.contains(used) {
                self.problem(*place, ProblemKind::UnusedUse { written: written.clone() });
            }
        }
    }
}

/// Whether a statement joins the circuit of whoever uses its file.
fn joins(fact: &Fact) -> bool {
    !matches!(fact.keyword(), "halfsplit" | "use" | "library" | "kind" | "source" | "traced" | "allow")
}

struct Walk<'f> {
    files: &'f Files,
    root: &'f Path,
    /// From the root file to the one at hand.
    chain: Vec<(FileId, String)>,
    done: BTreeSet<FileId>,
    sources: &'f mut Sources,
}

impl Walk<'_> {
    fn file(&mut self, file: FileId) {
        for used in self.files.get(file).uses().iter().filter(|used| !used.by_case) {
            let place = Place { file, span: used.span };
            match self.find(used) {
                Ok(id) => self.used(id, used.clone(), place),
                Err(kind) => self.problem(place, kind),
            }
        }
    }

    fn used(&mut self, id: FileId, used: Use, place: Place) {
        if let Some(at) = self.chain.iter().position(|(file, _)| *file == id) {
            let chain = self.chain.get(at..).unwrap_or(&[]).iter().map(|(_, name)| name.clone());
            let kind = ProblemKind::UseCycle { chain: chain.chain([used.written]).collect() };
            return self.problem(place, kind);
        }
        let file = self.files.get(id);
        if let Some(title) = file.parse().facts.iter().find(|fact| fact.keyword() == "circuit") {
            let title = Place { file: id, span: title.span };
            return self.problem(place, ProblemKind::UseOfCircuit { written: used.written, title });
        }
        self.sources.uses.push((place, used.written.clone(), id));
        if self.done.insert(id) {
            self.sources.texts.push((id, Arc::clone(file)));
            self.chain.push((id, used.written));
            self.file(id);
            self.chain.pop();
        }
    }

    fn find(&self, used: &Use) -> Result<FileId, ProblemKind> {
        let path = library::place(self.root, used)
            .map_err(|why| ProblemKind::UseOutside { written: used.written.clone(), why })?;
        if let Some(id) = self.files.id(&path) {
            return Ok(id);
        }
        let written = used.written.clone();
        Err(match used.std {
            true => ProblemKind::NoSuchStd { written, known: std_library::names().collect() },
            false => ProblemKind::UseNotFound {
                written,
                root: self.root.display().to_string(),
                why: self.files.refused(&path).cloned().unwrap_or(Refused::Missing),
            },
        })
    }

    fn problem(&mut self, place: Place, kind: ProblemKind) {
        self.sources.problems.push(Problem { place, kind });
    }
}

/// A path from the library's root.
fn shown(root: &Path, path: &Path) -> String {
    path.strip_prefix(root).unwrap_or(path).display().to_string()
}
