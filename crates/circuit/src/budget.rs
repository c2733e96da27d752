//! Where the volts go: the drop over each segment of a feed or return path under its load.

use crate::{
    Amps, BranchId, Circuit, Fault, PartId, PointId, ReadError, Solver, State, Step, Volts, feed_path,
    return_path,
};

/// One segment of a path.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Segment {
    /// The branch that is passed.
    pub branch: BranchId,
    /// Its part.
    pub part: PartId,
    /// Where it begins, seen from the pin.
    pub from: PointId,
    /// Where it ends, nearer to the battery.
    pub to: PointId,
    /// Volts lost over it: on a feed `to` against `from`, on a return `from` against `to`.
    pub volts: Volts,
    /// Current through it in the direction of the loss.
    pub amps: Amps,
}

/// The drops along a path, which add up to the whole.
#[derive(Clone, PartialEq, Debug)]
pub struct Budget {
    /// Segment by segment, from the pin on.
    pub segments: Vec<Segment>,
    /// Volts between the path's ends, read directly. A budget measured segment by segment that does not come
    /// to this has missed a joint or moved a probe.
    pub total: Volts,
}

impl Budget {
    /// The segment that loses most.
    pub fn largest(&self) -> Option<&Segment> {
        self.segments.iter().max_by(|one, two| one.volts.total_cmp(&two.volts))
    }

    /// By how much the segments miss the total; rounding only.
    pub fn gap(&self) -> Volts {
        self.segments.iter().map(|segment| segment.volts).sum::<f64>() - self.total
    }
}

impl Solver<'_> {
    /// Drops from the battery's positive post down to a pin, loads drawing as the state and the faults have it.
    /// Empty where nothing feeds the pin. A path through a module's reference counts the reference's own
    /// step-down as a segment.
    ///
    /// # Errors
    /// As [`ReadError`] says.
    pub fn feed_budget(&self, state: &State, faults: &[Fault], pin: PointId) -> Result<Budget, ReadError> {
        let path = feed_path(self.circuit(), state, pin);
        self.budget(state, faults, pin, &path, 1.0)
    }

    /// Drops from a pin down to battery negative.
    ///
    /// # Errors
    /// As [`ReadError`] says.
    pub fn return_budget(&self, state: &State, faults: &[Fault], pin: PointId) -> Result<Budget, ReadError> {
        let path = return_path(self.circuit(), state, pin);
        self.budget(state, faults, pin, &path, -1.0)
    }

    /// Drops along any path of steps from a point; `sign` is 1 where volts rise along it and −1 where they fall.
    fn budget(
        &self,
        state: &State,
        faults: &[Fault],
        pin: PointId,
        path: &[Step],
        sign: f64,
    ) -> Result<Budget, ReadError> {
        let solution = self.solve(state, faults)?;
        let circuit: &Circuit = self.circuit();
        let mut here = pin;
        let mut segments = Vec::with_capacity(path.len());
        for step in path {
            let branch = circuit.branch(step.branch);
            let along = if branch.a == step.point { -1.0 } else { 1.0 };
            segments.push(Segment {
                branch: step.branch,
                part: branch.part,
                from: here,
                to: step.point,
                volts: sign * solution.volts(step.point, here),
                amps: -sign * along * solution.current(step.branch),
            });
            here = step.point;
        }
        let total = if segments.is_empty() { 0.0 } else { sign * solution.volts(here, pin) };
        Ok(Budget { segments, total })
    }
}
