//! `fuse-feeds-nothing`.

use halfsplit_circuit::{BranchKind, PartKind};
use halfsplit_model::Entity;

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("fuse-feeds-nothing", Warning, Sound, check);

fn check(survey: &Survey, found: &mut Found) {
    for (id, fuse) in survey.circuit().branches() {
        let kind = survey.circuit().part(fuse.part).kind;
        if !matches!(fuse.kind, BranchKind::Fuse { .. }) || !matches!(kind, PartKind::Fuse | PartKind::Link) {
            continue;
        }
        let open = |point| {
            let net = &survey.nets()[survey.net_of(point)];
            net.points.iter().all(|&point| survey.branches_at(point).all(|(other, _)| other == id))
        };
        let Some(place) =
            survey.name_place(Entity::Part(fuse.part)).filter(|_| open(fuse.b) && !open(fuse.a))
        else {
            continue;
        };
        // A fuse of a file that others use feeds something in one of them.
        if place.file != survey.model.file || survey.doubts(fuse.b) {
            continue;
        }
        let name = survey.part_name(fuse.part);
        found
            .add(place, format!("{name} is fed, and nothing is joined to its load side"))
            .help("draw what it feeds, or leave the fuse out of this circuit");
    }
}
