"""A fuel gauge that reads too little: the sender's way to ground has 90 ohm in a splice."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.5, 0.009)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.7)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 35, 0.3)
    c.bolt("GP1", 0.0001)
    c.bolt("GP3")
    c.bolt("GP10")
    on = key in ("run", "crank")
    if on:
        c.on_bar("S1:30", "BUS1")
        c.contact("S1", "S1:30", "S1:15")
        c.on_bar("S1:15", "BUS15")
    c.on_bar("F6:feed", "BUS15")
    c.fuse("F6", "F6:feed", "F6:load", 7.5)
    c.wire("W10", "F6:load", "A9.X1:1", 0.75, 1.3)
    c.wire("W11", "A9.X1:2", "GP3", 0.75, 0.4)
    c.plug("A9.X1", 1, 2, 5)
    if on:
        c.draws("A9", "A9.X1.1", "A9.X1.2", 0.25, 12)
        c.supply("A9 inner 5 V", "A9 rail", "A9.X1.2", 5.0, 1.0)
        c.ohm("A9 pull-up", "A9 rail", "A9.X1.5", 220)
    c.wire("W12", "A9.X1:5", "X75.front:4", 0.5, 1.5)
    c.inline("X75", "front", "rear", 4)
    c.wire("W13", "X75.rear:4", "X77:1", 0.5, 2.4)
    c.plug("X77", 1, 2)
    c.ohm("B77", "X77.1", "X77.2", 120)
    c.wire("W14", "X77:2", "SP1", 0.5, 0.4)
    c.wire("W15", "SP1", "GP10", 0.75, 0.5)
    return c


def fault(c):
    c.add("W15", 90)


STATE = {"key": "run"}
EXPECT = {
    "complaint": {"pin": "X75.front:4", "black": None, "reads": "figure"},
    "facts": ["A9 works"],
    "truth": {"fault": "W15 added 90 ohm", "unit": ["W15", "SP1"]},
    "class": "high",
    "first_step": ["X75", "X77:2", "X77", "SP1"],
    "conclusion": {"holds": ["W15"], "not_alone": ["A9", "GP3", "F6", "W12"]},
}
READINGS = [
    {"pin": "X75.front:4"},
    {"pin": "X77:1"},
    {"pin": "X77:2"},
    {"pin": "X77:1", "black": "X77:2"},
    {"pin": "SP1"},
    {"pin": "X75.front:4", "state": {"out": ["X77"]}},
    {"pin": "X75.rear:4", "black": "GP10", "state": {"battery": "off", "key": "off", "out": ["X75"]}},
]
