//! The circuit as it stands on a sound car: key in run, everything mated. Worked out once a text.

use halfsplit_circuit::{BranchId, BranchKind, Circuit, Key, PointId, Solution, Solver, State, net::nets};

/// What many features ask of a sound car.
pub(crate) struct Sound {
    /// The solved state; `None` where it cannot be computed.
    pub(crate) solution: Option<Solution>,
    /// The number of its net, by point.
    net_of: Vec<u32>,
    /// The points of each net, ascending.
    nets: Vec<Vec<PointId>>,
    /// The branches that end at each point.
    ends: Vec<Vec<BranchId>>,
}

/// The state in which a sound car is asked.
pub(crate) fn in_run() -> State {
    State::with_key(Key::Run)
}

impl Sound {
    pub(crate) fn of(circuit: &Circuit) -> Sound {
        let state = in_run();
        let mut net_of = vec![0; circuit.points.len()];
        let nets: Vec<Vec<PointId>> = nets(circuit, &state).into_iter().map(|net| net.points).collect();
        for (number, points) in nets.iter().enumerate() {
            for point in points {
                net_of[point.index()] = number as u32;
            }
        }
        let mut ends = vec![Vec::new(); circuit.points.len()];
        for (id, branch) in circuit.branches() {
            for end in [branch.a, branch.b] {
                if let Some(ends) = ends.get_mut(end.index()) {
                    ends.push(id);
                }
            }
        }
        Sound { solution: Solver::new(circuit).solve(&state, &[]).ok(), net_of, nets, ends }
    }

    /// Every point that copper joins to a point, itself among them.
    pub(crate) fn net(&self, point: PointId) -> &[PointId] {
        let number = self.net_of.get(point.index());
        number.and_then(|number| self.nets.get(*number as usize)).map_or(&[], Vec::as_slice)
    }

    /// The branches that end at a point.
    pub(crate) fn branches_at(&self, point: PointId) -> &[BranchId] {
        self.ends.get(point.index()).map_or(&[], Vec::as_slice)
    }

    /// Volts at a point against battery negative; `None` where they are not determined.
    pub(crate) fn volts(&self, circuit: &Circuit, point: PointId) -> Option<f64> {
        let (solution, black) = (self.solution.as_ref()?, circuit.negative?);
        solution.joined(point, black).then(|| solution.volts(point, black))
    }

    /// Whether a wire ends at a point.
    pub(crate) fn is_wired(&self, circuit: &Circuit, point: PointId) -> bool {
        self.branches_at(point).iter().any(|&id| matches!(circuit.branch(id).kind, BranchKind::Wire { .. }))
    }
}
