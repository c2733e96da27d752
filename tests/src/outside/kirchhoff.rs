//! Kirchhoff's current law as the judge of an answer, whoever gave it.

use super::elements::{Element, LEAK, Law, Netlist};

/// Current out of `a` of an element while the nodes have these volts.
pub fn current(list: &Netlist, element: &Element, volts: &[f64]) -> f64 {
    let across = volts[element.a] - volts[element.b];
    match element.law {
        Law::Resistor(ohms) => -across / ohms,
        Law::Source { volts: own, ohms } => (own.at(volts) - across) / ohms,
        Law::Limited { volts: own, ohms, least, most } => {
            ((own.at(volts) - across) / ohms).max(least).min(most) - across / LEAK
        }
        Law::Filament { hot, rated } => -across / filament(hot, rated, across),
        Law::Current(amps) => amps,
        Law::Same(source) => -current(list, &list.elements[source], volts),
    }
}

/// Ohms of a filament with these volts across it.
pub fn filament(hot: f64, rated: f64, across: f64) -> f64 {
    hot * (across.abs() / rated).powf(0.45).max(0.09)
}

/// Whether the currents into every node but ground sum to nothing: within a millionth of what
/// flows there, and 10 nA for the digits of volts over a milliohm.
pub fn holds(list: &Netlist, volts: &[f64]) -> bool {
    let mut sum = vec![0.0; list.nodes];
    let mut flow = vec![0.0; list.nodes];
    for element in &list.elements {
        let amps = current(list, element, volts);
        sum[element.a] += amps;
        sum[element.b] -= amps;
        flow[element.a] += amps.abs();
        flow[element.b] += amps.abs();
    }
    let balanced = |node: usize| sum[node].abs() <= 1e-6 * flow[node] + 1e-8;
    (0..list.nodes).all(|node| node == list.ground || balanced(node))
}
