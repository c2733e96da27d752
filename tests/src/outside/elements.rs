//! Plain two-terminal elements, and what hangs together through them.

use halfsplit_circuit::{BranchId, PartId};

/// What an output or diode that is shut lets through, 1 TΩ, as the solve documents it.
pub const LEAK: f64 = 1e12;

/// A two-terminal element between nodes `a` and `b`.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Element {
    /// First node.
    pub a: usize,
    /// Second node.
    pub b: usize,
    /// What it does.
    pub law: Law,
}

/// What a source gives without load.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Own {
    /// So many volts.
    Volts(f64),
    /// The volts from one node to another.
    Across(usize, usize),
}

impl Own {
    /// What it is while the nodes have these volts.
    pub fn at(self, volts: &[f64]) -> f64 {
        match self {
            Own::Volts(own) => own,
            Own::Across(a, b) => volts[a] - volts[b],
        }
    }
}

/// What an element does.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Law {
    /// A resistor, ohms.
    Resistor(f64),
    /// Volts, positive at `a`, behind ohms.
    Source {
        /// Open-circuit volts.
        volts: Own,
        /// Resistance in series.
        ohms: f64,
    },
    /// A source whose current out of `a` stays within bounds, and 1 TΩ beside it.
    Limited {
        /// Volts without load.
        volts: Own,
        /// Resistance within bounds.
        ohms: f64,
        /// Least current out of `a`, perhaps −∞.
        least: f64,
        /// Most current out of `a`, perhaps ∞.
        most: f64,
    },
    /// A filament: hot ohms × max(0.09, (|V| / rated)^0.45).
    Filament {
        /// Hot resistance.
        hot: f64,
        /// Rated volts.
        rated: f64,
    },
    /// A current from `b` through the element to `a`, amperes.
    Current(f64),
    /// What a source, the element of this number, gives out of its `a` flows here from `a` to `b`.
    Same(usize),
}

/// Where a feed brings its module the volts.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Fed {
    /// The feed.
    pub feed: BranchId,
    /// Its module.
    pub module: PartId,
    /// Node before the module's own draw.
    pub a: usize,
    /// Node behind it.
    pub b: usize,
    /// Volts that wake, if the feed does.
    pub wakes: Option<f64>,
    /// Siemens that the least draw of a module at work has more than what stands here.
    pub more: f64,
}

/// A reference at work.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Giving {
    /// The reference.
    pub reference: BranchId,
    /// Its module.
    pub module: PartId,
    /// Its element's number.
    pub element: usize,
    /// Its volts where the feed allows.
    pub volts: f64,
}

/// Elements, and where relays and modules look.
#[derive(Clone, Debug, Default)]
pub struct Netlist {
    /// Number of nodes; the circuit's points come first, in their order.
    pub nodes: usize,
    /// The node that is zero.
    pub ground: usize,
    /// Everything; what follows the first `own` are ties to ground that carry no current.
    pub elements: Vec<Element>,
    /// How many elements are the circuit's own.
    pub own: usize,
    /// Each coil with the nodes across its winding.
    pub coils: Vec<(BranchId, usize, usize)>,
    /// Every feed.
    pub feeds: Vec<Fed>,
    /// Every reference at work.
    pub references: Vec<Giving>,
    /// Largest volts of any supply or output: full scale.
    pub full_scale: f64,
}

impl Netlist {
    /// Ties every part of the network that nothing joins to ground there with one resistor, which
    /// carries no current: a simulator needs it, the volts within the part do not feel it.
    pub fn tie(&mut self) {
        self.own = self.elements.len();
        // An ohmmeter's own current finds no way between two parts that only it joins.
        let joins = self.elements.iter().filter(|e| !matches!(e.law, Law::Current(_) | Law::Same(_)));
        let mut joined = Joined::of(self.nodes, joins.map(|e| (e.a, e.b)));
        for node in 0..self.nodes {
            if !joined.same(node, self.ground) {
                self.elements.push(Element { a: node, b: self.ground, law: Law::Resistor(1e3) });
                joined.join(node, self.ground);
            }
        }
    }

    /// What hangs together at these volts by anything better than 1 GΩ: not through an output or
    /// diode that is shut or at its limit.
    pub fn joined(&self, volts: &[f64]) -> Joined {
        let conducts = |e: &&Element| match e.law {
            Law::Resistor(ohms) => ohms <= 1e9,
            Law::Source { .. } | Law::Filament { .. } => true,
            Law::Limited { volts: own, ohms, least, most } => {
                let amps = (own.at(volts) - volts[e.a] + volts[e.b]) / ohms;
                least < amps && amps < most
            }
            Law::Current(_) | Law::Same(_) => false,
        };
        Joined::of(self.nodes, self.elements[..self.own].iter().filter(conducts).map(|e| (e.a, e.b)))
    }
}

/// Which nodes hang together.
#[derive(Clone, Debug)]
pub struct Joined(Vec<usize>);

impl Joined {
    /// Nodes joined by these edges.
    pub fn of(nodes: usize, edges: impl IntoIterator<Item = (usize, usize)>) -> Joined {
        let mut joined = Joined((0..nodes).collect());
        for (a, b) in edges {
            joined.join(a, b);
        }
        joined
    }

    /// Joins two nodes.
    pub fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.find(a), self.find(b));
        self.0[a] = b;
    }

    /// The name of a node's part of the network.
    pub fn find(&mut self, mut node: usize) -> usize {
        while self.0[node] != node {
            self.0[node] = self.0[self.0[node]];
            node = self.0[node];
        }
        node
    }

    /// Whether two nodes hang together.
    pub fn same(&mut self, a: usize, b: usize) -> bool {
        self.find(a) == self.find(b)
    }
}
