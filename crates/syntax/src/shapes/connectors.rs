//! Connectors, inline connectors and their cavities.

use super::{CAVITIES, PLUGGED};
use crate::shape::{Entry, TOP};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        keyword: "connector",
        within: &[PLUGGED],
        pattern: "connector NAME ( as AS:NAME )? COUNT:INTEGER cavities LABEL:TEXT?",
        about: "A plug on a part.",
        slots: &[
            ("name", "Its name: `X34`. With its owner it is `B4.X34`, a cavity of it `X34:2`."),
            ("count", "How many cavities it has, used or not."),
            ("label", "How to recognise it."),
        ],
        example: "connector X34 48 cavities",
    },
    Entry {
        keyword: "inline",
        within: &[&[TOP]],
        pattern: "inline NAME ( as AS:NAME )? COUNT:INTEGER cavities halves FIRST:NAME SECOND:NAME LABEL:TEXT?",
        about: "A connector between two looms.",
        slots: &[
            ("name", "Its name: `X21`. A cavity of a half is `X21.body:6`."),
            ("count", "How many cavities it has, used or not."),
            ("first", "The name of one half, mostly the loom it belongs to."),
            ("second", "The name of the other half."),
            ("label", "How to recognise it."),
        ],
        example: "inline X21 48 cavities halves body engine",
    },
    Entry {
        keyword: "parting",
        within: &[CAVITIES],
        pattern: "parting MINUTES",
        about: "Time to part the connector once it is reached.",
        slots: &[("minutes", "Without this line `reach` includes the parting.")],
        example: "parting 0.2 min",
    },
    Entry {
        keyword: "repart",
        within: &[CAVITIES],
        pattern: "repart MINUTES",
        about: "Time to part the connector again after it was reached and mated again.",
        slots: &[("minutes", "Less than `reach`: covers are off by then.")],
        example: "repart 0.3 min",
    },
    Entry {
        keyword: "access",
        within: &[CAVITIES],
        pattern: "access SHARED:TEXT",
        about: "Connectors with the same access are reached together: the way there is paid once.",
        slots: &[("shared", "The same words on all of them.")],
        example: "access \"glove box out\"",
    },
    Entry {
        keyword: "rows",
        within: &[CAVITIES],
        pattern: "rows COUNT:INTEGER",
        about: "How many rows the cavities stand in.",
        slots: &[("count", "Seen from the face that `view` names.")],
        example: "rows 4",
    },
    Entry {
        keyword: "view",
        within: &[CAVITIES],
        pattern: "view FACE:wire-side|mating-face",
        about: "The face from which the cavities are counted.",
        slots: &[(
            "face",
            "`wire-side` looks at the side where the wires enter; `mating-face` at the side that plugs in.",
        )],
        example: "view wire-side",
    },
    Entry {
        keyword: "contact",
        within: &[CAVITIES],
        pattern: "contact OHMS ( at CAVITIES:RANGE )?",
        about: "Resistance of a sound mated contact, where it is known.",
        slots: &[
            ("ohms", "Of one cavity."),
            ("cavities", "The cavities it holds for; all of them where none is named."),
        ],
        example: "contact 2 mohm",
    },
    Entry {
        keyword: "cavity",
        within: &[CAVITIES],
        pattern: "CAVITIES:RANGE ROLE:blank|spare|elsewhere|double-crimp? COLOUR? ( to OTHER:COLOUR )? LABEL:TEXT?",
        about: "A numbered cavity, or a range of them, and what is in it.",
        slots: &[
            ("cavities", "Its number, or first and last of a range: `15..19`."),
            (
                "role",
                "`blank` is sealed, `spare` has a terminal without a wire, `elsewhere` is wired but drawn in another \
                 file, `double-crimp` holds two wires.",
            ),
            ("colour", "Colour of the wire; on an inline connector, in the first half."),
            ("other", "Colour in the second half, where it differs."),
            ("label", "What it carries."),
        ],
        example: "14 GY/RD \"reference A\"",
    },
    Entry {
        keyword: "cavity",
        within: &[CAVITIES],
        pattern: "cavity NAME:TERMINAL ROLE:blank|spare|elsewhere|double-crimp? COLOUR? ( to OTHER:COLOUR )? LABEL:TEXT?",
        about: "A cavity with a letter or name instead of a number.",
        slots: &[
            ("name", "What is moulded beside it: `A`, `B2`."),
            ("role", "As for a numbered cavity."),
            ("colour", "Colour of the wire; on an inline connector, in the first half."),
            ("other", "Colour in the second half, where it differs."),
            ("label", "What it carries."),
        ],
        example: "cavity A GY/RD \"reference A\"",
    },
];
