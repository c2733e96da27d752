//! The plan for a complaint as numbered steps.

use halfsplit_circuit::{BranchId, BranchKind, Measure, PartId, PointId, Quantity, Segment};

use super::{
    Complaint, Desk, SLEEP, loads, suspects::Accused, suspects::Bill, trouble::Span, trouble::Trouble,
};
use crate::draw::{FITS_NONE, ohms, optimality};
use crate::plan::{
    CautionNote, Complained, Conclusion, DropBudget, DropRow, MeterPlace, Next, Plan, Range, Sense, Step,
    StepOutcome, Suspect,
};
use crate::priors;
use crate::search::{Set, Tree};
use crate::suspects::UnitKind;
use crate::wiggle;

pub(super) fn plan(desk: &Desk<'_>, bill: Bill, trouble: &mut Trouble, tree: &Tree) -> Plan {
    let writer = Writer { desk, bill: &bill, trouble, tree };
    let (steps, start) = writer.steps();
    let set_up = if desk.asleep() { SLEEP } else { 0.0 };
    let cautions = writer.cautions(&steps);
    let suspects: Vec<Suspect> = bill.accused.iter().map(|accused| suspect(&bill, accused)).collect();
    let wiggle = wiggle::order(
        desk.circuit,
        &desk.inquiry.state,
        &desk.inquiry.cleared,
        &bill.units,
        &suspects,
        desk.inquiry.costs.unknown_reach,
    );
    let nothing = Range { nominal: 0.0, low: 0.0, high: 0.0 };
    Plan {
        pin: desk.words(),
        complaint: Some(Complained { words: desk.words(), class: desk.class(), set_up }),
        reads: None,
        class: None,
        healthy: nothing,
        key: desk.inquiry.state.key,
        supply: desk.inquiry.state.supply(),
        meter: MeterPlace {
            red: desk.negative,
            name: "as each step says".to_owned(),
            black: "battery negative".to_owned(),
            place: String::new(),
            colour: String::new(),
            minutes: 0.0,
            healthy: nothing,
            refused: trouble.refused.clone(),
        },
        facts: bill.facts.clone(),
        suspects,
        learned: None,
        always: always(),
        dropped: bill.dropped.clone(),
        expected_minutes: set_up + tree.expected,
        optimality: optimality(tree, set_up),
        dead_wire: None,
        budget: budget(desk),
        wiggle,
        feeds: Vec::new(),
        added_equipment: Vec::new(),
        module_gates: Vec::new(),
        cautions,
        remate: crate::draw::remate(&steps),
        units: bill.units,
        steps,
        start,
    }
}

/// Where a sound circuit loses its volts on the way to a weak load and back.
fn budget(desk: &Desk<'_>) -> Option<DropBudget> {
    let Complaint::Weak(part) = desk.inquiry.complaint else { return None };
    let (circuit, state) = (desk.circuit, &desk.inquiry.state);
    let (positive, negative) = (circuit.positive?, circuit.negative?);
    let sound = desk.solver.solve(state, &[]).ok()?;
    let load = loads(circuit, part)
        .max_by(|&one, &other| sound.current(one).abs().total_cmp(&sound.current(other).abs()))?;
    let branch = circuit.branch(load);
    let feed = desk.solver.feed_budget(state, &[], branch.a).ok()?;
    let back = desk.solver.return_budget(state, &[], branch.b).ok()?;
    let row = |from: PointId, to: PointId, part: PartId, volts| DropRow {
        from: circuit.point(from).name.clone(),
        to: circuit.point(to).name.clone(),
        part: circuit.part(part).name.clone(),
        volts,
    };
    let inside = |id: BranchId| matches!(circuit.branch(id).kind, BranchKind::Source { .. });
    let ways =
        |segments: &[Segment]| segments.iter().filter(|s| !inside(s.branch)).copied().collect::<Vec<_>>();
    let mut rows: Vec<DropRow> =
        ways(&feed.segments).iter().rev().map(|s| row(s.to, s.from, s.part, s.volts)).collect();
    rows.push(row(branch.a, branch.b, part, sound.volts(branch.a, branch.b)));
    rows.extend(ways(&back.segments).iter().map(|s| row(s.from, s.to, s.part, s.volts)));
    let total = sound.volts(positive, negative);
    // A way that does not lead from post to post is no budget.
    let sum: f64 = rows.iter().map(|row| row.volts).sum();
    let load = circuit.part(part).name.clone();
    ((sum - total).abs() < 1e-6 * total.abs()).then_some(DropBudget { load, rows, total })
}

fn suspect(bill: &Bill, accused: &Accused) -> Suspect {
    Suspect {
        unit: Some(accused.unit),
        name: bill.units[accused.unit].name.clone(),
        mode: accused.mode.clone(),
        ohms: accused.ohms,
        weight: accused.weight,
        from_cases: 0.0,
        variants: accused.variants.clone(),
        commanded: accused.commanded,
    }
}

