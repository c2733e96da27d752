//! Ground pins that are on a feed, and loads with both pins in one net.

use std::collections::{BTreeMap, BTreeSet};

use halfsplit_circuit::{Branch, BranchId, BranchKind, PartKind};

use crate::survey::{Survey, is_source};

/// A load of which a pin is where it can't be.
pub(crate) struct WrongPin {
    /// The load.
    pub(crate) load: BranchId,
    /// What is wrong with its pins.
    pub(crate) how: How,
}

/// What is wrong with the pins of a load.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum How {
    /// Copper joins both.
    Bridged,
    /// The ground pin is in a net that this supplies.
    Fed(BranchId),
}

/// Which branch supplies each net: a source, a reference output, or a fuse with its load side.
pub(crate) fn suppliers(survey: &Survey) -> BTreeMap<usize, BranchId> {
    let mut suppliers = BTreeMap::new();
    for (id, branch) in survey.circuit().branches() {
        let point = match branch.kind {
            BranchKind::Fuse { .. } => branch.b,
            BranchKind::Reference { .. } | BranchKind::Source { .. } | BranchKind::Generator { .. } => {
                branch.a
            }
            _ => continue,
        };
        suppliers.entry(survey.net_of(point)).or_insert(id);
    }
    suppliers
}

/// Every load of which a pin is where it can't be, as far as copper alone tells.
pub(crate) fn find(survey: &Survey) -> Vec<WrongPin> {
    let circuit = survey.circuit();
    let sources = circuit.branches().filter(|(_, b)| is_source(&b.kind));
    let posts = sources.map(|(_, b)| b.b).chain(circuit.body);
    let grounds: BTreeSet<usize> = posts.map(|post| survey.net_of(post)).collect();
    let crowded: BTreeSet<usize> = survey.crowded.iter().map(|&point| survey.net_of(point)).collect();
    let wrong = |load: &Branch| {
        let [feed, back] = [survey.net_of(load.a), survey.net_of(load.b)];
        // A wire too many in a cavity is reported there.
        if crowded.contains(&feed) || crowded.contains(&back) {
            return None;
        }
        if feed == back {
            return Some(How::Bridged);
        }
        let &supplier = survey.suppliers.get(&back)?;
        if is_turned_on_reference(survey, load) {
            return None;
        }
        // Turned round is another fault, and for lamps and motors none; a short is one of its own.
        let is_fed = survey.suppliers.contains_key(&feed);
        let one_way =
            circuit.part(load.part).kind == PartKind::Sensor || matches!(load.kind, BranchKind::Feed { .. });
        let shorted = grounds.contains(&back) || grounds.contains(&feed);
        (!shorted && (one_way || is_fed)).then_some(How::Fed(supplier))
    };
    let pins = |load: &Branch| [load.a, load.b].into_iter().any(|p| survey.doubts(p));
    survey
        .loads()
        .filter(|(_, load)| !pins(load))
        .filter_map(|(id, load)| Some(WrongPin { load: id, how: wrong(load)? }))
        .collect()
}

/// Whether a load takes a reference's ground for its feed, and its output for its ground.
pub(crate) fn is_turned_on_reference(survey: &Survey, load: &Branch) -> bool {
    let of = |point| survey.net_of(point);
    let references = survey.circuit().outputs.iter().map(|(_, id)| survey.circuit().branch(*id));
    references.filter(|b| matches!(b.kind, BranchKind::Reference { .. })).any(|reference| {
        (of(reference.a), of(reference.b)) == (of(load.b), of(load.a)) && of(load.a) != of(load.b)
    })
}

/// The loads that [`find`] leaves to a walk through contacts: either pin may be the ground pin,
/// and neither is.
pub(crate) fn fed_at_both(survey: &Survey) -> Vec<WrongPin> {
    let reach = &survey.reach;
    let known: BTreeSet<BranchId> = survey.wrong_pins.iter().map(|wrong| wrong.load).collect();
    let wrong = |id: BranchId, load: &Branch| {
        let &supplier = survey.suppliers.get(&survey.net_of(load.b))?;
        let grounded =
            reach.is_turned(load.a, load.b) || reach.ground[load.a.index()] || reach.ground[load.b.index()];
        let reported = survey.doubts_net_of(load.b) || survey.doubts_net_of(load.a);
        (!grounded && !reported && !known.contains(&id)).then_some(How::Fed(supplier))
    };
    survey.loads().filter_map(|(id, load)| Some(WrongPin { load: id, how: wrong(id, load)? })).collect()
}
