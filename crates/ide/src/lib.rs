//! What an editor can ask of circuit files, in file ids and byte offsets.
//!
//! A [`Host`] owns the texts and takes changes; an [`Analysis`] is what they
//! were at one moment, and answers questions about it from any thread. Nothing
//! here knows the language server protocol, a screen or the file system.
//!
//! ```
//! use halfsplit_ide::Host;
//! let mut host = Host::default();
//! let lamp = host.set("lamp.circuit".into(), "halfsplit 1\n");
//! assert!(host.analysis().symbols(lamp).is_empty());
//! ```

mod actions;
mod answer;
mod colours;
mod completion;
mod definition;
mod facade;
mod folding;
mod hierarchy;
mod highlight;
mod host;
mod hover;
mod index;
mod inlay;
mod layout;
mod lens;
mod line;
mod linked;
mod links;
mod moved;
mod naming;
mod pin;
mod plan;
mod references;
mod rename;
mod scene;
mod selection;
mod signature;
mod sound;
mod symbols;
#[cfg(test)]
mod testing;
mod tokens;
mod unit;

pub use answer::{Action, ActionKind, Change, FilePosition, Hover, NewFile, Symbol, SymbolKind, Target};
pub use colours::{Swatch, nearest as nearest_colours};
pub use completion::{Completion, CompletionKind, Completions};
pub use folding::{Fold, FoldKind};
pub use halfsplit_model::library::{is_std, uses};
pub use hierarchy::Stop;
pub use highlight::Highlight;
pub use host::{Analysis, Host, Revision};
pub use index::{Index, Indexed, IndexedName, rank};
pub use inlay::Hint;
pub use lens::{Lens, LensAction};
pub use links::Link;
pub use plan::Class;
pub use signature::Signature;
pub use tokens::{Token, TokenKind};
