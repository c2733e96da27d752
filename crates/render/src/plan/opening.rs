//! The first sentence: what reads wrong, what it should read, and what sort of fault gives that.

use halfsplit_circuit::{BranchKind, Class, FaultKind, Ohms, net::net};
use halfsplit_plan::{Plan, Suspect};

use super::first_page::Car;
use crate::value::{span_of_ohms, span_of_volts, volts};

/// Share of the chance from which one sort of fault is told alone, and under which one is not told at all.
const NEARLY_ALL: f64 = 0.9;
const HARDLY_ANY: f64 = 0.1;
/// Most over least of what a fault has of ohms, up to which they are told.
const SPREAD: f64 = 10.0;

/// What a fault does to the circuit.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Sort {
    /// A path that should not be there.
    Path,
    /// A way that is open or has too much resistance.
    Break,
    /// An output that does nothing.
    Dead,
    /// A contact or output that stays closed.
    Stuck,
}

/// One sentence, its class in words.
pub(super) fn sentence(plan: &Plan, car: Car<'_>) -> String {
    let means = means(plan, car);
    if let Some(complaint) = &plan.complaint {
        let class = if means.is_empty() { String::new() } else { format!(": {means}") };
        return format!("{} ({}){class}.", complaint.words, complaint.class);
    }
    let sound = span_of_volts(plan.healthy.low, plan.healthy.high);
    let reads = match (plan.reads, plan.class) {
        (None, Some(Class::Floating)) => "floats, the meter wanders,".to_owned(),
        (Some(reads), Some(class)) => format!("reads {}, {class},", volts(reads)),
        _ => "reads wrong".to_owned(),
    };
    let class = if means.is_empty() { String::new() } else { format!(": {means}") };
    format!("{} {reads} and should read {sound}{class}.", plan.pin)
}

fn sort(suspect: &Suspect) -> Option<Sort> {
    Some(match suspect.variants.first()?.first()?.kind {
        FaultKind::Bridge { .. }
        | FaultKind::Chafe { .. }
        | FaultKind::Touch { .. }
        | FaultKind::Sink { .. } => Sort::Path,
        FaultKind::Series { .. } => Sort::Break,
        FaultKind::Dead { .. } => Sort::Dead,
        FaultKind::StuckClosed { .. } => Sort::Stuck,
    })
}

/// What sorts of fault explain what was seen, the likelier first.
fn means(plan: &Plan, car: Car<'_>) -> String {
    let mut shares: Vec<(Sort, f64)> = Vec::new();
    for suspect in &plan.suspects {
        let Some(sort) = sort(suspect) else { continue };
        match shares.iter_mut().find(|known| known.0 == sort) {
            Some(known) => known.1 += suspect.weight,
            None => shares.push((sort, suspect.weight)),
        }
    }
    let whole: f64 = shares.iter().map(|share| share.1).sum();
    shares.sort_by(|a, b| b.1.total_cmp(&a.1));
    shares.retain(|share| share.1 >= HARDLY_ANY * whole);
    let told = |sort| words(plan, car, sort);
    match &shares[..] {
        [] => String::new(),
        [(sort, weight), ..] if *weight >= NEARLY_ALL * whole => told(*sort),
        several => {
            let parts = several
                .iter()
                .map(|(sort, weight)| format!("{} ({:.0} in 100)", told(*sort), 100.0 * weight / whole));
            parts.collect::<Vec<_>>().join(", or ")
        }
    }
}

fn words(plan: &Plan, car: Car<'_>, sort: Sort) -> String {
    let lifted = plan.class == Some(Class::High);
    let low = matches!(plan.class, Some(Class::NearZero | Class::Low | Class::Good));
    match sort {
        Sort::Path if plan.complaint.is_none() && lifted => {
            format!("something with more volts touches it{}", about(plan))
        }
        Sort::Path if plan.complaint.is_none() && low => {
            let alive = plan.reads.is_some_and(|reads| reads.abs() > plan.healthy.high.abs() * 1e-3);
            let source = if has_output(plan, car) { "the output is alive" } else { "it is fed" };
            let begin = if alive {
                format!("{source} but something pulls it down")
            } else {
                "something pulls it down".into()
            };
            format!("{begin}{}", about(plan))
        }
        Sort::Path => format!("a path that should not be there{}", about(plan)),
        Sort::Break if lifted => "its way back is open or weak and something lifts it".into(),
        Sort::Break if plan.complaint.is_none() => "the way from its source, or back, is open or weak".into(),
        Sort::Break => "something on the way there or back, or the thing itself, is open or weak".into(),
        Sort::Dead => "what should drive it does nothing".into(),
        Sort::Stuck => "a contact or output stays closed".into(),
    }
}

/// Whether a module's output drives the pin's wire.
fn has_output(plan: &Plan, car: Car<'_>) -> bool {
    let circuit = &car.model.circuit;
    let there = net(circuit, car.state, plan.meter.red);
    circuit.branches.iter().any(|branch| {
        matches!(branch.kind, BranchKind::Reference { .. } | BranchKind::Driver { .. })
            && (there.contains(branch.a) || there.contains(branch.b))
    })
}

/// `, a short of 1.7 to 2.0 Ω`: the paths that are likely enough, from least to most.
fn about(plan: &Plan) -> String {
    let paths = || plan.suspects.iter().filter(|suspect| sort(suspect) == Some(Sort::Path));
    let whole: f64 = paths().map(|suspect| suspect.weight).sum();
    let likely = paths().filter(|suspect| suspect.weight >= HARDLY_ANY * whole);
    let known: Vec<Ohms> =
        likely.filter_map(|suspect| suspect.ohms).filter(|ohms| ohms.is_finite()).collect();
    let least = known.iter().copied().fold(f64::INFINITY, f64::min);
    let most = known.iter().copied().fold(0.0, f64::max);
    match (known.is_empty() || most > SPREAD * least, most < halfsplit_circuit::class::SHORT) {
        (true, _) => String::new(),
        (_, true) => format!(", a short of {}", span_of_ohms(least, most)),
        _ => format!(", a leak of {}", span_of_ohms(least, most)),
    }
}
