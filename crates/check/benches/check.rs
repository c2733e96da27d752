//! How fast a circuit is checked, beside reading the same bytes and splitting them into lines.
//!
//! `cargo bench -p halfsplit-check`. Every figure comes twice: bytes per second and lines per second.

use std::{fmt::Write as _, path::PathBuf};

use divan::{
    Bencher,
    counter::{BytesCount, ItemsCount},
};
use halfsplit_base::Files;
use halfsplit_check::check;

const REFERENCE: &str = include_str!("../../../examples/tern/reference-a.circuit");

fn main() {
    divan::main();
}

/// A correct circuit of about 10,000 lines: one fuse box, and from it lamps behind switches,
/// inline connectors, splices and grounds.
fn large() -> String {
    let mut text = String::from(
        "halfsplit 1\ncircuit \"ten thousand lines\"\nvehicle \"Kestrow coach\" {\n  system 12 V\n}\n\
         supply G1 battery {\n  volts 12.6 V\n  terminals 30 31\n}\nground-point GP1\nbar BUS1\n\
         link FL1 300 A FL1:load on BUS1\nwire W1 G1:31 to GP1 BK 50 mm2 0.4 m\nwire W2 G1:30 to FL1:feed RD 95 mm2 0.5 m\n",
    );
    for n in 0..385 {
        let _ = write!(
            text,
            "fuse F{n}0 5 A F{n}0:feed on BUS1\nground-point GP{n}0 \"row {n}\"\nsplice SP{n}0 \"row {n}\"\n\
             switch S{n}0 {{\n  position off on\n  contact 1 -> 2 in on\n}}\n\
             inline X{n}9 4 cavities halves front rear {{\n  view wire-side\n  1 GY/RD\n}}\n\
             lamp E{n}1 {{\n  connector X{n}1 2 cavities\n  filament 5 W at 12 V X{n}1:1 -> X{n}1:2\n}}\n\
             lamp E{n}2 {{\n  connector X{n}2 2 cavities\n  filament 5 W at 12 V X{n}2:1 -> X{n}2:2\n}}\n\
             wire W{n}0 F{n}0:load to S{n}0:1 RD/YE 0.75 mm2 1 m\n\
             wire W{n}1 S{n}0:2 to X{n}9.front:1 GY/RD 0.75 mm2 2 m\n\
             wire W{n}2 X{n}9.rear:1 to SP{n}0 GY/RD 0.75 mm2 2 m\n\
             wire W{n}3 SP{n}0 to X{n}1:1 GY/RD 0.75 mm2 2 m\n\
             wire W{n}4 SP{n}0 to X{n}2:1 GY/RD 0.75 mm2 2 m\n\
             wire W{n}5 X{n}1:2 to GP{n}0 BN 0.75 mm2 2 m\n\
             wire W{n}6 X{n}2:2 to GP{n}0 BN 0.75 mm2 2 m\n"
        );
    }
    text
}

/// Ten thousand wires and little else, most of them wrong.
fn faulty() -> String {
    let mut text =
        String::from("halfsplit 1\ncircuit \"nothing fits\"\nmodule A1 {\n  connector X1 400 cavities\n}\n");
    for n in 0..10_000 {
        let _ = writeln!(text, "wire W{n} X1:{} to SP{n} GY/RD 0.5 mm2", n % 410);
    }
    text
}

fn run(bencher: Bencher, text: String, findings: Option<usize>) {
    let lines = text.lines().count();
    let found = read(&text);
    assert!(findings.is_none_or(|wanted| wanted == found), "{found} findings");
    bencher
        .counter(BytesCount::of_str(&text))
        .counter(ItemsCount::new(lines))
        .bench(|| read(divan::black_box(&text)));
}

fn read(text: &str) -> usize {
    let mut files = Files::default();
    let file = files.set(PathBuf::from("bench.circuit"), text);
    check(&files, file).findings.len()
}

