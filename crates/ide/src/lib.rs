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
mod definition;
mod host;
mod hover;
mod pin;
mod plan;
mod symbols;
mod unit;

pub use answer::{Action, ActionKind, Change, FilePosition, Hover, NewFile, Symbol, SymbolKind, Target};
pub use halfsplit_model::library::is_std;
pub use host::{Analysis, Host};
