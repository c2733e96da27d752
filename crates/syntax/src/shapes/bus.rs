//! Buses, and what stands on their wires inside modules.

use super::ENDS;
use crate::shape::{Entry, TOP};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        keyword: "bus",
        within: &[&[TOP]],
        pattern: "bus NAME KIND:can|can-fd|can-low-speed|lin|k-line|flexray|ethernet ( RATE:BITRATE )? LABEL:TEXT?",
        about: "A data bus: which pins its wires join, and how fast it is.",
        slots: &[
            ("name", "Its name: `CAN1`."),
            (
                "kind",
                "The standard that it follows: `can`, `can-fd` and `can-low-speed` ISO 11898, `lin` ISO 17987, `k-line` \
                 ISO 9141, `flexray` ISO 17458, `ethernet` IEEE 802.3.",
            ),
            ("rate", "Bits in a second."),
            ("label", "What it joins."),
        ],
        example: "bus CAN1 can 500 kbit/s \"powertrain\"",
    },
    Entry {
        keyword: "high",
        within: &[&["bus"]],
        pattern: "high PINS:PIN+",
        about: "Where the upper wire of a pair ends: CAN-H, the plus wire.",
        slots: &[("pins", "Pins on that wire. One is enough.")],
        example: "high A10.X2:45",
    },
    Entry {
        keyword: "low",
        within: &[&["bus"]],
        pattern: "low PINS:PIN+",
        about: "Where the lower wire of a pair ends: CAN-L, the minus wire.",
        slots: &[("pins", "Pins on that wire. One is enough.")],
        example: "low A10.X2:46",
    },
    Entry {
        keyword: "line",
        within: &[&["bus"]],
        pattern: "line PINS:PIN+",
        about: "Where the wire of a bus with one wire ends.",
        slots: &[("pins", "Pins on that wire. One is enough.")],
        example: "line A10.X2:40",
    },
    Entry {
        keyword: "terminator",
        within: &[ENDS],
        pattern: "terminator OHMS FROM:PIN -> TO:PIN",
        about: "The resistor that ends a bus between its two wires.",
        slots: &[
            ("ohms", "120 ohm at each end of a pair by ISO 11898-2."),
            ("from", "The pin of one wire."),
            ("to", "The pin of the other."),
        ],
        example: "terminator 120 ohm X2:45 -> X2:46",
    },
    Entry {
        keyword: "input",
        within: &[ENDS],
        pattern: "input OHMS FROM:PIN -> TO:PIN",
        about: "What an input looks like from outside, awake or asleep: a bus node, a measuring input.",
        slots: &[
            ("ohms", "Between the two pins."),
            ("from", "The pin that is listened to."),
            ("to", "What it is measured against."),
        ],
        example: "input 40 kohm X2:45 -> X2:46",
    },
    Entry {
        keyword: "pull-up",
        within: &[&["module"]],
        pattern: "pull-up OHMS PIN to ( SUPPLY:VOLTS | FEED:PIN )",
        about: "A resistor inside the module that lifts a wire.",
        slots: &[
            ("ohms", "Its resistance."),
            ("pin", "The pin that it lifts."),
            ("supply", "The module's own supply behind it, while the module is awake."),
            ("feed", "Or the fed pin that stands behind it."),
        ],
        example: "pull-up 10 kohm X2:18 to 5 V",
    },
    Entry {
        keyword: "pull-down",
        within: &[&["module"]],
        pattern: "pull-down OHMS PIN ( to RETURN:PIN )?",
        about: "A resistor inside the module that pulls a wire to ground.",
        slots: &[
            ("ohms", "Its resistance."),
            ("pin", "The pin that it pulls down."),
            ("return", "The ground pin behind it; the module's own ground where nothing is said."),
        ],
        example: "pull-down 100 kohm X2:18",
    },
];
