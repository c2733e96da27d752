//! Kinds: what many parts have in common, said once.

use super::PARTS;
use crate::shape::{Entry, TOP};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        keyword: "kind",
        within: &[&[TOP]],
        pattern: "kind NAME ( SORT:fuse|link RATING:AMPS ( type BODY:WORD )? | SORT:connector COUNT:INTEGER cavities | SORT:inline COUNT:INTEGER cavities halves FIRST:NAME SECOND:NAME | SORT:supply KIND:battery|generator|bench | SORT:wire COLOUR? SECTION? LENGTH:METRES? | SORT:ground-point|bar|switch|relay|splice|module|sensor|lamp|motor|heater|load|shield|spiral-contact ) LABEL:TEXT?",
        about: "What many parts have in common, said once: its block holds parameters, and whatever the block of such a part may hold. A part says `as` with the kind's name.",
        slots: &[
            ("name", "Its name: `PRESSURE`."),
            ("sort", "The word that opens the statement of such a part."),
            ("rating", "Of a fuse or link: what it carries for ever."),
            ("body", "Of a fuse: the letter of its body in ISO 8820-3."),
            ("count", "Of a connector: how many cavities it has."),
            ("first", "Of an inline connector: the name of one half."),
            ("second", "Of an inline connector: the name of the other half."),
            ("kind", "Of a supply: what sort of source it is."),
            ("colour", "Of a wire: base and tracer."),
            ("section", "Of a wire: its cross-section."),
            ("length", "Of a wire: its length."),
            ("label", "What such a part is called where it says nothing itself."),
        ],
        example: "kind PRESSURE sensor \"three-wire pressure sensor\"",
    },
    Entry {
        keyword: "parameter",
        within: &[&["kind"]],
        pattern: "parameter NAME DEFAULT:VALUE ABOUT:TEXT?",
        about: "A word that stands for a value in the block of its kind, and that each part may set.",
        slots: &[
            (
                "name",
                "The word, in capitals: `PLUG`. In the block it may stand for a value or a part of a pin: `PLUG:2`.",
            ),
            ("default", "What it stands for where a part says nothing."),
            ("about", "What it is for."),
        ],
        example: "parameter CURRENT 8 mA",
    },
    Entry {
        keyword: "with",
        within: &[PARTS, &["connector"]],
        pattern: "with ( PARAMETER:NAME VALUE )+",
        about: "Sets parameters of the kind that the part is of.",
        slots: &[("parameter", "The kind's word for it."), ("value", "What it stands for in this part.")],
        example: "with PLUG X34 CURRENT 8 mA",
    },
];
