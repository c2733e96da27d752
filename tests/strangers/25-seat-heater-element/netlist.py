"""A seat whose cushion stays cold while its back warms: the cushion's element is broken."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.6, 0.008)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.5)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 25, 0.4)
    c.bolt("GP1")
    c.bolt("GP33")
    if key in ("run", "crank"):
        c.on_bar("S1:30", "BUS1")
        c.contact("S1", "S1:30", "S1:15")
        c.on_bar("S1:15", "BUS15")
    c.on_bar("F28:feed", "BUS15")
    c.fuse("F28", "F28:feed", "F28:load", 15)
    c.wire("W10", "F28:load", "X25:1", 1.5, 1.6)
    c.plug("X25", 1, 2)
    if positions.get("S25") == "on":
        c.contact("S25", "X25.1", "X25.2")
    c.wire("W11", "X25:2", "X26.floor:1", 1.5, 1.2)
    c.inline("X26", "floor", "seat", 1, 2)
    c.wire("W12", "X26.floor:2", "GP33", 1.5, 0.3)
    c.wire("W13", "X26.seat:1", "SP1", 1.0, 0.4)
    c.wire("W14", "SP1", "X27:1", 1.0, 0.3)
    c.wire("W15", "SP1", "X28:1", 1.0, 0.8)
    c.wire("W16", "X27:2", "SP2", 1.0, 0.3)
    c.wire("W17", "X28:2", "SP2", 1.0, 0.8)
    c.wire("W18", "SP2", "X26.seat:2", 1.0, 0.4)
    c.plug("X27", 1, 2)
    c.plug("X28", 1, 2)
    c.load("R25", "X27.1", "X27.2", 45, 12)
    c.load("R26", "X28.1", "X28.2", 40, 12)
    return c


def fault(c):
    c.cut("R25")


STATE = {"key": "run", "set": {"S25": "on"}}
EXPECT = {
    "complaint": {"words": "R25 does not work"},
    "facts": ["R26 works"],
    "truth": {"fault": "R25 open", "unit": ["R25"]},
    "class": "dead function",
    "first_step": ["X27", "X27:1", "R25"],
    "conclusion": {"holds": ["R25"], "not_alone": ["R26", "S25", "F28", "X26", "GP33", "W14"]},
}
READINGS = [
    {"pin": "X27:1"},
    {"pin": "X27:2"},
    {"pin": "X26.seat:1"},
    {"pin": "X27:1", "black": "X27:2"},
    {"pin": "X26.seat:2"},
    {"pin": "X26.seat:1", "black": "X26.seat:2", "state": {"battery": "off", "set": {"S25": "off"}, "out": ["X26"]}},
    {"pin": "X27:1", "state": {"out": ["X27"]}},
]
