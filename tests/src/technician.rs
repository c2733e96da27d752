//! A technician of its own, who judges `plan` and `case` by what they print as JSON, and by nothing else.
//!
//! A circuit is drawn at random, a fault is hidden in it, somebody complains, and the technician does what the plan
//! says, step for step, with a hand-held meter on a car whose supply wanders. Where a walk ends is held against
//! what was hidden. The car is the engine's; the plan is a stranger's: its types are not used here, and what a
//! step asks is read from its words.

pub mod answer;
pub mod calibration;
pub mod car;
pub mod circuits;
pub mod complaint;
pub mod door;
pub mod faults;
pub mod gates;
pub mod hands;
pub mod log;
pub mod meter;
pub mod optimum;
pub mod steps;
pub mod table;
pub mod verdict;
pub mod walk;
