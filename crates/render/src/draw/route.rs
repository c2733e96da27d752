//! How lines go from row to row: down, across in a lane of their own, and down again.

use super::{layer::Rows, place::Size};

/// From one lane to the next, and from a row to the first.
const LANE: i32 = 10;
const MARGIN: i32 = 8;

/// Everything in its place.
#[derive(Debug)]
pub(super) struct Placed {
    /// Upper end of every vertex.
    pub top: Vec<i32>,
    /// Height of its row, which its line passes.
    pub height: Vec<i32>,
    /// For each edge its corners from the upper node's lower end to the lower node's upper one.
    pub lines: Vec<Vec<(i32, i32)>>,
    /// Height of all.
    pub total: i32,
}

/// A line from one upper vertex to all that it leads to in the next row.
struct Fan {
    from: usize,
    to: Vec<(usize, usize)>,
    lane: usize,
    /// How far it steps aside before it goes down to its lane, so as not to lie on another line.
    aside: i32,
}

impl Fan {
    fn span(&self, x: &[i32]) -> (i32, i32) {
        let ends = || self.to.iter().map(|(to, _)| x[*to]).chain([x[self.from]]);
        (ends().min().unwrap_or(0), ends().max().unwrap_or(0))
    }

    fn is_straight(&self, x: &[i32]) -> bool {
        let (left, right) = self.span(x);
        left == right
    }
}

/// Gives every row its height and every line its lane.
pub(super) fn route(rows: &Rows, sizes: &[Size], x: &[i32], edges: usize) -> Placed {
    let mut placed = Placed {
        top: vec![0; rows.vertices],
        height: vec![0; rows.vertices],
        lines: vec![Vec::new(); edges],
        total: 0,
    };
    let mut row_of = vec![0usize; rows.vertices];
    for (at, row) in rows.rows.iter().enumerate() {
        row.iter().for_each(|vertex| row_of[*vertex] = at);
    }
    let mut y = 0;
    for (at, row) in rows.rows.iter().enumerate() {
        let height = row.iter().map(|v| sizes[*v].height).max().unwrap_or(0);
        for vertex in row {
            placed.top[*vertex] = y;
            placed.height[*vertex] = height;
        }
        y += height;
        let mut fans = fans(rows, &row_of, at);
        let lanes = lanes(&mut fans, x);
        step_aside(&mut fans, x);
        let above = if fans.iter().any(|fan| fan.aside != 0) { LANE } else { 0 };
        let channel = match at + 1 == rows.rows.len() {
            true => 0,
            false => 2 * MARGIN + above + LANE * (lanes as i32 - 1).max(0),
        };
        let channel = if lanes == 0 { channel.min(4) } else { channel };
        for fan in &fans {
            let lane = y + MARGIN + above + LANE * fan.lane as i32;
            for &(to, edge) in &fan.to {
                let line = &mut placed.lines[edge];
                let (from, to) = (x[fan.from], x[to]);
                let own_end = y - height + sizes[fan.from].height;
                line.push((from, if line.is_empty() { own_end } else { y }));
                if fan.aside != 0 {
                    line.extend([(from, y + MARGIN), (from + fan.aside, y + MARGIN)]);
                }
                if from + fan.aside != to {
                    line.extend([(from + fan.aside, lane), (to, lane)]);
                }
                line.push((to, y + channel));
            }
        }
        y += channel;
    }
    placed.total = y;
    placed
}

fn fans(rows: &Rows, row_of: &[usize], row: usize) -> Vec<Fan> {
    let mut fans: Vec<Fan> = Vec::new();
    for &(from, to, edge) in rows.lines.iter().filter(|line| row_of[line.0] == row) {
        match fans.iter_mut().find(|fan| fan.from == from) {
            Some(fan) => fan.to.push((to, edge)),
            None => fans.push(Fan { from, to: vec![(to, edge)], lane: 0, aside: 0 }),
        }
    }
    fans
}

/// What it costs that one fan's lane is above the other's: crossings, and dearer still, two lines on one.
fn cost(upper: &Fan, lower: &Fan, x: &[i32]) -> usize {
    const ON_EACH_OTHER: usize = 10_000;
    let inside = |at: i32, (left, right): (i32, i32)| left <= at && at <= right;
    let mut cost = 0;
    // The upper one's lower ends pass the lower one's lane; the lower one's beginning passes the upper one's lane.
    for (to, _) in &upper.to {
        cost += usize::from(inside(x[*to], lower.span(x)));
        if x[*to] == x[lower.from] {
            cost += ON_EACH_OTHER;
        }
    }
    cost + usize::from(inside(x[lower.from], upper.span(x)))
}

/// Makes a line that would go down on top of another one's end step aside first. Neighbours in a row are further
/// apart than the step.
fn step_aside(fans: &mut [Fan], x: &[i32]) {
    let ends: Vec<(usize, i32)> = fans
        .iter()
        .filter(|fan| !fan.is_straight(x))
        .flat_map(|fan| fan.to.iter().map(|(to, _)| (fan.lane, x[*to])))
        .collect();
    for at in 0..fans.len() {
        let (fan, from) = (&fans[at], x[fans[at].from]);
        let blocked = ends.iter().any(|&(lane, end)| end == from && lane < fan.lane);
        if blocked && !fan.is_straight(x) {
            let taken =
                |at: i32| ends.iter().any(|(_, end)| *end == at) || fans.iter().any(|fan| x[fan.from] == at);
            fans[at].aside = [7, 6, 8, 5, -5, -4].into_iter().find(|step| !taken(from + step)).unwrap_or(7);
        }
    }
}

/// Lanes from the top; returns how many there are.
fn lanes(fans: &mut [Fan], x: &[i32]) -> usize {
    let mut order: Vec<usize> = (0..fans.len()).filter(|i| !fans[*i].is_straight(x)).collect();
    order.sort_by_key(|i| (fans[*i].span(x), fans[*i].from));
    for _ in 0..order.len() {
        let mut better = false;
        for at in 1..order.len() {
            let (one, two) = (&fans[order[at - 1]], &fans[order[at]]);
            if cost(two, one, x) < cost(one, two, x) {
                order.swap(at - 1, at);
                better = true;
            }
        }
        if !better {
            break;
        }
    }
    let mut count = 0;
    let mut taken: Vec<(usize, (i32, i32))> = Vec::new();
    for at in order {
        let span = fans[at].span(x);
        let meets = |other: &(i32, i32)| span.0 <= other.1 + LANE && other.0 <= span.1 + LANE;
        let lane =
            taken.iter().filter(|(_, other)| meets(other)).map(|(lane, _)| lane + 1).max().unwrap_or(0);
        taken.push((lane, span));
        fans[at].lane = lane;
        count = count.max(lane + 1);
    }
    count
}
