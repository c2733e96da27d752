//! Sparse LDLᵀ of a conductance network, by eliminating one point after another.
//!
//! Every branch is a conductance g ≥ 0 between two points, so the matrix is a
//! weighted graph Laplacian. Taking out a point of a Laplacian is the
//! star–mesh transform: only sums, products and quotients of numbers that are not
//! negative, never a difference. So the factor keeps full relative accuracy even with
//! a milliohm wire beside a 10 MΩ meter, and a point left without any neighbour is
//! *exactly* the last of its island: it becomes that island's zero, and a
//! floating island needs no artificial tie.

/// Where things stand in the factor: depends on which points are joined, not on values.
#[derive(Clone, Debug)]
pub(crate) struct Pattern {
    /// Elimination position of each point.
    position: Vec<u32>,
    /// Start of each column's entries; one more than there are columns.
    starts: Vec<u32>,
    /// Row (a later position) of each entry, ascending within a column.
    rows: Vec<u32>,
    /// For each pair of entries within a column, in order, the entry that it adds to.
    targets: Vec<u32>,
    /// Entry of each edge; [`NOWHERE`] for an edge from a point to itself.
    slots: Vec<u32>,
}

/// No entry.
const NOWHERE: u32 = u32::MAX;

/// Working values of one factor.
#[derive(Clone, Debug, Default)]
pub(crate) struct Values {
    /// Conductance left between a column's point and each row's point.
    mesh: Vec<f64>,
    /// Share of the column's current that goes to each row.
    share: Vec<f64>,
    /// Total conductance at each point when it is taken out; zero for the last of an island.
    total: Vec<f64>,
    /// Last point of the island that each position belongs to.
    island: Vec<u32>,
}

impl Pattern {
    /// Finds an order that keeps the factor small (least neighbours first) and
    /// lays out the factor for these edges.
    ///
    /// `last` is taken out last, so that it is the zero of its island. A strong source
    /// there loses nothing: its Norton current's rounding ends in the point that is dropped.
    pub(crate) fn new(points: usize, edges: &[(u32, u32)], last: Option<u32>) -> Pattern {
        let order = least_neighbours_first(points, edges, last);
        let mut position = vec![0u32; points];
        for (place, &point) in order.iter().enumerate() {
            position[point as usize] = place as u32;
        }
        Pattern::lay_out(position, edges)
    }

    /// The same order with more edges after the known ones.
    pub(crate) fn with_edges(&self, edges: &[(u32, u32)]) -> Pattern {
        Pattern::lay_out(self.position.clone(), edges)
    }

    fn lay_out(position: Vec<u32>, edges: &[(u32, u32)]) -> Pattern {
        let points = position.len();
        let mut columns: Vec<Vec<u32>> = vec![Vec::new(); points];
        let placed = |&(a, b): &(u32, u32)| {
            let (a, b) = (position[a as usize], position[b as usize]);
            (a.min(b), a.max(b))
        };
        for edge in edges {
            let (column, row) = placed(edge);
            if column != row {
                columns[column as usize].push(row);
            }
        }
        for column in 0..points {
            columns[column].sort_unstable();
            columns[column].dedup();
            // Taking this point out joins all its later neighbours; it is enough to
            // hand them to the first, which hands them on.
            if let Some((&first, rest)) = columns[column].split_first() {
                let rest = rest.to_vec();
                columns[first as usize].extend(rest);
            }
        }
        let mut starts = Vec::with_capacity(points + 1);
        let mut rows = Vec::new();
        for column in &columns {
            starts.push(rows.len() as u32);
            rows.extend_from_slice(column);
        }
        starts.push(rows.len() as u32);
        let entry = |column: u32, row: u32| {
            let start = starts[column as usize] as usize;
            let end = starts[column as usize + 1] as usize;
            rows[start..end].binary_search(&row).map_or(NOWHERE, |i| (start + i) as u32)
        };
        let mut targets = Vec::new();
        for column in &columns {
            for (i, &near) in column.iter().enumerate() {
                targets.extend(column[i + 1..].iter().map(|&far| entry(near, far)));
            }
        }
        let slots = edges
            .iter()
            .map(|edge| {
                let (column, row) = placed(edge);
                if column == row { NOWHERE } else { entry(column, row) }
            })
            .collect();
        Pattern { position, starts, rows, targets, slots }
    }

    /// Number of points.
    pub(crate) fn points(&self) -> usize {
        self.position.len()
    }

    /// Position of a point in the factor.
    pub(crate) fn position(&self, point: u32) -> usize {
        self.position[point as usize] as usize
    }

