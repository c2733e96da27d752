//! Every question that an editor can ask, one line each.

use std::path::PathBuf;

use halfsplit_base::{Edit, FileId, Span};

use crate::{
    Action, Analysis, Class, Completions, FilePosition, Fold, Highlight, Hint, Hover, Lens, Link, NewFile,
    Signature, Stop, Swatch, Symbol, Target, Token,
};
use crate::{
    actions, colours, completion, definition, folding, hierarchy, highlight, hover, inlay, layout, lens,
    linked, links, moved, plan, references, rename, selection, signature, symbols, tokens,
};

impl Analysis {
    /// What is known about the word at a place.
    pub fn hover(&self, at: FilePosition) -> Option<Hover> {
        hover::hover(self, self.scene(at.file)?, at.offset)
    }

    /// Where the name at a place is declared.
    pub fn definition(&self, at: FilePosition) -> Option<Target> {
        definition::definition(self.scene(at.file)?, at.offset)
    }

    /// The kind of the part or connector at a place.
    pub fn type_definition(&self, at: FilePosition) -> Option<Target> {
        definition::type_definition(self.scene(at.file)?, at.offset)
    }

    /// Every part of the kind at a place; every wire at the splice, bar or ground point there.
    pub fn implementations(&self, at: FilePosition) -> Vec<Target> {
        self.scene(at.file).map(|scene| definition::implementations(scene, at.offset)).unwrap_or_default()
    }

    /// Every place that names what is named at a place, its declaration included if wanted.
    pub fn references(&self, at: FilePosition, declaration: bool) -> Vec<Target> {
        references::references(self, at, declaration)
    }

    /// The whole net of what is at a place, every token of it in the same file.
    pub fn highlights(&self, at: FilePosition) -> Vec<Highlight> {
        self.scene(at.file).map(|scene| highlight::highlights(scene, at.offset)).unwrap_or_default()
    }

    /// The name at a place, if it may be changed.
    ///
    /// # Errors
    /// In plain words, when it may not.
    pub fn rename_range(&self, at: FilePosition) -> Result<(Span, String), String> {
        rename::prepare(self, at)
    }

    /// The changes that give what is at a place another name.
    ///
    /// # Errors
    /// In plain words, when the name is none or is taken.
    pub fn rename(&self, at: FilePosition, new: &str) -> Result<Vec<Edit>, String> {
        rename::rename(self, at, new)
    }

    /// The outline of a file.
    pub fn symbols(&self, file: FileId) -> Vec<Symbol> {
        // It needs the text only, so it waits for no circuit.
        let known = self.known().any(|known| known == file).then(|| self.files().get(file).parse());
        known.map(|parse| symbols::symbols(&parse.tree, &parse.facts)).unwrap_or_default()
    }

    /// What may be written at a place.
    pub fn completions(&self, at: FilePosition) -> Option<Completions> {
        completion::completions(self, self.scene(at.file)?, at.offset)
    }

    /// What is known of an offer, in Markdown.
    pub fn completion_page(&self, file: FileId, label: &str) -> Option<String> {
        hover::of_word(self.scene(file)?, label)
    }

    /// The pattern of the line at a place.
    pub fn signature(&self, at: FilePosition) -> Option<Signature> {
        signature::signature(self.scene(at.file)?, at.offset)
    }

    /// What every word of a range is.
    pub fn tokens(&self, file: FileId, range: Span) -> Vec<Token> {
        self.scene(file).map(|scene| tokens::tokens(scene, range)).unwrap_or_default()
    }

    /// What is computed beside what is written.
    pub fn hints(&self, file: FileId, range: Span) -> Vec<Hint> {
        self.scene(file).map(|scene| inlay::hints(scene, range)).unwrap_or_default()
    }

    /// What is said above lines.
    pub fn lenses(&self, file: FileId) -> Vec<Lens> {
        self.scene(file).map(lens::lenses).unwrap_or_default()
    }

    /// What can be folded away.
    pub fn folds(&self, file: FileId) -> Vec<Fold> {
        self.scene(file).map(folding::folds).unwrap_or_default()
    }

    /// What a growing selection takes in, smallest first.
    pub fn selections(&self, at: FilePosition) -> Vec<Span> {
        self.scene(at.file).map(|scene| selection::selections(scene, at.offset)).unwrap_or_default()
    }

    /// Wire colours as swatches.
    pub fn swatches(&self, file: FileId) -> Vec<Swatch> {
        self.scene(file).map(colours::swatches).unwrap_or_default()
    }

    /// The files that a text names.
    pub fn links(&self, file: FileId) -> Vec<Link> {
        self.scene(file).map(links::links).unwrap_or_default()
    }

    /// The changes that lay a file out, or those that touch a range of it.
    ///
    /// # Errors
    /// In plain words, when the text cannot be laid out.
    pub fn layout(&self, file: FileId, range: Option<Span>) -> Result<Vec<Edit>, String> {
        self.scene(file).map_or(Ok(Vec::new()), |scene| layout::layout(scene, range))
    }

    /// The changes when a line or block was ended at a place.
    ///
    /// # Errors
    /// In plain words, when the text cannot be laid out.
    pub fn layout_ended(&self, at: FilePosition) -> Result<Vec<Edit>, String> {
        self.scene(at.file).map_or(Ok(Vec::new()), |scene| layout::ended(scene, at.offset))
    }

    /// The pin at a place, as the start of a way.
    pub fn hierarchy_start(&self, at: FilePosition) -> Option<Stop> {
        hierarchy::start(self.scene(at.file)?, at.offset)
    }

    /// The next stop from a pin: towards the battery (`up`), or towards its negative post.
    pub fn hierarchy_next(&self, file: FileId, pin: &str, up: bool) -> Vec<Stop> {
        self.scene(file).map(|scene| hierarchy::next(scene, pin, up)).unwrap_or_default()
    }

    /// Places that change together while a name is typed over.
    pub fn linked(&self, at: FilePosition) -> Option<Vec<Span>> {
        linked::linked(self, at)
    }

    /// The changes when files or folders move, each from a path to another.
    pub fn moved(&self, moves: &[(PathBuf, PathBuf)]) -> Vec<Edit> {
        moved::moved(self, moves)
    }

    /// What can be done about a stretch of a file.
    pub fn actions(&self, file: FileId, range: Span) -> Vec<Action> {
        self.scene(file).map(|scene| actions::actions(self, scene, range)).unwrap_or_default()
    }

    /// The isolation plan of a pin that reads so, as a file beside the circuit. Stops soon after `cancelled` says so.
    ///
    /// # Errors
    /// In plain words, when there is nothing to plan.
    pub fn plan(
        &self,
        file: FileId,
        pin: &str,
        reading: Class,
        cancelled: &dyn Fn() -> bool,
    ) -> Result<NewFile, String> {
        let scene = self.scene(file).ok_or("the circuit is no longer there")?;
        plan::plan(&self.files().get(file).path, scene, pin, reading, cancelled)
    }
}
