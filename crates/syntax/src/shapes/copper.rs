//! Wires and splices.

use crate::shape::{Entry, TOP};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        keyword: "wire",
        within: &[&[TOP]],
        pattern: "wire NAME FROM:PIN to TO:PIN COLOUR? SECTION? LENGTH:METRES? LABEL:TEXT?",
        about: "One wire between two ends.",
        slots: &[
            ("name", "Its name: `W7`."),
            (
                "from",
                "One end: a cavity, splice, terminal or ground point; `stub` for an end that hangs free.",
            ),
            ("to", "The other end."),
            ("colour", "Base colour, then tracer: `GY/RD` is grey with a red tracer."),
            ("section", "Cross-section of its copper."),
            ("length", "From end to end."),
            ("label", "What it carries."),
        ],
        example: "wire W7 SP10 to X34:2 GY/RD 0.5 mm2 2.2 m",
    },
    Entry {
        keyword: "splice",
        within: &[&[TOP]],
        pattern: "splice NAME LABEL:TEXT?",
        about: "A place in the loom where wires are joined for good.",
        slots: &[("name", "Its name: `SP10`."), ("label", "Where it is.")],
        example: "splice SP10 \"20 cm from A10.X2\"",
    },
];
