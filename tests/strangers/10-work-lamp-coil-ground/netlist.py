"""Work lamps of a tractor: the relay's coil has lost its way to ground."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.7, 0.005)
    c.wire("W1", "G1:30", "FL1:feed", 16, 2.2)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 50, 0.4)
    c.bolt("GP1", 0.0001)
    c.bolt("GP11")
    c.bolt("GP12")
    c.on_bar("FL5:feed", "BUS1")
    c.fuse("FL5", "FL5:feed", "FL5:load", 30)
    c.on_bar("FL5:load", "BUS11")
    c.on_bar("F17:feed", "BUS1")
    c.fuse("F17", "F17:feed", "F17:load", 5)
    c.on_bar("K11:30", "BUS11")
    c.wire("W10", "F17:load", "X11:1", 0.75, 0.8)
    c.plug("X11", 1, 2)
    on = positions.get("S11") == "on"
    if on:
        c.contact("S11", "X11.1", "X11.2")
        c.contact("K11 contact", "K11:30", "K11:87")
    c.wire("W11", "X11:2", "K11:86", 0.75, 0.8)
    c.ohm("K11 coil", "K11:86", "K11:85", 75)
    c.wire("W12", "K11:85", "GP12", 0.75, 0.5)
    c.wire("W13", "K11:87", "X70.cab:1", 4, 1.2)
    c.inline("X70", "cab", "roof", 1)
    c.wire("W14", "X70.roof:1", "SP1", 4, 0.9)
    c.wire("W15", "SP1", "X51:1", 2.5, 0.4)
    c.wire("W16", "SP1", "X52:1", 2.5, 1.3)
    c.plug("X51", 1, 2)
    c.plug("X52", 1, 2)
    c.lamp("E51", "X51.1", "X51.2", 55, 12)
    c.lamp("E52", "X52.1", "X52.2", 55, 12)
    c.wire("W17", "X51:2", "GP11", 2.5, 0.5)
    c.wire("W18", "X52:2", "GP11", 2.5, 0.9)
    return c


def fault(c):
    c.cut("W12")
    if "K11 contact" in c.resistors:
        c.cut("K11 contact")


STATE = {"key": "run", "set": {"S11": "on"}}
EXPECT = {
    "complaint": {"words": "E51 does not work"},
    "facts": [],
    "truth": {"fault": "W12 open", "unit": ["W12"]},
    "class": "dead function",
    "first_step": ["E52", "K11", "K11:87", "K11:85", "K11:86"],
    "conclusion": {"holds": ["W12"], "not_alone": ["E51", "E52", "S11", "F17", "FL5", "GP11"]},
}
READINGS = [
    {"pin": "K11:30"},
    {"pin": "K11:86"},
    {"pin": "K11:85"},
    {"pin": "K11:87"},
    {"pin": "X51:1"},
    {"pin": "K11:85", "state": {"set": {"S11": "off"}}},
]
