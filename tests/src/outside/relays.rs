//! Relays and modules between two runs of the simulator, by their written rule.
//!
//! Relays follow the volts across their coils, all at once, from rest. When they have come
//! to rest, modules that starve at all their waking feeds fall asleep; when none starves, sleeping
//! modules that are fed and wanted wake again.

use halfsplit_circuit::BranchKind;

use super::families::Case;
use super::netlist::{Netlist, Standing, wants};

/// Where everything stands next, or `None` if it has settled. `volts` are by node.
pub fn next(case: &Case, list: &Netlist, volts: &[f64], now: &Standing) -> Option<Standing> {
    let across = |a: usize, b: usize| volts[a] - volts[b];
    let mut next = now.clone();
    for &(id, a, b) in &list.coils {
        let BranchKind::Coil { pull_in, drop_out, .. } = case.circuit.branch(id).kind else { continue };
        let level = across(a, b).abs();
        let was = now.pulled.contains(&id);
        match (was, if was { level >= drop_out } else { level >= pull_in }) {
            (false, true) => next.pulled.push(id),
            (true, false) => next.pulled.retain(|&other| other != id),
            _ => {}
        }
    }
    if next != *now {
        return Some(next);
    }
    let fed = |module| {
        let mut own = list.feeds.iter().filter(|feed| feed.0 == module).peekable();
        own.peek().is_none() || own.any(|&(_, a, b, wakes)| across(a, b) >= wakes)
    };
    next.awake.retain(|&module| fed(module));
    if next != *now {
        return Some(next);
    }
    let mut modules: Vec<_> = list.feeds.iter().map(|feed| feed.0).collect();
    modules.sort_unstable();
    modules.dedup();
    for module in modules {
        if !now.awake.contains(&module) && wants(&case.circuit, &case.state, module) && fed(module) {
            next.awake.push(module);
        }
    }
    (next != *now).then_some(next)
}
