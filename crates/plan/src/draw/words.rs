//! Trade words for points, readings and what remains.

use halfsplit_circuit::{BranchKind, Class, Ohms, PointId};

use super::Case;
use crate::bench::Bench;
use crate::legal;
use crate::plan::Sense;
use crate::predict::Span;

/// The black lead's place.
pub(crate) fn black(bench: &Bench<'_>, point: PointId) -> String {
    if Some(point) == bench.circuit.negative {
        "battery negative".to_owned()
    } else if Some(point) == bench.circuit.positive {
        "battery positive".to_owned()
    } else {
        bench.name(point).to_owned()
    }
}

/// Where a point is, in the author's words.
pub(super) fn place(bench: &Bench<'_>, point: PointId) -> String {
    if let Some((connector, _)) = legal::cavity(bench.circuit, point) {
        return bench.circuit.connector(connector).place.clone();
    }
    let name = bench.name(point);
    let owner = bench.circuit.part_named(name.split(':').next().unwrap_or(name));
    owner.map(|p| bench.circuit.part(p).place.clone()).unwrap_or_default()
}

/// Colour of the wire at a point.
pub(super) fn colour(bench: &Bench<'_>, point: PointId) -> String {
    let wire = bench.circuit.branches().find_map(|(_, b)| match &b.kind {
        BranchKind::Wire { colour, .. } if b.a == point || b.b == point => Some(colour.clone()),
        _ => None,
    });
    wire.unwrap_or_default()
}

/// `X21 (engine left, top)`.
pub(super) fn with_place(name: &str, place: &str) -> String {
    if place.is_empty() { name.to_owned() } else { format!("{name} ({place})") }
}

/// Ohms as a hand meter shows them.
pub(crate) fn ohms(value: Ohms) -> String {
    match value {
        v if v.is_infinite() => "OL".to_owned(),
        v if v < 0.1 => format!("{:.0} mΩ", 1e3 * v),
        v if v < 100.0 => format!("{v:.1} Ω"),
        v if v < 1e3 => format!("{v:.0} Ω"),
        v if v < 1e6 => format!("{:.1} kΩ", v / 1e3),
        v => format!("{:.1} MΩ", v / 1e6),
    }
}

/// What an outcome amounts to.
pub(super) fn class(case: &Case<'_>, nominal: f64, sound: f64, is_ohms: bool) -> String {
    if nominal.is_nan() {
        return "no steady reading".to_owned();
    }
    let class = if is_ohms { Class::of_ohms(nominal) } else { Class::of_volts(nominal, sound, case.nominal) };
    class.to_string()
}

/// Names of the units of a set, heaviest first, each once.
pub(super) fn units(case: &Case<'_>, set: &[usize]) -> Vec<String> {
    let mut weighed: Vec<(usize, f64)> = Vec::new();
    for &suspect in set {
        let accused = &case.accused[suspect];
        match weighed.iter_mut().find(|w| w.0 == accused.unit) {
            Some(known) => known.1 += accused.weight,
            None => weighed.push((accused.unit, accused.weight)),
        }
    }
    weighed.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    weighed.into_iter().map(|(unit, _)| case.units[unit].name.clone()).collect()
}

/// Share of an end's chance below which a repair unit is told at its foot (own estimate).
const REMOTE: f64 = 0.05;

/// Suspects of an end by whether their repair unit has a share of the chance that is worth the head of the line.
pub(super) fn likely_and_remote(case: &Case<'_>, set: &[usize]) -> (Vec<usize>, Vec<usize>) {
    let whole: f64 = set.iter().map(|&at| case.accused[at].weight).sum();
    let of_unit = |unit: usize| -> f64 {
        let own = set.iter().map(|&at| &case.accused[at]).filter(|accused| accused.unit == unit);
        own.map(|accused| accused.weight).sum()
    };
    set.iter().partition(|&&at| of_unit(case.accused[at].unit) >= REMOTE * whole)
}

