//! Modules with feeds, grounds, references and their sensors, drivers, H-bridges, pull-ups, and the bus between them.

use std::fmt::Write as _;

use super::{Bus, Module, Pen};

/// Cavities of a module's second connector.
const SIGNALS: usize = 24;
/// Cavities of a module's power connector.
const POWER: usize = 12;

impl Pen {
    /// A module, or one more thing on a module that is there.
    pub(super) fn electronics(&mut self) {
        if self.modules.is_empty() || self.modules.len() < 3 && self.chance(0.25) {
            return self.module();
        }
        match self.random.below(10) {
            0..=4 => self.reference(),
            5 | 6 => self.driven_lamp(),
            7 => self.bridge(),
            8 => self.input(),
            _ => self.bus_pair(),
        }
    }

    /// The next free pin of a module: of its power connector or of the other.
    fn pin(&mut self, module: usize, plug: usize) -> Option<String> {
        let most = [POWER, SIGNALS][plug];
        let it = &mut self.modules[module];
        let cavity = it.plugs[plug].len() + 1;
        if cavity > most {
            return None;
        }
        it.plugs[plug].push(String::new());
        Some(format!("{}:{cavity}", it.names[plug]))
    }

    fn some_module(&mut self) -> usize {
        self.random.below(self.modules.len())
    }

    fn module(&mut self) {
        let name = self.name("A");
        let label = self.pick(&["engine control", "body control", "door control", "brake control"]);
        let names = [self.name("X"), self.name("X")];
        let at = self.modules.len();
        self.modules.push(Module {
            name,
            label,
            plugs: [Vec::new(), Vec::new()],
            names,
            facts: Vec::new(),
            ground: String::new(),
        });
        let (Some(feed), Some(ground)) = (self.pin(at, 0), self.pin(at, 0)) else { return };
        let from = self.feed(1.5, Bus::Battery);
        self.route(&from, &feed, 0.75);
        let body = self.ground();
        self.route(&ground, &body, 1.5);
        let amps = self.random.log(0.1, 1.0);
        let scale = self.volts / 12.0;
        let keys = if self.chance(0.5) { "key run crank" } else { "key run" };
        let standby = if self.chance(0.8) {
            format!("    standby  {:.1} kohm\n", self.random.log(2.0, 20.0))
        } else {
            String::new()
        };
        let wakes =
            if self.chance(0.85) { format!("    wakes    {} V\n", 6.0 * scale) } else { String::new() };
        self.modules[at]
            .facts
            .push(format!("  feed  {feed} -> {ground}  draws {amps:.2} A  {keys} {{\n{standby}{wakes}  }}"));
        self.modules[at].ground = ground;
        if self.chance(0.4)
            && let Some(second) = self.pin(at, 0)
        {
            let from = self.feed(1.0, Bus::Key);
            self.route(&from, &second, 0.75);
            let draws = if self.chance(0.3) { "unknown" } else { "0.3 A" };
            self.modules[at].facts.push(format!("  feed  {second}  draws {draws}  {keys}"));
        }
        if self.chance(0.4)
            && let Some(second) = self.pin(at, 0)
        {
            let body = self.ground();
            self.route(&second, &body, 1.5);
            self.modules[at].facts.push(format!("  return  {second}"));
        }
        if self.chance(0.7) {
            self.reference_of(at);
        }
    }

    fn reference(&mut self) {
        let at = self.some_module();
        self.reference_of(at);
    }

