//! The entries of the table, by subject. The place to add a statement.

mod bus;
mod case;
mod common;
mod connectors;
mod copper;
mod expect;
mod file;
mod loads;
mod modules;
mod power;
mod reuse;
mod where_;

use crate::shape::Entry;

/// Every entry, in the order of the guide.
pub(crate) const ALL: &[&[Entry]] = &[
    file::ENTRIES,
    reuse::ENTRIES,
    power::ENTRIES,
    copper::ENTRIES,
    connectors::ENTRIES,
    modules::ENTRIES,
    loads::ENTRIES,
    bus::ENTRIES,
    where_::ENTRIES,
    expect::ENTRIES,
    case::ENTRIES,
    common::ENTRIES,
];

/// Everything that can be repaired or replaced on its own.
pub(crate) const PARTS: &[&str] = &[
    "supply",
    "ground-point",
    "bar",
    "link",
    "fuse",
    "switch",
    "relay",
    "wire",
    "splice",
    "inline",
    "module",
    "sensor",
    "lamp",
    "motor",
    "heater",
    "load",
    "shield",
    "spiral-contact",
];

/// Parts that a connector can sit on.
const PLUGGED: &[&str] =
    &["module", "sensor", "lamp", "motor", "heater", "load", "relay", "switch", "spiral-contact"];

/// Parts that only draw.
const DRAWS: &[&str] = &["motor", "heater", "load", "lamp", "relay"];

/// Things with cavities.
const CAVITIES: &[&str] = &["connector", "inline"];

/// Parts inside which a bus can end, or a wire be pulled up or down.
const ENDS: &[&str] = &["module", "sensor", "load"];
