//! Many walks, and the one table that they make.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

use super::calibration::Calibration;
use super::circuits;
use super::door::Door;
use super::verdict::{End, Verdict};
use super::walk::{self, Kind, Order, Verb, Walk};

/// What is walked.
#[derive(Clone, Debug)]
pub struct Options {
    /// Walks.
    pub walks: u64,
    /// How many of the committed circuits are used.
    pub circuits: usize,
    /// Seed of the run.
    pub seed: u64,
    /// Only this kind.
    pub kind: Option<Kind>,
    /// Only this verb.
    pub verb: Option<Verb>,
    /// Only the walk with this number.
    pub only: Option<u64>,
    /// Walks at a time.
    pub threads: usize,
}

/// In which order kinds follow each other; singles are half of all.
const ROUND: [Kind; 12] = [
    Kind::Single,
    Kind::Pair,
    Kind::Single,
    Kind::Stray,
    Kind::Single,
    Kind::Slip,
    Kind::Single,
    Kind::Careless,
    Kind::Single,
    Kind::Intermittent,
    Kind::Single,
    Kind::Stray,
];

/// Everything that was walked.
#[derive(Debug, Default)]
pub struct Ran {
    /// Every walk, by its number.
    pub walks: Vec<Walk>,
    /// Orders in which nothing could be hidden or complained of.
    pub idle: usize,
}

/// Walks them all.
pub fn run(door: &Door, folder: &Path, options: &Options, told: &(dyn Fn(&Walk) + Sync)) -> Ran {
    let seeds = circuits::seeds();
    let seeds = &seeds[..options.circuits.clamp(1, seeds.len())];
    let next = AtomicU64::new(options.only.unwrap_or(0));
    let end = options.only.map_or(options.walks, |only| only + 1);
    let ran = Mutex::new(Ran::default());
    std::thread::scope(|scope| {
        for thread in 0..options.threads.max(1) {
            let (next, ran) = (&next, &ran);
            scope.spawn(move || {
                let folder = folder.join(format!("hand-{thread}"));
                if std::fs::create_dir_all(&folder).is_err() {
                    return;
                }
                loop {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    if number >= end {
                        return;
                    }
                    let walk = walk::walk(door, &folder, order(number, seeds, options));
                    let Ok(mut ran) = ran.lock() else { return };
                    match walk {
                        Some(walk) => {
                            told(&walk);
                            ran.walks.push(walk);
                        }
                        None => ran.idle += 1,
                    }
                }
            });
        }
    });
    let mut ran = ran.into_inner().unwrap_or_default();
    ran.walks.sort_by_key(|walk| walk.order.number);
    ran
}

/// The walk of a number.
fn order(number: u64, seeds: &[u64], options: &Options) -> Order {
    let round = ROUND.len() as u64;
    let kind = options.kind.unwrap_or(ROUND[(number % round) as usize]);
    // Verbs change with each round, so that every kind is walked with both.
    let verb = options.verb.unwrap_or(if (number / round) % 2 == 0 { Verb::Plan } else { Verb::Case });
    // Kinds go round in twelves: the circuits are gone through in another stride.
    let circuit = seeds[(number.wrapping_mul(7) % seeds.len() as u64) as usize];
    Order { number, circuit, seed: options.seed, kind, verb }
}

/// One row: what walks of a sort came to.
#[derive(Clone, Debug, Default)]
struct Row {
    verdicts: BTreeMap<Verdict, usize>,
    late: usize,
    expected: (f64, usize),
    used: (f64, usize),
    seconds: f64,
    longest: f64,
    slips: (usize, usize),
}

impl Row {
    fn add(&mut self, walk: &Walk) {
        *self.verdicts.entry(walk.verdict).or_default() += 1;
        self.late += usize::from(walk.end == End::Late);
        if let Some(minutes) = walk.expected {
            self.expected = (self.expected.0 + minutes, self.expected.1 + 1);
        }
        self.used = (self.used.0 + walk.minutes, self.used.1 + 1);
        self.seconds += walk.took.as_secs_f64();
        self.longest = self.longest.max(walk.longest.as_secs_f64());
        if let Some((_, named)) = walk.slip {
            self.slips.0 += 1;
            self.slips.1 += usize::from(named);
        }
    }

    fn count(&self) -> usize {
        self.verdicts.values().sum()
    }

