//! Sensors, lamps, motors and other loads.

use super::DRAWS;
use crate::shape::{Entry, TOP};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        keyword: "sensor",
        within: &[&[TOP]],
        pattern: "sensor NAME LABEL:TEXT?",
        about: "A sensor.",
        slots: &[("name", "Its name: `B4`."), ("label", "What it measures.")],
        example: "sensor B4 \"A/C pressure\"",
    },
    Entry {
        keyword: "draws",
        within: &[&["sensor"]],
        pattern: "draws CURRENT:AMPS ( at VOLTS )? FROM:PIN -> TO:PIN",
        about: "What the sensor draws from its supply.",
        slots: &[
            ("current", "Its usual current."),
            ("volts", "At how many volts."),
            ("from", "Its supply pin."),
            ("to", "Its ground pin."),
        ],
        example: "draws 8 mA at 5 V X34:2 -> X34:1",
    },
    Entry {
        keyword: "signal",
        within: &[&["sensor"]],
        pattern: "signal PINS:PIN+",
        about: "The pin that carries what the sensor measures.",
        slots: &[("pins", "One pin, or several.")],
        example: "signal X34:3",
    },
    Entry {
        keyword: "lamp",
        within: &[&[TOP]],
        pattern: "lamp NAME LABEL:TEXT?",
        about: "A lamp, with one filament or several.",
        slots: &[("name", "Its name: `E1`."), ("label", "What it lights.")],
        example: "lamp E1 \"left low beam\"",
    },
    Entry {
        keyword: "filament",
        within: &[&["lamp"]],
        pattern: "filament POWER:WATTS at VOLTS FROM:PIN -> TO:PIN",
        about: "A filament between two pins. Cold, its resistance is far lower than hot.",
        slots: &[
            ("power", "Its rated watts."),
            ("volts", "The volts at which it is rated."),
            ("from", "One pin."),
            ("to", "The other pin."),
        ],
        example: "filament 55 W at 12 V X50:1 -> X50:2",
    },
    Entry {
        keyword: "motor",
        within: &[&[TOP]],
        pattern: "motor NAME LABEL:TEXT?",
        about: "A motor or pump.",
        slots: &[("name", "Its name: `M1`."), ("label", "What it moves.")],
        example: "motor M1 \"fuel pump\"",
    },
    Entry {
        keyword: "heater",
        within: &[&[TOP]],
        pattern: "heater NAME LABEL:TEXT?",
        about: "A heating element.",
        slots: &[("name", "Its name: `R5`."), ("label", "What it heats.")],
        example: "heater R5 \"rear window\"",
    },
    Entry {
        keyword: "load",
        within: &[&[TOP]],
        pattern: "load NAME LABEL:TEXT?",
        about: "Anything else that draws current.",
        slots: &[("name", "Its name: `Y2`."), ("label", "What it does.")],
        example: "load Y2 \"purge valve\"",
    },
    Entry {
        keyword: "resistance",
        within: &[DRAWS],
        pattern: "resistance OHMS FROM:PIN -> TO:PIN",
        about: "A resistance between two pins; in a relay, the one across the coil that damps it.",
        slots: &[("ohms", "At its usual current."), ("from", "One pin."), ("to", "The other pin.")],
        example: "resistance 14 ohm X5:1 -> X5:2",
    },
    Entry {
        keyword: "diode",
        within: &[DRAWS],
        pattern: "diode FROM:PIN -> TO:PIN",
        about: "A diode, in the direction in which it conducts.",
        slots: &[("from", "Its anode."), ("to", "Its cathode.")],
        example: "diode X5:2 -> X5:1",
    },
];
