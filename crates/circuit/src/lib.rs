//! A vehicle circuit as numbers: parts, points, branches, and what a meter reads.
//!
//! A [`Circuit`] is built through [`Builder`] by whoever has one to describe; nets,
//! paths, volts, ohms and the effect of faults are computed from it. This crate knows
//! no text and no files, looks at no clock, and never answers with a number
//! that the circuit does not determine: it says why instead ([`ReadError`]).
//!
//! ```
//! use halfsplit_circuit::{Builder, Key, Meter, State, read};
//! let mut build = Builder::new();
//! build.supply("G1", 12.4, 0.008);
//! build.fuse("F12", 10.0);
//! build.wire("W1", "G1:30", "F12:feed", "RD", 2.5, 0.5);
//! build.lamp("E1", "F12:load", "G1:31", 21.0, 12.0);
//! let circuit = build.build()?;
//! let at = |name| circuit.point_named(name).ok_or("no such point");
//! let meter = Meter::volts(at("F12:load")?, at("G1:31")?);
//! let reading = read(&circuit, &State::with_key(Key::Run), &[], &meter)?;
//! assert!((reading.nominal - 12.37).abs() < 0.01);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod build;
pub mod class;
pub mod error;
pub mod fault;
pub mod healthy;
pub mod interval;
pub mod meter;
pub mod net;
pub mod parts;
pub mod solve;
pub mod state;
pub mod table;
pub mod wire;

pub use build::{BuildError, Builder, FeedSpec, ReferenceSpec, RelaySpec};
pub use class::Class;
pub use error::{Culprits, ReadError};
pub use fault::{Fault, FaultKind};
pub use healthy::{class, healthy, nominal_volts};
pub use meter::{Load, Measure, Meter, Nominal, Quantity, Reading, read};
pub use net::{Net, Step, feed_path, net, nets, return_path};
pub use parts::*;
pub use solve::{Output, Solution, Solver};
pub use state::{Key, State, When};
pub use table::{Counts, Table};

/// Resistance in ohms.
pub type Ohms = f64;
/// Potential difference in volts.
pub type Volts = f64;
/// Current in amperes.
pub type Amps = f64;
/// Time in minutes.
pub type Minutes = f64;
