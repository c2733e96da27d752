//! Hunts with many suspects: steps are weighed by what they part at declared values in the plainest
//! set-up, and only those that the plan takes are read in their own set-up with all their tolerances.

use std::collections::BTreeSet;

use halfsplit_circuit::{Minutes, PointId, touched};

use super::readings::{Look, View};
use super::{Action, Hunt, Phase, Rig};
use crate::predict::Span;
use crate::search::{Move, Outcome, Set, Setup, weight_of};

/// From so many suspects on a hunt is broad.
pub(crate) const MANY: usize = 40;
/// Sets up to this size are parted by their own readings, larger ones by the labels of all suspects.
const FEW: usize = 24;
/// A step that costs less counts as this, so that the ratio stays finite.
const LEAST: Minutes = 1e-3;
/// Suspects by whose readings one sees whether a plug matters to those that are not at it.
const WITNESSES: usize = 4;
/// Volts, and a share of the reading, by which it may move and still count as the same (own estimates).
const MOVED: (f64, f64) = (0.005, 0.01);
/// Suspects weighed for one unit of work, about.
const WEIGHED: usize = 100;

/// What is known of a view with nothing else parted, by suspect.
pub(super) struct Plain {
    spans: Vec<Span>,
    /// The part in which the view leaves the suspect among all.
    labels: Vec<u16>,
}

/// An action that parts a set.
struct Promise {
    /// Bits of doubt taken away for each minute.
    rate: f64,
    at: usize,
    rig: Rig,
    minutes: Minutes,
    view: View,
}

impl Hunt<'_, '_> {
    /// The moves worth weighing in this set-up, most information per minute first.
    pub(super) fn promising(&mut self, set: Set, setup: Setup) -> Vec<Move> {
        let rig = self.rig(setup);
        let mates = !self.inlines(rig.parted).is_empty();
        self.work += (self.actions.len() * set.len() / WEIGHED) as u64;
        let mut promises: Vec<Promise> = Vec::new();
        for at in 0..self.actions.len() {
            let action = self.actions[at];
            if self.mates(rig, action) && !mates || self.vain.contains(&(set, setup, at as u32)) {
                continue;
            }
            let Some((next, view, minutes)) = self.step(rig, action) else { continue };
            let parts_the_source = next.phase == Phase::Live && !next.parted.and(self.cuts).is_empty();
            if parts_the_source || self.is_taken(view) {
                continue;
            }
            let view = self.plainest(rig, action).unwrap_or(view);
            let information = self.information(set, view);
            if information > 0.0 {
                let rate = information / minutes.max(LEAST);
                promises.push(Promise { rate, at, rig: next, minutes, view });
            }
        }
        promises.sort_by(|a, b| b.rate.total_cmp(&a.rate).then(a.at.cmp(&b.at)));
        promises.truncate(if set.len() > FEW { 4 } else { 8 });
        let to_move = |promise: Promise| {
            let setup = self.setup(promise.rig);
            let parted = self.parted(set, promise.view);
            let outcomes = parted.into_iter().map(|set| Outcome { set, setup, minutes: 0.0 }).collect();
            Move { action: promise.at as u32, minutes: promise.minutes, outcomes }
        };
        promises.into_iter().map(to_move).collect()
    }

    /// The view of an action with nothing else parted.
    fn plainest(&mut self, rig: Rig, action: Action) -> Option<View> {
        let start = self.rig(Setup(0));
        let from = match rig.phase {
            Phase::Live => start,
            Phase::Injected => self.step(start, Action::Inject)?.0,
            Phase::Dead => self.step(start, Action::Ohms { black: rig.black })?.0,
        };
        let action = match action {
            Action::Part { tap, .. } => Action::Part { tap, remate: false },
            Action::Probe { at, .. } => Action::Probe { at, remate: false },
            other => other,
        };
        self.step(from, action).map(|done| done.1)
    }

    /// What a view parts at declared values.
    fn parted(&mut self, set: Set, view: View) -> Vec<Set> {
        if self.is_ohms(view) {
            return self.rough(set, view);
        }
        let plain = self.plain(view);
        if set.len() <= FEW {
            let spans = set.iter().map(|suspect| (suspect, plain.spans[suspect])).collect();
            return self.fall_together(spans, view).into_iter().map(|(set, _)| set).collect();
        }
        let mut parted: Vec<Set> = Vec::new();
        for suspect in set.iter() {
            let label = usize::from(plain.labels[suspect]);
            if parted.len() <= label {
                parted.resize(label + 1, Set::EMPTY);
            }
            parted[label].insert(suspect);
        }
        parted.retain(|part| !part.is_empty());
        parted
    }

