//! `odd-section`.

use crate::{
    Rule,
    rule::Found,
    survey::{Survey, number},
};

pub(super) const RULE: Rule = rule!("odd-section", Warning, Circuit, check);

/// Sections in which vehicle wire is made, in mm²: those of ISO 6722 and of Japanese looms.
/// MEMORY, and so only ever a warning.
const MADE: [f64; 41] = [
    0.08, 0.13, 0.14, 0.17, 0.2, 0.22, 0.25, 0.3, 0.34, 0.35, 0.5, 0.6, 0.75, 0.8, 0.85, 1.0, 1.25, 1.5, 2.0,
    2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 13.0, 15.0, 16.0, 19.0, 20.0, 25.0, 30.0, 32.0, 35.0, 40.0,
    50.0, 60.0, 70.0, 95.0,
];

fn check(survey: &Survey, found: &mut Found) {
    for wire in &survey.model.wires {
        let Some((Some(mm2), place)) = wire.section else { continue };
        // A gauge is whatever its table says; beyond 95 mm² cables are made to order.
        let is_gauge = !survey.text(place).contains("mm");
        if is_gauge || mm2 > 95.0 || MADE.iter().any(|made| (made - mm2).abs() < 1e-9) {
            continue;
        }
        let below = MADE.iter().rev().find(|made| **made < mm2);
        let above = MADE.iter().find(|made| **made > mm2);
        let near: Vec<String> =
            [below, above].into_iter().flatten().map(|mm2| format!("{} mm2", number(*mm2))).collect();
        found
            .add(
                place,
                format!(
                    "{} is {} mm2, a section that vehicle wire is not made in",
                    survey.wire_name(wire),
                    number(mm2)
                ),
            )
            .help(format!(
                "the nearest are {}; for a gauge write it as it is printed: `20 AWG`",
                near.join(" and ")
            ));
    }
}
