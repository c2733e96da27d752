//! `repair-beyond-end`.

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, number},
};

pub(super) const RULE: Rule = rule!("repair-beyond-end", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for wire in &survey.model.wires {
        let Some((Some(metres), length)) = wire.length else { continue };
        for repair in &wire.repairs {
            let Some(at) = repair.at else { continue };
            let end = at + repair.length.unwrap_or(0.0);
            // Lengths are written to a centimetre or two.
            if end <= metres + 0.02 {
                continue;
            }
            let name = survey.wire_name(wire);
            found
                .add(
                    repair.place,
                    format!(
                        "the repair ends {} m from the first end of {name}, which is {} m long",
                        number(end),
                        number(metres)
                    ),
                )
                .with(length, "its length")
                .help("was it measured in cm, or from the other end? a wire's length holds its repairs");
        }
    }
}
