//! `sensor-ground-tied`.

use std::collections::{BTreeSet, VecDeque};

use halfsplit_circuit::{BranchKind, PartId, PointId};
use halfsplit_model::PinRole;

use crate::{Rule, rule::Found, short::other, survey::Survey};

use super::load_without_feed::{outside, wire_side};

pub(super) const RULE: Rule = rule!("sensor-ground-tied", Warning, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    let circuit = survey.circuit();
    let Some(body) = circuit.body else { return };
    let mut done: BTreeSet<PointId> = BTreeSet::new();
    for (_, reference) in circuit.branches().filter(|(_, b)| matches!(b.kind, BranchKind::Reference { .. })) {
        if !done.insert(reference.b) {
            continue;
        }
        // A reference that returns to the module's own ground is tied to the body there, and the module says so.
        let own = survey.model.roles.get(&wire_side(survey, reference.b)) == Some(&PinRole::Return)
            || circuit
                .branches_of(reference.part)
                .any(|(_, b)| matches!(b.kind, BranchKind::Feed { .. }) && b.b == reference.b);
        if own {
            continue;
        }
        let Some(tie) = tie(survey, reference.b, body, reference.part, &mut done) else { continue };
        let pin = outside(survey, reference.b);
        let wire = survey.wire_name(tie);
        found
            .add(survey.wire_place(tie), format!("{wire} ties the sensor ground {pin} to the body as well; it has its ground in the module"))
            .with_some(survey.name_place(halfsplit_model::Entity::Part(reference.part)), "the module that grounds it")
            .help("a second tie shifts every reading on these sensors; mend the wire's end, or `allow` it if the car is built so");
    }
}

/// The wire over which a sensor ground meets the body outside its module.
fn tie<'m>(
    survey: &Survey<'m>,
    start: PointId,
    body: PointId,
    module: PartId,
    done: &mut BTreeSet<PointId>,
) -> Option<&'m halfsplit_model::Wire> {
    let mut seen = BTreeSet::from([start]);
    let mut queue = VecDeque::from([(start, None)]);
    while let Some((here, last)) = queue.pop_front() {
        done.insert(here);
        if here == body {
            return last;
        }
        for (id, branch) in survey.branches_at(here) {
            let there = other(branch, here);
            if branch.kind.is_copper() && branch.part != module && seen.insert(there) {
                queue.push_back((there, survey.wire(id).or(last)));
            }
        }
    }
    None
}
