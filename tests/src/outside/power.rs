//! Whether a module is alive: what would stand across its feed if all that its references give came through it.
//!
//! A reference in a netlist is a source between its pin and its return, so that its current goes round through the
//! module's ground and the feed never sees it. Where a ground is lost that keeps a module alive which is dead. So the
//! simulator is asked once more about the network as it came to rest, every part on its straight piece, with
//! that current drawn through the feed as well, and no less than the least that a module draws at work.

use halfsplit_circuit::PartId;

use super::elements::{Element, Fed, Law, Netlist, Own};
use super::kirchhoff::filament;
use super::pieces::Straight;

/// Amperes that are nothing beside the digits of volts over a tenth of an ohm.
const NOTHING: f64 = 1e-9;

/// What is to be known before a module counts as fed by a feed.
#[derive(Clone, Debug)]
pub enum Verdict {
    /// It is, or it isn't.
    Known(bool),
    /// It is if the feed still wakes it in this network.
    Ask(Box<Netlist>),
}

/// Judges one feed at the volts of a network that has come to rest.
pub fn judge(list: &Netlist, volts: &[f64], fed: &Fed) -> Verdict {
    let Some(wakes) = fed.wakes else { return Verdict::Known(false) };
    if volts[fed.a] - volts[fed.b] < wakes {
        return Verdict::Known(false);
    }
    let mut probe = Straight::at(list, volts).list(list);
    for element in &mut probe.elements {
        match &mut element.law {
            // Held references keep their volts, filaments their ohms: the question is put to a network at rest.
            Law::Source { volts: own, .. } => *own = Own::Volts(own.at(volts)),
            Law::Filament { hot, rated } => {
                let across = volts[element.a] - volts[element.b];
                element.law = Law::Resistor(filament(*hot, *rated, across));
            }
            _ => {}
        }
    }
    let before = probe.elements.len();
    for giving in list.references.iter().filter(|giving| giving.module == fed.module) {
        let (a, b) = (fed.a, fed.b);
        let source = probe.elements[giving.element];
        match source.law {
            // One that gives nothing, to the digits of the volts, gives as soon as the feed is drawn on.
            Law::Source { volts: own, ohms }
                if (own.at(volts) - volts[source.a] + volts[source.b]) / ohms > -NOTHING =>
            {
                probe.elements.push(Element { a, b, law: Law::Same(giving.element) });
            }
            Law::Current(amps) if amps > 0.0 => {
                probe.elements.push(Element { a, b, law: Law::Current(-amps) });
            }
            _ => {}
        }
    }
    if fed.more > 0.0 {
        probe.elements.push(Element { a: fed.a, b: fed.b, law: Law::Resistor(1.0 / fed.more) });
    }
    if probe.elements.len() == before {
        return Verdict::Known(true);
    }
    // Through what ties a part of the network to ground for the simulator's sake nothing flows.
    if !list.joined(volts).same(fed.a, fed.b) {
        return Verdict::Known(false);
    }
    Verdict::Ask(Box::new(probe))
}

/// Whether a feed still wakes its module at the volts that the simulator found for what was asked; a
/// network without an answer is one in which nothing leads back.
pub fn wakes(fed: &Fed, volts: Option<&Vec<f64>>) -> bool {
    let Some((wakes, volts)) = fed.wakes.zip(volts) else { return false };
    volts[fed.a] - volts[fed.b] >= wakes
}

/// The modules of a network that are fed, by its feeds and whether each is enough; those that no feed wakes are.
pub fn fed(list: &Netlist, enough: &[bool], module: PartId) -> bool {
    let own = || list.feeds.iter().zip(enough).filter(|(fed, _)| fed.module == module && fed.wakes.is_some());
    own().next().is_none() || own().any(|(_, enough)| *enough)
}
