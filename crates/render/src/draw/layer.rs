//! Which row each node stands in, and in which order: short lines first, then few crossings.

use std::collections::BTreeSet;

/// A graph in rows. Vertices beyond the graph's own nodes carry a line through a row.
#[derive(Debug)]
pub(super) struct Rows {
    /// Row by row from the top, vertices from left to right.
    pub rows: Vec<Vec<usize>>,
    /// Lines between neighbouring rows: upper vertex, lower vertex, the edge they belong to.
    pub lines: Vec<(usize, usize, usize)>,
    /// How many vertices there are.
    pub vertices: usize,
}

/// Puts `nodes` nodes into rows. Edges lead downwards and make no ring; `roots` begin at the top.
pub(super) fn rows(nodes: usize, edges: &[(usize, usize)], roots: &BTreeSet<usize>) -> Rows {
    let row = rows_of(nodes, edges, roots);
    let mut vertices = nodes;
    let mut rows = vec![Vec::new(); row.iter().map(|r| r + 1).max().unwrap_or(0)];
    let mut row_of = row.clone();
    let mut lines = Vec::new();
    for (edge, &(upper, lower)) in edges.iter().enumerate() {
        let mut above = upper;
        for between in row[upper] + 1..row[lower] {
            row_of.push(between);
            lines.push((above, vertices, edge));
            above = vertices;
            vertices += 1;
        }
        lines.push((above, lower, edge));
    }
    // From left to right as a walk down from each beginning meets them.
    let mut below = vec![Vec::new(); vertices];
    let mut above = vec![Vec::new(); vertices];
    for &(upper, lower, _) in &lines {
        below[upper].push(lower);
        above[lower].push(upper);
    }
    let mut seen = vec![false; vertices];
    let starts = roots.iter().copied().chain((0..nodes).filter(|n| above[*n].is_empty())).chain(0..nodes);
    for start in starts {
        let mut stack = vec![start];
        while let Some(here) = stack.pop() {
            if !std::mem::replace(&mut seen[here], true) {
                rows[row_of[here]].push(here);
                stack.extend(below[here].iter().rev());
            }
        }
    }
    let mut rows = Rows { rows, lines, vertices };
    sort(&mut rows, &above, &below);
    rows
}

/// Each node in the highest row that its upper neighbours allow; what hangs from no root stands
/// right above what it leads to.
fn rows_of(nodes: usize, edges: &[(usize, usize)], roots: &BTreeSet<usize>) -> Vec<usize> {
    let mut above = vec![Vec::new(); nodes];
    let mut below = vec![Vec::new(); nodes];
    for &(upper, lower) in edges {
        below[upper].push(lower);
        above[lower].push(upper);
    }
    let mut waits: Vec<usize> = above.iter().map(Vec::len).collect();
    let mut ready: BTreeSet<usize> = (0..nodes).filter(|n| waits[*n] == 0).collect();
    let mut order = Vec::with_capacity(nodes);
    let mut row = vec![0usize; nodes];
    while let Some(node) = ready.pop_first() {
        order.push(node);
        for &lower in &below[node] {
            row[lower] = row[lower].max(row[node] + 1);
            waits[lower] -= 1;
            if waits[lower] == 0 {
                ready.insert(lower);
            }
        }
    }
    let mut hangs = vec![false; nodes];
    for &node in &order {
        hangs[node] = roots.contains(&node) || above[node].iter().any(|upper| hangs[*upper]);
    }
    for &node in order.iter().rev() {
        if !hangs[node]
            && let Some(lowest) = below[node].iter().map(|lower| row[*lower]).min()
        {
            row[node] = row[node].max(lowest.saturating_sub(1));
        }
    }
    let first = row.iter().copied().min().unwrap_or(0);
    row.iter().map(|r| r - first).collect()
}

/// Sweeps over the rows until crossings no longer become fewer.
fn sort(rows: &mut Rows, above: &[Vec<usize>], below: &[Vec<usize>]) {
    let mut place = vec![0usize; rows.vertices];
    let number = |rows: &[Vec<usize>], place: &mut [usize]| {
        for row in rows {
            for (at, vertex) in row.iter().enumerate() {
                place[*vertex] = at;
            }
        }
    };
    number(&rows.rows, &mut place);
    let mut now = rows.rows.clone();
    let mut best = crossings(&now, below, &place);
    for sweep in 0..12 {
        if best == 0 {
            break;
        }
        let down = sweep % 2 == 0;
        let neighbours = if down { above } else { below };
        let order: Vec<usize> = if down { (0..now.len()).collect() } else { (0..now.len()).rev().collect() };
        for at in order {
            let middle = |vertex: usize| match neighbours[vertex].as_slice() {
                [] => place[vertex] as f64,
                some => some.iter().map(|n| place[*n] as f64).sum::<f64>() / some.len() as f64,
            };
            let mut keyed: Vec<(f64, usize)> = now[at].iter().map(|v| (middle(*v), *v)).collect();
            keyed.sort_by(|one, two| one.0.total_cmp(&two.0));
            now[at] = keyed.into_iter().map(|(_, vertex)| vertex).collect();
            number(&now[at..=at], &mut place);
        }
        swap_neighbours(&mut now, above, below, &mut place);
        let found = crossings(&now, below, &place);
        if found < best {
            best = found;
            rows.rows.clone_from(&now);
        }
    }
}

/// Swaps neighbours wherever that leaves fewer crossings.
fn swap_neighbours(rows: &mut [Vec<usize>], above: &[Vec<usize>], below: &[Vec<usize>], place: &mut [usize]) {
    let crossed = |one: usize, two: usize, side: &[Vec<usize>], place: &[usize]| {
        let pairs = side[one].iter().flat_map(|a| side[two].iter().map(move |b| (*a, *b)));
        pairs.filter(|(a, b)| place[*a] > place[*b]).count()
    };
    for _ in 0..4 {
        let mut better = false;
        for row in rows.iter_mut() {
            for at in 1..row.len() {
                let (one, two) = (row[at - 1], row[at]);
                let both = |one, two| crossed(one, two, above, place) + crossed(one, two, below, place);
                if both(two, one) < both(one, two) {
                    row.swap(at - 1, at);
                    place.swap(one, two);
                    better = true;
                }
            }
        }
        if !better {
            break;
        }
    }
}

fn crossings(rows: &[Vec<usize>], below: &[Vec<usize>], place: &[usize]) -> usize {
    let mut count = 0;
    for row in rows {
        let ends: Vec<(usize, usize)> =
            row.iter().flat_map(|v| below[*v].iter().map(|lower| (place[*v], place[*lower]))).collect();
        for (at, one) in ends.iter().enumerate() {
            count += ends[at + 1..].iter().filter(|two| one.0 < two.0 && one.1 > two.1).count();
        }
    }
    count
}
