"""A drive bus with half its terminators: CAN-H is broken between the bulkhead connector and the engine's splice."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.6, 0.007)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.5)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.on_bar("F8:feed", "BUS1")
    c.fuse("F8", "F8:feed", "F8:load", 15)
    c.wire("W2", "G1:31", "GP1", 25, 0.4)
    c.bolt("GP1")
    c.bolt("GP5")
    c.wire("W3", "F8:load", "SP1", 1.5, 0.3)
    for module, wire, metres, ground, point, length, amps in (
            ("A2", "W4", 1.4, "W7", "GP5", 0.5, 0.6), ("A5", "W5", 1.1, "W8", "GP1", 0.8, 0.4),
            ("A9", "W6", 2.1, "W9", "GP5", 1.2, 0.3)):
        c.wire(wire, "SP1", f"{module}.X1:1", 1.0, metres)
        c.wire(ground, f"{module}.X1:2", point, 1.0, length)
        c.plug(f"{module}.X1", 1, 2, 3, 4)
        if key in ("run", "crank"):
            c.draws(module, f"{module}.X1.1", f"{module}.X1.2", amps, 12)
    c.ohm("A2 terminator", "A2.X1.3", "A2.X1.4", 120)
    c.ohm("A9 terminator", "A9.X1.3", "A9.X1.4", 120)
    c.ohm("A5 input", "A5.X1.3", "A5.X1.4", 40e3)
    for n, high, low in ((3, "W2", "SP2"), (4, "W3", "SP3")):
        c.wire(f"{high}0", f"A2.X1:{n}", low, 0.35, 1.5)
        c.wire(f"{high}1", f"A5.X1:{n}", low, 0.35, 0.9)
        c.wire(f"{high}2", low, f"X25.engine:{n}", 0.35, 0.7)
        dash = "SP4" if n == 3 else "SP5"
        c.wire(f"{high}3", f"X25.dash:{n}", dash, 0.35, 0.6)
        c.wire(f"{high}4", dash, f"A9.X1:{n}", 0.35, 1.1)
        c.wire(f"{high}5", dash, "X90:6" if n == 3 else "X90:14", 0.35, 0.8)
    c.inline("X25", "engine", "dash", 3, 4)
    return c


def fault(c):
    c.cut("W22")


STATE = {"key": "off", "battery": "off"}
EXPECT = {
    "complaint": {"pin": "X90:6", "black": "X90:14", "reads": "figure"},
    "facts": [],
    "truth": {"fault": "W22 open", "unit": ["W22"]},
    "class": "value",
    "first_step": ["X25", "X25.engine:3", "X25.dash:3"],
    "conclusion": {"holds": ["W22"], "not_alone": ["A2", "A5", "A9", "W23", "W32"]},
}
READINGS = [
    {"pin": "X90:6", "black": "X90:14"},
    {"pin": "X90:6", "black": "X90:14", "state": {"out": ["X25"]}},
    {"pin": "X25.engine:3", "black": "X25.engine:4", "state": {"out": ["X25"]}},
    {"pin": "X90:6", "black": "X90:14", "state": {"out": ["A9.X1"]}},
    {"pin": "X90:6", "black": "X90:14", "state": {"out": ["A2.X1"]}},
    {"pin": "A5.X1:3", "black": "A5.X1:4"},
    {"pin": "X90:6", "black": "GP1"},
]
