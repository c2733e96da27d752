//! What every suspect would read, and which of them a person can tell apart.

use std::collections::HashSet;

use halfsplit_circuit::{Fault, Key, Load, Measure, Meter, Nominal, Quantity, ReadError, State};

use super::{Action, Hunt, Phase, Quarry, Rig};
use crate::judge;
use crate::legal::with_out;
use crate::plan::Sense;
use crate::predict::Span;
use crate::search::Set;

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
    /// As the look says, in its own state.
    Watch(usize),
}

/// What is parted, whether the wire is dead, and what else is changed for the reading.
type Standing = (Set, bool, Option<Look>);

impl View {
    /// What the state of the circuit depends on.
    fn state(self) -> Standing {
        let changed =
            matches!(self.look, Look::Pulled(_) | Look::KeyOff | Look::Watch(_)).then_some(self.look);
        (self.parted, self.is_dead(), changed)
    }

    /// Whether it is a reading in ohms.
    pub fn is_dead(self) -> bool {
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

/// Pages by the state that they are read in, in the order in which they came.
#[derive(Default)]
struct ByState(Vec<SameState>);

/// Pages of one state, and the first of their views.
struct SameState {
    view: View,
    pages: Vec<usize>,
}

impl ByState {
    fn push(&mut self, view: View, page: usize) {
        match self.0.iter_mut().find(|some| some.view.state() == view.state()) {
            Some(some) => some.pages.push(page),
            None => self.0.push(SameState { view, pages: vec![page] }),
        }
    }
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
        if let Look::Watch(at) = view.look {
            let look = &self.ground.looks[at].look;
            return (look.state.clone(), look.leads);
        }
        let out = self.out(view.parted);
        let mut meter =
            Meter { red: self.ground.home, black: self.bench.black, measure: Measure::Volts(Load::None) };
        match view.look {
            Look::Home | Look::Pulled(_) | Look::KeyOff | Look::Watch(_) => {}
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

    /// Whether a view shows ohms.
    pub fn is_ohms(&self, view: View) -> bool {
        match view.look {
            Look::Watch(at) => self.ground.looks[at].look.leads.quantity() == Quantity::Ohms,
            _ => view.is_dead(),
        }
    }

    pub(super) fn scale(&self, view: View) -> Scale {
        match view.look {
            Look::Watch(at) if self.ground.looks[at].look.sense != Sense::Meter => Scale::YesOrNo,
            _ if self.is_ohms(view) => Scale::Ohms,
            Look::Watch(_) => Scale::Millivolts,
            Look::Probe(at) if self.ground.probes[at].returns => Scale::Millivolts,
            _ => Scale::Volts,
        }
    }

    /// What is seen or heard in a view, if it is no reading, and what is held changed meanwhile.
    pub(super) fn watched(&self, view: View) -> (Sense, &[Fault]) {
        match view.look {
            Look::Watch(at) => {
                let look = &self.ground.looks[at].look;
                (look.sense, &look.held)
            }
            _ => (Sense::Meter, &[]),
        }
    }

    /// What a suspect gives where something is seen or heard: 0 and 1 for no and yes.
    fn seen(&self, view: View, quarry: &Quarry) -> Span {
        let (state, meter) = self.stage(view);
        let (sense, held) = self.watched(view);
        let mut answers = Vec::new();
        for variant in &quarry.variants {
            let faults: Vec<Fault> = variant.iter().chain(held).cloned().collect();
            let solver = &self.crew[0];
            answers.extend(crate::replay::sense(solver, &state, &faults, sense, &meter, quarry.commanded));
        }
        let Some(whole) = answers.iter().copied().map(Span::exactly).reduce(Span::join) else {
            return Span::ANY;
        };
        let yes = answers.iter().filter(|answer| **answer > 0.5).count();
        Span { nominal: if 2 * yes > answers.len() { 1.0 } else { 0.0 }, ..whole }
    }

    /// Suspects, likely or riding, that may show no steady reading in a view beside a steady one.
    pub fn may_wander(&self, view: View, quarry: &Quarry) -> bool {
        let (state, meter) = self.stage(view);
        let (sense, held) = self.watched(view);
        quarry.variants.iter().any(|variant| {
            let faults: Vec<Fault> = variant.iter().chain(held).cloned().collect();
            crate::replay::sense(&self.crew[0], &state, &faults, sense, &meter, quarry.commanded).is_err()
        })
    }

    /// A suspect by its place among all: those of the search, and the riders behind them.
    pub fn suspect(&self, at: usize) -> &Quarry {
        self.quarry.get(at).unwrap_or_else(|| &self.riders[at - self.quarry.len()])
    }

    /// What each of these would give in a view, by their places among all.
    pub fn of_riders(&self, view: View, riders: &[usize]) -> Vec<Span> {
        let (state, meter) = self.stage(view);
        let some: Vec<&Quarry> = riders.iter().map(|&at| self.suspect(at)).collect();
        if self.watched(view).0 == Sense::Meter {
            self.with_tolerances(&state, &[meter], view, &some)
        } else {
            some.into_iter().map(|quarry| self.seen(view, quarry)).collect()
        }
    }

    /// Finds what each suspect of a set would read in many views, those of one state together.
    pub(super) fn read_all(&mut self, views: &[View], set: Set) {
        let mut by_state = ByState::default();
        for &view in views {
            let page = self.page(view);
            self.pages[page].spans.resize(self.quarry.len(), None);
            let unread: Vec<usize> = set.iter().filter(|&i| self.pages[page].spans[i].is_none()).collect();
            if unread.is_empty() {
                continue;
            }
            if self.watched(view).0 == Sense::Meter {
                by_state.push(view, page);
                continue;
            }
            for &suspect in &unread {
                self.pages[page].spans[suspect] = Some(self.seen(view, &self.quarry[suspect]));
            }
            self.count_spans(&unread);
        }
        for some in by_state.0 {
            let unread = |i: &usize| some.pages.iter().any(|&page| self.pages[page].spans[*i].is_none());
            let missing: Vec<usize> = set.iter().filter(unread).collect();
            let state = &self.pages[some.pages[0]].state;
            let meters: Vec<Meter> = some.pages.iter().map(|&page| self.pages[page].meter).collect();
            let suspects: Vec<&Quarry> = missing.iter().map(|&suspect| &self.quarry[suspect]).collect();
            let found = self.with_tolerances(state, &meters, some.view, &suspects);
            self.count_spans(&missing);
            for (suspect, found) in missing.into_iter().zip(found.chunks(meters.len())) {
                for (&page, span) in some.pages.iter().zip(found) {
                    self.pages[page].spans[suspect] = Some(*span);
                }
            }
        }
    }

    fn count_spans(&mut self, suspects: &[usize]) {
        let solves: usize = suspects.iter().map(|&i| self.quarry[i].variants.len()).sum();
        self.count(SOLVES_OF_A_SPAN * solves as u64);
    }

    /// What each suspect of a set would read.
    fn spans(&mut self, view: View, set: Set) -> Vec<Span> {
        self.read_all(&[view], set);
        let page = self.page(view);
        set.iter().filter_map(|i| self.pages[page].spans[i]).collect()
    }

    /// What suspects would read with all tolerances, suspect by suspect; the meters stand in one view's state.
    fn with_tolerances(
        &self,
        state: &State,
        meters: &[Meter],
        view: View,
        suspects: &[&Quarry],
    ) -> Vec<Span> {
        let (_, held) = self.watched(view);
        let with_held = |variant: &Vec<Fault>| [variant, held].concat();
        let groups: Vec<Vec<Vec<Fault>>> =
            suspects.iter().map(|quarry| quarry.variants.iter().map(with_held).collect()).collect();
        let groups: Vec<&[Vec<Fault>]> = groups.iter().map(Vec::as_slice).collect();
        let spans = self.bench.predictor.spans(state, &groups, meters);
        spans.into_iter().map(|span| span.unwrap_or(Span::ANY)).collect()
    }

    /// What a suspect would read.
    pub fn span(&mut self, view: View, suspect: usize) -> Span {
        self.spans(view, Set::only(suspect)).first().copied().unwrap_or(Span::ANY)
    }

    /// Finds the nominal readings of a set in many views, those of one state together: where a span takes
    /// many solves, here a state is factored once and every suspect is an update.
    pub(super) fn look_up(&mut self, views: &[View], set: Set) {
        let mut by_state = ByState::default();
        for &view in views {
            let page = self.page(view);
            // What is seen, heard or held has no table of its own.
            let (sense, held) = self.watched(view);
            if sense != Sense::Meter || !held.is_empty() {
                let spans = self.spans(view, set);
                let nominals = &mut self.pages[page].nominals;
                nominals.resize(self.quarry.len(), None);
                for (suspect, span) in set.iter().zip(spans) {
                    nominals[suspect] = Some(Bare { low: span.low, high: span.high });
                }
                continue;
            }
            self.pages[page].nominals.resize(self.quarry.len(), None);
            if set.iter().all(|i| self.pages[page].nominals[i].is_some()) {
                continue;
            }
            by_state.push(view, page);
        }
        for SameState { pages, .. } in by_state.0 {
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
                    let bare = bare.unwrap_or(any);
                    self.pages[page].nominals[suspect] = Some(bare);
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
        let span = |b: Bare| Span::between(b.low, b.low, b.high);
        bare.map(|b| if b.low == f64::NEG_INFINITY { Span::ANY } else { span(b) }).collect()
    }

    /// Whether nominal readings alone show that a view parts nothing: tolerances only widen them.
    pub(super) fn surely_one(&mut self, set: Set, view: View) -> bool {
        self.rough(set, view).len() < 2
    }

    /// The suspects of a set by their nominal readings: at least as finely parted as by [`Hunt::bins`].
    pub(super) fn rough(&mut self, set: Set, view: View) -> Vec<Set> {
        let spans = set.iter().zip(self.nominals(view, set)).collect();
        self.fall_together(spans, view).into_iter().map(|(set, _)| set).collect()
    }

    /// Suspects with what they give in a view, by what a person tells apart.
    pub(super) fn fall_together(&self, spans: Vec<(usize, Span)>, view: View) -> Vec<(Set, Span)> {
        let same = |one: usize, other: usize| {
            let (one, other) = (&self.quarry[one], &self.quarry[other]);
            one.told == other.told && one.shape == other.shape
        };
        fall_together(spans, self.scale(view), &same)
    }

    /// What a sound circuit would read.
    pub fn sound(&mut self, view: View) -> Span {
        let page = self.page(view);
        if let Some(known) = self.pages[page].sound {
            return known;
        }
        let Page { state, meter, .. } = &self.pages[page];
        let (sense, held) = self.watched(view);
        let span = if sense == Sense::Meter {
            self.bench.predictor.span(state, held, *meter)
        } else {
            let value = crate::replay::sense(&self.crew[0], state, held, sense, meter, None).ok();
            value.map(Span::exactly)
        };
        let span = span.unwrap_or(Span::ANY);
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
        self.fall_together(spans, view)
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
                    if a.wanders() || b.wanders() {
                        return a.wanders() != b.wanders();
                    }
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
                    && !matches!(view.look, Look::Probe(at) if self.ground.probes[at].returns)
                    && seen.insert(view)
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

/// Suspects whose predicted volts a person tells apart, lowest first.
pub(crate) fn parted(spans: Vec<(usize, Span)>) -> Vec<Set> {
    fall_together(spans, Scale::Millivolts, &|_, _| false).into_iter().map(|(set, _)| set).collect()
}

/// Predictions by what a person tells apart, lowest first; overlapping ones fall together. Where only one and the
/// same thing stands on both sides of a border it may be drawn anywhere: either side names it.
pub(super) fn fall_together(
    mut spans: Vec<(usize, Span)>,
    scale: Scale,
    same: &dyn Fn(usize, usize) -> bool,
) -> Vec<(Set, Span)> {
    // What finds no steady state shows that: it is a result of its own.
    let wander: Set = spans.iter().filter(|(_, span)| span.wanders()).map(|(suspect, _)| *suspect).collect();
    spans.retain(|(_, span)| !span.wanders());
    if scale == Scale::YesOrNo {
        return yes_and_no(&spans, wander);
    }
    spans.sort_by(|a, b| a.1.low.total_cmp(&b.1.low).then(a.0.cmp(&b.0)));
    let mut bins: Vec<(Set, Span)> = Vec::new();
    // The members of the last bin that reach up to where the next begins.
    let mut reaching: Vec<(usize, Span)> = Vec::new();
    for (suspect, span) in spans {
        reaching.retain(|(_, other)| !apart(*other, span, scale));
        let borders = reaching.iter().all(|(other, reach)| {
            let step = room(span.low, scale);
            same(*other, suspect) && reach.body + step < span.low && reach.low + step < span.low
        });
        match bins.last_mut() {
            Some((whole, last)) if !(borders || apart(*last, span, scale)) => {
                whole.insert(suspect);
                *last = last.join(span);
            }
            last => {
                // One thing on both sides: the border is drawn where the next begins.
                if let Some((_, last)) = last {
                    last.high = last.high.min(span.low);
                }
                bins.push((Set::only(suspect), span));
                reaching.clear();
            }
        }
        reaching.push((suspect, span));
    }
    if !wander.is_empty() {
        bins.push((wander, Span::ANY));
    }
    bins
}

/// Suspects by no and yes; what may give either stands where more of its resistances do, and rides along with the
/// other answer.
fn yes_and_no(spans: &[(usize, Span)], wander: Set) -> Vec<(Set, Span)> {
    let give = |answer: f64| -> Set {
        let fits = spans.iter().filter(|(_, span)| (span.nominal - answer).abs() < 0.5);
        fits.map(|(suspect, _)| *suspect).collect()
    };
    let rows = [(give(0.0), Span::exactly(0.0)), (give(1.0), Span::exactly(1.0)), (wander, Span::ANY)];
    rows.into_iter().filter(|(set, _)| !set.is_empty()).collect()
}

/// What a person reads on.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Scale {
    Volts,
    /// Where a few millivolts are looked for, volts below 50 mV count as such.
    Millivolts,
    Ohms,
    /// Nothing: it is seen or heard.
    YesOrNo,
}

/// Whether a suspect's prediction may show in a row of a step.
pub(crate) fn may_show(span: Span, row: Span) -> bool {
    if span.wanders() || row.wanders() {
        return span.wanders() == row.wanders();
    }
    span.low <= row.high && row.low <= span.high
}

/// Whether a person tells two predictions apart, the lower one given first.
///
/// The gap asked for is on top of the meter's own tolerance, because suspects are fitted to a
/// reading that is itself good to a few millivolts; a millivolt range is finer (own estimates).
fn apart(low: Span, high: Span, scale: Scale) -> bool {
    let small = high.low.abs() < judge::MILLIVOLTS && low.high.abs() < judge::MILLIVOLTS;
    let scale = if scale == Scale::Millivolts && !small { Scale::Volts } else { scale };
    high.low > low.high + room(low.high, scale)
}

/// How far apart two readings have to be for a person to tell them apart.
fn room(reading: f64, scale: Scale) -> f64 {
    match scale {
        Scale::YesOrNo => 0.5,
        Scale::Millivolts if reading.abs() < judge::MILLIVOLTS => judge::fine_gap(reading),
        Scale::Ohms => judge::gap(reading, Quantity::Ohms),
        _ => judge::gap(reading, Quantity::Volts),
    }
}
