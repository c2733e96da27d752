"""Two cab blowers that turn at half pace: a mend in the wire before their splice has 2.4 ohm."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 25.4, 0.012)
    c.wire("W1", "G1:30", "FL1:feed", 16, 1.8)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 50, 0.6)
    c.bolt("GP1", 0.0001)
    c.bolt("GP40", 0.0004)
    if key in ("run", "crank"):
        c.on_bar("S1:30", "BUS1")
        c.contact("S1", "S1:30", "S1:15")
        c.on_bar("S1:15", "BUS15")
    c.on_bar("F51:feed", "BUS15")
    c.fuse("F51", "F51:feed", "F51:load", 15)
    c.on_bar("F52:feed", "BUS15")
    c.fuse("F52", "F52:feed", "F52:load", 10)
    c.wire("W10", "F51:load", "X61:1", 2.5, 3.2)
    c.plug("X61", 1, 2)
    c.plug("X62", 1, 2)
    if positions.get("S61") == "on":
        c.contact("S61", "X61.1", "X61.2")
    if positions.get("S62") == "pressed":
        c.contact("S62", "X62.1", "X62.2")
    c.wire("W11", "X61:2", "X50.console:1", 1.5, 1.0)
    c.inline("X50", "console", "cab", 1)
    c.wire("W12", "X50.cab:1", "SP2", 1.5, 1.4)
    c.wire("W13", "SP2", "X63:1", 1.5, 0.2)
    c.wire("W14", "SP2", "X64:1", 1.0, 0.9)
    c.wire("W15", "X63:2", "SP1", 1.5, 0.6)
    c.wire("W16", "X64:2", "SP1", 1.0, 0.7)
    c.wire("W17", "SP1", "GP40", 2.5, 0.4)
    c.wire("W18", "F52:load", "X62:1", 1.0, 3.2)
    c.wire("W19", "X62:2", "X65:1", 1.0, 3.8)
    c.wire("W20", "X65:2", "GP40", 1.0, 1.5)
    for plug, motor, watts in (("X63", "M61", 84), ("X64", "M62", 84), ("X65", "M65", 48)):
        c.plug(plug, 1, 2)
        c.load(motor, f"{plug}.1", f"{plug}.2", watts, 24)
    return c


def fault(c):
    c.add("W12", 2.4)


STATE = {"key": "run", "set": {"S61": "on"}}
EXPECT = {
    "complaint": {"pin": "X63:1", "black": None, "reads": "figure"},
    "facts": [],
    "truth": {"fault": "W12 added 2.4 ohm", "unit": ["W12"]},
    "class": "low",
    "first_step": ["X50", "X50.cab:1", "X50.console:1", "X61", "F51"],
    "conclusion": {"holds": ["W12"], "not_alone": ["M61", "M62", "GP40", "F51", "S61"]},
}
READINGS = [
    {"pin": "X63:1"},
    {"pin": "X64:1"},
    {"pin": "X50.cab:1"},
    {"pin": "X50.console:1"},
    {"pin": "X63:2"},
    {"pin": "X63:1", "state": {"out": ["X64"]}},
    {"pin": "X63:1", "state": {"out": ["X63", "X64"]}},
    {"pin": "X65:1", "state": {"set": {"S61": "on", "S62": "pressed"}}},
]
