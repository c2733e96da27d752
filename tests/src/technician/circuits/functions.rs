//! Functions without electronics: lamps, motors, heaters, valves, horns, behind switches and relays.

use super::{Bus, Pen};

/// Share of functions that the key switches.
const KEYED: f64 = 0.4;

impl Pen {
    /// One more function.
    pub(super) fn function(&mut self) {
        match self.random.below(100) {
            0..=21 => self.lamps(),
            22..=31 => self.switched_motor(),
            32..=51 => self.relayed(),
            52..=59 => self.valve(),
            60..=65 => self.two_filaments(),
            66..=70 => self.horn(),
            71..=74 => self.towing(),
            75..=96 => self.electronics(),
            _ => self.stub(),
        }
    }

    fn bus(&mut self) -> Bus {
        match self.chance(KEYED) {
            false => Bus::Battery,
            true if self.chance(0.5) => Bus::Key,
            true => Bus::Main,
        }
    }

    /// A hand switch between a feed and what it switches; gives its far pin.
    fn hand_switch(&mut self, from: &str, label: &str, mm2: f64) -> String {
        let name = self.name("S");
        let name = if name == "S1" { self.name("S") } else { name };
        let (plug, block) = self.plug(2);
        self.line(&format!(
            "switch {name} \"{label}\" {{\n{block}  position  off on\n  contact   {plug}:1 -> {plug}:2  in on\n}}"
        ));
        self.route(from, &format!("{plug}:1"), mm2);
        format!("{plug}:2")
    }

    /// One to three lamps side by side.
    fn lamps(&mut self) {
        let count = 1 + self.random.below(3);
        let watts: f64 = [5.0, 10.0, 21.0, 55.0][self.random.below(4)];
        let amps = watts / self.volts * count as f64;
        let bus = self.bus();
        let mm2 = super::section(super::rating(1.2 * amps));
        let mut from = self.feed(amps, bus);
        if self.chance(0.7) {
            from = self.hand_switch(&from, "light switch", mm2);
        }
        let mut feeds = Vec::new();
        let mut returns = Vec::new();
        for _ in 0..count {
            let name = self.name("E");
            let (plug, block) = self.plug(2);
            let label =
                self.pick(&["side marker", "low beam", "reading lamp", "work lamp", "number plate lamp"]);
            let suspicion = self.suspicion();
            self.line(&format!(
                "lamp {name} \"{label}\" {{\n{block}  filament  {watts} W at {} V  {plug}:1 -> {plug}:2\n{suspicion}}}",
                self.volts
            ));
            feeds.push(format!("{plug}:1"));
            returns.push(format!("{plug}:2"));
        }
        self.fan(&from, &feeds, mm2);
        self.returns(&returns, mm2);
    }

    /// The ways back: each to a ground of its own, or joined.
    fn returns(&mut self, ends: &[String], mm2: f64) {
        let ground = self.ground();
        if ends.len() > 1 && self.chance(0.5) {
            return self.fan(&ground, ends, mm2);
        }
        for end in ends {
            let ground = if self.chance(0.7) { ground.clone() } else { self.ground() };
            self.route(end, &ground, mm2);
        }
    }

    /// A lamp with two filaments, each behind a switch.
    fn two_filaments(&mut self) {
        let name = self.name("E");
        let (plug, block) = self.plug(3);
        self.line(&format!(
            "lamp {name} \"tail and stop\" {{\n{block}  filament  21 W at {v} V  {plug}:1 -> {plug}:3\n  filament  5 W at {v} V  {plug}:2 -> {plug}:3\n}}",
            v = self.volts
        ));
        for (cavity, watts, label) in [(1, 21.0, "brake switch"), (2, 5.0, "light switch")] {
            let bus = self.bus();
            let from = self.feed(watts / self.volts, bus);
            let from = self.hand_switch(&from, label, 0.75);
            self.route(&from, &format!("{plug}:{cavity}"), 0.75);
        }
        let ground = self.ground();
        self.route(&format!("{plug}:3"), &ground, 0.75);
    }

