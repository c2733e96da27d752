//! Where in its row each node stands: lines straight where they can be, neighbours apart.

use super::layer::Rows;

/// Room between neighbours, in pixels.
const GAP: i32 = 14;

/// How far a vertex reaches from its line: to the left, to the right, and its height.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Size {
    /// To the left of the line.
    pub left: i32,
    /// To the right of it.
    pub right: i32,
    /// From its upper end to its lower one.
    pub height: i32,
}

/// The line's place of every vertex, from 0.
pub(super) fn across(rows: &Rows, sizes: &[Size], nodes: usize) -> Vec<i32> {
    let block = blocks(rows, nodes);
    let count = block.iter().map(|b| b + 1).max().unwrap_or(0);
    // What keeps two blocks apart: the left one, the right one, at least so far.
    let mut apart: Vec<(usize, usize, i32)> = Vec::new();
    for row in &rows.rows {
        for pair in row.windows(2) {
            let room = sizes[pair[0]].right + GAP + sizes[pair[1]].left;
            apart.push((block[pair[0]], block[pair[1]], room));
        }
    }
    let mut x = leftmost(count, &apart);
    let mut pulls: Vec<Vec<usize>> = vec![Vec::new(); count];
    for &(upper, lower, _) in &rows.lines {
        let (one, two) = (block[upper], block[lower]);
        if one != two {
            pulls[one].push(two);
            pulls[two].push(one);
        }
    }
    let mut order: Vec<usize> = (0..count).collect();
    for round in 0..24 {
        order.sort_by_key(|b| (x[*b], *b));
        if round % 2 == 0 {
            order.reverse();
        }
        for &here in &order {
            if pulls[here].is_empty() {
                continue;
            }
            let mut ends: Vec<i32> = pulls[here].iter().map(|b| x[*b]).collect();
            ends.sort_unstable();
            let wanted = (ends[(ends.len() - 1) / 2] + ends[ends.len() / 2]) / 2;
            let least = apart.iter().filter(|a| a.1 == here).map(|a| x[a.0] + a.2).max();
            let most = apart.iter().filter(|a| a.0 == here).map(|a| x[a.1] - a.2).min();
            let wanted = most.map_or(wanted, |most| wanted.min(most));
            x[here] = least.map_or(wanted, |least| wanted.max(least));
        }
    }
    let first = (0..rows.vertices).map(|v| x[block[v]] - sizes[v].left).min().unwrap_or(0);
    (0..rows.vertices).map(|v| x[block[v]] - first).collect()
}

/// The leftmost place that every block can have.
fn leftmost(count: usize, apart: &[(usize, usize, i32)]) -> Vec<i32> {
    let mut x = vec![0; count];
    // Blocks are upright and cross nowhere, so this ends after as many rounds as there are blocks in a row.
    for _ in 0..=count {
        let mut moved = false;
        for &(left, right, room) in apart {
            if x[right] < x[left] + room {
                x[right] = x[left] + room;
                moved = true;
            }
        }
        if !moved {
            break;
        }
    }
    x
}

/// Vertices that stand in one upright line: each with at most one above and one below, and no two lines crossing.
fn blocks(rows: &Rows, nodes: usize) -> Vec<usize> {
    let mut place = vec![0usize; rows.vertices];
    let mut row_of = vec![0usize; rows.vertices];
    for (at, row) in rows.rows.iter().enumerate() {
        for (position, vertex) in row.iter().enumerate() {
            place[*vertex] = position;
            row_of[*vertex] = at;
        }
    }
    let mut fan_out: Vec<Vec<usize>> = vec![Vec::new(); rows.vertices];
    let mut fan_in: Vec<Vec<usize>> = vec![Vec::new(); rows.vertices];
    for &(upper, lower, _) in &rows.lines {
        fan_out[upper].push(lower);
        fan_in[lower].push(upper);
    }
    let mut between: Vec<Vec<(usize, usize)>> = vec![Vec::new(); rows.rows.len()];
    for &(upper, lower, _) in &rows.lines {
        between[row_of[upper]].push((upper, lower));
    }
    // How far a line is from the middle of the fan that it belongs to.
    let from_middle = |end: usize, fan: &[usize]| {
        let rank = fan.iter().filter(|other| place[**other] < place[end]).count();
        (2 * rank).abs_diff(fan.len().saturating_sub(1))
    };
    let mut leads: Vec<usize> = (0..rows.vertices).collect();
    for lines in &mut between {
        // Long lines first, then those that are alone at both ends, then the middle one of a fan.
        lines.sort_by_cached_key(|&(upper, lower)| {
            let long = upper >= nodes && lower >= nodes;
            let alone = fan_out[upper].len().max(fan_in[lower].len());
            let middle = from_middle(lower, &fan_out[upper]) + from_middle(upper, &fan_in[lower]);
            (!long, alone, middle, place[upper], place[lower])
        });
        let mut straight: Vec<(usize, usize)> = Vec::new();
        for &(upper, lower) in lines.iter() {
            let free = straight.iter().all(|&(u, l)| {
                u != upper && l != lower && (place[u] < place[upper]) == (place[l] < place[lower])
            });
            if free {
                straight.push((upper, lower));
            }
        }
        for (upper, lower) in straight {
            leads[lower] = upper;
        }
    }
    let mut block = vec![usize::MAX; rows.vertices];
    let mut count = 0;
    for vertex in rows.rows.iter().flatten() {
        block[*vertex] = match leads[*vertex] {
            own if own == *vertex => {
                count += 1;
                count - 1
            }
            upper => block[upper],
        };
    }
    block
}
