//! What every suspect would read, and which of them a person can tell apart.

use std::collections::{HashMap, HashSet};

use halfsplit_circuit::{Fault, Key, Load, Measure, Meter, Nominal, ReadError, Solver, State};

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
    pub parted: Set,
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
    /// With a fuse pulled.
    Pulled(usize),
    KeyOff,
}

/// What is parted, whether the wire is dead, and what else is changed for the reading.
type Standing = (Set, bool, Option<Look>);

impl View {
    /// What the state of the circuit depends on.
    fn state(self) -> Standing {
        let changed = matches!(self.look, Look::Pulled(_) | Look::KeyOff).then_some(self.look);
        (self.parted, self.is_ohms(), changed)
    }

    /// Whether it is a reading in ohms.
    pub fn is_ohms(self) -> bool {
        self.phase == Phase::Dead
    }
}

/// What is known of the readings of one view, by suspect; empty until something is asked.
pub(super) struct Page {
    state: State,
    meter: Meter,
    spans: Vec<Option<Span>>,
    nominals: Vec<Option<Bare>>,
    sound: Option<Span>,
}

/// Least and most reading at declared values.
#[derive(Clone, Copy)]
struct Bare {
    low: f64,
    high: f64,
}

/// Solves that a reading with all its tolerances takes, about.
const SOLVES_OF_A_SPAN: u64 = 11;
/// Points of a circuit whose solve counts as one unit of work, about.
const POINTS_OF_WORK: usize = 8;
/// From so many faults on one factor and an update for each is less work than a factor for each.
const WORTH_A_TABLE: usize = 3;
/// From so many points solved on they are shared among the processors.
const WORTH_A_THREAD: usize = 50_000;

impl Hunt<'_, '_> {
    /// The state and the meter of a view.
    pub fn stage(&self, view: View) -> (State, Meter) {
        let out = self.out(view.parted);
        let mut meter =
            Meter { red: self.ground.home, black: self.bench.black, measure: Measure::Volts(Load::None) };
        match view.look {
            Look::Home | Look::Pulled(_) | Look::KeyOff => {}
            Look::Loaded => meter.measure = Measure::Volts(Load::Reference),
            Look::Probe(at) => {
                let probe = &self.ground.probes[at];
                (meter.red, meter.black) = (probe.red, probe.black);
                meter.measure = Measure::Volts(probe.load);
            }
        }
        let mut state = with_out(&self.bench.state, &out);
        match view.look {
            Look::Pulled(at) => {
                state.pulled.insert(self.ground.fuses[at].0);
            }
            Look::KeyOff => state.key = Key::Off,
            _ => {}
        }
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

    /// The page of a view, opened if it is new.
    fn page(&mut self, view: View) -> usize {
        if let Some(&known) = self.page_ids.get(&view) {
            return known;
        }
        let (state, meter) = self.stage(view);
        self.pages.push(Page { state, meter, spans: Vec::new(), nominals: Vec::new(), sound: None });
        self.page_ids.insert(view, self.pages.len() - 1);
        self.pages.len() - 1
    }

    fn count(&mut self, solves: u64) {
        self.work += solves * (self.bench.circuit.points.len() / POINTS_OF_WORK).max(1) as u64;
    }

    fn is_heavy(&self, solves: usize) -> bool {
        solves * self.bench.circuit.points.len() >= WORTH_A_THREAD
    }

    pub(super) fn scale(&self, view: View) -> Scale {
        match view.look {
            _ if view.is_ohms() => Scale::Ohms,
            Look::Probe(at) if self.ground.probes[at].returns => Scale::Millivolts,
            _ => Scale::Volts,
        }
    }

    /// What each suspect of a set would read.
    fn spans(&mut self, view: View, set: Set) -> Vec<Span> {
        let page = self.page(view);
        self.pages[page].spans.resize(self.quarry.len(), None);
        let missing: Vec<usize> = set.iter().filter(|&i| self.pages[page].spans[i].is_none()).collect();
        let Page { state, meter, .. } = &self.pages[page];
        let quarry = &self.quarry;
        let read = |solver: &Solver<'_>, suspect: usize| {
            read_all(solver, state, meter, &quarry[suspect].variants).unwrap_or(Span::ANY)
        };
        let heavy = self.is_heavy(SOLVES_OF_A_SPAN as usize * missing.len());
        let crew = if heavy { &mut self.crew[..] } else { &mut self.crew[..1] };
        let found = share(crew, &missing, &|solver, &suspect| read(solver, suspect));
        let solves: usize = missing.iter().map(|&i| self.quarry[i].variants.len()).sum();
        self.count(SOLVES_OF_A_SPAN * solves as u64);
        let spans = &mut self.pages[page].spans;
        for (suspect, span) in missing.into_iter().zip(found) {
            spans[suspect] = Some(span);
        }
        set.iter().filter_map(|i| spans[i]).collect()
    }