    /// Bits of doubt about the fault that a view takes away, at declared values.
    fn information(&mut self, set: Set, view: View) -> f64 {
        let total = weight_of(&self.weights, set);
        let parted = self.parted(set, view);
        let shares = parted.into_iter().map(|part| weight_of(&self.weights, part) / total);
        shares.filter(|p| *p > 0.0).map(|p| -p * p.log2()).sum()
    }

    /// What every suspect reads in a view in volts, found once.
    fn plain(&mut self, view: View) -> &Plain {
        if !self.plain.contains_key(&view) {
            let all = Set::first(self.quarry.len());
            let spans = self.glance(all, view);
            let mut labels = vec![0; spans.len()];
            let numbered = spans.iter().copied().enumerate().collect();
            for (label, (part, _)) in self.fall_together(numbered, view).into_iter().enumerate() {
                part.iter().for_each(|suspect| labels[suspect] = label as u16);
            }
            self.plain.insert(view, Plain { spans, labels });
        }
        &self.plain[&view]
    }

    /// Suspects of a set by what they read in a view: as [`Hunt::rough`], at less cost.
    pub(super) fn roughly(&mut self, set: Set, view: View) -> Vec<Set> {
        let spans = set.iter().zip(self.glance(set, view)).collect();
        self.fall_together(spans, view).into_iter().map(|(set, _)| set).collect()
    }

    /// Nominal readings of a set, but where one part's own plug is out only the suspects at that plug are read: the others
    /// read as with everything mated, if that holds for some of them.
    fn glance(&mut self, set: Set, view: View) -> Vec<Span> {
        let start = self.rig(Setup(0));
        let Some(tap) = self.lone_plug(start, view) else { return self.nominals(view, set) };
        let untouched = View { parted: start.parted, ..view };
        let near = set.and(self.at_plug(tap));
        let members: Vec<usize> = set.without(near).iter().collect();
        if members.len() <= WITNESSES {
            return self.nominals(view, set);
        }
        let witnesses: Set =
            (0..WITNESSES).map(|nth| members[nth * (members.len() - 1) / (WITNESSES - 1)]).collect();
        let mated = self.nominals(untouched, witnesses);
        let parted = self.nominals(view, witnesses.or(near));
        let of_witnesses = witnesses.or(near).iter().zip(&parted).filter(|(at, _)| witnesses.contains(*at));
        let same = |a: f64, b: f64| a == b || (a - b).abs() <= MOVED.0 + MOVED.1 * a.abs();
        let moved = |(a, (_, b)): (&Span, (usize, &Span))| !same(a.low, b.low) || !same(a.high, b.high);
        if mated.iter().zip(of_witnesses).any(moved) {
            return self.nominals(view, set);
        }
        let mut spans = self.nominals(untouched, set);
        for (suspect, span) in near.iter().zip(self.nominals(view, near)) {
            if let Some(place) = set.iter().position(|member| member == suspect) {
                spans[place] = span;
            }
        }
        spans
    }

    /// The one connector of a part, not the source's, that is out in a live view at the meter place.
    fn lone_plug(&self, start: Rig, view: View) -> Option<usize> {
        let mut out = view.parted.without(start.parted).iter();
        let tap = out.next().filter(|_| out.next().is_none() && start.parted.is_within(view.parted))?;
        let plain = view.phase == Phase::Live && view.look == Look::Home;
        let own = !self.ground.taps[tap].inline && Some(tap) != self.ground.source_tap;
        (plain && own).then_some(tap)
    }

    /// Suspects whose fault lies at a plug or inside the part behind it.
    fn at_plug(&mut self, tap: usize) -> Set {
        if let Some(&known) = self.plugs.get(&tap) {
            return known;
        }
        let circuit = self.bench.circuit;
        let connector = circuit.connector(self.ground.taps[tap].connector);
        let mut points: BTreeSet<PointId> =
            connector.cavities.iter().flat_map(|cavity| cavity.points).flatten().collect();
        let inside = connector.owner.into_iter().flat_map(|part| circuit.branches_of(part));
        points.extend(inside.flat_map(|(_, branch)| [branch.a, branch.b]));
        let is_there = |&suspect: &usize| {
            let mut faults = self.quarry[suspect].variants.iter().flatten();
            faults.any(|fault| touched(circuit, fault).iter().any(|point| points.contains(point)))
        };
        let there = (0..self.quarry.len()).filter(is_there).collect();
        self.plugs.insert(tap, there);
        there
    }
}
