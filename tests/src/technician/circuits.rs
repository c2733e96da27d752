//! Random plausible circuits, as text in the language, from a seed.
//!
//! A circuit is drawn as a fitter would lay it out: battery, grounds, fuse box and ignition switch first, then
//! functions, one after the other, until the number of parts is reached. Values are those of common vehicles,
//! of no real one; every distribution stands beside what it draws and is an own estimate.
//!
//! A circuit that the checker finds an error in, or that finds no steady state when sound, is drawn anew from the
//! next stream of its seed, and the number of draws is told.

mod base;
mod electronics;
mod functions;

use std::fmt::Write as _;

use crate::outside::random::Random;

/// Seeds of the committed circuits, one a line.
const SEEDS: &str = include_str!("../../technician/seeds");

/// Most parts of a circuit, wires and connectors counted.
pub const MOST: usize = 80;
/// From how many to how many parts a circuit is wanted to have; the last function may go beyond.
const WANTED: (f64, f64) = (8.0, 76.0);
/// Share of wires of which the length is not known.
const UNKNOWN_LENGTH: f64 = 0.02;
/// Share of routes that lead through an inline connector, where there is one.
const THROUGH_INLINE: f64 = 0.4;
/// Share of functions that share a fuse that is there already, where one has room.
const SHARED_FUSE: f64 = 0.35;

/// The committed seeds.
pub fn seeds() -> Vec<u64> {
    SEEDS.lines().filter_map(|line| line.trim().parse().ok()).collect()
}

/// A circuit as text, and which car it is: what is said of options and serial when something is asked.
#[derive(Clone, Debug)]
pub struct Drawn {
    /// The file.
    pub text: String,
    /// Options that the car has, and those that it lacks.
    pub options: Vec<(String, bool)>,
    /// The car's serial, where the file speaks of serials.
    pub serial: Option<u64>,
    /// Parts that were drawn, wires and plugs counted.
    pub parts: usize,
}

/// The circuit of a seed; `attempt` counts how often it was drawn before.
pub fn draw(seed: u64, attempt: u64) -> Drawn {
    let mut pen = Pen::new(Random::new(seed ^ attempt.wrapping_mul(0x5851_f42d_4c95_7f2d)));
    pen.base();
    let mut barren = 0;
    while pen.parts < pen.wanted && barren < 20 {
        let before = pen.parts;
        pen.function();
        barren = if pen.parts == before { barren + 1 } else { 0 };
    }
    pen.finish()
}

/// A fuse with room for more, and where its circuit is tapped.
struct Shared {
    tap: String,
    bus: Bus,
    room: f64,
}

/// Which bus bar of the fuse box.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Bus {
    /// The battery's.
    Battery,
    /// Terminal 15.
    Key,
    /// Behind the main relay.
    Main,
}

/// An inline connector that is still being filled.
struct Inline {
    name: String,
    halves: [&'static str; 2],
    cavities: Vec<[String; 2]>,
    reach: f64,
    most: usize,
}

/// A module that is still being drawn: the pins of its two connectors.
struct Module {
    name: String,
    label: &'static str,
    plugs: [Vec<String>; 2],
    names: [String; 2],
    facts: Vec<String>,
    ground: String,
}

/// What is drawn so far.
struct Pen {
    random: Random,
    volts: f64,
    wanted: usize,
    parts: usize,
    head: String,
    body: String,
    counts: std::collections::HashMap<&'static str, usize>,
    grounds: Vec<String>,
    shared: Vec<Shared>,
    inlines: Vec<Inline>,
    modules: Vec<Module>,
    buses: Vec<Bus>,
    /// Wires with plain ends, for runs.
    wires: Vec<String>,
    options: Vec<(String, bool)>,
    serial: Option<u64>,
    /// Whether a function of a sort that comes once is there.
    once: Vec<&'static str>,
}

impl Pen {
    fn new(mut random: Random) -> Pen {
        let volts = if random.unit() < 0.1 { 24.0 } else { 12.0 };
        let wanted = random.log(WANTED.0, WANTED.1).round() as usize;
        Pen {
            random,
            volts,
            wanted,
            parts: 0,
            head: String::new(),
            body: String::new(),
            counts: std::collections::HashMap::new(),
            grounds: Vec::new(),
            shared: Vec::new(),
            inlines: Vec::new(),
            modules: Vec::new(),
            buses: vec![Bus::Battery],
            wires: Vec::new(),
            options: Vec::new(),
            serial: None,
            once: Vec::new(),
        }
    }

