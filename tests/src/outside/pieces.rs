//! Tables by straight pieces: which piece every limited element works on, found between two runs.

use super::elements::{Element, LEAK, Law, Netlist};

/// A piece of a limited element's table.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Piece {
    Least,
    Within,
    Most,
}

/// The piece that every limited element of a network stands on.
#[derive(Clone, Debug)]
pub struct Straight(Vec<Piece>);

impl Straight {
    /// Diodes shut, outputs within bounds.
    pub fn new(list: &Netlist) -> Straight {
        let start = |(_, _, least, most): (usize, &Element, f64, f64)| {
            if least == f64::NEG_INFINITY && most == 0.0 { Piece::Most } else { Piece::Within }
        };
        Straight(Self::limited(list).map(start).collect())
    }

    /// Every limited element on the piece that holds its point at these volts.
    pub fn at(list: &Netlist, volts: &[f64]) -> Straight {
        let on = |(_, element, least, most): (usize, &Element, f64, f64)| {
            let Law::Limited { volts: own, ohms, .. } = element.law else { return Piece::Within };
            let amps = (own.at(volts) - volts[element.a] + volts[element.b]) / ohms;
            match amps {
                _ if amps < least => Piece::Least,
                _ if amps > most => Piece::Most,
                _ => Piece::Within,
            }
        };
        Straight(Self::limited(list).map(on).collect())
    }

    /// Limited elements with their place and bounds.
    pub fn limited(list: &Netlist) -> impl Iterator<Item = (usize, &Element, f64, f64)> {
        list.elements.iter().enumerate().filter_map(|(place, element)| match element.law {
            Law::Limited { least, most, .. } => Some((place, element, least, most)),
            _ => None,
        })
    }

    /// The network with every limited element straight.
    pub fn list(&self, list: &Netlist) -> Netlist {
        let mut straight = list.clone();
        for (piece, (place, element, least, most)) in self.0.iter().zip(Self::limited(list)) {
            let Law::Limited { volts, ohms, .. } = element.law else { continue };
            straight.elements[place].law = match piece {
                Piece::Within => Law::Source { volts, ohms },
                Piece::Least => Law::Current(least),
                Piece::Most => Law::Current(most),
            };
            let (a, b) = (element.a, element.b);
            straight.elements.push(Element { a, b, law: Law::Resistor(LEAK) });
        }
        straight
    }

    /// Moves elements whose point is not on their piece, all of them or only the first, by one piece;
    /// false if every point is.
    pub fn step(&mut self, list: &Netlist, volts: &[f64], slowly: bool) -> bool {
        let mut moved = false;
        for (piece, (_, element, least, most)) in self.0.iter_mut().zip(Self::limited(list)) {
            let Law::Limited { volts: own, ohms, .. } = element.law else { continue };
            let amps = (own.at(volts) - volts[element.a] + volts[element.b]) / ohms;
            // A point at a bound, to the last digits, is on both pieces.
            let slack = 1e-9 * (1.0 + amps.abs());
            let wanted = if amps < least {
                Piece::Least
            } else if amps > most {
                Piece::Most
            } else {
                Piece::Within
            };
            let near = (amps - least).abs() < slack || (amps - most).abs() < slack;
            if wanted == *piece || near {
                continue;
            }
            *piece = match (slowly, *piece, wanted) {
                (true, Piece::Least, Piece::Most) | (true, Piece::Most, Piece::Least) => Piece::Within,
                _ => wanted,
            };
            moved = true;
            if slowly {
                break;
            }
        }
        moved
    }
}
