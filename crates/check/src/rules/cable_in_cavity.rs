//! `cable-in-cavity`.

use halfsplit_circuit::PartKind;

use crate::{
    Rule,
    doubt::connector_of,
    rule::Found,
    survey::{Survey, ends, number},
};

pub(super) const RULE: Rule = rule!("cable-in-cavity", Warning, Circuit, check);

/// From this section on a wire is a cable with eyelets, in mm². Own estimate.
const CABLE: f64 = 25.0;
/// Thicker ones than any cable are `implausible-value`.
const THICKEST: f64 = 240.0;
/// In a plug of so many cavities none is large enough for one. Own estimate.
const MANY: usize = 3;
/// Behind a blade fuse of so many amperes or less nobody lays a cable. Blade fuses end at 80 A (ISO 8820-3, SAW-2nd).
const SMALL: f64 = 80.0;

fn check(survey: &Survey, found: &mut Found) {
    for wire in &survey.model.wires {
        let Some((Some(mm2), place)) =
            wire.section.filter(|(mm2, _)| mm2.is_some_and(|mm2| (CABLE..=THICKEST).contains(&mm2)))
        else {
            continue;
        };
        let plugs = ends(wire).filter_map(|(point, _)| connector_of(survey, point));
        let crowded = plugs.map(|id| survey.circuit().connector(id)).find(|plug| plug.cavities.len() >= MANY);
        let fuse = ends(wire).find_map(|(point, _)| {
            let id = survey.suppliers.get(&survey.net_of(point))?;
            let branch = survey.circuit().branch(*id);
            let is_fuse = survey.circuit().part(branch.part).kind == PartKind::Fuse;
            match branch.kind {
                halfsplit_circuit::BranchKind::Fuse { rating, .. } if is_fuse && rating <= SMALL => {
                    Some((branch.part, rating))
                }
                _ => None,
            }
        });
        let why = match (crowded, fuse) {
            (Some(plug), _) => format!("ends in {}, a plug of {} cavities", plug.name, plug.cavities.len()),
            (None, Some((fuse, rating))) => {
                format!("lies behind {}, a fuse of {} A", survey.part_name(fuse), number(rating))
            }
            (None, None) => continue,
        };
        found
            .add(
                place,
                format!(
                    "{} is {} mm2, the section of a battery cable, and {why}",
                    survey.wire_name(wire),
                    number(mm2)
                ),
            )
            .help("a digit is likely missing: `20 AWG` for `0 AWG`, `2.5 mm2` for `25 mm2`");
    }
}