    /// A reference with its sensors, their grounds and their signals.
    fn reference_of(&mut self, at: usize) {
        let (Some(out), Some(back)) = (self.pin(at, 1), self.pin(at, 1)) else { return };
        let letter = ["REF_A", "REF_B", "REF_C", "REF_D", "REF_E", "REF_F"];
        let used = self.modules[at].facts.iter().filter(|fact| fact.contains("reference")).count();
        let Some(name) = letter.get(used) else { return };
        let (inner, limit, unpowered) =
            (self.random.log(0.1, 1.0), self.random.log(50.0, 200.0), self.random.log(2.0, 10.0));
        let sinks = if self.chance(0.15) { "yes" } else { "no" };
        let after = if self.chance(0.2) { "latches" } else { "recovers" };
        let volts = if self.chance(0.85) { 5.0 } else { 8.0 };
        self.modules[at].facts.push(format!(
            "  reference  {name}  {volts:.2} V  {out} -> {back} {{\n    inner        {inner:.1} ohm\n    limit        {limit:.0} mA\n    unpowered    {unpowered:.1} kohm\n    sinks        {sinks}\n    after-short  {after}\n  }}"
        ));
        let count = 1 + self.random.below(5);
        let (mut feeds, mut returns) = (Vec::new(), Vec::new());
        for _ in 0..count {
            let sensor = self.name("B");
            let (plug, block) = self.plug(3);
            let label = self.pick(&["oil pressure", "boost pressure", "pedal", "level", "camshaft position"]);
            let amps = if self.chance(0.9) {
                format!("{:.0} mA at {volts} V", self.random.log(3.0, 15.0))
            } else {
                "unknown".to_owned()
            };
            let signal = self.pin(at, 1);
            let says = if signal.is_some() { format!("  signal  {plug}:3\n") } else { String::new() };
            let suspicion = self.suspicion();
            self.line(&format!(
                "sensor {sensor} \"{label}\" {{\n{block}  draws  {amps}  {plug}:1 -> {plug}:2\n{says}{suspicion}}}"
            ));
            if let Some(signal) = signal {
                self.route(&format!("{plug}:3"), &signal, 0.5);
                if self.chance(0.3) {
                    self.modules[at].facts.push(format!("  pull-down  100 kohm  {signal}"));
                }
            }
            feeds.push(format!("{plug}:1"));
            returns.push(format!("{plug}:2"));
        }
        self.fan(&out, &feeds, 0.5);
        self.fan(&back, &returns, 0.5);
    }

    fn output(&mut self, at: usize) -> String {
        let used =
            self.modules[at].facts.iter().filter(|f| f.contains("driver") || f.contains("bridge")).count();
        format!("OUT{}", used + 1)
    }