    /// A part that draws, by one of the ways in which a file can say how much; gives its two pins.
    fn drawer(&mut self, watts: f64) -> [String; 2] {
        let (sort, letters, label) = match self.random.below(4) {
            0 => ("motor", "M", "wiper motor"),
            1 => ("motor", "M", "blower"),
            2 => ("heater", "R", "seat heater"),
            _ => ("load", "Y", "compressor clutch"),
        };
        let name = self.name(letters);
        let (plug, block) = self.plug(2);
        let (volts, ohms) = (self.volts, self.volts * self.volts / watts);
        let fact = match self.random.below(3) {
            0 => format!("draws  {:.1} A at {volts} V  {plug}:1 -> {plug}:2", watts / volts),
            1 if sort != "motor" => format!("power  {watts:.0} W at {volts} V  {plug}:1 -> {plug}:2"),
            _ => format!("resistance  {ohms:.2} ohm  {plug}:1 -> {plug}:2"),
        };
        let suspicion = self.suspicion();
        self.line(&format!("{sort} {name} \"{label}\" {{\n{block}  {fact}\n{suspicion}}}"));
        [format!("{plug}:1"), format!("{plug}:2")]
    }

    fn switched_motor(&mut self) {
        let watts = self.random.log(15.0, 150.0);
        let amps = watts / self.volts;
        let mm2 = super::section(super::rating(1.2 * amps));
        let bus = self.bus();
        let mut from = self.feed(amps, bus);
        if self.chance(0.8) {
            from = self.hand_switch(&from, "blower switch", mm2);
        }
        let [one, other] = self.drawer(watts);
        self.route(&from, &one, mm2);
        let ground = self.ground();
        self.route(&other, &ground, mm2);
    }

    /// A relay with its coil's diode or resistor; gives its name.
    pub(super) fn relay(&mut self, label: &str) -> String {
        let name = self.name("K");
        let scale = self.volts / 12.0;
        let ohms = self.random.between(60.0, 120.0).round() * scale;
        let damped = match self.random.below(4) {
            0 => "  diode     85 -> 86\n".to_owned(),
            1 => format!("  resistance  {} ohm  86 -> 85\n", 680.0 * scale),
            _ => String::new(),
        };
        let rest = if self.chance(0.2) { "  rest-contact 30 -> 87a\n" } else { "" };
        self.line(&format!(
            "relay {name} \"{label}\" {{\n  reach     0.5 min\n  coil      86 -> 85  {ohms} ohm\n{damped}  contact   30 -> 87\n{rest}  pull-in   {} V\n  drop-out  {} V\n}}",
            8.0 * scale,
            3.0 * scale
        ));
        name
    }

    /// A strong load behind a relay that a switch, the key or a module pulls in.
    fn relayed(&mut self) {
        let watts = self.random.log(40.0, 240.0);
        let amps = watts / self.volts;
        let mm2 = super::section(super::rating(1.2 * amps));
        let from = self.feed(amps, Bus::Battery);
        let relay = self.relay("load relay");
        self.wire(&from, &format!("{relay}:30"), mm2);
        let [one, other] = self.drawer(watts);
        self.route(&format!("{relay}:87"), &one, mm2);
        let ground = self.ground();
        self.route(&other, &ground, mm2);
        let bus = if self.chance(0.6) { Bus::Key } else { Bus::Battery };
        let coil = self.feed(0.2, bus);
        if self.chance(0.4) && !self.modules.is_empty() {
            self.route(&coil, &format!("{relay}:86"), 0.5);
            self.low_side(&format!("{relay}:85"), 0.2);
        } else if self.chance(0.5) || bus == Bus::Battery {
            let from = self.hand_switch(&coil, "relay switch", 0.5);
            self.route(&from, &format!("{relay}:86"), 0.5);
            let ground = self.ground();
            self.route(&format!("{relay}:85"), &ground, 0.5);
        } else {
            self.route(&coil, &format!("{relay}:86"), 0.5);
            let ground = self.ground();
            self.route(&format!("{relay}:85"), &ground, 0.5);
        }
    }

