//! Relays, modules and references short of volts between two runs of the simulator, by their written rule.
//!
//! Relays follow the volts across their coils, all at once, from rest. When they have come
//! to rest, modules that starve at all their waking feeds fall asleep; when none starves, sleeping
//! modules that are fed and wanted wake again. When those have come to rest too, a reference gives no more than
//! the best of its module's feeds brings.

use halfsplit_circuit::BranchKind;

use super::elements::{Fed, Netlist};
use super::families::Case;
use super::netlist::{Standing, wants};
use super::power::fed;

/// Where the relays stand next, or `None` if they have settled. `volts` are by node.
pub fn relays(case: &Case, list: &Netlist, volts: &[f64], now: &Standing) -> Option<Standing> {
    let mut next = now.clone();
    for &(id, a, b) in &list.coils {
        let BranchKind::Coil { pull_in, drop_out, .. } = case.circuit.branch(id).kind else { continue };
        let level = (volts[a] - volts[b]).abs();
        let was = now.pulled.contains(&id);
        match (was, if was { level >= drop_out } else { level >= pull_in }) {
            (false, true) => next.pulled.push(id),
            (true, false) => next.pulled.retain(|&other| other != id),
            _ => {}
        }
    }
    (next != *now).then_some(next)
}

/// Where modules and their references stand next once the relays have settled, or `None` if they have too;
/// `enough` says of each feed whether it is enough to wake its module.
pub fn modules(
    case: &Case,
    list: &Netlist,
    volts: &[f64],
    enough: &[bool],
    now: &Standing,
) -> Option<Standing> {
    let mut next = now.clone();
    next.awake.retain(|&module| fed(list, enough, module));
    if next != *now {
        return Some(next);
    }
    let mut modules: Vec<_> =
        list.feeds.iter().filter(|feed| feed.wakes.is_some()).map(|feed| feed.module).collect();
    modules.sort_unstable();
    modules.dedup();
    for module in modules {
        if !now.awake.contains(&module)
            && wants(&case.circuit, &case.state, module)
            && fed(list, enough, module)
        {
            next.awake.push(module);
        }
    }
    if next != *now {
        return Some(next);
    }
    for giving in &list.references {
        let across = |feed: &Fed| volts[feed.a] - volts[feed.b];
        let own = list.feeds.iter().filter(|feed| feed.module == giving.module);
        let Some(best) = own.max_by(|one, other| across(one).total_cmp(&across(other))) else { continue };
        let brings = across(best);
        next.held.retain(|(reference, _)| *reference != giving.reference);
        if brings < giving.volts {
            next.held.push((giving.reference, (brings > 0.0).then_some(best.feed)));
        }
    }
    // In order, so that the same references held are the same standing.
    next.held.sort_unstable();
    (next != *now).then_some(next)
}
