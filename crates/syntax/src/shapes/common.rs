//! What can be said of almost anything: place, reach, suspicion, notes, dangers, sources, and silence for a rule.

use super::PARTS;
use crate::shape::{Entry, TOP};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        keyword: "place",
        within: &[PARTS, &["connector"]],
        pattern: "place TEXT",
        about: "Where the thing is, for the person who has to find it.",
        slots: &[("text", "In the words of a workshop.")],
        example: "place \"behind the undershield\"",
    },
    Entry {
        keyword: "reach",
        within: &[PARTS, &["connector"]],
        pattern: "reach MINUTES",
        about: "Time to get to the thing from the open bonnet, covers and trim included.",
        slots: &[("minutes", "`unknown` is allowed and is not zero.")],
        example: "reach 5 min",
    },
    Entry {
        keyword: "suspicion",
        within: &[PARTS, &["connector"]],
        pattern: "suspicion WEIGHT:NUMBER",
        about: "How likely the thing is the fault, before anything is measured, against the other parts.",
        slots: &[("weight", "3 is three times as likely as 1.")],
        example: "suspicion 3",
    },
    Entry {
        keyword: "note",
        within: &[PARTS, &["connector", "vehicle", "feed", "driver", "reference", "case"]],
        pattern: "note TEXT",
        about: "A remark that is shown wherever the thing is shown.",
        slots: &[("text", "What a colleague should know.")],
        example: "note \"crosses the exhaust bracket\"",
    },
    Entry {
        keyword: "caution",
        within: &[PARTS, &["connector", "zone", "run"]],
        pattern: "caution HAZARD TEXT",
        about: "A danger, shown before any step that goes there.",
        slots: &[
            ("hazard", "What can hurt."),
            ("text", "What to know before working there. The vehicle maker's instructions come first."),
        ],
        example: "caution hot \"exhaust bracket beside the loom\"",
    },
    Entry {
        keyword: "source",
        within: &[&[TOP], PARTS, &["connector"]],
        pattern: "source DOCUMENT:TEXT",
        about: "The document that the facts come from.",
        slots: &[("document", "Its title and page. Outside all blocks it holds for the whole file.")],
        example: "source \"workshop drawing 7, page 12\"",
    },
    Entry {
        keyword: "traced",
        within: &[&[TOP], PARTS, &["connector"]],
        pattern: "traced by WHO:TEXT on DATE:TEXT",
        about: "Who followed the wires on a car, and when. A circuit that nobody traced is unproven.",
        slots: &[
            ("who", "A name or shop. Outside all blocks it holds for the whole file."),
            ("date", "As year-month-day."),
        ],
        example: "traced by \"R. Ambler\" on \"2026-03-14\"",
    },
    Entry {
        keyword: "allow",
        within: &[&[TOP], PARTS, &["connector"]],
        pattern: "allow RULE:WORD because REASON:TEXT ( on ITEM )?",
        about: "Silences one rule on one thing, and says why.",
        slots: &[
            ("rule", "The rule's id, as the finding prints it."),
            ("reason", "Why it is right here all the same."),
            ("item", "The thing; in a block it is the block's own."),
        ],
        example: "allow dangling-wire because \"test lead left in on purpose\" on W24",
    },
];
