//! One car's job: which car, what is known, and the log of what was done and read, in the order of the day.

use crate::shape::{Entry, TOP};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        keyword: "case",
        within: &[&[TOP]],
        pattern: "case TITLE:TEXT on FILE:TEXT",
        about: "One car's job, in a file of its own that ends in `.case`. The lines of its block are a log: what is parted stays out, and a reading holds for the state that the lines above it left.",
        slots: &[
            ("title", "The job: its number, what the owner says."),
            ("file", "The circuit, by its path from the library's root."),
        ],
        example: "case \"2026-118, cranks long\" on \"tern/reference-a.circuit\"",
    },
    Entry {
        keyword: "added",
        within: &[&["case"]],
        pattern: "added FILE:TEXT",
        about: "Equipment that was added to this one car, as a file of its own. The circuit's file stays as it is.",
        slots: &[("file", "The file, by its path from the library's root.")],
        example: "added \"tern/alarm-box.circuit\"",
    },
    Entry {
        keyword: "rested",
        within: &[&["case"]],
        pattern: "rested VOLTS ( at BATTERY:ITEM )?",
        about: "What the battery reads at rest. Below 12.2 V, twice that in a 24 V system, it is charged and tested before any other reading counts: the line comes again after the charge, with `checked battery` below it.",
        slots: &[
            ("volts", "Read at the posts with everything off."),
            ("battery", "Which battery, where there are several: each is read by itself."),
        ],
        example: "rested 12.60 V",
    },
    Entry {
        keyword: "mated",
        within: &[&["case"]],
        pattern: "mated ITEMS:ITEM+",
        about: "Connectors, fuses or relays that are put back.",
        slots: &[("items", "One or more of them.")],
        example: "mated X21",
    },
    Entry {
        keyword: "reading",
        within: &[&["case"]],
        pattern: "reading RED:PIN ( to BLACK:PIN )? ( between LOW:VOLTS and HIGH:VOLTS | OPEN:OL | VOLTS | OHMS | AMPS ) ( with LOAD:lamp|resistor | fed SOURCE:VOLTS through SERIES:OHMS )?",
        about: "What the meter read in the state that the lines above left.",
        slots: &[
            ("red", "Where the red lead was, or the clamp."),
            ("black", "Where the black lead was; battery negative where nothing is said."),
            ("low", "The least that a reading showed which wanders."),
            ("high", "The most that it showed."),
            ("volts", "On volts."),
            ("ohms", "On ohms, with the circuit dead."),
            (
                "amps",
                "By a clamp around the one wire at the pin, or around this wire. The amount counts, not its arrow.",
            ),
            ("open", "`OL`: on ohms, more than the meter can show."),
            ("load", "What hung on the leads besides: a 12 V 21 W test lamp, or a 470 ohm resistor."),
            ("source", "Volts of a bench source that feeds the red lead's pin from outside."),
            ("series", "The resistor in series with it."),
        ],
        example: "reading X35:1 0.235 V",
    },
    Entry {
        keyword: "checked",
        within: &[&["case"]],
        pattern: "checked WHAT:network|configuration|latch|software|battery|equipment RESULT:TEXT?",
        about: "What was proved in another way, before a module may be named.",
        slots: &[
            (
                "what",
                "The network and its wake-up, the configuration and variant, a latched output after a key cycle, the software level; the battery under load; equipment that was added, found on the car, separated, and the reading taken again.",
            ),
            ("result", "How, and what came."),
        ],
        example: "checked network \"60 ohm at the diagnostic socket, all others answer\"",
    },
    Entry {
        keyword: "cleared",
        within: &[&["case"]],
        pattern: "cleared HAZARD at ITEM WORDS:TEXT",
        about: "A danger that trained people cleared by the maker's procedure, so that a plan may go there.",
        slots: &[
            ("hazard", "What could hurt."),
            ("item", "The connector or part it was about."),
            ("words", "Who did what."),
        ],
        example: "cleared airbag at X70 \"disarmed, waited the maker's time\"",
    },
    Entry {
        keyword: "confirmed",
        within: &[&["case"]],
        pattern: "confirmed ITEM MODE:TEXT? ( after MINUTES )?",
        about: "The cause, once it is repaired and proved: off, on, off.",
        slots: &[
            ("item", "The part that was at fault."),
            ("mode", "What was wrong with it."),
            ("minutes", "Minutes from the open bonnet to the cause."),
        ],
        example: "confirmed B4 \"shorted inside\" after 8.4 min",
    },
    Entry {
        keyword: "codes",
        within: &[&["case"]],
        pattern: "codes WORDS:TEXT",
        about: "Fault codes that are stored, to be cleared at the end.",
        slots: &[("words", "Which, and in which module.")],
        example: "codes \"reference A low, in A10\"",
    },
];