/// The yardstick: the bytes copied, checked to be UTF-8, and split into lines.
#[divan::bench]
fn lines(bencher: Bencher) {
    let text = large();
    let count = text.lines().count();
    bencher.counter(BytesCount::of_str(&text)).counter(ItemsCount::new(count)).bench(|| {
        let bytes = divan::black_box(&text).as_bytes().to_vec();
        String::from_utf8(bytes).map_or(0, |text| text.lines().count())
    });
}

/// Text to facts to circuit, without a rule.
#[divan::bench]
fn lower(bencher: Bencher) {
    let text = large();
    let count = text.lines().count();
    bencher.counter(BytesCount::of_str(&text)).counter(ItemsCount::new(count)).bench(|| {
        let mut files = Files::default();
        let file = files.set(PathBuf::from("bench.circuit"), divan::black_box(&text));
        halfsplit_model::lower(&files, file).wires.len()
    });
}

/// The reference circuit of five sensors, 230 lines.
#[divan::bench]
fn reference_circuit(bencher: Bencher) {
    run(bencher, REFERENCE.to_owned(), Some(0));
}

/// Ten thousand correct lines.
#[divan::bench]
fn ten_thousand_lines(bencher: Bencher) {
    run(bencher, large(), Some(0));
}

/// Ten thousand wires that lead to names which nothing declares.
#[divan::bench]
fn ten_thousand_faults(bencher: Bencher) {
    run(bencher, faulty(), None);
}

/// Five thousand lamps on one splice that nothing feeds, and a reference net with hundreds of pins.
#[divan::bench]
fn one_large_net(bencher: Bencher) {
    let mut text = String::from(
        "halfsplit 1\ncircuit \"one net\"\nsupply G1 battery {\n  terminals 30 31\n}\nsplice SP1\nsplice SP2\n",
    );
    for n in 0..2_500 {
        let _ = writeln!(
            text,
            "lamp E{n} {{\n  connector X{n} 2 cavities {{\n    reach {n} min\n  }}\n  filament 5 W at 12 V X{n}:1 -> X{n}:2\n}}\n\
             wire A{n} SP1 to X{n}:1 GY 0.5 mm2 1 m\nwire B{n} X{n}:2 to SP2 BN 0.5 mm2 1 m"
        );
    }
    run(bencher, text, None);
}

/// Two thousand fuses whose load sides meet on one bar, each rated differently.
#[divan::bench]
fn fuses_on_one_bar(bencher: Bencher) {
    let mut text = String::from(
        "halfsplit 1\ncircuit \"one bar\"\nsupply G1 battery {\n  terminals 30 31\n}\nbar B1\nbar B2\nwire W G1:30 to B1 RD 50 mm2 1 m\n",
    );
    for n in 0..2_000 {
        let _ = writeln!(
            text,
            "fuse F{n} {}.{n} A F{n}:feed on B1 F{n}:load on B2\nwire A{n} B2 to stub GY 0.35 mm2 1 m",
            1 + n % 40
        );
    }
    run(bencher, text, None);
}

/// A chain of ten thousand wires and switches, with a lamp at every link.
#[divan::bench]
fn one_long_chain(bencher: Bencher) {
    let mut text = String::from(
        "halfsplit 1\ncircuit \"one chain\"\nsupply G1 battery {\n  terminals 30 31\n}\nground-point GP1\n\
         wire W G1:31 to GP1 BK 50 mm2 1 m\nwire V0 G1:30 to S0:1 RD 1 mm2 1 m\n",
    );
    for n in 0..2_000 {
        let _ = writeln!(
            text,
            "switch S{n} {{\n  contact 1 -> 2\n}}\nwire V{} S{n}:2 to S{}:1 RD 1 mm2 1 m\n\
             lamp E{n} {{\n  connector X{n} 2 cavities\n  filament 5 W at 12 V X{n}:1 -> X{n}:2\n}}\n\
             wire A{n} S{n}:2 to X{n}:1 GY 0.5 mm2 1 m\nwire B{n} X{n}:2 to GP1 BN 0.5 mm2 1 m",
            n + 1,
            n + 1
        );
    }
    run(bencher, text, None);
}
