//! The search for the sequence of steps that costs the fewest minutes, without
//! knowing what a suspect or a step is.
//!
//! A [`Problem`] says which moves there are in a set-up, what each costs and how
//! it parts the suspects that are left. [`solve`] answers with a decision tree
//! and with what was proved about it: the exact optimum where the reachable
//! states fit the budget, a two-level rollout otherwise, with the distance to a
//! bound that no tree can beat.

mod bound;
mod deepen;
mod exact;
mod policy;
mod rollout;
mod set;
mod table;

pub use bound::lower_bound;
pub use policy::{expected_of_order, follow, order_by_chance};
pub use set::Set;
pub use table::{Table, Test};

use halfsplit_circuit::Minutes;

/// The physical set-up a technician is in, as the problem numbers it.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default)]
pub struct Setup(pub u64);

/// What can be done next.
#[derive(Clone, Debug)]
pub struct Move {
    /// The problem's number for it; the same in every set-up.
    pub action: u32,
    /// Minutes, set-up from the present one included.
    pub minutes: Minutes,
    /// What can come of it. The members part the set that was asked about.
    pub outcomes: Vec<Outcome>,
}

/// What can come of a move.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Outcome {
    /// The suspects that would give this outcome.
    pub set: Set,
    /// The set-up afterwards.
    pub setup: Setup,
    /// Minutes that only this outcome costs.
    pub minutes: Minutes,
}

/// A test-sequencing problem: one of the suspects is the fault.
pub trait Problem {
    /// Relative chance of each suspect before any move; positive.
    fn weights(&self) -> &[f64];

    /// The set-up at the start.
    fn start(&self) -> Setup;

    /// Minutes still due when no further move is wanted; `None` while the set should be split further.
    fn settled(&self, set: Set, setup: Setup) -> Option<Minutes>;

    /// Minutes charged for a set that should be split and that no move splits any more.
    fn stuck(&self, set: Set, setup: Setup) -> Minutes {
        let _ = (set, setup);
        0.0
    }

    /// The moves worth a thought. Each outcome must be smaller than `set` or settled,
    /// others are ignored.
    fn moves(&mut self, set: Set, setup: Setup) -> Vec<Move>;

    /// Every move that costs less than `below`, its outcomes parted at least as finely as by
    /// [`Problem::moves`]: what a bound has to reckon with.
    fn finest(&mut self, set: Set, setup: Setup, below: Minutes) -> Vec<Move> {
        self.moves(set, setup).into_iter().filter(|m| m.minutes < below).collect()
    }

    /// A move as it stands in the tree, where [`Problem::moves`] only estimates what comes of it. `None`
    /// where it parts nothing; [`Problem::moves`] does not offer it again.
    fn exactly(&mut self, set: Set, setup: Setup, step: &Move) -> Option<Move> {
        let _ = (set, setup);
        Some(step.clone())
    }

    /// Whether [`Problem::moves`] leaves out no move that could be of use; only then is an optimum over them one.
    fn weighs_every_move(&self) -> bool {
        true
    }

    /// The exact search gave up: from now on [`Problem::moves`] may leave out moves and estimate what comes of them.
    fn estimate(&mut self) {}

    /// What was computed so far, in a unit that is the same on every machine.
    fn work(&self) -> u64 {
        0
    }

    /// A class for each suspect such that every set that ends a walk, settled or stuck for
    /// nothing, lies within one class. For the bound only.
    fn classes(&self) -> Vec<usize> {
        (0..self.weights().len()).collect()
    }

    /// Lower limits of what the first, second, … distinct move of a path can cost, ascending.
    /// Empty says nothing and makes the bound zero.
    fn floors(&self) -> Vec<Minutes> {
        Vec::new()
    }

    /// The largest number of outcomes that any move has.
    fn arity(&self) -> usize {
        2
    }
}

/// How hard to search.
#[derive(Clone, Copy)]
pub struct Effort<'a> {
    /// States that may be opened before the exact search gives up, and again for the rollout.
    pub states: usize,
    /// What the exact search may compute, as [`Problem::work`] counts it; the rollout and the bound
    /// may each take a quarter of that.
    pub work: u64,
    /// Asked before each state; `true` stops the search without an answer.
    pub cancelled: Option<&'a dyn Fn() -> bool>,
    /// Asked before each state; `true` ends the search with the best tree so far.
    pub enough: Option<&'a dyn Fn() -> bool>,
}

impl Default for Effort<'_> {
    fn default() -> Self {
        Effort { states: 200_000, work: u64::MAX, cancelled: None, enough: None }
    }
}

impl Effort<'_> {
    /// An effort of so many states.
    pub fn of(states: usize) -> Effort<'static> {
        Effort { states, ..Effort::default() }
    }
}

/// Counts one stage of a search against its effort.
struct Meter<'a> {
    effort: Effort<'a>,
    /// States opened.
    opened: usize,
    /// The problem's work at which the stage ends.
    until: u64,
    cancelled: bool,
    spent: bool,
}