    fn keys(&mut self) -> &'static str {
        if self.chance(0.75) { "key run" } else { "key crank" }
    }

    /// A module grounds what hangs on this end.
    pub(super) fn low_side(&mut self, end: &str, amps: f64) {
        let at = self.some_module();
        let Some(pin) = self.pin(at, 0) else {
            let ground = self.ground();
            self.route(end, &ground, 0.5);
            return;
        };
        self.route(end, &pin, if amps > 3.0 { 1.5 } else { 0.5 });
        let (name, keys, ground) = (self.output(at), self.keys(), self.modules[at].ground.clone());
        let volts = self.random.between(0.05, 0.3);
        self.modules[at].facts.push(format!(
            "  driver  {name}  low-side  {pin} -> {ground}  {keys} {{\n    saturation  {volts:.2} V\n  }}"
        ));
    }

    /// A lamp that a module feeds from a fed pin of its own.
    fn driven_lamp(&mut self) {
        let at = self.some_module();
        let (Some(feed), Some(pin)) = (self.pin(at, 0), self.pin(at, 0)) else { return };
        let lamp = self.name("E");
        let (plug, block) = self.plug(2);
        self.line(&format!(
            "lamp {lamp} \"indicator\" {{\n{block}  filament  21 W at {} V  {plug}:1 -> {plug}:2\n}}",
            self.volts
        ));
        let from = self.feed(21.0 / self.volts, Bus::Battery);
        self.route(&from, &feed, 0.75);
        self.route(&pin, &format!("{plug}:1"), 0.75);
        let ground = self.ground();
        self.route(&format!("{plug}:2"), &ground, 0.75);
        let (name, keys) = (self.output(at), self.keys());
        self.modules[at].facts.push(format!("  feed  {feed}  draws 5 mA  key run crank"));
        self.modules[at].facts.push(format!(
            "  driver  {name}  high-side  {feed} -> {pin}  {keys} {{\n    saturation  0.1 V\n    inner       20 mohm\n  }}"
        ));
    }

    /// A motor that turns both ways.
    fn bridge(&mut self) {
        let at = self.some_module();
        let (Some(one), Some(other)) = (self.pin(at, 1), self.pin(at, 1)) else { return };
        let motor = self.name("M");
        let (plug, block) = self.plug(2);
        let ohms = self.random.log(4.0, 30.0) * self.volts / 12.0;
        self.line(&format!(
            "motor {motor} \"mirror motor\" {{\n{block}  resistance  {ohms:.1} ohm  {plug}:1 -> {plug}:2\n}}"
        ));
        self.route(&one, &format!("{plug}:1"), 0.75);
        self.route(&other, &format!("{plug}:2"), 0.75);
        let name = self.output(at);
        self.modules[at]
            .facts
            .push(format!("  bridge  {name}  {one}  {other} {{\n    saturation  0.3 V\n  }}"));
    }

    /// A switch to ground on an input with a pull-up, shielded now and then.
    fn input(&mut self) {
        let at = self.some_module();
        let Some(pin) = self.pin(at, 1) else { return };
        let ohms = self.random.log(1.0, 20.0);
        let far = self.hand_switch_low(&pin);
        let ground = self.ground();
        self.route(&far, &ground, 0.5);
        self.modules[at].facts.push(format!("  pull-up  {ohms:.1} kohm  {pin}  to 5 V"));
    }

    fn hand_switch_low(&mut self, pin: &str) -> String {
        let name = self.name("S");
        let name = if name == "S1" { self.name("S") } else { name };
        let (plug, block) = self.plug(2);
        self.line(&format!(
            "switch {name} \"door contact\" {{\n{block}  position  closed open\n  contact   {plug}:1 -> {plug}:2  in open\n}}"
        ));
        let wires = self.route(pin, &format!("{plug}:1"), 0.5);
        if self.chance(0.3) && !self.once.contains(&"shield") {
            self.once.push("shield");
            let ground = self.ground();
            self.line(&format!(
                "shield SH1 \"from the module to the switch\" {{\n  over   {}\n  drain  to {ground}  0.5 mm2  0.1 m\n}}",
                wires[0]
            ));
        }
        format!("{plug}:2")
    }

    /// A pair between two modules, ended in both; or one wire where there is but one module.
    fn bus_pair(&mut self) {
        if self.modules.len() < 2 || self.once.contains(&"bus") {
            return;
        }
        self.once.push("bus");
        let pins: Vec<[Option<String>; 2]> = [0, 1].map(|at| [self.pin(at, 1), self.pin(at, 1)]).into();
        let [[Some(a), Some(b)], [Some(c), Some(d)]] = &pins[..] else { return };
        if self.chance(0.3) {
            let wire = self.route(a, c, 0.5);
            let _ = wire;
            self.line(&format!("bus LIN1 lin 19.2 kbit/s \"doors\" {{\n  line  {a} {c}\n}}"));
            for (at, pin) in [(0, a), (1, c)] {
                self.modules[at].facts.push(format!("  pull-up  {} kohm  {pin}  to 12 V", [1, 30][at]));
            }
            return;
        }
        let high = self.route(a, c, 0.5);
        let low = self.route(b, d, 0.5);
        self.line(&format!(
            "bus CAN1 can 500 kbit/s \"powertrain\" {{\n  high  {a} {c}\n  low   {b} {d}\n}}"
        ));
        if high.len() == 1 && low.len() == 1 {
            self.line(&format!("twisted {} {}", high[0], low[0]));
        }
        for (at, one, other) in [(0, a, b), (1, c, d)] {
            self.modules[at].facts.push(format!("  terminator  120 ohm  {one} -> {other}"));
            self.modules[at].facts.push(format!("  input  40 kohm  {one} -> {other}"));
        }
    }

    /// A module's block, once all that hangs on it is known.
    pub(super) fn write_module(&mut self, at: usize) {
        let reach = self.reach();
        let place =
            self.pick(&["left cowl", "behind the dash", "under the driver's seat", "behind the door trim"]);
        let it = &self.modules[at];
        let mut text = format!("module {} \"{}\" {{\n", it.name, it.label);
        for (index, (pins, most)) in it.plugs.iter().zip([POWER, SIGNALS]).enumerate() {
            if pins.is_empty() {
                continue;
            }
            let _ = write!(
                text,
                "  connector {} {most} cavities {{\n    place  \"{place}\"\n    reach  {reach} min\n    view   wire-side\n    rows   2\n",
                it.names[index]
            );
            match most - pins.len() {
                0 => {}
                1 => drop(writeln!(text, "    {most}  elsewhere")),
                _ => drop(writeln!(text, "    {}..{most}  elsewhere", pins.len() + 1)),
            }
            text.push_str("  }\n");
        }
        for fact in &it.facts {
            let _ = writeln!(text, "{fact}");
        }
        text.push('}');
        self.line(&text);
    }
}
