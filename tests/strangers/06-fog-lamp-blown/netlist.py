"""A rear fog lamp whose bulb is blown; the reversing lamp on the same plug and ground is sound."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.6, 0.008)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.5)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 25, 0.4)
    c.bolt("GP1")
    c.bolt("GP7")
    c.on_bar("F18:feed", "BUS1")
    c.fuse("F18", "F18:feed", "F18:load", 7.5)
    if key in ("run", "crank"):
        c.on_bar("S1:30", "BUS1")
        c.contact("S1", "S1:30", "S1:15")
        c.on_bar("S1:15", "BUS15")
    c.on_bar("F19:feed", "BUS15")
    c.fuse("F19", "F19:feed", "F19:load", 7.5)
    c.wire("W10", "F18:load", "X7:1", 1.0, 1.3)
    c.plug("X7", 1, 2)
    if positions.get("S7") == "on":
        c.contact("S7", "X7.1", "X7.2")
    c.wire("W11", "X7:2", "X40.front:1", 1.0, 2.2)
    c.inline("X40", "front", "rear", 1, 2)
    c.wire("W12", "X40.rear:1", "X11:1", 1.0, 1.9)
    c.wire("W13", "F19:load", "X9:1", 0.75, 1.5)
    c.plug("X9", 1, 2)
    if positions.get("S9") == "reverse":
        c.contact("S9", "X9.1", "X9.2")
    c.wire("W14", "X9:2", "X40.front:2", 0.75, 2.9)
    c.wire("W15", "X40.rear:2", "X11:2", 0.75, 1.9)
    c.plug("X11", 1, 2, 3)
    c.lamp("E11", "X11.1", "X11.3", 21, 12)
    c.lamp("E12", "X11.2", "X11.3", 21, 12)
    c.wire("W16", "X11:3", "GP7", 1.0, 0.3)
    return c


def fault(c):
    c.cut("E11")


STATE = {"key": "run", "set": {"S7": "on"}}
EXPECT = {
    "complaint": {"words": "E11 does not work"},
    "facts": ["E12 works with S9 reverse"],
    "truth": {"fault": "E11 open", "unit": ["E11"]},
    "class": "dead function",
    "first_step": ["E11", "X11"],
    "conclusion": {"holds": ["E11"], "not_alone": ["F18", "S7", "X40", "W12", "W16", "GP7"]},
}
READINGS = [
    {"pin": "X11:1"},
    {"pin": "X11:1", "black": "X11:3"},
    {"pin": "X11:3"},
    {"pin": "X11:1", "state": {"set": {"S7": "off"}}},
    {"pin": "X11:1", "state": {"out": ["X11"]}},
    {"pin": "X11:2", "state": {"set": {"S7": "on", "S9": "reverse"}}},
    {"pin": "X11:1", "black": "X11:3", "filament": True,
     "state": {"battery": "off", "key": "off", "set": {"S7": "off"}}},
]
