"""Two reed switches fed by one wire that has parted inside its insulation: nothing holds the plug's feed pin."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.5, 0.009)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.7)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 35, 0.3)
    c.bolt("GP1")
    c.bolt("GP3")
    on = key in ("run", "crank")
    if on:
        c.on_bar("S1:30", "BUS1")
        c.contact("S1", "S1:30", "S1:15")
        c.on_bar("S1:15", "BUS15")
    c.on_bar("F6:feed", "BUS15")
    c.fuse("F6", "F6:feed", "F6:load", 7.5)
    c.wire("W10", "F6:load", "SP9", 0.75, 0.5)
    c.wire("W11", "SP9", "A9.X1:1", 0.75, 0.9)
    c.wire("W12", "SP9", "X12.dash:1", 0.5, 1.0)
    c.inline("X12", "dash", "front", 1, 2, 3)
    c.wire("W13", "X12.front:1", "SP1", 0.5, 1.4)
    c.wire("W14", "SP1", "X21:1", 0.5, 0.4)
    c.wire("W15", "SP1", "X22:1", 0.5, 0.9)
    c.plug("X21", 1, 2)
    c.plug("X22", 1, 2)
    if positions.get("S21") == "low":
        c.contact("S21", "X21.1", "X21.2")
    if positions.get("S22") == "low":
        c.contact("S22", "X22.1", "X22.2")
    c.wire("W16", "X21:2", "X12.front:2", 0.5, 1.7)
    c.wire("W17", "X12.dash:2", "A9.X1:3", 0.5, 1.2)
    c.wire("W18", "X22:2", "X12.front:3", 0.5, 2.2)
    c.wire("W19", "X12.dash:3", "A9.X1:4", 0.5, 1.2)
    c.plug("A9.X1", 1, 2, 3, 4)
    if on:
        c.draws("A9", "A9.X1.1", "A9.X1.2", 0.25, 12)
    c.ohm("pull-down coolant", "A9.X1.3", "A9.X1.2", 22e3)
    c.ohm("pull-down washer", "A9.X1.4", "A9.X1.2", 22e3)
    c.wire("W20", "A9.X1:2", "GP3", 0.75, 0.4)
    return c


def fault(c):
    c.cut("W13")


STATE = {"key": "run"}
EXPECT = {
    "complaint": {"pin": "X21:1", "black": None, "reads": "floats"},
    "facts": ["A9 works"],
    "truth": {"fault": "W13 open", "unit": ["W13"]},
    "class": "floating",
    "first_step": ["X12", "X22", "SP1"],
    "conclusion": {"holds": ["W13"], "not_alone": ["F6", "A9", "S21", "S22", "W15"]},
}
READINGS = [
    {"pin": "X12.dash:1"},
    {"pin": "X12.front:1"},
    {"pin": "A9.X1:1"},
    {"pin": "A9.X1:3", "state": {"set": {"S21": "low"}}},
    {"pin": "X21:1", "state": {"set": {"S21": "low"}}},
    {"pin": "F6:load"},
]
