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
//!
//! Every fault against every reading, and what a clamp would show:
//!
//! ```
//! use halfsplit_circuit::{Builder, Key, Meter, Solver, State, faults_of};
//! # let mut build = Builder::new();
//! # build.supply("G1", 12.4, 0.008);
//! # build.fuse("F12", 10.0);
//! # let wire = build.wire("W1", "G1:30", "F12:feed", "RD", 2.5, 0.5);
//! # build.lamp("E1", "F12:load", "G1:31", 21.0, 12.0);
//! # let circuit = build.build()?;
//! # let at = |name| circuit.point_named(name).ok_or("no such point");
//! let (solver, state) = (Solver::new(&circuit), State::with_key(Key::Run));
//! let faults: Vec<_> = faults_of(&circuit).into_iter().map(|named| named.faults).collect();
//! let table = solver.table(&state, &faults, &[Meter::volts(at("F12:load")?, at("G1:31")?)]);
//! assert!(table.row(0)[0].is_ok());
//! assert!((solver.clamp(&state, &[], wire)?.nominal - 1.80).abs() < 0.01);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Where the volts go on the way to a pin, and whether fuse and wire stand the load:
//!
//! ```
//! use halfsplit_circuit::{Builder, Key, Protection, Solver, State, WireTable};
//! # let mut build = Builder::new();
//! # build.supply("G1", 12.4, 0.008);
//! # build.fuse("F12", 10.0);
//! # build.wire("W1", "G1:30", "F12:feed", "RD", 2.5, 0.5);
//! # build.lamp("E1", "F12:load", "G1:31", 21.0, 12.0);
//! # let circuit = build.build()?;
//! # let at = |name| circuit.point_named(name).ok_or("no such point");
//! let (solver, state) = (Solver::new(&circuit), State::with_key(Key::Run));
//! let budget = solver.feed_budget(&state, &[], at("F12:load")?)?;
//! assert!(budget.segments.len() == 2 && budget.gap().abs() < 1e-12);
//! assert_eq!(solver.fuse_margins(&state, &[])?[0].protection, Protection::Holds);
//! assert_eq!(solver.wire_margins(&state, &[], WireTable::SmallCraft105)?[0].allowed, Some((14, 35.0)));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! A circuit that makes no sense says which parts do not:
//!
//! ```
//! use halfsplit_circuit::{Builder, flaws};
//! let mut build = Builder::new();
//! build.supply("G1", 12.4, 0.008);
//! build.resistor("R1", "G1:30", "G1:31", 0.0);
//! let flaws = flaws(build.circuit());
//! assert_eq!(flaws[0].to_string(), "R1: a resistance that is zero, negative or not a number");
//! ```

pub mod budget;
pub mod build;
pub mod class;
pub mod current;
pub mod error;
pub mod fault;
pub mod flaw;
pub mod healthy;
mod idle;
pub mod interval;
pub mod junction;
pub mod margin;
pub mod meter;
pub mod net;
pub mod parts;
pub mod solve;
pub mod state;
pub mod table;
pub mod wire;

pub use budget::{Budget, Segment};
pub use build::{BuildError, Builder, FeedSpec, GeneratorSpec, ReferenceSpec, RelaySpec};
pub use class::Class;
pub use current::{Current, Drop, conductor_at};
pub use error::{Culprits, ReadError};
pub use fault::{Fault, FaultKind, NamedFault, adjacent, faults_of, pairs_of};
pub use flaw::{Flaw, flaws};
pub use healthy::{class, healthy, nominal_volts};
pub use idle::{idle, touched};
pub use junction::BothWays;
pub use margin::{FuseMargin, Protection, WireMargin, WireTable};
pub use meter::{Load, Measure, Meter, Nominal, Quantity, Reading, read};
pub use net::{Net, Step, feed_path, net, nets, return_path};
pub use parts::*;
pub use solve::{Output, Solution, Solver};
pub use state::{Key, State, When};
pub use table::{Counts, Spread, SpreadTable, Table};

/// Resistance in ohms.
pub type Ohms = f64;
/// Potential difference in volts.
pub type Volts = f64;
/// Current in amperes.
pub type Amps = f64;
/// Time in minutes.
pub type Minutes = f64;
