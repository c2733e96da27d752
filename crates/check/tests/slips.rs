//! One slip in a healthy file gives one finding: what follows from it is not reported again.

use halfsplit_base::Files;
use halfsplit_check::check;

const SENSORS: &str = include_str!("../../../examples/tern/reference-a.circuit");
const LAMPS: &str = include_str!("../../../examples/vane/tail-and-stop.circuit");
const PUMP: &str = include_str!("../../../examples/vane/fuel-pump.circuit");

/// The file, what is changed in it, what it is changed to, and the rule that must speak.
const SLIPS: &[(&str, &str, &str, &str)] = &[
    // A wire left out.
    (SENSORS, "wire W1 ", "", "load-without-feed"),
    (SENSORS, "wire W11 ", "", "load-without-return"),
    (SENSORS, "wire W2 ", "", "half-without-mate"),
    (SENSORS, "wire W3 ", "", "half-without-mate"),
    (SENSORS, "wire W100 ", "", "body-without-battery"),
    (SENSORS, "wire W101 ", "", "fuse-without-feed"),
    (SENSORS, "wire W106 ", "", "load-without-feed"),
    (SENSORS, "wire W107 ", "", "load-without-return"),
    (LAMPS, "wire W914 ", "", "load-without-return"),
    (LAMPS, "wire W907 ", "", "load-without-feed"),
    (LAMPS, "wire W801 ", "", "load-without-feed"),
    (PUMP, "wire W1605 ", "", "load-without-return"),
    (PUMP, "wire W1603 ", "", "half-without-mate"),
    // A wire at the wrong pin.
    (SENSORS, "SP11          to X31:1 ", "SP11          to X31:2 ", "two-wires-in-a-cavity"),
    (SENSORS, "SP11          to X31:1 ", "SP11          to X31:4 ", "no-such-cavity"),
    (SENSORS, "SP11          to X31:1 ", "SP11          to X37:1 ", "unknown-name"),
    (SENSORS, "X21.engine:6  to SP11 ", "X21.engine:5  to SP11 ", "blank-but-wired"),
    (SENSORS, "X21.engine:6  to SP11 ", "X21.body:6  to SP11 ", "two-wires-in-a-cavity"),
    (SENSORS, "X21.engine:6  to SP11 ", "X21:6  to SP11 ", "half-missing"),
    (SENSORS, "W7  SP10          to X34:2 ", "W7  SP12          to X34:2 ", "load-bridged"),
    (SENSORS, "W17  SP12          to X34:1 ", "W17  SP10          to X34:1 ", "load-bridged"),
    (SENSORS, "A10.X1:2  to GP102 ", "A10.X1:2  to BUS1 ", "ground-pin-fed"),
    (SENSORS, "W102  F12:load  to A10.X1:1 ", "W102  BUS1  to A10.X1:1 ", "unfused-feed"),
    (SENSORS, "W102  F12:load  to A10.X1:1 ", "W102  G1:30  to A10.X1:1 ", "unfused-feed"),
    (LAMPS, "W901  X60:2  to SP32 ", "W901  X60:2  to SP31 ", "load-without-feed"),
    // A value or colour that does not fit.
    (SENSORS, "fuse F3   5 A ", "fuse F3   25 A ", "fuse-too-large"),
    (LAMPS, "BK/RD  1.0 mm2   4.2 m", "BK/RD  0.35 mm2   4.2 m", "wire-thin-for-fuse"),
    (PUMP, "fuse F22 15 A", "fuse F22 3 A", "load-above-fuse"),
    (SENSORS, "X34:2         GY/RD", "X34:2         RD/GY", "colour-contradiction"),
    (SENSORS, "6       GY/RD to GY/YE", "6       GY/RD", "colour-contradiction"),
    (SENSORS, "  6       GY/RD to GY/YE  \"reference A\"\n", "", "colour-change"),
    (SENSORS, "GY/RD  0.5 mm2  2.2 m", "GY/RD  0.5 mm2  2.2", "missing-unit"),
    (SENSORS, "GY/RD  0.5 mm2  2.2 m", "GY/RD  2.2 m", "missing-section"),
    (SENSORS, "GY/RD  0.5 mm2  2.2 m", "GY/RD  0.5 mm2", "missing-length"),
    // A declaration left out, doubled or misspelt.
    (SENSORS, "splice SP11 ", "splice SP1I ", "unknown-name"),
    (SENSORS, "splice SP13 ", "splice SP12 ", "duplicate-name"),
    (SENSORS, "  F12:feed on BUS1", "", "fuse-without-feed"),
    (SENSORS, "    3      VT/WH\n", "    3      VT/WH\n    3      VT/WH\n", "cavity-twice"),
    (SENSORS, "X34:2 -> X34:1\n", "X34:1 -> X34:2\n", "pins-swapped"),
    (SENSORS, "  signal     X34:3\n", "", "idle-pin"),
    (SENSORS, "  return     X1:4\n", "  return     X1:5\n", "pin-on-blank-cavity"),
    (PUMP, "  diode     85 -> 86", "  diode     86 -> 85", "clamp-diode-reversed"),
    (LAMPS, "F8:load  to X59:1 ", "F8:feed  to X59:1 ", "unfused-feed"),
    (LAMPS, "W913  X61:3  to GP302", "W913  X61:3  to F8:load", "ground-pin-fed"),
];

fn findings(text: &str) -> Vec<String> {
    let mut files = Files::default();
    let file = files.set("slip.circuit".into(), text);
    let line = |f: &halfsplit_base::Finding| files.get(f.file).position(f.span.start).line;
    check(&files, file)
        .findings
        .iter()
        .map(|f| format!("{} in line {}: {}", f.rule, line(f), f.message))
        .collect()
}

/// With one blank for many, so that the layout of the examples is free.
fn squeezed(text: &str) -> String {
    let mut out = text.replace("  ", " ");
    while out.contains("  ") {
        out = out.replace("  ", " ");
    }
    out
}

/// The text without a stretch; a whole statement, with its block, where the stretch opens one.
fn without(text: &str, stretch: &str) -> String {
    let at = text.find(stretch).unwrap_or_default();
    if !text[..at].ends_with('\n') || stretch.ends_with('\n') {
        return text.replacen(stretch, "", 1);
    }
    let line = text[at..].find('\n').unwrap_or_default();
    let end = match text[at..at + line].ends_with('{') {
        true => text[at..].find("\n}\n").map_or(line, |brace| brace + 2),
        false => line,
    };
    format!("{}{}", &text[..at], &text[at + end + 1..])
}

#[test]
fn one_slip_gives_one_finding() {
    let mut wrong = Vec::new();
    for (text, from, to, rule) in SLIPS {
        let (text, from, to) = (&squeezed(text), &squeezed(from), &squeezed(to));
        if !text.contains(from) {
            wrong.push(format!("the file has no {from:?}"));
        }
        let changed = if to.is_empty() { without(text, from) } else { text.replacen(from, to, 1) };
        let found = findings(&changed);
        if found.len() != 1 || !found[0].starts_with(&format!("{rule} ")) {
            wrong.push(format!("{from:?} -> {to:?}, {rule}: {found:#?}"));
        }
    }
    assert!(wrong.is_empty(), "{} of {}\n{}", wrong.len(), SLIPS.len(), wrong.join("\n"));
}
