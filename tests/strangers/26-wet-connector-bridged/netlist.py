"""Salt water in a wheel-arch connector joins its feed cavity to the signal beside it by 900 ohm."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.6, 0.007)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.5)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 25, 0.4)
    c.bolt("GP1")
    c.bolt("GP5")
    on = key in ("run", "crank")
    if on:
        c.on_bar("S1:30", "BUS1")
        c.contact("S1", "S1:30", "S1:15")
        c.on_bar("S1:15", "BUS15")
    c.on_bar("F29:feed", "BUS15")
    c.fuse("F29", "F29:feed", "F29:load", 5)
    c.wire("W10", "F29:load", "SP1", 0.75, 0.3)
    c.wire("W11", "SP1", "A7.X1:1", 0.75, 1.4)
    c.wire("W12", "SP1", "X33.front:1", 0.5, 1.1)
    c.wire("W13", "A7.X1:2", "GP5", 0.75, 0.5)
    c.plug("A7.X1", 1, 2, 5, 6)
    c.ohm("A7 inner ground", "A7.X1.2", "A7.X1.6", 0.0001)
    if on:
        c.draws("A7", "A7.X1.1", "A7.X1.2", 0.2, 12)
        c.supply("A7 inner 5 V", "A7 rail", "A7.X1.2", 5.0, 1.0)
        c.ohm("A7 pull-up", "A7 rail", "A7.X1.5", 4700)
    c.inline("X33", "front", "arch", 1, 2, 3)
    c.wire("W14", "X33.arch:1", "X32:1", 0.5, 1.0)
    c.wire("W15", "X32:2", "X33.arch:2", 0.5, 1.0)
    c.wire("W16", "X33.front:2", "A7.X1:5", 0.5, 1.6)
    c.wire("W17", "X32:3", "X33.arch:3", 0.5, 1.0)
    c.wire("W18", "X33.front:3", "A7.X1:6", 0.5, 1.6)
    c.plug("X32", 1, 2, 3)
    c.draws("B33", "X32.1", "X32.3", 0.015, 12)
    c.ohm("B33 signal", "X32.2", "X32.3", 10e3)
    return c


def fault(c):
    c.bridge("X33.front:1", "X33.front:2", 900)


STATE = {"key": "run"}
EXPECT = {
    "complaint": {"pin": "A7.X1:5", "black": None, "reads": "figure"},
    "facts": ["A7 communicates"],
    "truth": {"fault": "X33.front:1 short to X33.front:2 900 ohm", "unit": ["X33"]},
    "class": "high",
    "first_step": ["X33", "X32", "F29"],
    "conclusion": {"holds": ["X33"], "not_alone": ["A7", "B33", "F29", "W16"]},
}
READINGS = [
    {"pin": "A7.X1:5"},
    {"pin": "X32:2"},
    {"pin": "X32:1"},
    {"pin": "A7.X1:5", "state": {"out": ["X32"]}},
    {"pin": "X32:3"},
    {"pin": "A7.X1:1"},
    {"pin": "X33.front:1", "black": "X33.front:2",
     "state": {"battery": "off", "key": "off", "out": ["A7.X1", "X32", "F29"]}},
]
