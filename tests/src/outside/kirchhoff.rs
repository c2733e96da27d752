//! Kirchhoff's current law as the judge of an answer, whoever gave it.

use super::netlist::{LEAK, Law, Netlist};

/// Current out of `a` of an element with these volts from `a` to `b`.
pub fn current(law: Law, volts: f64) -> f64 {
    match law {
        Law::Resistor(ohms) => -volts / ohms,
        Law::Source { volts: own, ohms } => (own - volts) / ohms,
        Law::Limited { volts: own, ohms, least, most } => {
            ((own - volts) / ohms).max(least).min(most) - volts / LEAK
        }
        Law::Filament { hot, rated } => -volts / (hot * (volts.abs() / rated).powf(0.45).max(0.09)),
        Law::Current(amps) => amps,
    }
}

/// Whether the currents into every node but ground sum to nothing: within a millionth of what
/// flows there, and 10 nA for the digits of volts over a milliohm.
pub fn holds(list: &Netlist, volts: &[f64]) -> bool {
    let mut sum = vec![0.0; list.nodes];
    let mut flow = vec![0.0; list.nodes];
    for element in &list.elements {
        let amps = current(element.law, volts[element.a] - volts[element.b]);
        sum[element.a] += amps;
        sum[element.b] -= amps;
        flow[element.a] += amps.abs();
        flow[element.b] += amps.abs();
    }
    let balanced = |node: usize| sum[node].abs() <= 1e-6 * flow[node] + 1e-8;
    (0..list.nodes).all(|node| node == list.ground || balanced(node))
}
