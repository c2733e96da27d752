//! The circuit that a file describes, and the way back from every part to the text.
//!
//! [`lower`] turns facts into a [`Model`]; it never fails and never stops at a
//! mistake, it lists them. It solves nothing and words nothing for people:
//! that is the work of `circuit` and `check`.

mod fault;
mod lower;
mod model;
mod names;
mod problem;
mod quantity;
mod state;

pub use fault::FaultError;
pub use lower::lower;
pub use model::{Allow, Entity, Mention, Model, PinRole, Place, SupplyKind, Vehicle, Wire, WireEnd};
pub use names::{NameError, Names};
pub use problem::{Problem, ProblemKind};
pub use quantity::quantity;
pub use state::StateError;
