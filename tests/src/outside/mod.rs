//! The solve against other programs.
//!
//! A [`Case`](families::Case) is a circuit in a state with its faults. [`netlist`] writes it out as plain two-terminal
//! [`elements`] by the documentation of the circuit's parts, not by the code that solves them;
//! [`simulator`] has a general circuit simulator find the volts, [`dense`] a numerical library;
//! [`relays`] moves relays and modules by their written rule between two runs of the simulator, [`power`] asks it
//! what a module would have left if all that it gives came through its feed.
//! [`compare`] holds all of that against ours.

pub mod compare;
pub mod dense;
pub mod elements;
pub mod families;
pub mod faults;
pub mod kirchhoff;
pub mod netlist;
pub mod pieces;
pub mod power;
pub mod random;
pub mod relays;
pub mod simulator;
pub mod stored;
pub mod weak;
