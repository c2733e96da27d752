//! Files, places in them, and the findings made about them.
//!
//! A [`Files`] is a value: cloning it is cheap, and a clone never changes
//! under its reader. Only [`disk`] touches the file system. Nothing here knows
//! what a circuit means.
//!
//! ```
//! use halfsplit_base::{Files, Position};
//! let mut files = Files::default();
//! let id = files.set("lamp.circuit".into(), "halfsplit 1\n");
//! assert_eq!(files.get(id).position(10), Position { line: 1, column: 11 });
//! ```

pub mod config;
pub mod disk;
mod files;
mod finding;
pub mod library;
mod place;

pub use config::Config;
pub use files::{File, FileId, Files, Refused};
pub use finding::{Edit, Finding, Fix, Related, Severity};
pub use halfsplit_syntax::Span;
pub use library::Use;
pub use place::{Encoding, Position, WirePosition};
