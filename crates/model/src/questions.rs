//! Which questions about the car change what shares a pin's wire.

use std::collections::BTreeSet;

use halfsplit_circuit::{BranchKind, Key, PointId, State, net::net};

use crate::{Car, Model, Question, Term, lower::lower_sources};

impl Model {
    /// The questions about options and build serial whose answer changes the net of a point, or what
    /// ends on it; none where the car's options and serial are known or make no difference.
    pub fn questions(&self, point: PointId) -> Vec<Question> {
        let name = &self.circuit.point(point).name;
        let mut questions = BTreeSet::new();
        let terms = || self.conditions.iter().flat_map(|condition| &condition.terms);
        let mut options: BTreeSet<&str> = BTreeSet::new();
        let mut serials: BTreeSet<u64> = BTreeSet::new();
        for term in terms() {
            match term {
                Term::Option { name, .. } if !self.car.options.contains_key(name) => {
                    options.insert(name);
                }
                Term::Serial { first, last } if self.car.serial.is_none() => {
                    serials.insert(*first);
                    serials.extend(last.and_then(|last| last.checked_add(1)));
                }
                _ => {}
            }
        }
        for option in options {
            let with = |present| {
                let mut car = self.car.clone();
                car.options.insert(option.to_owned(), present);
                self.fingerprint(name, &car)
            };
            if with(true) != with(false) {
                let label = self.vehicle.options.iter().find(|(known, _)| known == option);
                let label = label.map(|(_, label)| label.clone()).unwrap_or_default();
                questions.insert(Question::Option { name: option.to_owned(), label });
            }
        }
        // Counting begins at 1: nothing is older than that.
        for from in serials.into_iter().filter(|from| *from > 1) {
            let built = |serial| self.fingerprint(name, &Car { serial: Some(serial), ..self.car.clone() });
            if built(from - 1) != built(from) {
                questions.insert(Question::Serial { from });
            }
        }
        questions.into_iter().collect()
    }

    /// What a car's net looks like from outside: pins, copper, and whatever ends on it, by name.
    fn fingerprint(&self, point: &str, car: &Car) -> Option<BTreeSet<String>> {
        let model = lower_sources(self.sources.clone(), car);
        let circuit = &model.circuit;
        let net = net(circuit, &State::with_key(Key::Run), circuit.point_named(point)?);
        let points = net.points.iter().map(|&point| circuit.point(point).name.clone());
        let ends = circuit.branches.iter().filter(|b| net.contains(b.a) || net.contains(b.b));
        let ends = ends.map(|b| {
            let [a, z] = [b.a, b.b].map(|end| &circuit.point(end).name);
            let what = match &b.kind {
                BranchKind::Wire { section, metres, colour, .. } => {
                    format!("{colour} {section:?} {metres:?}")
                }
                BranchKind::Load { ohms, .. } => format!("{ohms:?}"),
                _ => String::new(),
            };
            format!("{} from {a} to {z}: {what}", circuit.part(b.part).name)
        });
        Some(points.chain(ends).collect())
    }
}
