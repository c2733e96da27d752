//! The complaint as a search problem: which looks part which suspects, and what they cost.

use halfsplit_circuit::{Fault, Minutes, Quantity};

use super::{Desk, looks::Look, looks::Looks, looks::Place, suspects::Accused};
use crate::plan::{Refused, Sense};
use crate::search::{Move, Outcome, Problem, Set, Setup};

/// Minutes charged where suspects are left that nothing parts (own estimate).
const START_AGAIN: Minutes = 30.0;
/// The most looks that one plan weighs.
const MOST: usize = 250;
/// By which share a reading is widened that has no interval of its own (own estimate).
const EDGE: f64 = 0.05;
/// Looks that part the suspects alike, of which the cheapest are kept.
const ALIKE: usize = 2;

/// What a suspect gives at a look: a reading, or 0 and 1 for no and yes.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Span {
    pub nominal: f64,
    pub low: f64,
    pub high: f64,
}

impl Span {
    const ANY: Span = Span { nominal: f64::NAN, low: f64::NEG_INFINITY, high: f64::INFINITY };

    pub fn join(self, other: Span) -> Span {
        Span { nominal: self.nominal, low: self.low.min(other.low), high: self.high.max(other.high) }
    }
}

/// A look with what every suspect gives.
pub(crate) struct Sight {
    pub look: Look,
    pub spans: Vec<Span>,
    pub sound: Span,
    /// Suspects by the low end of their spans.
    order: Vec<usize>,
}

pub(crate) struct Trouble {
    weights: Vec<f64>,
    pub sights: Vec<Sight>,
    pub places: Vec<Place>,
    pub refused: Vec<Refused>,
    alike: Vec<Set>,
    again: Minutes,
}

impl Trouble {
    pub fn new(desk: &Desk<'_>, accused: &[Accused], looks: Looks) -> Trouble {
        let Looks { places, looks, refused } = looks;
        // Nominal readings tell which looks part any two; only those are read with all their tolerances.
        let mut rough: Vec<(Look, Vec<Set>)> = Vec::new();
        for look in looks {
            let spans: Vec<Span> = accused.iter().map(|a| nominal(desk, &look, a)).collect();
            let parted = parted(&spans, &look);
            if parted.iter().any(|others| !others.is_empty()) {
                rough.push((look, parted));
            }
        }
        let cost = |look: &Look| places[look.place].reach + look.extra;
        rough.sort_by(|a, b| cost(&a.0).total_cmp(&cost(&b.0)));
        let mut kept: Vec<(Look, Vec<Set>)> = Vec::new();
        for (look, parted) in rough {
            if kept.len() < MOST && kept.iter().filter(|(_, known)| *known == parted).count() < ALIKE {
                kept.push((look, parted));
            }
        }
        let sights: Vec<Sight> = kept
            .into_iter()
            .map(|(look, _)| {
                let spans: Vec<Span> = accused.iter().map(|a| span(desk, &look, a)).collect();
                let sound = Accused { variants: vec![Vec::new()], commanded: None, ..accused[0].clone() };
                Sight { sound: span(desk, &look, &sound), order: order(&spans), look, spans }
            })
            .collect();
        let count = accused.len();
        let mut alike = vec![Set::first(count); count];
        for one in 0..count {
            for other in 0..one {
                let same = accused[one].unit == accused[other].unit;
                if !same && sights.iter().any(|sight| sight.parts_two(one, other)) {
                    alike[one] = alike[one].without(Set::only(other));
                    alike[other] = alike[other].without(Set::only(one));
                }
            }
        }
        let weights = accused.iter().map(|a| a.weight).collect();
        Trouble { weights, sights, places, refused, alike, again: desk.inquiry.costs.again }
    }

    /// What a look costs where these places have been reached, and the places afterwards.
    pub fn cost(&self, sight: usize, setup: Setup) -> (Minutes, Setup) {
        let look = &self.sights[sight].look;
        let bit = |place: usize| if place == 0 || place > 63 { 0 } else { 1_u64 << place };
        let place = &self.places[look.place];
        let shared = self.places.iter().enumerate().any(|(at, other)| {
            !place.access.is_empty() && other.access == place.access && setup.0 & bit(at) != 0
        });
        let way = match look.place {
            0 => 0.0,
            at if setup.0 & bit(at) != 0 || shared => self.again.min(place.reach),
            _ => place.reach,
        };
        (way + look.extra, Setup(setup.0 | bit(look.place)))
    }

    /// The suspects of a set by what they give.
    pub fn bins(&self, sight: usize, set: Set) -> Vec<(Set, Span)> {
        let sight = &self.sights[sight];
        partition(&sight.spans, &sight.order, &sight.look, set)
    }

    fn is_one(&self, set: Set) -> bool {
        set.iter().all(|suspect| set.is_within(self.alike[suspect]))
    }
}

impl Sight {
    fn parts_two(&self, one: usize, other: usize) -> bool {
        let (a, b) = (self.spans[one], self.spans[other]);
        let (low, high) = if a.low <= b.low { (a, b) } else { (b, a) };
        apart(low, high, &self.look)
    }
}

impl Problem for Trouble {
    fn weights(&self) -> &[f64] {
        &self.weights
    }

