//! What every vehicle has: batteries, grounds, fuse box, ignition switch, main relay, looms; and how a file ends.

use std::fmt::Write as _;

use super::{Bus, Drawn, Inline, Pen};

impl Pen {
    /// Battery to fuse box, with what keys and main relay switch.
    pub(super) fn base(&mut self) {
        let vehicle =
            self.pick(&["Brantwick Tern 1.8", "Ollerby Vane 2.0", "Kestrow Lark 2.0", "Kestrow Haul 18 t"]);
        let _ = write!(self.head, "halfsplit 1\ncircuit \"drawn at random\"\n\nvehicle \"{vehicle}\" {{\n");
        let _ = writeln!(self.head, "  system  {} V", self.volts);
        if self.volts > 20.0 {
            self.two_batteries()
        } else {
            self.one_battery()
        }
        let grounds = 1 + self.random.below(3);
        for at in 0..grounds {
            let name = format!("GP{}", 101 + at);
            let place = self.pick(&[
                "left strut tower",
                "right tail, behind the trim",
                "behind the dash",
                "front panel",
            ]);
            let (joint, reach) = (self.random.log(0.05, 1.0), self.reach());
            self.line(&format!(
                "ground-point {name} \"{place}\" {{\n  joint  {joint:.2} mohm\n  reach  {reach} min\n}}"
            ));
            self.parts += 1;
            self.grounds.push(name);
        }
        if self.chance(0.8) {
            self.ignition();
        }
        for _ in 0..self.random.below(3) {
            let name = self.name("X");
            let halves = self.pick(&["body engine", "front rear", "dash door", "chassis cab"]);
            let (one, other) = halves.split_once(' ').unwrap_or(("one", "other"));
            let reach = self.random.log(0.5, 6.0);
            let most = 3 + self.random.below(10);
            self.inlines.push(Inline { name, halves: [one, other], cavities: Vec::new(), reach, most });
        }
        if self.wanted > 20 && self.chance(0.3) {
            let there = self.chance(0.5);
            let _ = writeln!(self.head, "  option  TOW \"towing socket\"");
            self.options.push(("TOW".to_owned(), there));
        }
        let _ = writeln!(self.head, "}}\n");
    }

    fn one_battery(&mut self) {
        let (volts, inner) = (self.random.between(12.4, 12.8), self.random.log(3.0, 15.0));
        self.line(&format!(
            "supply G1 battery {{\n  volts      {volts:.1} V\n  inner      {inner:.0} mohm\n  terminals  30 31\n}}"
        ));
        self.line("ground-point GP1 \"battery tray\" {\n  joint  0.06 mohm\n  reach  0.5 min\n}");
        self.parts += 2;
        self.wire("G1:31", "GP1", 25.0);
        self.box_feed("G1:30");
        if self.chance(0.15) {
            self.generator();
        }
    }

    /// A row of two, the centre unused.
    fn two_batteries(&mut self) {
        for (name, label) in [("G1", "lower"), ("G2", "upper")] {
            self.line(&format!(
                "supply {name} battery \"{label}\" {{\n  volts      12.6 V\n  inner      4 mohm\n  terminals  30 31\n}}"
            ));
        }
        self.line(
            "ground-point GP1 \"frame, beside the battery box\" {\n  joint  0.06 mohm\n  reach  1 min\n}",
        );
        self.parts += 3;
        self.wire("G1:30", "G2:31", 50.0);
        self.wire("G1:31", "GP1", 50.0);
        self.box_feed("G2:30");
    }

    fn box_feed(&mut self, post: &str) {
        self.line("bar BUS1 \"fuse box, battery side\"");
        self.line("link FL1  80 A  FL1:load on BUS1");
        self.parts += 1;
        self.wire(post, "FL1:feed", 16.0);
        self.grounds.push("GP1".to_owned());
    }

    /// A generator with its sense wire, its engine running while the key is on.
    fn generator(&mut self) {
        self.line(
            "supply G3 generator {\n  volts      14.2 V\n  inner      30 mohm\n  terminals  B+ B-\n  sense      S 10 kohm key run\n}",
        );
        self.line("link FL2  125 A  FL2:load on BUS1");
        self.parts += 2;
        self.wire("G3:B+", "FL2:feed", 16.0);
        self.wire("G3:B-", "GP1", 16.0);
        self.line("fuse F90  5 A type C  F90:feed on BUS1 {\n  reach  0.5 min\n}");
        self.parts += 1;
        self.wire("F90:load", "G3:S", 0.5);
    }

    fn ignition(&mut self) {
        self.line("bar BUS15 \"fuse box, terminal 15\"");
        self.line(
            "switch S1 \"ignition switch\" {\n  reach  4 min\n  30       on BUS1\n  15       on BUS15\n  contact  30 -> 15  key run crank\n}",
        );
        self.parts += 1;
        self.buses.push(Bus::Key);
        if !self.chance(0.35) {
            return;
        }
        self.line("bar BUS2 \"fuse box, main relay output\"");
        let ohms = self.random.between(60.0, 120.0).round() * self.volts / 12.0;
        let (pull, drop) = (8.0 * self.volts / 12.0, 3.0 * self.volts / 12.0);
        self.line(&format!(
            "relay K1 \"main relay\" {{\n  reach     0.5 min\n  30        on BUS1\n  87        on BUS2\n  coil      86 -> 85  {ohms} ohm\n  contact   30 -> 87\n  pull-in   {pull} V\n  drop-out  {drop} V\n}}"
        ));
        self.counts.insert("K", 1);
        self.parts += 1;
        let feed = self.feed(0.2, Bus::Key);
        self.wire(&feed, "K1:86", 0.5);
        let ground = self.ground();
        self.wire("K1:85", &ground, 0.5);
        self.buses.push(Bus::Main);
    }

    /// The file: vehicle, parts, modules, looms.
    pub(super) fn finish(mut self) -> Drawn {
        for at in 0..self.modules.len() {
            self.write_module(at);
        }
        for at in 0..self.inlines.len() {
            let it = &self.inlines[at];
            let (name, [one, other], reach) = (it.name.clone(), it.halves, it.reach);
            let count = it.cavities.len();
            if count == 0 {
                continue;
            }
            let place =
                self.pick(&["engine left, top", "left sill, under the trim", "bulkhead, behind the battery"]);
            let total = (count + self.random.below(3)).max(2);
            let rows = if total >= 6 && total % 2 == 0 && self.chance(0.5) { "\n  rows    2" } else { "" };
            let spare =
                if total > count { format!("\n  {}..{total}  elsewhere", count + 1) } else { String::new() };
            let spare = if total == count + 1 { format!("\n  {total}  elsewhere") } else { spare };
            self.line(&format!(
                "inline {name} {total} cavities  halves {one} {other} {{\n  place  \"{place}\"\n  reach  {reach:.1} min\n  repart 0.3 min\n  view   wire-side{rows}{spare}\n}}"
            ));
        }
        if self.wires.len() > 8 && self.chance(0.4) {
            let from = self.random.below(self.wires.len() - 3);
            let together = self.wires[from..from + 3].join(" ");
            self.line(&format!("run RUN1 \"left sill, under the trim\"  0.8 m {{\n  wires  {together}\n}}"));
        }
        let text = format!("{}{}", self.head, self.body);
        Drawn { text, options: self.options, serial: self.serial, parts: self.parts }
    }
}
