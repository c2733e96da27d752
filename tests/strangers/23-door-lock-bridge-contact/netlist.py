"""A lock motor that hums and does not turn: a contact of the hinge post's connector has 5 ohm."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.6, 0.008)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.5)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.on_bar("F45:feed", "BUS1")
    c.fuse("F45", "F45:feed", "F45:load", 15)
    c.wire("W2", "G1:31", "GP1", 25, 0.4)
    c.bolt("GP1")
    c.bolt("GP31")
    c.wire("W10", "F45:load", "A23.X1:1", 2.5, 2.4)
    c.wire("W11", "A23.X1:2", "GP31", 2.5, 0.7)
    c.plug("A23.X1", 1, 2, 3, 4)
    c.draws("A23", "A23.X1.1", "A23.X1.2", 0.1, 12)
    command = positions.get("A23.LOCK")
    if command == "forward":
        c.driver("LOCK feeds", "A23.X1.1", "A23.X1.3", 0.2, 0.030)
        c.driver("LOCK grounds", "A23.X1.4", "A23.X1.2", 0.2, 0.030)
    if command == "reverse":
        c.driver("LOCK feeds", "A23.X1.1", "A23.X1.4", 0.2, 0.030)
        c.driver("LOCK grounds", "A23.X1.3", "A23.X1.2", 0.2, 0.030)
    c.wire("W12", "A23.X1:3", "X24.body:5", 1.0, 0.9)
    c.wire("W13", "A23.X1:4", "X24.body:6", 1.0, 0.9)
    c.inline("X24", "body", "door", 5, 6)
    c.wire("W14", "X24.door:5", "X23:1", 1.0, 1.1)
    c.wire("W15", "X24.door:6", "X23:2", 1.0, 1.1)
    c.plug("X23", 1, 2)
    c.ohm("M23", "X23.1", "X23.2", 3.6)
    return c


def fault(c):
    c.add("X24:6", 5.0)


STATE = {"key": "run", "set": {"A23.LOCK": "forward"}}
EXPECT = {
    "complaint": {"pin": "X24.door:6", "black": None, "reads": "figure"},
    "facts": ["A23 communicates"],
    "truth": {"fault": "X24.door:6 added 5 ohm", "unit": ["X24", "X24:6"]},
    "class": "high",
    "first_step": ["X24", "X24.body:6", "A23.X1:4"],
    "conclusion": {"holds": ["X24"], "not_alone": ["M23", "A23", "F45", "GP31"]},
}
READINGS = [
    {"pin": "X24.door:6"},
    {"pin": "X24.body:6"},
    {"pin": "X24.door:5"},
    {"pin": "X24.door:6", "black": "X24.body:6"},
    {"pin": "A23.X1:3"},
    {"pin": "X24.door:6", "state": {"set": {"A23.LOCK": "reverse"}}},
    {"pin": "X24.door:5", "state": {"set": {"A23.LOCK": "reverse"}}},
]