    fn start(&self) -> Setup {
        Setup(0)
    }

    fn settled(&self, set: Set, _: Setup) -> Option<Minutes> {
        self.is_one(set).then_some(0.0)
    }

    fn stuck(&self, _: Set, _: Setup) -> Minutes {
        START_AGAIN
    }

    fn moves(&mut self, set: Set, setup: Setup) -> Vec<Move> {
        let mut moves = Vec::new();
        for at in 0..self.sights.len() {
            let bins = self.bins(at, set);
            if bins.len() < 2 {
                continue;
            }
            let (minutes, next) = self.cost(at, setup);
            let outcome = |(set, _): (Set, Span)| Outcome { set, setup: next, minutes: 0.0 };
            moves.push(Move {
                action: at as u32,
                minutes,
                outcomes: bins.into_iter().map(outcome).collect(),
            });
        }
        moves
    }

    fn classes(&self) -> Vec<usize> {
        let mut classes: Vec<usize> = (0..self.weights.len()).collect();
        for one in 0..classes.len() {
            for other in self.alike[one].iter() {
                let (keep, drop) = (classes[one].min(classes[other]), classes[one].max(classes[other]));
                classes.iter_mut().filter(|class| **class == drop).for_each(|class| *class = keep);
            }
        }
        classes
    }

    fn floors(&self) -> Vec<Minutes> {
        let mut floors: Vec<Minutes> = self.sights.iter().map(|sight| sight.look.extra).collect();
        floors.sort_by(f64::total_cmp);
        floors
    }

    fn arity(&self) -> usize {
        self.weights.len().max(2)
    }
}

fn order(spans: &[Span]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..spans.len()).collect();
    order.sort_by(|&a, &b| spans[a].low.total_cmp(&spans[b].low).then(a.cmp(&b)));
    order
}

/// For each suspect those from which a look parts it.
fn parted(spans: &[Span], look: &Look) -> Vec<Set> {
    let mut parted = vec![Set::first(0); spans.len()];
    for (one, a) in spans.iter().enumerate() {
        for (other, b) in spans.iter().enumerate().take(one) {
            let (low, high) = if a.low <= b.low { (*a, *b) } else { (*b, *a) };
            if apart(low, high, look) {
                parted[one].insert(other);
                parted[other].insert(one);
            }
        }
    }
    parted
}

/// Suspects of a set that a person tells apart, lowest first; overlapping predictions fall together.
fn partition(spans: &[Span], order: &[usize], look: &Look, set: Set) -> Vec<(Set, Span)> {
    let mut bins: Vec<(Set, Span)> = Vec::new();
    for &suspect in order.iter().filter(|&&suspect| set.contains(suspect)) {
        let span = spans[suspect];
        match bins.last_mut() {
            Some((whole, last)) if !apart(*last, span, look) => {
                *whole = whole.or(Set::only(suspect));
                *last = last.join(span);
            }
            _ => bins.push((Set::only(suspect), span)),
        }
    }
    bins
}

/// Whether a person tells two predictions apart, the lower one given first.
///
/// The gap is on top of the meter's own tolerance (own estimates): a millivolt range is finer than a range of
/// volts, on which lamps and the supply wander.
fn apart(low: Span, high: Span, look: &Look) -> bool {
    let gap = match look.sense {
        Sense::Meter if look.leads.quantity() == Quantity::Ohms => 0.3 + 0.1 * low.high.abs(),
        Sense::Meter if high.low.abs() < 0.05 => 0.000_3 + 0.05 * low.high.abs(),
        Sense::Meter => 0.02 + 0.03 * low.high.abs(),
        _ => 0.5,
    };
    high.low > low.high + gap
}

fn faults(look: &Look, variant: &[Fault]) -> Vec<Fault> {
    variant.iter().chain(&look.held).cloned().collect()
}

/// What a suspect gives at declared values, over all its resistances.
fn nominal(desk: &Desk<'_>, look: &Look, accused: &Accused) -> Span {
    let one = |variant: &Vec<Fault>| {
        let value = crate::replay::sense(
            &desk.solver,
            &look.state,
            &faults(look, variant),
            look.sense,
            &look.leads,
            accused.commanded,
        )
        .ok()?;
        Some(Span { nominal: value, low: value, high: value })
    };
    accused.variants.iter().filter_map(one).reduce(Span::join).unwrap_or(Span::ANY)
}

/// As [`nominal`], with all tolerances.
fn span(desk: &Desk<'_>, look: &Look, accused: &Accused) -> Span {
    if look.sense != Sense::Meter {
        return nominal(desk, look, accused);
    }
    let read = |variant: &Vec<Fault>| {
        let faults = faults(look, variant);
        match desk.solver.read(&look.state, &faults, &look.leads) {
            Ok(reading) => Some(Span { nominal: reading.nominal, low: reading.low, high: reading.high }),
            // Within its tolerances a relay pulls in or not; what it reads at declared values still counts.
            Err(_) => {
                let value = desk.solver.nominal(&look.state, &faults, &look.leads).ok()?.value;
                let wide = EDGE * value.abs();
                Some(Span { nominal: value, low: value - wide, high: value + wide })
            }
        }
    };
    accused.variants.iter().filter_map(read).reduce(Span::join).unwrap_or(Span::ANY)
}