/// What no single look excludes.
fn always() -> Vec<Suspect> {
    let one = |name: &str, mode: &str, weight| Suspect {
        unit: None,
        name: name.to_owned(),
        mode: mode.to_owned(),
        ohms: None,
        weight,
        from_cases: 0.0,
        variants: Vec::new(),
        commanded: None,
    };
    vec![
        one("wrong variant", "the car is built otherwise than the file", priors::WRONG_WIRE),
        one("unlisted equipment", "something that the file does not draw", priors::UNLISTED),
        one("two faults", "more than one of the suspects at once", priors::TWO_FAULTS),
    ]
}

struct Writer<'w, 'c> {
    desk: &'w Desk<'c>,
    bill: &'w Bill,
    trouble: &'w Trouble,
    tree: &'w Tree,
}

impl Writer<'_, '_> {
    fn weight(&self, node: usize) -> f64 {
        self.tree.nodes[node].set.iter().map(|at| self.bill.accused[at].weight).sum()
    }

    fn steps(&self) -> (Vec<Step>, Next) {
        let mut order: Vec<usize> = Vec::new();
        let mut stack = vec![0];
        while let Some(at) = stack.pop() {
            let Some(step) = &self.tree.nodes[at].step else { continue };
            order.push(at);
            let mut next = step.next.clone();
            next.sort_by(|&a, &b| self.weight(a).total_cmp(&self.weight(b)));
            stack.extend(next);
        }
        let next = |node: usize| match order.iter().position(|&n| n == node) {
            Some(at) => Next::Step(at + 1),
            None => Next::End(self.end(self.tree.nodes[node].set)),
        };
        let steps =
            order.iter().enumerate().filter_map(|(at, &node)| self.one(node, at + 1, &next)).collect();
        (steps, next(0))
    }

    fn one(&self, node: usize, id: usize, next: &dyn Fn(usize) -> Next) -> Option<Step> {
        let here = &self.tree.nodes[node];
        let branching = here.step.as_ref()?;
        let at = branching.taken.action as usize;
        let sight = &self.trouble.sights[at];
        let look = &sight.look;
        let (minutes, _) = self.trouble.cost(at, here.setup);
        let is_ohms = look.sense == Sense::Meter && look.leads.quantity() == Quantity::Ohms;
        let unit = match look.sense {
            Sense::Meter if is_ohms => "ohm",
            Sense::Meter => "V",
            _ => "",
        };
        let mut outcomes: Vec<StepOutcome> = Vec::new();
        for (outcome, &to) in branching.taken.outcomes.iter().zip(&branching.next) {
            let span = self.trouble.bins(at, outcome.set).into_iter().map(|bin| bin.1).reduce(Span::join)?;
            outcomes.push(StepOutcome {
                range: Some(range(span)),
                class: self.class(span, sight.sound, look.sense),
                suspects: outcome.set.iter().collect(),
                units: self.units(outcome.set),
                next: next(to),
            });
        }
        outcomes.push(none());
        let circuit = self.desk.circuit;
        let out = look.state.unplugged.iter().map(|&id| circuit.connector(id).name.clone());
        let pulled = look.state.pulled.iter().map(|&id| circuit.part(id).name.clone());
        let name = |point| circuit.point(point).name.clone();
        Some(Step {
            id,
            kind: look.kind,
            instruction: look.words.clone(),
            target: look.target.clone(),
            place: self.trouble.places[look.place].words.clone(),
            minutes,
            to_go: here.expected,
            red: name(look.leads.red),
            black: name(look.leads.black),
            unit,
            out: out.chain(pulled).collect(),
            state: look.state.clone(),
            leads: look.leads,
            sense: look.sense,
            held: look.held.clone(),
            sound: range(sight.sound),
            outcomes,
        })
    }

    fn class(&self, span: Span, sound: Span, sense: Sense) -> String {
        let yes = span.nominal > 0.5;
        match sense {
            Sense::Works(_) => (if yes { "yes, it works" } else { "no" }).to_owned(),
            Sense::Strong(_) => (if yes { "as strong as usual" } else { "weak too, or out" }).to_owned(),
            Sense::PulledIn(_) => (if yes { "it clicks" } else { "no click" }).to_owned(),
            Sense::Commanded(_) => (if yes { "commanded on" } else { "commanded off" }).to_owned(),
            Sense::Meter if span.low <= sound.high && sound.low <= span.high => "as when sound".to_owned(),
            Sense::Meter if span.high < sound.low => "less than when sound".to_owned(),
            Sense::Meter => "more than when sound".to_owned(),
        }
    }