    fn chance(&mut self, share: f64) -> bool {
        self.random.unit() < share
    }

    fn pick<'a, T: ?Sized>(&mut self, of: &[&'a T]) -> &'a T {
        of[self.random.below(of.len())]
    }

    /// The next name with these letters: `W1`, `W2`.
    fn name(&mut self, letters: &'static str) -> String {
        let first = if letters == "X" { 10 } else { 1 };
        let count = self.counts.entry(letters).or_insert(first - 1);
        *count += 1;
        self.parts += 1;
        format!("{letters}{count}")
    }

    fn line(&mut self, line: &str) {
        let _ = writeln!(self.body, "{line}");
    }

    fn colour(&mut self) -> String {
        const BASE: [&str; 9] = ["RD", "YE", "GN", "BU", "BN", "GY", "VT", "WH", "BK"];
        let base = self.random.below(BASE.len());
        match self.random.below(3) {
            0 => BASE[base].to_owned(),
            _ => format!("{}/{}", BASE[base], BASE[(base + 1 + self.random.below(8)) % 9]),
        }
    }

    /// Minutes to a place, from beside the bonnet to under the dash.
    fn reach(&mut self) -> String {
        let minutes = self.random.log(0.5, 10.0);
        format!("{:.1}", minutes)
    }

    /// One wire; gives its name.
    fn wire(&mut self, from: &str, to: &str, mm2: f64) -> String {
        let name = self.name("W");
        let colour = self.colour();
        let metres = self.random.log(0.2, 4.0);
        let length = if mm2 < 10.0 && self.chance(UNKNOWN_LENGTH) {
            "unknown".to_owned()
        } else {
            format!("{metres:.1} m")
        };
        let suspicion = if self.chance(0.1) {
            format!(" {{\n  suspicion  {:.1}\n}}", self.random.log(0.2, 3.0))
        } else {
            String::new()
        };
        self.line(&format!("wire {name}  {from} to {to}  {colour}  {mm2} mm2  {length}{suspicion}"));
        self.wires.push(name.clone());
        name
    }

    /// A way from one end to the other, through an inline connector now and then; gives its wires.
    fn route(&mut self, from: &str, to: &str, mm2: f64) -> Vec<String> {
        let open: Vec<usize> = (0..self.inlines.len())
            .filter(|&at| self.inlines[at].cavities.len() < self.inlines[at].most)
            .collect();
        if open.is_empty() || !self.chance(THROUGH_INLINE) {
            return vec![self.wire(from, to, mm2)];
        }
        let at = open[self.random.below(open.len())];
        let cavity = self.inlines[at].cavities.len() + 1;
        let (name, halves) = (self.inlines[at].name.clone(), self.inlines[at].halves);
        self.inlines[at].cavities.push([String::new(), String::new()]);
        let one = self.wire(from, &format!("{name}.{}:{cavity}", halves[0]), mm2);
        let other = self.wire(&format!("{name}.{}:{cavity}", halves[1]), to, mm2);
        vec![one, other]
    }

    /// A way from a feed or a splice to a number of ends; several are joined at a splice.
    fn fan(&mut self, from: &str, ends: &[String], mm2: f64) {
        if let [only] = ends {
            self.route(from, only, mm2);
            return;
        }
        let splice = self.splice();
        self.route(from, &splice, mm2);
        for end in ends {
            self.wire(&splice, end, mm2);
        }
    }

    fn splice(&mut self) -> String {
        let name = self.name("SP");
        let place =
            self.pick(&["in the dash loom", "under the carpet, left", "by the bulkhead", "rear loom"]);
        self.line(&format!("splice {name} \"{place}\""));
        name
    }

    /// A fed end for so many amperes: a fuse's load side, or a splice behind a fuse that is shared.
    fn feed(&mut self, amps: f64, bus: Bus) -> String {
        let bus = if self.buses.contains(&bus) { bus } else { Bus::Battery };
        let room: Vec<usize> = (0..self.shared.len())
            .filter(|&at| self.shared[at].bus == bus && self.shared[at].room >= 1.2 * amps)
            .collect();
        if !room.is_empty() && self.chance(SHARED_FUSE) {
            let at = room[self.random.below(room.len())];
            self.shared[at].room -= amps;
            return self.shared[at].tap.clone();
        }
        let rating = rating(amps * if self.chance(0.4) { 2.0 } else { 1.2 });
        let fuse = self.name("F");
        let on = match bus {
            Bus::Battery => "BUS1",
            Bus::Key => "BUS15",
            Bus::Main => "BUS2",
        };
        let reach = if self.chance(0.8) { " {\n  reach  0.5 min\n}" } else { "" };
        self.line(&format!("fuse {fuse}  {rating} A type C  {fuse}:feed on {on}{reach}"));
        let load = format!("{fuse}:load");
        if !self.chance(0.45) {
            return load;
        }
        let splice = self.splice();
        self.wire(&load, &splice, section(rating));
        self.shared.push(Shared { tap: splice.clone(), bus, room: rating - amps });
        splice
    }

    /// A ground: a point on the body, or the end that a function shares with others.
    fn ground(&mut self) -> String {
        let at = self.random.below(self.grounds.len());
        self.grounds[at].clone()
    }

    /// A plug on a part: its name, and its lines with these cavities beside blank ones.
    fn plug(&mut self, cavities: usize) -> (String, String) {
        let name = self.name("X");
        let place = self.pick(&[
            "behind the grille",
            "under the dash, left",
            "in the boot, right",
            "engine top",
            "behind the undershield",
            "under the rear seat",
            "front door, left",
        ]);
        let reach = self.reach();
        let mut block = format!("  connector {name} {cavities} cavities {{\n    place  \"{place}\"\n");
        if self.chance(0.95) {
            let _ = writeln!(block, "    reach  {reach} min");
        }
        if self.chance(0.2) {
            let _ = writeln!(block, "    parting  0.2 min");
        }
        if self.chance(0.3) {
            let _ = writeln!(block, "    repart  0.2 min");
        }
        if self.chance(0.2) {
            let _ = writeln!(block, "    contact  {:.1} mohm", self.random.log(0.5, 5.0));
        }
        let _ = writeln!(block, "    view   wire-side\n  }}");
        (name, block)
    }

    fn suspicion(&mut self) -> String {
        if self.chance(0.25) {
            format!("  suspicion  {:.1}\n", self.random.log(0.2, 4.0))
        } else {
            String::new()
        }
    }
}

/// The next rating that a fuse is made in.
fn rating(amps: f64) -> f64 {
    const RATINGS: [f64; 9] = [3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0];
    RATINGS.into_iter().find(|rating| *rating >= amps).unwrap_or(40.0)
}

/// The section of wire behind a fuse of this rating.
fn section(rating: f64) -> f64 {
    match rating {
        r if r <= 5.0 => 0.5,
        r if r <= 10.0 => 0.75,
        r if r <= 15.0 => 1.5,
        r if r <= 20.0 => 2.5,
        r if r <= 30.0 => 4.0,
        _ => 6.0,
    }
}
