//! What the tests of the whole workspace share: the outside checks of the electrical solve.
//!
//! End-to-end tests live in `tests/`, benchmarks in `benches/`, real clients in `clients/`. Nothing
//! here ships. [`outside`] never takes a number from the solve that it checks: it reads the
//! circuit's own description and hands it to other programs.
//!
//! ```
//! use halfsplit_tests::outside::{families, netlist::Standing, netlist::netlist};
//! let family = families::linear(7, 3);
//! let case = &family.cases[0];
//! let list = netlist(case, &Standing::at_rest(case)).unwrap();
//! assert!(list.elements.len() >= case.circuit.branches.len() / 2);
//! ```

pub mod big_net;
pub mod families;
pub mod outside;
pub mod replay;
pub mod strangers;
pub mod technician;
