//! Findings, nets, readings and plans as text, Markdown and JSON.
//!
//! This crate computes nothing: it words what others found. JSON keys are
//! stable; every output carries `"schema": 1`.

pub mod findings;
pub mod json;
pub mod net;

pub mod state;
pub mod value;

pub use value::{minutes, reading, volts};