    /// A valve's winding with its diode, grounded by a module where there is one.
    fn valve(&mut self) {
        let name = self.name("Y");
        let (plug, block) = self.plug(2);
        let ohms = self.random.log(8.0, 60.0);
        let diode = if self.chance(0.5) { format!("  diode  {plug}:2 -> {plug}:1\n") } else { String::new() };
        self.line(&format!(
            "load {name} \"purge valve\" {{\n{block}  coil  {plug}:1 -> {plug}:2  {ohms:.1} ohm\n{diode}}}"
        ));
        let amps = self.volts / ohms;
        let bus = self.bus();
        let from = self.feed(amps, bus);
        self.route(&from, &format!("{plug}:1"), 0.5);
        if self.modules.is_empty() {
            let ground = self.ground();
            self.route(&format!("{plug}:2"), &ground, 0.5);
        } else {
            self.low_side(&format!("{plug}:2"), amps);
        }
    }

    /// A horn whose button sits in the wheel, behind the spiral contact.
    fn horn(&mut self) {
        if self.once.contains(&"horn") {
            return;
        }
        self.once.push("horn");
        let from = self.feed(5.0, Bus::Battery);
        let relay = self.relay("horn relay");
        let [one, other] = self.drawer(self.volts * 5.0);
        self.route(&format!("{relay}:87"), &one, 1.5);
        let ground = self.ground();
        self.route(&other, &ground, 1.5);
        self.wire(&from, &format!("{relay}:30"), 1.5);
        let coil = self.feed(0.2, Bus::Battery);
        self.wire(&coil, &format!("{relay}:86"), 0.5);
        let (column, block) = self.plug(6);
        self.line(&format!(
            "spiral-contact X9 \"behind the wheel\" {{\n{block}  path  {column}:4  to horn  0.15 ohm\n}}"
        ));
        self.route(&format!("{relay}:85"), &format!("{column}:4"), 0.5);
        let far = self.hand_switch("X9:horn", "horn switch", 0.35);
        let ground = self.ground();
        self.wire(&far, &ground, 0.5);
        if self.chance(0.3) {
            self.line(
                "zone COLUMN \"steering column\" {\n  caution  airbag \"the maker's disarming steps come first\"\n  holds    X9\n}",
            );
        }
    }

    /// What only some cars have, its wire beside the lamp's that all have.
    fn towing(&mut self) {
        if self.options.is_empty() || self.once.contains(&"tow") {
            return;
        }
        self.once.push("tow");
        let from = self.feed(2.0, Bus::Battery);
        let name = self.name("E");
        let (plug, block) = self.plug(2);
        self.line(&format!(
            "lamp {name} \"trailer lamp\"  when TOW {{\n{block}  filament  21 W at {} V  {plug}:1 -> {plug}:2\n}}",
            self.volts
        ));
        let ground = self.ground();
        for (from, to) in [(from, format!("{plug}:1")), (format!("{plug}:2"), ground)] {
            let wire = self.name("W");
            let colour = self.colour();
            self.line(&format!("wire {wire}  {from} to {to}  {colour}  0.75 mm2  1.5 m  when TOW"));
        }
    }

    /// A wire that is prepared and ends free, or one that changed with the build.
    fn stub(&mut self) {
        if self.chance(0.5) && self.serial.is_none() {
            self.serial = Some(40_000 + self.random.below(2_000) as u64);
            let name = self.name("E");
            let (plug, block) = self.plug(2);
            self.line(&format!(
                "lamp {name} \"load lamp\" {{\n{block}  filament  10 W at {} V  {plug}:1 -> {plug}:2\n}}",
                self.volts
            ));
            let from = self.feed(1.0, Bus::Battery);
            let wire = self.name("W");
            self.line(&format!(
                "wire {wire}  {from} to {plug}:1  RD/BK  0.75 mm2  1.5 m  when serial 1..40999"
            ));
            self.line(&format!(
                "wire {wire}  {from} to {plug}:1  RD/WH  0.75 mm2  1.7 m  when serial >= 41000"
            ));
            let ground = self.ground();
            self.route(&format!("{plug}:2"), &ground, 0.75);
            return;
        }
        let from = self.feed(1.0, Bus::Battery);
        let wire = self.name("W");
        let colour = self.colour();
        self.line(&format!(
            "wire {wire}  {from} to stub  {colour}  0.75 mm2  0.6 m {{\n  stub  because \"prepared for the second lamp\"\n}}"
        ));
    }
}
