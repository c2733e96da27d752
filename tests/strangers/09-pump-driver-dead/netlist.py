"""The engine control never grounds the fuel pump relay's coil; all else is sound."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.6, 0.008)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.6)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 25, 0.5)
    for point in ("GP1", "GP2", "GP8"):
        c.bolt(point)
    on = key in ("run", "crank")
    if on:
        c.on_bar("S1:30", "BUS1")
        c.contact("S1", "S1:30", "S1:15")
        c.on_bar("S1:15", "BUS15")
    c.on_bar("F2:feed", "BUS15")
    c.fuse("F2", "F2:feed", "F2:load", 5)
    c.on_bar("F13:feed", "BUS1")
    c.fuse("F13", "F13:feed", "F13:load", 10)
    c.on_bar("F14:feed", "BUS1")
    c.fuse("F14", "F14:feed", "F14:load", 15)
    c.on_bar("F14:load", "BUS6")
    c.on_bar("K7:30", "BUS6")
    c.wire("W10", "F2:load", "K7:86", 0.5, 0.4)
    c.ohm("K7 coil", "K7:86", "K7:85", 80)
    c.wire("W11", "K7:85", "A2.X1:9", 0.5, 1.8)
    c.plug("A2.X1", 1, 2, 9)
    c.wire("W12", "F13:load", "A2.X1:1", 1.0, 1.7)
    c.wire("W13", "A2.X1:2", "GP2", 1.5, 0.6)
    if on:
        c.draws("A2", "A2.X1.1", "A2.X1.2", 0.5, 12)
        c.driver("PUMP", "A2.X1.9", "A2.X1.2", 0.15, 0.3)
        c.contact("K7 contact", "K7:30", "K7:87")
    c.wire("W14", "K7:87", "X45.front:4", 1.5, 1.1)
    c.inline("X45", "front", "rear", 4)
    c.wire("W15", "X45.rear:4", "X46:1", 1.5, 2.8)
    c.plug("X46", 1, 2)
    c.load("M7", "X46.1", "X46.2", 84, 12)
    c.wire("W16", "X46:2", "GP8", 1.5, 0.9)
    return c


def fault(c):
    """The driver stays open, so the contact does too."""
    c.cut("PUMP", "K7 contact")


STATE = {"key": "run"}
EXPECT = {
    "complaint": {"words": "M7 does not work"},
    "facts": ["A2 communicates"],
    "truth": {"fault": "A2.PUMP dead", "unit": ["A2", "A2.PUMP"]},
    "class": "dead function",
    "first_step": ["K7", "K7:87", "K7:85", "K7:30"],
    "conclusion": {"holds": ["A2"], "not_alone": ["M7", "K7", "F14", "F2", "W14", "W15"]},
}
READINGS = [
    {"pin": "K7:30"},
    {"pin": "K7:86"},
    {"pin": "K7:85"},
    {"pin": "K7:87"},
    {"pin": "X46:1"},
    {"pin": "A2.X1:9"},
    {"pin": "A2.X1:2"},
]
