//! `load-above-fuse`.

use halfsplit_model::Entity;

use crate::{
    Rule,
    protect::behind_fuses,
    rule::Found,
    survey::{Survey, number},
};

pub(super) const RULE: Rule = rule!("load-above-fuse", Warning, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for behind in behind_fuses(survey) {
        let rating = behind.rating;
        let heaviest = behind.loads.iter().max_by(|one, two| one.1.total_cmp(&two.1));
        let Some(&(load, amps)) = heaviest.filter(|(_, amps)| *amps > rating) else { continue };
        let fuse = survey.circuit().branch(behind.fuse).part;
        let load_part = survey.circuit().branch(load).part;
        let Some(place) = survey.name_place(Entity::Part(fuse)) else { continue };
        let (fuse, part) = (survey.part_name(fuse), survey.part_name(load_part));
        found
            .add(
                place,
                format!("{fuse} is {} A, but {part} behind it draws {} A", number(rating), number(amps)),
            )
            .with_some(survey.branch_place(load), format!("{part} draws {} A by this line", number(amps)))
            .help("one of the two values is likely wrong; a fuse below its load blows on every long drive");
    }
}
