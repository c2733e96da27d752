"""A fuel pump that starves: one contact of the sill connector has 1.1 ohm."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.5, 0.009)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.7)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 35, 0.3)
    c.bolt("GP1", 0.0001)
    c.bolt("GP10")
    on = key in ("run", "crank")
    if on:
        c.on_bar("S1:30", "BUS1")
        c.contact("S1", "S1:30", "S1:15")
        c.on_bar("S1:15", "BUS15")
    c.on_bar("F3:feed", "BUS15")
    c.fuse("F3", "F3:feed", "F3:load", 5)
    c.on_bar("F15:feed", "BUS1")
    c.fuse("F15", "F15:feed", "F15:load", 20)
    c.on_bar("F15:load", "BUS4")
    c.on_bar("K4:30", "BUS4")
    c.wire("W10", "F3:load", "X40:1", 0.5, 1.1)
    c.plug("X40", 1, 2)
    c.contact("S40", "X40.1", "X40.2")
    c.wire("W11", "X40:2", "K4:86", 0.5, 1.1)
    c.ohm("K4 coil", "K4:86", "K4:85", 82)
    c.wire("W12", "K4:85", "GP1", 0.5, 0.9)
    if on:
        c.contact("K4 contact", "K4:30", "K4:87")
    c.wire("W13", "K4:87", "X75.front:3", 1.5, 1.0)
    c.inline("X75", "front", "rear", 3)
    c.wire("W14", "X75.rear:3", "X76:1", 1.5, 2.4)
    c.plug("X76", 1, 2)
    c.load("M4", "X76.1", "X76.2", 90, 12)
    c.wire("W15", "X76:2", "GP10", 1.5, 0.7)
    return c


def fault(c):
    c.add("X75:3", 1.1)


STATE = {"key": "run"}
EXPECT = {
    "complaint": {"pin": "X76:1", "black": None, "reads": "figure"},
    "facts": [],
    "truth": {"fault": "X75.front:3 added 1.1 ohm", "unit": ["X75", "X75:3"]},
    "class": "low",
    "first_step": ["X75", "X75.rear:3", "X75.front:3", "K4:87"],
    "conclusion": {"holds": ["X75"], "not_alone": ["M4", "K4", "F15", "GP10", "S40"]},
}
READINGS = [
    {"pin": "X76:1"},
    {"pin": "X75.front:3"},
    {"pin": "X75.rear:3"},
    {"pin": "X75.front:3", "black": "X75.rear:3"},
    {"pin": "K4:87"},
    {"pin": "X76:2"},
    {"pin": "X76:1", "state": {"out": ["X76"]}},
]
