//! `fuse-too-large`.

use halfsplit_model::Entity;

use crate::{
    Rule,
    protect::{Behind, FUSE_SHARE, SOURCE, Thin, behind_fuses},
    rule::Found,
    survey::{Survey, number},
};

pub(super) const RULE: Rule = rule!("fuse-too-large", Error, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for behind in behind_fuses(survey) {
        let far: Vec<&Thin> = behind.thin.iter().filter(|thin| is_far(&behind, thin)).collect();
        // Behind a main link a thin wire lacks a fuse of its own; that is `unfused-feed`.
        if behind.is_main {
            continue;
        }
        if let Some(thinnest) = thinnest(&far) {
            let most = number((FUSE_SHARE * thinnest.carries).floor());
            let limit = format!("; 33 CFR 183.455 allows a fuse of {most} A at most on it");
            report(survey, found, &behind, thinnest, far.len(), &limit);
        }
    }
}

/// Whether a fuse is beyond what the rule of 150 % allows on a wire.
pub(super) fn is_far(behind: &Behind, thin: &Thin) -> bool {
    behind.rating > FUSE_SHARE * thin.carries
}

/// The thinnest of some wires.
pub(super) fn thinnest<'t>(wires: &[&'t Thin]) -> Option<&'t Thin> {
    wires.iter().copied().min_by(|one, two| one.section.total_cmp(&two.section))
}

/// Reports a fuse and a wire that do not fit: at the wire if it is the odd one out, else at the fuse.
pub(super) fn report(
    survey: &Survey,
    found: &mut Found,
    behind: &Behind,
    thin: &Thin,
    alike: usize,
    limit: &str,
) {
    let part = survey.circuit().branch(behind.fuse).part;
    let (Some(at_fuse), Some(wire)) = (survey.name_place(Entity::Part(part)), survey.wire(thin.wire)) else {
        return;
    };
    let at_wire = wire.section.map_or(survey.wire_place(wire), |(_, place)| place);
    let (fuse, name) = (survey.part_name(part), survey.wire_name(wire));
    let message = format!(
        "{fuse} is {} A, but {name} behind it is {} mm2, which carries {} A{limit}",
        number(behind.rating),
        number(thin.section),
        number(thin.carries.floor()),
    );
    let help = format!(
        "a wire must outlast its fuse: mend the section or the rating, or draw the fuse between that is missing \
         (amperage: {SOURCE}{})",
        if thin.section < 0.823 { ", continued below AWG 18 along its own slope" } else { "" }
    );
    match behind.has_sound_wire && alike == 1 {
        true => found
            .add(at_wire, message)
            .with(at_fuse, format!("{fuse} is {} A", number(behind.rating)))
            .help(help),
        false => found
            .add(at_fuse, message)
            .with(at_wire, format!("{name} is the thinnest wire behind {fuse}"))
            .help(help),
    };
}