impl<'a> Meter<'a> {
    fn new<P: Problem>(problem: &P, effort: Effort<'a>, work: u64) -> Meter<'a> {
        let until = problem.work().saturating_add(work);
        Meter { effort, opened: 0, until, cancelled: false, spent: false }
    }

    /// Opens one more state; `false` once nothing more may be opened.
    fn open<P: Problem>(&mut self, problem: &P) -> bool {
        let says_so = |question: Option<&dyn Fn() -> bool>| question.is_some_and(|question| question());
        self.cancelled |= says_so(self.effort.cancelled);
        self.spent |= self.cancelled || says_so(self.effort.enough);
        self.spent |= self.opened >= self.effort.states || problem.work() > self.until;
        if !self.spent {
            self.opened += 1;
        }
        !self.spent
    }
}

/// Why a search gave no tree.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SearchError {
    /// The caller cancelled.
    Cancelled,
    /// More suspects than [`Set::MOST`].
    TooMany {
        /// How many there were.
        suspects: usize,
    },
}

impl std::fmt::Display for SearchError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Cancelled => f.write_str("the search was cancelled"),
            Self::TooMany { suspects } => {
                write!(f, "{suspects} suspects are more than the {} that one plan can hold", Set::MOST)
            }
        }
    }
}

impl std::error::Error for SearchError {}

/// What was proved about a tree.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Proof {
    /// No tree over these moves costs less.
    Optimal,
    /// No tree costs less than `bound` minutes.
    Bounded {
        /// Minutes.
        bound: Minutes,
    },
}

/// A decision tree.
#[derive(Clone, Debug)]
pub struct Tree {
    /// Nodes; the first is the root.
    pub nodes: Vec<Node>,
    /// Expected minutes from the root.
    pub expected: Minutes,
    /// What was proved.
    pub proof: Proof,
    /// States opened on the way.
    pub states: usize,
}

/// A node of a decision tree.
#[derive(Clone, Debug)]
pub struct Node {
    /// Suspects that are left here.
    pub set: Set,
    /// The set-up here.
    pub setup: Setup,
    /// Expected minutes from here.
    pub expected: Minutes,
    /// What to do; `None` where the walk ends.
    pub step: Option<Branching>,
}

/// A step of a decision tree and where its outcomes lead.
#[derive(Clone, Debug)]
pub struct Branching {
    /// The move.
    pub taken: Move,
    /// For each outcome the node it leads to.
    pub next: Vec<usize>,
}

/// Finds the tree of fewest expected minutes, or the best that the effort allows.
///
/// The same problem and effort always give the same tree.
///
/// # Errors
/// [`SearchError`] where the caller cancelled or there are too many suspects.
pub fn solve<P: Problem>(problem: &mut P, effort: Effort<'_>) -> Result<Tree, SearchError> {
    let suspects = problem.weights().len();
    if suspects > Set::MOST {
        return Err(SearchError::TooMany { suspects });
    }
    if problem.weighs_every_move() {
        match exact::solve(problem, effort) {
            Ok(tree) => return Ok(tree),
            Err(exact::Stop::Cancelled) => return Err(SearchError::Cancelled),
            Err(exact::Stop::Budget) => problem.estimate(),
        }
    }
    rollout::solve(problem, effort)
}

/// The two-level rollout alone, for problems known to be beyond the exact search and for comparing the two.
///
/// # Errors
/// [`SearchError::Cancelled`].
pub fn roll<P: Problem>(problem: &mut P, effort: Effort<'_>) -> Result<Tree, SearchError> {
    rollout::solve(problem, effort)
}

/// Sum of the weights of a set.
pub(crate) fn weight_of(weights: &[f64], set: Set) -> f64 {
    set.iter().map(|i| weights[i]).sum()
}

/// Whether a move makes progress on a set whichever outcome comes.
pub(crate) fn progresses<P: Problem>(problem: &P, set: Set, step: &Move) -> bool {
    step.outcomes.iter().all(|o| o.set.len() < set.len() || problem.settled(o.set, o.setup).is_some())
}

/// Unrolls a policy into a tree.
pub(crate) fn grow<P: Problem>(
    problem: &mut P,
    choose: &mut dyn FnMut(&mut P, Set, Setup) -> Option<Move>,
) -> Vec<Node> {
    let weights = problem.weights().to_vec();
    let root = Node { set: Set::first(weights.len()), setup: problem.start(), expected: 0.0, step: None };
    let mut nodes = vec![root];
    let mut at = 0;
    while at < nodes.len() {
        let (set, setup) = (nodes[at].set, nodes[at].setup);
        if problem.settled(set, setup).is_none()
            && let Some(taken) = choose(problem, set, setup)
        {
            let first = nodes.len();
            let next = (first..first + taken.outcomes.len()).collect();
            nodes.extend(taken.outcomes.iter().map(|o| Node {
                set: o.set,
                setup: o.setup,
                expected: 0.0,
                step: None,
            }));
            nodes[at].step = Some(Branching { taken, next });
        }
        at += 1;
    }
    for at in (0..nodes.len()).rev() {
        let node = &nodes[at];
        let expected = match &node.step {
            None => {
                problem.settled(node.set, node.setup).unwrap_or_else(|| problem.stuck(node.set, node.setup))
            }
            Some(step) => {
                let here = weight_of(&weights, node.set);
                let after: f64 = step
                    .taken
                    .outcomes
                    .iter()
                    .zip(&step.next)
                    .map(|(o, &n)| weight_of(&weights, o.set) * (o.minutes + nodes[n].expected))
                    .sum();
                step.taken.minutes + after / here
            }
        };
        nodes[at].expected = expected;
    }
    nodes
}