    fn line(&self, name: &str) -> String {
        let mut text = format!("{name:22} {:6}", self.count());
        for verdict in Verdict::ALL {
            let count = self.verdicts.get(&verdict).copied().unwrap_or(0);
            let _ = write!(text, " {count:8}");
        }
        let mean = |(sum, count): (f64, usize)| sum / count.max(1) as f64;
        let _ = write!(
            text,
            " {:5} {:8.1} {:7.1} {:8.2} {:8.2}",
            self.late,
            mean(self.expected),
            mean(self.used),
            self.seconds / self.count().max(1) as f64,
            self.longest
        );
        if self.slips.0 > 0 {
            let _ = write!(text, "  {}/{}", self.slips.1, self.slips.0);
        }
        text
    }
}

/// The table of what was walked.
pub fn table(ran: &Ran) -> String {
    let mut rows: BTreeMap<(Kind, Verb, bool), Row> = BTreeMap::new();
    for walk in &ran.walks {
        // A careless walk without a slip is a single one.
        let slipped = walk.slip.is_some();
        rows.entry((walk.order.kind, walk.order.verb, slipped)).or_default().add(walk);
    }
    let mut text = format!(
        "{:22} {:>6} {:>8} {:>8} {:>8} {:>8} {:>8} {:>8} {:>8} {:>8} {:>5} {:>8} {:>7} {:>8} {:>8}  slip named\n",
        "walks",
        "",
        "truth",
        "convict",
        "wrongset",
        "wrongmod",
        "more",
        "dead",
        "refused",
        "broken",
        "late",
        "expect'd",
        "used",
        "s/walk",
        "slowest"
    );
    for ((kind, verb, slipped), row) in &rows {
        let careless = matches!(kind, Kind::Slip | Kind::Careless);
        let slip = if careless && !slipped { " none" } else { "" };
        let verb = if *verb == Verb::Plan { "plan" } else { "case" };
        let _ = writeln!(text, "{}", row.line(&format!("{}{slip}, {verb}", kind.word())));
    }
    let _ = writeln!(text, "nothing to complain of: {}", ran.idle);
    text
}

/// Stated chances against what came, clean and careless.
pub fn calibrations(ran: &Ran) -> [(&'static str, Calibration); 3] {
    let over = |wanted: &dyn Fn(&Walk, usize) -> bool| {
        let mut calibration = Calibration::default();
        for walk in &ran.walks {
            walk.marks
                .iter()
                .filter(|mark| wanted(walk, mark.readings))
                .for_each(|mark| calibration.add(mark));
        }
        calibration
    };
    let clean = |walk: &Walk| matches!(walk.order.kind, Kind::Single | Kind::Stray);
    [
        ("plans before any step, clean", over(&|walk, lines| clean(walk) && lines == 0)),
        ("cases, clean", over(&|walk, lines| clean(walk) && lines > 0)),
        ("cases, 4 % of readings wrong", over(&|walk, lines| walk.order.kind == Kind::Careless && lines > 0)),
    ]
}

/// The worst walks, each with the command line that walks it again.
pub fn worst(ran: &Ran, options: &Options, most: usize) -> String {
    let rank = |walk: &Walk| match (walk.order.kind, walk.verdict) {
        (_, Verdict::Truth) => 9,
        (Kind::Pair | Kind::Slip | Kind::Careless | Kind::Intermittent, Verdict::More) => 9,
        (_, Verdict::Convicted) => 0,
        (_, Verdict::Broken) => 1,
        (_, Verdict::WrongSet) => 2,
        (_, Verdict::WrongGated) => 3,
        (_, Verdict::Refused) => 4,
        (_, Verdict::Dead) => 5,
        (_, Verdict::More) => 6,
    };
    let mut walks: Vec<&Walk> = ran.walks.iter().filter(|walk| rank(walk) < 9).collect();
    walks.sort_by_key(|walk| (rank(walk), walk.order.number));
    let mut text = String::new();
    for walk in walks.into_iter().take(most) {
        let _ = writeln!(text, "{}", again(walk, options));
    }
    text
}

/// One walk in words, with the command line that walks it again.
pub fn again(walk: &Walk, options: &Options) -> String {
    let kind = options.kind.map(|kind| format!(" --kind {}", kind.word())).unwrap_or_default();
    let verb = match options.verb {
        Some(Verb::Plan) => " --only-plan",
        Some(Verb::Case) => " --only-case",
        None => "",
    };
    let hidden: Vec<&str> = walk.hidden.iter().map(|one| one.words.as_str()).collect();
    format!(
        "{:?} {}: {}; hidden: {}; end: {}\n    technician --seed {} --circuits {}{kind}{verb} --only {}",
        walk.verdict,
        walk.order.kind.word(),
        walk.complaint,
        hidden.join(" AND "),
        shortened(&format!("{:?}", walk.end)),
        options.seed,
        options.circuits,
        walk.order.number
    )
}

fn shortened(words: &str) -> String {
    let first: String = words.chars().take(300).collect();
    if first.len() < words.len() { format!("{first} …") } else { first }
}
