//! The circuit that a file describes, and the way back from every part to the text.
//!
//! [`lower`] turns facts into a [`Model`]; it never fails and never stops at a
//! mistake, it lists them. It solves nothing and words nothing for people:
//! that is the work of `circuit` and `check`.

mod car;
pub mod case;
mod clamp;
pub mod expect;
pub mod facts;
mod fault;
pub mod library;
mod lower;
mod model;
mod names;
mod problem;
mod quantity;
mod questions;
mod state;
pub mod std_library;

pub use car::{Car, Condition, Question, Term};
pub use facts::Facts;
pub use fault::FaultError;
pub use lower::{lower, lower_for, lower_with_overlay};
pub use model::{
    Allow, Entity, Kind, KindUse, Mention, Model, Parameter, PinRole, Place, Repair, SupplyKind, Vehicle,
    Wire, WireEnd,
};
pub use names::{NameError, Names};
pub use problem::{Problem, ProblemKind};
pub use quantity::{quantity, reading};
pub use state::StateError;
