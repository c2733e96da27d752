//! The shapes of the answers.

use std::path::PathBuf;

use halfsplit_base::{Edit, FileId, Finding, Span};

use crate::Class;

/// A place in a file, as a byte offset.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct FilePosition {
    /// The file.
    pub file: FileId,
    /// Bytes before the place.
    pub offset: u32,
}

/// What is shown where the pointer rests.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Hover {
    /// The words it is about.
    pub span: Span,
    /// Markdown.
    pub markdown: String,
}

/// A place to go to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Target {
    /// The file.
    pub file: FileId,
    /// The name there.
    pub span: Span,
}

/// One line of a file's outline.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Symbol {
    /// The name, `X34`.
    pub name: String,
    /// What it is, `sensor "A/C pressure"`.
    pub detail: String,
    /// What sort of thing it is.
    pub kind: SymbolKind,
    /// The whole declaration.
    pub span: Span,
    /// The name in it.
    pub focus: Span,
    /// What belongs to it.
    pub children: Vec<Symbol>,
}

/// What sort of thing a symbol is.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum SymbolKind {
    /// The circuit itself.
    Circuit,
    /// The vehicle.
    Vehicle,
    /// A battery or generator, or a module's reference output.
    Source,
    /// Fuse, link, relay, switch, driver.
    Switching,
    /// Something that draws current: module, sensor, lamp, motor.
    Load,
    /// A connector or an inline connector.
    Connector,
    /// One cavity or terminal.
    Pin,
    /// Wire, splice, bar, ground point.
    Copper,
    /// A data bus.
    Bus,
    /// A zone of the vehicle, or a stretch of loom.
    Where,
    /// A line that names another file.
    Use,
    /// An option of the vehicle, or a parameter of a kind.
    Option,
    /// What the author expects.
    Expectation,
    /// One car's job.
    Case,
    /// What was read or proved on a car.
    Reading,
}

/// Something an editor offers to do.
#[derive(Clone, PartialEq, Debug)]
pub struct Action {
    /// The line in the menu.
    pub title: String,
    /// What sort of offer it is.
    pub kind: ActionKind,
    /// Whether it may be taken without being looked at: only what the text itself says in another spelling.
    pub preferred: bool,
    /// Where the cursor goes afterwards, as a byte offset of the text then.
    pub cursor: Option<u32>,
    /// What it does.
    pub change: Change,
}

/// What sort of offer an action is.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum ActionKind {
    /// Mends a finding.
    Fix {
        /// What it mends.
        finding: Finding,
    },
    /// Mends everything that can be mended for certain.
    FixAll,
    /// Writes the same in another way.
    Rewrite,
    /// Writes the isolation plan of a pin.
    Plan,
}

/// What an action does to the files.
#[derive(Clone, PartialEq, Debug)]
pub enum Change {
    /// Changes texts.
    Edits(Vec<Edit>),
    /// Writes the isolation plan of a pin. That takes a while, so it is worked out only
    /// when it is chosen: [`Analysis::plan`](crate::Analysis::plan).
    Plan {
        /// The circuit's file.
        file: FileId,
        /// The pin, `X34:2`.
        pin: String,
        /// What it reads.
        reading: Class,
    },
}

/// A file to be created.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NewFile {
    /// Where.
    pub path: PathBuf,
    /// Its text.
    pub text: String,
}