    /// Factors the network in which each edge has a conductance.
    pub(crate) fn factor(&self, conductances: &[f64], values: &mut Values) {
        let points = self.points();
        values.mesh.clear();
        values.mesh.resize(self.rows.len(), 0.0);
        values.share.clear();
        values.share.resize(self.rows.len(), 0.0);
        values.total.clear();
        values.island.clear();
        values.island.resize(points, 0);
        for (&slot, &conductance) in self.slots.iter().zip(conductances) {
            if slot != NOWHERE {
                values.mesh[slot as usize] += conductance;
            }
        }
        let mut pair = 0;
        for column in 0..points {
            let (start, end) = (self.starts[column] as usize, self.starts[column + 1] as usize);
            let total: f64 = values.mesh[start..end].iter().sum();
            values.total.push(total);
            let count = end - start;
            if total > 0.0 {
                let inverse = 1.0 / total;
                for near in start..end {
                    let share = values.mesh[near] * inverse;
                    values.share[near] = share;
                    let others = end - near - 1;
                    if share > 0.0 {
                        for (target, far) in self.targets[pair..pair + others].iter().zip(near + 1..end) {
                            values.mesh[*target as usize] += share * values.mesh[far];
                        }
                    }
                    pair += others;
                }
            } else {
                pair += count * count.saturating_sub(1) / 2;
            }
        }
        for column in (0..points).rev() {
            let (start, end) = (self.starts[column] as usize, self.starts[column + 1] as usize);
            let next = (start..end).find(|&entry| values.mesh[entry] > 0.0);
            values.island[column] =
                next.map_or(column as u32, |entry| values.island[self.rows[entry] as usize]);
        }
    }

    /// Turns currents into each position (in place) into volts against the zero of its island.
    pub(crate) fn solve(&self, values: &Values, column_values: &mut [f64]) {
        self.gather(values, column_values);
        self.spread(values, column_values);
    }

    /// How far rounding may lift the solution for one ampere into `a` and out of `b`: where hardly
    /// anything ties both to the rest, what does not quite cancel flows through that.
    pub(crate) fn rounding(&self, values: &Values, a: u32, b: u32) -> f64 {
        let mut currents = vec![0.0; self.points()];
        currents[a as usize] = 1.0;
        currents[b as usize] = 1.0;
        self.gather(values, &mut currents);
        let tied = currents.iter().zip(&values.total).filter(|(_, total)| **total > 0.0);
        tied.map(|(current, total)| 2.0 * f64::EPSILON * current / total).fold(0.0, f64::max)
    }

    /// Hands every point's current on to the points taken out after it.
    fn gather(&self, values: &Values, column_values: &mut [f64]) {
        for column in 0..self.points() {
            let current = column_values[column];
            if current != 0.0 {
                let (start, end) = (self.starts[column] as usize, self.starts[column + 1] as usize);
                for entry in start..end {
                    column_values[self.rows[entry] as usize] += values.share[entry] * current;
                }
            }
        }
    }

    /// Turns gathered currents into volts, the zero of each island first.
    fn spread(&self, values: &Values, column_values: &mut [f64]) {
        for column in (0..self.points()).rev() {
            let total = values.total[column];
            if total > 0.0 {
                let (start, end) = (self.starts[column] as usize, self.starts[column + 1] as usize);
                let mut volts = column_values[column] / total;
                for entry in start..end {
                    volts += values.share[entry] * column_values[self.rows[entry] as usize];
                }
                column_values[column] = volts;
            } else {
                column_values[column] = 0.0;
            }
        }
    }
}

impl Values {
    /// The island of a position, as its last position.
    pub(crate) fn island(&self, position: usize) -> u32 {
        self.island[position]
    }

    /// Whether two positions are joined by any conductance.
    pub(crate) fn joined(&self, a: usize, b: usize) -> bool {
        self.island[a] == self.island[b]
    }
}

/// Minimum-degree ordering: takes out the point with fewest neighbours, joins those, repeats.
fn least_neighbours_first(points: usize, edges: &[(u32, u32)], last: Option<u32>) -> Vec<u32> {
    use std::collections::BTreeSet;
    let mut near: Vec<BTreeSet<u32>> = vec![BTreeSet::new(); points];
    for &(a, b) in edges {
        if a != b {
            near[a as usize].insert(b);
            near[b as usize].insert(a);
        }
    }
    let mut queue: BTreeSet<(usize, u32)> =
        near.iter().enumerate().map(|(point, near)| (near.len(), point as u32)).collect();
    let last = last.filter(|&point| (point as usize) < points);
    if let Some(point) = last {
        queue.remove(&(near[point as usize].len(), point));
    }
    let mut order = Vec::with_capacity(points);
    while let Some((_, point)) = queue.pop_first() {
        order.push(point);
        let neighbours = std::mem::take(&mut near[point as usize]);
        for &one in &neighbours {
            queue.remove(&(near[one as usize].len(), one));
            near[one as usize].remove(&point);
        }
        for &one in &neighbours {
            for &other in &neighbours {
                if one != other {
                    near[one as usize].insert(other);
                }
            }
        }
        for &one in neighbours.iter().filter(|&&one| Some(one) != last) {
            queue.insert((near[one as usize].len(), one));
        }
    }
    order.extend(last);
    order
}
