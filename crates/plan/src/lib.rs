//! Suspects, actions and the search for the cheapest safe isolation plan.
//!
//! This crate knows no text and no files: it reads a
//! [`Circuit`](halfsplit_circuit::Circuit), computes which single faults explain
//! a reading, and finds the steps that part them in the fewest minutes. It never
//! prints a document and never guesses between suspects that no reading parts.
//!
//! ```
//! use halfsplit_plan::search::{Effort, Table, Test, solve};
//!
//! // Three suspects; one test clears the first, the other clears the last.
//! let tests = vec![Test::of(1.0, vec![1, 0, 0]), Test::of(4.0, vec![0, 0, 1])];
//! let tree = solve(&mut Table::new(vec![2.0, 1.0, 1.0], tests), Effort::default()).unwrap();
//! assert_eq!(tree.expected, 1.0 + 0.5 * 4.0);
//! ```

mod accuse;
mod belief;
mod bench;
pub mod case;
mod complaint;
pub mod coverage;
mod draw;
mod evidence;
pub mod facts;
pub mod find;
mod grid;
mod ground;
pub mod harness;
mod hunt;
pub mod judge;
pub mod learned;
mod legal;
mod looks;
mod plan;
mod posts;
mod predict;
pub mod priors;
pub mod replay;
mod request;
pub mod search;
mod suspects;
mod unknown;
mod wiggle;
mod worlds;

pub use complaint::{Complaint, Inquiry, WORDS as COMPLAINTS, plan_complaint, shows_complaint};
pub use draw::{minutes_in_order, plan, plan_unless};
pub use plan::{
    CautionNote, Complained, Conclusion, DeadRow, DeadWire, DropBudget, DropRow, Dropped, FactUsed,
    LoadedCheck, MeterPlace, Next, Optimality, Plan, Range, Recheck, Refused, Sense, Step, StepKind,
    StepOutcome, Suspect, Wiggle,
};
pub use request::{Begin, Costs, PlanError, Request, Suspects};
pub use suspects::{Unit, UnitKind};
pub use unknown::{Doubt, doubts, doubts_of_complaint};
