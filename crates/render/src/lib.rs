//! Findings, nets, readings and plans as text, Markdown, JSON and SVG.
//!
//! This crate computes nothing: it words what others found. JSON keys are
//! stable; every output carries `"schema": 1`.
//!
//! ```
//! use halfsplit_render::{minutes, volts};
//! assert_eq!(volts(0.235), "0.235 V");
//! assert_eq!(minutes(9.73), "9.7 min");
//! ```

pub mod case;
pub mod coverage;
pub mod draw;
pub mod find;
pub mod findings;
pub mod json;
pub mod net;
pub mod page;
pub mod plan;
pub mod state;
mod step;
pub mod value;

pub use value::{minutes, reading, volts};