    /// What a suspect would read.
    pub fn span(&mut self, view: View, suspect: usize) -> Span {
        self.spans(view, Set::only(suspect)).first().copied().unwrap_or(Span::ANY)
    }

    /// Finds the nominal readings of a set in many views, those of one state together: where a span takes
    /// many solves, here a state is factored once and every suspect is an update.
    pub(super) fn look_up(&mut self, views: &[View], set: Set) {
        let mut by_state: Vec<(Standing, Vec<usize>)> = Vec::new();
        let mut places: HashMap<Standing, usize> = HashMap::new();
        for &view in views {
            let page = self.page(view);
            self.pages[page].nominals.resize(self.quarry.len(), None);
            if set.iter().all(|i| self.pages[page].nominals[i].is_some()) {
                continue;
            }
            let key = view.state();
            let at = *places.entry(key).or_insert_with(|| {
                by_state.push((key, Vec::new()));
                by_state.len() - 1
            });
            by_state[at].1.push(page);
        }
        for (_, pages) in by_state {
            let unknown = |i: &usize| pages.iter().any(|&page| self.pages[page].nominals[*i].is_none());
            let missing: Vec<usize> = set.iter().filter(unknown).collect();
            let state = &self.pages[pages[0]].state;
            let meters: Vec<Meter> = pages.iter().map(|&page| self.pages[page].meter).collect();
            let faults: Vec<Vec<Fault>> =
                missing.iter().flat_map(|&i| &self.quarry[i].variants).cloned().collect();
            let values = self.values(state, &faults, &meters);
            self.count((values.len() / meters.len()) as u64);
            let mut row = 0;
            for suspect in missing {
                let own = self.quarry[suspect].variants.len();
                for (at, &page) in pages.iter().enumerate() {
                    let read = (row..row + own).filter_map(|row| values[row * pages.len() + at]);
                    let bare = read.fold(None, |bare: Option<Bare>, value| {
                        let bare = bare.unwrap_or(Bare { low: value, high: value });
                        Some(Bare { low: bare.low.min(value), high: bare.high.max(value) })
                    });
                    let any = Bare { low: f64::NEG_INFINITY, high: f64::INFINITY };
                    self.pages[page].nominals[suspect] = Some(bare.unwrap_or(any));
                }
                row += own;
            }
        }
    }

    /// What each meter shows under each fault, fault by fault.
    fn values(&self, state: &State, faults: &[Vec<Fault>], meters: &[Meter]) -> Vec<Option<f64>> {
        let solver = &self.crew[0];
        if faults.len() >= WORTH_A_TABLE {
            let threads = if self.is_heavy(faults.len()) { self.crew.len() } else { 1 };
            let table = solver.table_on(threads, state, faults, meters);
            let value = |cell: &Result<Nominal, ReadError>| cell.as_ref().ok().map(|n| n.value);
            return (0..faults.len()).flat_map(|row| table.row(row).iter().map(value)).collect();
        }
        let cells = faults.iter().flat_map(|faults| meters.iter().map(move |meter| (faults, meter)));
        cells.map(|(faults, meter)| Some(solver.nominal(state, faults, meter).ok()?.value)).collect()
    }

    /// Nominal readings of each suspect of a set.
    pub(super) fn nominals(&mut self, view: View, set: Set) -> Vec<Span> {
        self.look_up(&[view], set);
        let page = self.page(view);
        let bare = set.iter().filter_map(|i| self.pages[page].nominals[i]);
        bare.map(|b| Span { nominal: b.low, low: b.low, high: b.high }).collect()
    }

    /// Whether nominal readings alone show that a view parts nothing: tolerances only widen them.
    pub(super) fn surely_one(&mut self, set: Set, view: View) -> bool {
        self.rough(set, view).len() < 2
    }

