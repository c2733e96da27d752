//! What every suspect would read, and which of them a person can tell apart.

use halfsplit_circuit::{Fault, Key, Load, Measure, Meter, State};

use super::{Action, Hunt, Phase, Rig};
use crate::legal::with_out;
use crate::search::Set;

/// A predicted reading, volts or ohms.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Span {
    pub nominal: f64,
    pub low: f64,
    pub high: f64,
}

impl Span {
    /// Any reading at all: what is said of a circuit that finds no steady state.
    const ANY: Span = Span { nominal: f64::NAN, low: f64::NEG_INFINITY, high: f64::INFINITY };

    pub fn join(self, other: Span) -> Span {
        Span { nominal: self.nominal, low: self.low.min(other.low), high: self.high.max(other.high) }
    }
}

/// Where and how a reading is taken.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(crate) struct View {
    pub parted: u64,
    pub phase: Phase,
    pub black: u8,
    pub look: Look,
}

/// At the meter place, with a load on the leads, or elsewhere.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(crate) enum Look {
    Home,
    Loaded,
    Probe(usize),
}

impl View {
    /// Whether it is a reading in ohms.
    pub fn is_ohms(self) -> bool {
        self.phase == Phase::Dead
    }
}

impl Hunt<'_, '_> {
    /// The state and the meter of a view.
    pub fn stage(&self, view: View) -> (State, Meter) {
        let out = self.out(view.parted);
        let mut meter =
            Meter { red: self.ground.home, black: self.bench.black, measure: Measure::Volts(Load::None) };
        match view.look {
            Look::Home => {}
            Look::Loaded => meter.measure = Measure::Volts(Load::Reference),
            Look::Probe(at) => {
                let probe = &self.ground.probes[at];
                (meter.red, meter.black) = (probe.red, probe.black);
                meter.measure = Measure::Volts(probe.load);
            }
        }
        let mut state = with_out(&self.bench.state, &out);
        match view.phase {
            Phase::Live => {}
            Phase::Injected => {
                meter.measure = Measure::Inject { volts: self.inject_volts(), through: INJECT_THROUGH };
            }
            Phase::Dead => {
                meter.measure = Measure::Ohms;
                meter.black = self.ground.blacks[usize::from(view.black)];
                state.battery = false;
                state.key = Key::Off;
            }
        }
        (state, meter)
    }

    /// What the bench source is set to: what the wire carries when sound.
    pub fn inject_volts(&self) -> f64 {
        self.bench.healthy.nominal.round().max(1.0)
    }

    /// What a suspect would read.
    pub fn span(&mut self, view: View, suspect: usize) -> Span {
        if let Some(&known) = self.spans.get(&(view, suspect)) {
            return known;
        }
        let (state, meter) = self.stage(view);
        // A resistance on the edge between two states has no steady reading; its neighbours speak for it.
        let variants = &self.quarry[suspect].variants;
        let spans = variants.iter().filter_map(|faults| self.read(&state, &meter, faults));
        let span = spans.reduce(Span::join).unwrap_or(Span::ANY);
        self.spans.insert((view, suspect), span);
        span
    }

    /// Least and most nominal reading of a suspect: one solve for each variant, where
    /// [`Hunt::span`] takes many.
    fn nominal(&mut self, view: View, suspect: usize) -> Span {
        if let Some(&known) = self.nominals.get(&(view, suspect)) {
            return known;
        }
        let (state, meter) = self.stage(view);
        let values = self.quarry[suspect].variants.iter().filter_map(|faults| {
            let value = self.bench.solver.nominal(&state, faults, &meter).ok()?.value;
            Some(Span { nominal: value, low: value, high: value })
        });
        let span = values.reduce(Span::join).unwrap_or(Span::ANY);
        self.nominals.insert((view, suspect), span);
        span
    }

    /// Whether nominal readings alone show that a view parts nothing: tolerances only widen them.
    pub(super) fn surely_one(&mut self, set: Set, view: View) -> bool {
        let mut spans: Vec<Span> = set.iter().map(|i| self.nominal(view, i)).collect();
        spans.sort_by(|a, b| a.low.total_cmp(&b.low));
        let mut whole = None;
        for span in spans {
            whole = match whole {
                Some(last) if apart(last, span, view) => return false,
                Some(last) => Some(last.join(span)),
                None => Some(span),
            };
        }
        true
    }

    /// What a sound circuit would read.
    pub fn sound(&mut self, view: View) -> Span {
        if let Some(&known) = self.sounds.get(&view) {
            return known;
        }
        let (state, meter) = self.stage(view);
        let span = self.read(&state, &meter, &[]).unwrap_or(Span::ANY);
        self.sounds.insert(view, span);
        span
    }

