//! What comes out otherwise: volts, currents, findings.

use std::collections::BTreeMap;

use halfsplit_base::Severity;
use halfsplit_circuit::{BranchId, BranchKind, Key, Solution, Solver, State};
use halfsplit_model::{Entity, Place};

use super::{Change, Side, Told, Topic, names::Renamed};
use crate::survey::number;

/// Smaller changes of volts at a load are not told. Own estimate: a tenth of what a feed is allowed to lose.
const VOLTS: f64 = 0.05;
/// Smaller changes of what a wire takes are not told. Own estimate.
const DROP: f64 = 0.01;
/// Smaller changes of a fuse's current, as a share of its rating, are not told. Own estimate.
const SHARE: f64 = 0.01;

/// A branch as both states know it: its part, the points between which it lies, and which one of several there.
type Known = (String, usize);

/// One circuit computed.
struct Computed<'s> {
    side: Side<'s>,
    solution: Solution,
    branches: BTreeMap<Known, BranchId>,
}

pub(super) fn changes(old: Side, new: Side, names: &Renamed) -> Vec<Change> {
    let mut changes = findings(old, new, names);
    let computed = (Computed::of(old, &|name| names.in_text(name)), Computed::of(new, &str::to_owned));
    if let (Some(was), Some(is)) = computed {
        for (known, &after) in &is.branches {
            let Some(&before) = was.branches.get(known) else { continue };
            changes.extend(branch(&was, before, &is, after));
        }
    }
    changes
}

impl<'s> Computed<'s> {
    /// Nothing where errors are left: what is wrong in the text comes out wrong.
    fn of(side: Side<'s>, name: &dyn Fn(&str) -> String) -> Option<Computed<'s>> {
        let model = &side.checked.model;
        let is_circuit = !model.library && model.case.is_none();
        let is_sound = !side.checked.findings.iter().any(|f| f.severity == Severity::Error);
        if !is_circuit || !is_sound || model.supplies.is_empty() {
            return None;
        }
        let circuit = &model.circuit;
        let solution = Solver::new(circuit).solve(&State::with_key(Key::Run), &[]).ok()?;
        let mut counts: BTreeMap<String, usize> = BTreeMap::new();
        let mut branches = BTreeMap::new();
        for (id, branch) in circuit.branches() {
            let [a, b] = [branch.a, branch.b].map(|point| &circuit.point(point).name);
            let known = name(&format!("{} {a} {b}", circuit.part(branch.part).name));
            let count = counts.entry(known.clone()).or_default();
            branches.insert((known, *count), id);
            *count += 1;
        }
        Some(Computed { side, solution, branches })
    }

    fn volts(&self, id: BranchId) -> f64 {
        let branch = self.side.checked.model.circuit.branch(id);
        self.solution.volts(branch.a, branch.b)
    }

    fn amps(&self, id: BranchId) -> f64 {
        self.solution.current(id).abs()
    }

    fn told(&self, id: BranchId, words: String) -> Option<Told> {
        let model = &self.side.checked.model;
        let part = Entity::Part(model.circuit.branch(id).part);
        let place: Option<Place> = model.branch_place(id).or_else(|| model.declaration(part));
        Some(Told { words, place })
    }
}

fn branch(was: &Computed, before: BranchId, is: &Computed, after: BranchId) -> Option<Change> {
    let old = was.side.checked.model.circuit.branch(before);
    let new = is.side.checked.model.circuit.branch(after);
    let part = &is.side.checked.model.circuit.part(new.part).name;
    let change = |topic, what: String, one: String, two: String| {
        Some(Change { topic, what, old: was.told(before, one), new: is.told(after, two) })
    };
    match (&old.kind, &new.kind) {
        (BranchKind::Fuse { rating: one, .. }, BranchKind::Fuse { rating: two, .. }) => {
            let (amps, now) = (was.amps(before), is.amps(after));
            let words = |amps: f64, rating: f64| format!("{} A of {} A", number(amps), number(rating));
            let same = one == two && (amps - now).abs() <= SHARE * two;
            if same { None } else { change(Topic::Fuse, part.clone(), words(amps, *one), words(now, *two)) }
        }
        (BranchKind::Wire { .. }, BranchKind::Wire { .. }) => {
            let (one, two) = (was.volts(before).abs(), is.volts(after).abs());
            let words = |volts: f64, amps: f64| format!("{volts:.3} V at {} A", number(amps));
            let (one_words, two_words) = (words(one, was.amps(before)), words(two, is.amps(after)));
            if (one - two).abs() < DROP {
                None
            } else {
                change(Topic::Drop, part.clone(), one_words, two_words)
            }
        }
        (one, two) if is_load(one) && is_load(two) => {
            let (one, two) = (was.volts(before), is.volts(after));
            if (one - two).abs() < VOLTS {
                return None;
            }
            change(Topic::Volts, part.clone(), format!("{one:.2} V"), format!("{two:.2} V"))
        }
        _ => None,
    }
}

/// Whether somebody wants to know the volts across it.
fn is_load(kind: &BranchKind) -> bool {
    kind.draws() || matches!(kind, BranchKind::Reference { .. })
}

/// Findings of one state that the other does not have. A finding is known by its rule and its words.
fn findings(old: Side, new: Side, names: &Renamed) -> Vec<Change> {
    let mut counts: BTreeMap<(&str, String), i64> = BTreeMap::new();
    for finding in &old.checked.findings {
        *counts.entry((finding.rule, names.in_text(&finding.message))).or_default() += 1;
    }
    let mut changes = Vec::new();
    let mut say = |side: Side, finding: &halfsplit_base::Finding, is_new: bool| {
        let place =
            Some(Place { file: finding.file, span: finding.span }).filter(|place| place.file == side.file);
        let told = Some(Told { words: finding.message.clone(), place });
        let (old, new) = if is_new { (None, told) } else { (told, None) };
        let what = format!("{} {}", finding.severity.word(), finding.rule);
        changes.push(Change { topic: Topic::Finding, what, old, new });
    };
    for finding in &new.checked.findings {
        let count = counts.entry((finding.rule, finding.message.clone())).or_default();
        if *count > 0 {
            *count -= 1;
        } else {
            say(new, finding, true);
        }
    }
    for finding in &old.checked.findings {
        let count = counts.entry((finding.rule, names.in_text(&finding.message))).or_default();
        if *count > 0 {
            *count -= 1;
            say(old, finding, false);
        }
    }
    changes
}