    /// The suspects of a set by their nominal readings: at least as finely parted as by [`Hunt::bins`].
    pub(super) fn rough(&mut self, set: Set, view: View) -> Vec<Set> {
        let spans = set.iter().zip(self.nominals(view, set)).collect();
        fall_together(spans, self.scale(view)).into_iter().map(|(set, _)| set).collect()
    }

    /// What a sound circuit would read.
    pub fn sound(&mut self, view: View) -> Span {
        let page = self.page(view);
        if let Some(known) = self.pages[page].sound {
            return known;
        }
        let Page { state, meter, .. } = &self.pages[page];
        let span = read(&self.crew[0], state, meter, &[]).unwrap_or(Span::ANY);
        self.pages[page].sound = Some(span);
        span
    }

    /// Whether every suspect of a set would read as a sound circuit does at the meter place.
    pub(super) fn has_recovered(&mut self, set: Set, rig: Rig) -> bool {
        let view = View { parted: rig.parted, phase: rig.phase, black: rig.black, look: Look::Home };
        let sound = self.sound(view);
        self.spans(view, set).into_iter().all(|span| {
            let (low, high) = if span.low <= sound.low { (span, sound) } else { (sound, span) };
            !apart(low, high, self.scale(view))
        })
    }

    /// The suspects of a set by what they would read: overlapping predictions fall together.
    pub fn bins(&mut self, set: Set, view: View) -> Vec<(Set, Span)> {
        let spans = set.iter().zip(self.spans(view, set)).collect();
        fall_together(spans, self.scale(view))
    }

    /// For each suspect those that need no parting from it.
    pub(super) fn find_alike(&mut self) -> Vec<Set> {
        if self.broad {
            return self.find_roughly_alike();
        }
        let count = self.quarry.len();
        let mut alike: Vec<Set> = vec![Set::first(count); count];
        let views = self.samples();
        for i in 0..count {
            for j in 0..i {
                if self.quarry[i].told == self.quarry[j].told {
                    continue;
                }
                let both = Set::only(i).or(Set::only(j));
                let parted = views.iter().any(|&view| {
                    if self.surely_one(both, view) {
                        return false;
                    }
                    let (a, b) = (self.span(view, i), self.span(view, j));
                    let (low, high) = if a.low <= b.low { (a, b) } else { (b, a) };
                    apart(low, high, self.scale(view))
                });
                if parted {
                    alike[i] = alike[i].without(Set::only(j));
                    alike[j] = alike[j].without(Set::only(i));
                }
            }
        }
        alike
    }

    /// As [`Hunt::find_alike`] by nominal readings alone. Two that only tolerances confuse count as
    /// apart, so a walk may try in vain to part them, but never ends early.
    fn find_roughly_alike(&mut self) -> Vec<Set> {
        let count = self.quarry.len();
        let all = Set::first(count);
        let same = |i: usize| (0..count).filter(|&j| self.quarry[i].told == self.quarry[j].told).collect();
        let units: Vec<Set> = (0..count).map(same).collect();
        let mut alike = vec![all; count];
        let views = self.samples();
        // Views of one state stand side by side; those of the first state are looked up together.
        for some in views.chunk_by(|a, b| a.state() == b.state()) {
            // Only those that something is still alike with need a look.
            let open: Set = all.iter().filter(|&i| !alike[i].is_within(units[i])).collect();
            if some.len() > 1 {
                self.look_up(some, open);
            }
            for &view in some {
                for part in self.roughly(open, view) {
                    let others = open.without(part);
                    for i in part.iter() {
                        alike[i] = alike[i].without(others.without(units[i]));
                    }
                }
            }
        }
        alike
    }

