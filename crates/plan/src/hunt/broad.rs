//! Hunts with many suspects: steps are weighed by what they part at declared values in the plainest
//! set-up, and only those that the plan takes are read in their own set-up with all their tolerances.

use halfsplit_circuit::Minutes;

use super::readings::View;
use super::{Action, Hunt, Phase, Rig};
use crate::search::{Move, Outcome, Set, Setup, weight_of};

/// From so many suspects on a hunt is broad.
pub(crate) const MANY: usize = 40;
/// Sets up to this size are parted by their own readings, larger ones by the labels of all suspects.
const FEW: usize = 24;
/// A step that costs less counts as this, so that the ratio stays finite.
const LEAST: Minutes = 1e-3;
/// Suspects weighed for one unit of work, about.
const WEIGHED: usize = 100;

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
            if action.mates() && !mates || self.vain.contains(&(set, setup, at as u32)) {
                continue;
            }
            let Some((next, view, minutes)) = self.step(rig, action) else { continue };
            if next.phase == Phase::Live && !next.parted.and(self.cuts).is_empty() {
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
        if set.len() <= FEW || view.is_ohms() {
            return self.rough(set, view);
        }
        let mut parted: Vec<Set> = Vec::new();
        let labels = self.label(view);
        for suspect in set.iter() {
            let label = usize::from(labels[suspect]);
            if parted.len() <= label {
                parted.resize(label + 1, Set::EMPTY);
            }
            parted[label].insert(suspect);
        }
        parted.retain(|part| !part.is_empty());
        parted
    }

    /// For every suspect the number of the part in which a view leaves it.
    fn label(&mut self, view: View) -> &[u16] {
        if !self.labels.contains_key(&view) {
            let mut labels = vec![0; self.quarry.len()];
            for (label, part) in self.rough(Set::first(labels.len()), view).into_iter().enumerate() {
                part.iter().for_each(|suspect| labels[suspect] = label as u16);
            }
            self.labels.insert(view, labels);
        }
        &self.labels[&view]
    }

    /// Bits of doubt about the fault that a view takes away, at declared values.
    fn information(&mut self, set: Set, view: View) -> f64 {
        let total = weight_of(&self.weights, set);
        let shares: Vec<f64> = if set.len() <= FEW || view.is_ohms() {
            let parted = self.rough(set, view);
            parted.into_iter().map(|part| weight_of(&self.weights, part) / total).collect()
        } else {
            self.label(view);
            let labels = &self.labels[&view];
            let mut shares = Vec::new();
            for suspect in set.iter() {
                let label = usize::from(labels[suspect]);
                if shares.len() <= label {
                    shares.resize(label + 1, 0.0);
                }
                shares[label] += self.weights[suspect] / total;
            }
            shares
        };
        shares.into_iter().filter(|p| *p > 0.0).map(|p| -p * p.log2()).sum()
    }
}
