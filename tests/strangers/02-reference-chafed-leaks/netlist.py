"""Two sensors on a weak reference, whose wire to the throttle body leaks to the battery tray through salt."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.5, 0.009)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.7)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.on_bar("F4:feed", "BUS1")
    c.fuse("F4", "F4:feed", "F4:load", 10)
    c.wire("W2", "G1:31", "GP1", 35, 0.3)
    c.bolt("GP1", 0.0001)
    c.bolt("GP2")
    c.wire("W3", "F4:load", "A1.X1:1", 1.0, 1.9)
    c.wire("W4", "A1.X1:2", "GP2", 1.0, 0.7)
    c.plug("A1.X1", 1, 2, 3, 4)
    c.ohm("A1 inner ground", "A1.X1.2", "A1.X1.4", 0.0001)
    if key in ("run", "crank"):
        c.draws("A1", "A1.X1.1", "A1.X1.2", 0.45, 12)
        c.reference("SENS", "A1.X1.3", "A1.X1.4", 5.0, 0.5, 0.060)
    c.wire("W10", "A1.X1:3", "SP1", 0.5, 0.4)
    c.wire("W11", "SP1", "X5:1", 0.5, 1.5)
    c.wire("W12", "SP1", "X6:1", 0.5, 1.3)
    c.wire("W13", "A1.X1:4", "SP2", 0.5, 0.4)
    c.wire("W14", "SP2", "X5:2", 0.5, 1.5)
    c.wire("W15", "SP2", "X6:2", 0.5, 1.3)
    c.plug("X5", 1, 2)
    c.plug("X6", 1, 2)
    c.draws("B5", "X5.1", "X5.2", 0.005, 5)
    c.draws("B6", "X6.1", "X6.2", 0.005, 5)
    return c


def fault(c):
    c.chafe("W12", "body", 55.0)


STATE = {"key": "run"}
EXPECT = {
    "complaint": {"pin": "X6:1", "black": None, "reads": "figure"},
    "facts": ["A1 communicates"],
    "truth": {"fault": "W12 short 55 ohm", "unit": ["W12"]},
    "class": "low",
    "first_step": ["X6", "X5"],
    "conclusion": {"holds": ["W12"], "not_alone": ["A1", "B5", "B6"]},
}
READINGS = [
    {"pin": "X6:1"},
    {"pin": "X5:1"},
    {"pin": "X6:1", "state": {"out": ["X6"]}},
    {"pin": "X6:1", "state": {"out": ["X6", "X5"]}},
    {"pin": "X6:2"},
    {"pin": "X6:1", "state": {"battery": "off", "key": "off", "out": ["A1.X1", "X5", "X6"]}},
]