/// What an end of the walk says.
pub(super) fn verdict(case: &Case<'_>, set: &[usize], remote: &[usize]) -> String {
    let told = likely(case, set);
    if remote.is_empty() {
        return told;
    }
    let chance = |set: &[usize]| set.iter().map(|&at| case.accused[at].weight).sum::<f64>();
    let share = 100.0 * chance(remote) / (chance(remote) + chance(set));
    let names = units(case, remote);
    let more = match names.len() - names.len().min(TOLD) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let names = names[..names.len().min(TOLD)].join(", ");
    format!("{told}. Not excluded, {share:.1} % together: {names}{more}")
}

/// The most repair units that are told at the foot of an end.
const TOLD: usize = 4;

/// The repair units that an end names, with how each fails.
fn likely(case: &Case<'_>, set: &[usize]) -> String {
    let names = units(case, set);
    // A mode once, however many stretches of its resistance are left.
    let modes = |name: &str| {
        let mut modes: Vec<(&str, Vec<Option<f64>>)> = Vec::new();
        for accused in set.iter().map(|&i| &case.accused[i]).filter(|a| case.units[a.unit].name == name) {
            match modes.iter_mut().find(|known| known.0 == accused.mode) {
                Some(known) => known.1.push(accused.ohms),
                None => modes.push((&accused.mode, vec![accused.ohms])),
            }
        }
        let told = modes.into_iter().map(|(mode, values)| format!("{mode}{}", about(&values)));
        told.collect::<Vec<_>>().join("; or ")
    };
    match &names[..] {
        [only] if modes(only).is_empty() => only.clone(),
        [only] => format!("{only}: {}", modes(only)),
        several => {
            let lines: Vec<String> = several.iter().map(|n| format!("{n} ({})", modes(n))).collect();
            format!("one of these, which no allowed reading parts: {}", lines.join(", "))
        }
    }
}

/// `, about 1.9 Ω`, or nothing where a resistance is open to both sides or the wire is broken.
fn about(values: &[Option<f64>]) -> String {
    let known = values.iter().copied().map(|value| value.filter(|value| value.is_finite()));
    let Some(known) = known.collect::<Option<Vec<f64>>>() else { return String::new() };
    let least = known.iter().copied().fold(f64::INFINITY, f64::min);
    let most = known.iter().copied().fold(0.0, f64::max);
    match ohms(least) == ohms(most) {
        true => format!(", about {}", ohms(least)),
        false => format!(", about {} to {}", ohms(least), ohms(most)),
    }
}

/// What is seen, heard or read beside what a sound circuit gives.
pub(super) fn seen(span: Span, sound: Span, sense: Sense) -> String {
    let yes = span.nominal > 0.5;
    match sense {
        Sense::Works(_) => {
            if yes {
                "yes, it works"
            } else {
                "no"
            }
        }
        Sense::Strong(_) => {
            if yes {
                "as strong as usual"
            } else {
                "weak too, or out"
            }
        }
        Sense::PulledIn(_) => {
            if yes {
                "it clicks"
            } else {
                "no click"
            }
        }
        Sense::Commanded(_) => {
            if yes {
                "commanded on"
            } else {
                "commanded off"
            }
        }
        Sense::Meter if span.nominal.is_nan() => "no steady reading",
        Sense::Meter if span.low <= sound.high && sound.low <= span.high => "as when sound",
        Sense::Meter if span.high < sound.low => "less than when sound",
        Sense::Meter => "more than when sound",
    }
    .to_owned()
}

/// What millivolts on the circuit's own ground wire say of the current's way back.
pub(super) fn way_back(volts: f64) -> &'static str {
    if volts > 5e-4 { "the current comes back by this wire" } else { "it does not come back by this wire" }
}

/// What a wire that something lifts does when a source is taken away.
pub(super) fn lifted(case: &Case<'_>, volts: f64) -> &'static str {
    let nominal = case.nominal;
    if volts > nominal {
        "still high: what lifts it is another"
    } else {
        "no longer high: what lifts it went with it"
    }
}

/// Whether so many volts are none.
pub(super) fn is_dead(case: &Case<'_>, volts: f64) -> bool {
    volts.abs() < 0.01 * case.nominal
}