    /// Views that stand for all the plan can look at: every action from the start, from each
    /// single parting, from everything parted, and on the dead wire. In a broad hunt not from each
    /// single parting.
    fn samples(&mut self) -> Vec<View> {
        let start = self.rig(crate::search::Setup(0));
        let mut rigs: Vec<Rig> = vec![start];
        let singly = if self.broad { 0 } else { self.ground.taps.len() };
        for tap in 0..singly {
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
                    for tap in 0..singly {
                        rigs.extend(self.apply(dead, Action::Part { tap, remate: false }).map(|r| r.0));
                    }
                }
            }
        }
        let mut views = Vec::new();
        let mut seen = HashSet::new();
        for rig in rigs {
            for at in 0..self.actions.len() {
                // Millivolts of a ground wire are a clue for many at once; two that only they tell apart need no parting.
                if let Some((_, view, _)) = self.apply(rig, self.actions[at])
                    && self.scale(view) != Scale::Millivolts
                    && seen.insert(view)
                {
                    views.push(view);
                }
            }
        }
        views
    }
}

/// Does every job on the solvers of a crew, side by side where there are several; answers in order.
fn share<J: Sync, T: Send>(
    crew: &mut [Solver<'_>],
    jobs: &[J],
    work: &(dyn Fn(&Solver<'_>, &J) -> T + Sync),
) -> Vec<T> {
    if let [solver] = crew {
        return jobs.iter().map(|job| work(solver, job)).collect();
    }
    let some = jobs.len().div_ceil(crew.len()).max(1);
    std::thread::scope(|scope| {
        let hands: Vec<_> = crew
            .iter_mut()
            .zip(jobs.chunks(some))
            .map(|(solver, jobs)| {
                scope.spawn(move || jobs.iter().map(|job| work(solver, job)).collect::<Vec<_>>())
            })
            .collect();
        let done = hands.into_iter().map(|hand| hand.join());
        done.flat_map(|part| part.unwrap_or_else(|panic| std::panic::resume_unwind(panic))).collect()
    })
}

/// What comes of all variants of a suspect together. A resistance on the edge between two states has no steady
/// reading; its neighbours speak for it.
pub(crate) fn read_all(
    solver: &Solver<'_>,
    state: &State,
    meter: &Meter,
    variants: &[Vec<Fault>],
) -> Option<Span> {
    variants.iter().filter_map(|faults| read(solver, state, meter, faults)).reduce(Span::join)
}

fn read(solver: &Solver<'_>, state: &State, meter: &Meter, faults: &[Fault]) -> Option<Span> {
    let reading = solver.read(state, faults, meter).ok()?;
    Some(Span { nominal: reading.nominal, low: reading.low, high: reading.high })
}

/// The resistor in series with the bench source.
pub(crate) const INJECT_THROUGH: f64 = 470.0;

/// Suspects whose predicted volts a person tells apart, lowest first.
pub(crate) fn parted(spans: Vec<(usize, Span)>) -> Vec<Set> {
    fall_together(spans, Scale::Millivolts).into_iter().map(|(set, _)| set).collect()
}

/// Predictions by what a person tells apart, lowest first; overlapping ones fall together.
pub(super) fn fall_together(mut spans: Vec<(usize, Span)>, scale: Scale) -> Vec<(Set, Span)> {
    spans.sort_by(|a, b| a.1.low.total_cmp(&b.1.low).then(a.0.cmp(&b.0)));
    let mut bins: Vec<(Set, Span)> = Vec::new();
    for (suspect, span) in spans {
        match bins.last_mut() {
            Some((whole, last)) if !apart(*last, span, scale) => {
                whole.insert(suspect);
                *last = last.join(span);
            }
            _ => bins.push((Set::only(suspect), span)),
        }
    }
    bins
}

/// What a person reads on.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Scale {
    Volts,
    /// Where a few millivolts are looked for, volts below 50 mV count as such.
    Millivolts,
    Ohms,
}

/// Whether a person tells two predictions apart, the lower one given first.
///
/// The gap asked for is on top of the meter's own tolerance, because suspects are fitted to a
/// reading that is itself good to a few millivolts; a millivolt range is finer (own estimates).
fn apart(low: Span, high: Span, scale: Scale) -> bool {
    let small = high.low.abs() < 0.05 && low.high.abs() < 0.05;
    let gap = match scale {
        Scale::Millivolts if small => 0.000_3 + 0.05 * low.high.abs(),
        _ => gap(low.high, scale == Scale::Ohms),
    };
    high.low > low.high + gap
}

/// How far apart two readings have to be for a person to tell them apart.
pub(crate) fn gap(reading: f64, ohms: bool) -> f64 {
    if ohms { 0.3 + 0.1 * reading.abs() } else { 0.02 + 0.02 * reading.abs() }
}
