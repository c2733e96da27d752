//! What a file is, and the vehicle it describes.

use crate::shape::{Entry, TOP};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        keyword: "halfsplit",
        within: &[&[TOP]],
        pattern: "halfsplit VERSION:INTEGER",
        about: "First line of every file: the version of the language it is written in.",
        slots: &[("version", "The language's version: 1.")],
        example: "halfsplit 1",
    },
    Entry {
        keyword: "circuit",
        within: &[&[TOP]],
        pattern: "circuit TITLE:TEXT",
        about: "Makes the file a circuit and says which.",
        slots: &[("title", "What the circuit does, in a few words.")],
        example: "circuit \"reference A, five sensors\"",
    },
    Entry {
        keyword: "library",
        within: &[&[TOP]],
        pattern: "library TITLE:TEXT",
        about: "Makes the file one that serves others by `use`, and says with what.",
        slots: &[("title", "What it holds, in a few words.")],
        example: "library \"sensors of the Tern\"",
    },
    Entry {
        keyword: "use",
        within: &[&[TOP]],
        pattern: "use FROM:std? FILE:TEXT",
        about: "Takes in everything that another file of the library declares.",
        slots: &[
            ("from", "`std` for a file of the standard library that comes with the language."),
            ("file", "The file, by its path from the library's root."),
        ],
        example: "use \"lib/sensors.circuit\"",
    },
    Entry {
        keyword: "vehicle",
        within: &[&[TOP]],
        pattern: "vehicle TITLE:TEXT",
        about: "The vehicle that the circuit is in.",
        slots: &[("title", "Make, model and engine.")],
        example: "vehicle \"Brantwick Tern 1.8\"",
    },
    Entry {
        keyword: "system",
        within: &[&["vehicle"]],
        pattern: "system VOLTS",
        about: "The vehicle's nominal voltage.",
        slots: &[("volts", "12, 24 or 48 V.")],
        example: "system 12 V",
    },
    Entry {
        keyword: "years",
        within: &[&["vehicle"]],
        pattern: "years YEARS:RANGE",
        about: "The model years for which the circuit holds.",
        slots: &[("years", "One year, or first and last.")],
        example: "years 2014..2019",
    },
    Entry {
        keyword: "option",
        within: &[&["vehicle"]],
        pattern: "option NAME LABEL:TEXT?",
        about: "Equipment that not every vehicle has.",
        slots: &[("name", "The name by which items refer to it."), ("label", "What it is.")],
        example: "option AC \"air conditioning\"",
    },
];