    /// Names of the units of a set, heaviest first.
    fn units(&self, set: Set) -> Vec<String> {
        let mut weighed: Vec<(usize, f64)> = Vec::new();
        for accused in set.iter().map(|at| &self.bill.accused[at]) {
            match weighed.iter_mut().find(|(unit, _)| *unit == accused.unit) {
                Some((_, weight)) => *weight += accused.weight,
                None => weighed.push((accused.unit, accused.weight)),
            }
        }
        weighed.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        weighed.into_iter().map(|(unit, _)| self.bill.units[unit].name.clone()).collect()
    }

    fn end(&self, set: Set) -> Conclusion {
        let names = self.units(set);
        let modes = |name: &str| {
            let mut modes: Vec<String> = Vec::new();
            for accused in set.iter().map(|at| &self.bill.accused[at]) {
                let mode = match accused.ohms {
                    Some(value) if value.is_finite() => format!("{}, about {}", accused.mode, ohms(value)),
                    _ => accused.mode.clone(),
                };
                if self.bill.units[accused.unit].name == name && !modes.contains(&mode) {
                    modes.push(mode);
                }
            }
            modes.join("; or ")
        };
        let told = |name: &String, open: &str, close: &str| match modes(name) {
            modes if modes.is_empty() => name.clone(),
            modes => format!("{name}{open}{modes}{close}"),
        };
        let words = match names.as_slice() {
            [only] => told(only, ": ", ""),
            several => {
                let lines: Vec<String> = several.iter().map(|name| told(name, " (", ")")).collect();
                format!("one of these, which no allowed look parts: {}", lines.join(", "))
            }
        };
        let gated = set.iter().any(|at| {
            let unit = &self.bill.units[self.bill.accused[at].unit];
            unit.kind == UnitKind::Part(halfsplit_circuit::PartKind::Module)
        });
        let mut prove = vec![
            "Mend it and try under the same conditions as the complaint; undo it: the complaint must come back. If it \
             stays after the mend there is more than one fault: begin again with what is left."
                .to_owned(),
        ];
        if gated {
            prove.push(
                "A module is named last: its feeds and grounds under load, its wires, the network and what it is told must be proved first. What it drives can have killed it: read that before a second one is fitted."
                    .to_owned(),
            );
        }
        Conclusion { suspects: set.iter().collect(), words, prove, gated }
    }

    fn cautions(&self, steps: &[Step]) -> Vec<CautionNote> {
        let circuit = self.desk.circuit;
        let mut notes: Vec<CautionNote> = Vec::new();
        for step in steps {
            let part = step.target.split([':', '.']).next().and_then(|name| circuit.part_named(name));
            for caution in part.into_iter().flat_map(|part| &circuit.part(part).cautions) {
                let note = CautionNote {
                    at: step.target.clone(),
                    hazard: Some(caution.hazard),
                    words: caution.words.clone(),
                };
                if !notes.contains(&note) {
                    notes.push(note);
                }
            }
        }
        let mut rules =
            vec!["The maker's instructions, local rules and trained people come before this plan."];
        if self.desk.cranks() {
            rules.push("Gearbox in neutral, wheels chocked, fuel or ignition disabled the maker's way; crank no longer than 10 s at a time. Test the battery first.");
            rules.push(
                "All leads from the posts, not from the clamps: a bad clamp hides behind its own lead.",
            );
        }
        if matches!(self.desk.inquiry.complaint, Complaint::Blows(_)) {
            rules.push("Never a bigger fuse, never a wire in its place: the lamp limits the current, the wire that shorts stays hot. Move nothing that the circuit drives.");
        }
        if self.desk.asleep() {
            rules.push("Latches tripped so that the car believes it is closed, key away, scan tool unplugged; wait until it sleeps.");
            rules.push("Never pull a fuse to find a draw: it wakes modules, or resets the hung one and the fault is gone.");
        }
        if steps.iter().any(|step| step.unit == "ohm") {
            rules.push("Ohms only with the battery off and the wire proved dead, under 50 mV.");
        }
        if steps
            .iter()
            .any(|step| matches!(step.leads.measure, Measure::Volts(halfsplit_circuit::Load::Lamp)))
        {
            rules.push(
                "The lamp goes on power wires only, never on references, signals, buses, module outputs or airbag circuits.",
            );
        }
        notes.extend(rules.into_iter().map(|words| CautionNote {
            at: String::new(),
            hazard: None,
            words: words.to_owned(),
        }));
        notes
    }
}

fn range(span: Span) -> Range {
    Range { nominal: span.nominal, low: span.low, high: span.high }
}

fn none() -> StepOutcome {
    let words = "Look again under the conditions of the complaint. If it stays: two faults, unlisted equipment, or the car is built otherwise than the file.";
    StepOutcome {
        range: None,
        class: FITS_NONE.to_owned(),
        suspects: Vec::new(),
        units: Vec::new(),
        next: Next::End(Conclusion {
            suspects: Vec::new(),
            words: words.to_owned(),
            prove: Vec::new(),
            gated: false,
        }),
    }
}
