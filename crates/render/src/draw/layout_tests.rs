//! Layout by itself, on graphs denser than any circuit's.

use std::collections::BTreeSet;

use super::{
    layer,
    place::{self, Size},
    route,
};

type Piece = ((i32, i32), (i32, i32));

/// The next number of a simple row of numbers, below `most`.
fn next(seed: &mut u64, most: usize) -> usize {
    *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    (*seed >> 33) as usize % most
}

fn on_each_other(a: Piece, b: Piece) -> bool {
    let meets = |one: (i32, i32), two: (i32, i32)| {
        one.0.min(one.1).max(two.0.min(two.1)) < one.0.max(one.1).min(two.0.max(two.1))
    };
    let upright = |p: Piece| p.0.0 == p.1.0;
    match (upright(a), upright(b)) {
        (true, true) => a.0.0 == b.0.0 && meets((a.0.1, a.1.1), (b.0.1, b.1.1)),
        (false, false) => a.0.1 == b.0.1 && meets((a.0.0, a.1.0), (b.0.0, b.1.0)),
        _ => false,
    }
}

#[test]
fn lines_of_a_thousand_random_graphs_keep_apart() {
    let mut seed = 14;
    let (mut lines, mut drawn) = (0, 0);
    for _ in 0..1000 {
        let nodes = 6 + next(&mut seed, 35);
        let mut edges = BTreeSet::new();
        for _ in 0..nodes + next(&mut seed, nodes) {
            let upper = next(&mut seed, nodes - 1);
            let reach = (nodes - 1 - upper).min(8);
            edges.insert((upper, upper + 1 + next(&mut seed, reach)));
        }
        let edges: Vec<_> = edges.into_iter().collect();
        let rows = layer::rows(nodes, &edges, &BTreeSet::from([0]));
        let mut sizes: Vec<Size> = (0..nodes)
            .map(|_| Size {
                left: 8,
                right: 20 + next(&mut seed, 120) as i32,
                height: 18 + next(&mut seed, 30) as i32,
            })
            .collect();
        sizes.resize(rows.vertices, Size { left: 5, right: 5, height: 0 });
        let x = place::across(&rows, &sizes, nodes);
        let placed = route::route(&rows, &sizes, &x, edges.len());
        drawn += 1;
        lines += edges.len();
        for (at, one) in placed.lines.iter().enumerate() {
            for piece in one.windows(2).map(|pair| (pair[0], pair[1])) {
                assert!(piece.0.0 == piece.1.0 || piece.0.1 == piece.1.1);
                for node in 0..nodes {
                    let (left, right) = (x[node] - sizes[node].left, x[node] + sizes[node].right);
                    let (top, bottom) = (placed.top[node], placed.top[node] + sizes[node].height);
                    let across = piece.0.0.min(piece.1.0) < right
                        && left < piece.0.0.max(piece.1.0).max(piece.0.0 + 1);
                    let along = piece.0.1.min(piece.1.1) < bottom && top < piece.0.1.max(piece.1.1);
                    assert!(!(across && along), "{piece:?} runs through node {node} of {edges:?}");
                }
                for (other, two) in placed.lines.iter().enumerate().skip(at + 1) {
                    let share = edges[at].0 == edges[other].0 || edges[at].1 == edges[other].1;
                    for foreign in two.windows(2).map(|pair| (pair[0], pair[1])) {
                        let clash = !share && on_each_other(piece, foreign);
                        assert!(!clash, "{piece:?} lies on {foreign:?} in {edges:?}");
                    }
                }
            }
        }
    }
    println!("{drawn} random graphs, {lines} lines");
}
