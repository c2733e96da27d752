//! A vehicle circuit as numbers: parts, points, branches, and what a meter reads.
//!
//! This crate knows no text and no files. A [`Circuit`] is built through
//! [`Builder`] by whoever has one to describe; everything else is computed.

pub mod build;
pub mod fault;
pub mod parts;
pub mod state;


pub use fault::{Fault, FaultKind};
pub use parts::*;
pub use state::{Key, State};

/// Resistance in ohms.
pub type Ohms = f64;
/// Potential difference in volts.
pub type Volts = f64;
/// Current in amperes.
pub type Amps = f64;
/// Time in minutes.
pub type Minutes = f64;
