//! Where things are together: runs that wires share, zones with dangers.

use crate::shape::{Entry, TOP};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        keyword: "run",
        within: &[&[TOP]],
        pattern: "run NAME PLACE:TEXT LENGTH:METRES?",
        about: "A stretch of loom that several wires share: where they can chafe on each other and on the same edge.",
        slots: &[
            ("name", "Its name: `RUN1`."),
            ("place", "From where to where it goes, in the words of a workshop."),
            ("length", "How long it is."),
        ],
        example: "run RUN1 \"left sill, under the trim\"",
    },
    Entry {
        keyword: "wires",
        within: &[&["run"]],
        pattern: "wires WIRES:ITEM+",
        about: "The wires that lie in the run.",
        slots: &[("wires", "Their names.")],
        example: "wires W7 W17 W24",
    },
    Entry {
        keyword: "zone",
        within: &[&[TOP]],
        pattern: "zone NAME LABEL:TEXT?",
        about: "A part of the vehicle with a danger of its own: whatever is in it has the zone's cautions.",
        slots: &[("name", "Its name: `COLUMN`."), ("label", "What it is.")],
        example: "zone COLUMN \"steering column\"",
    },
    Entry {
        keyword: "holds",
        within: &[&["zone"]],
        pattern: "holds ITEMS:ITEM+",
        about: "What is in the zone. Whoever opens a connector to reach one of its cavities has all of them in hand.",
        slots: &[("items", "Parts, connectors, pins.")],
        example: "holds X70 X71 S5",
    },
];