    /// Whether every suspect of a set would read as a sound circuit does at the meter place.
    pub(super) fn has_recovered(&mut self, set: Set, rig: Rig) -> bool {
        let view = View { parted: rig.parted, phase: rig.phase, black: rig.black, look: Look::Home };
        let sound = self.sound(view);
        set.iter().all(|i| {
            let span = self.span(view, i);
            let (low, high) = if span.low <= sound.low { (span, sound) } else { (sound, span) };
            !apart(low, high, view)
        })
    }

    fn read(&self, state: &State, meter: &Meter, faults: &[Fault]) -> Option<Span> {
        let reading = self.bench.solver.read(state, faults, meter).ok()?;
        Some(Span { nominal: reading.nominal, low: reading.low, high: reading.high })
    }

    /// The suspects of a set by what they would read: overlapping predictions fall together.
    pub fn bins(&mut self, set: Set, view: View) -> Vec<(Set, Span)> {
        let mut spans: Vec<(Set, Span)> = set.iter().map(|i| (Set::only(i), self.span(view, i))).collect();
        spans.sort_by(|a, b| a.1.low.total_cmp(&b.1.low).then(a.0.cmp(&b.0)));
        let mut bins: Vec<(Set, Span)> = Vec::new();
        for (set, span) in spans {
            match bins.last_mut() {
                Some((whole, last)) if !apart(*last, span, view) => {
                    *whole = whole.or(set);
                    *last = last.join(span);
                }
                _ => bins.push((set, span)),
            }
        }
        bins
    }

    /// For each suspect those that need no parting from it.
    pub(super) fn find_alike(&mut self) -> Vec<Set> {
        let count = self.quarry.len();
        let mut alike: Vec<Set> = vec![Set::first(count); count];
        let views = self.samples();
        for i in 0..count {
            for j in 0..i {
                if self.quarry[i].unit == self.quarry[j].unit {
                    continue;
                }
                let both = Set::only(i).or(Set::only(j));
                let parted = views.iter().any(|&view| {
                    if self.surely_one(both, view) {
                        return false;
                    }
                    let (a, b) = (self.span(view, i), self.span(view, j));
                    let (low, high) = if a.low <= b.low { (a, b) } else { (b, a) };
                    apart(low, high, view)
                });
                if parted {
                    alike[i] = alike[i].without(Set::only(j));
                    alike[j] = alike[j].without(Set::only(i));
                }
            }
        }
        alike
    }

    /// Views that stand for all the plan can look at: every action from the start, from each
    /// single parting, from everything parted, and on the dead wire.
    fn samples(&mut self) -> Vec<View> {
        let start = self.rig(crate::search::Setup(0));
        let mut rigs: Vec<Rig> = vec![start];
        for tap in 0..self.ground.taps.len() {
            rigs.extend(self.apply(start, Action::Part { tap, remate: false }).map(|r| r.0));
        }
        let mut all = start;
        for tap in 0..self.ground.taps.len() {
            if let Some((rig, _, _)) = self.apply(all, Action::Part { tap, remate: false })
                && !self.ground.taps[tap].inline
            {
                all = rig;
            }
        }
        rigs.push(all);
        if self.ground.allowed.ohms {
            for black in 0..self.ground.blacks.len() as u8 {
                if let Some((dead, _, _)) = self.apply(start, Action::Ohms { black }) {
                    rigs.push(dead);
                    for tap in 0..self.ground.taps.len() {
                        rigs.extend(self.apply(dead, Action::Part { tap, remate: false }).map(|r| r.0));
                    }
                }
            }
        }
        let mut views = Vec::new();
        for rig in rigs {
            for at in 0..self.actions.len() {
                if let Some((_, view, _)) = self.apply(rig, self.actions[at])
                    && !views.contains(&view)
                {
                    views.push(view);
                }
            }
        }
        views
    }
}

/// The resistor in series with the bench source.
pub(crate) const INJECT_THROUGH: f64 = 470.0;

/// Whether a person tells two predictions apart, the lower one given first.
///
/// The gap asked for is on top of the meter's own tolerance, because suspects are fitted to a
/// reading that is itself good to a few millivolts (own estimate).
fn apart(low: Span, high: Span, view: View) -> bool {
    high.low > low.high + gap(low.high, view.is_ohms())
}

/// How far apart two readings have to be for a person to tell them apart.
pub(crate) fn gap(reading: f64, ohms: bool) -> f64 {
    if ohms { 0.3 + 0.1 * reading.abs() } else { 0.02 + 0.02 * reading.abs() }
}
