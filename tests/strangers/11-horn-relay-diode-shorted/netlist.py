"""The diode across the horn relay's coil is shorted: whoever presses the horn blows the coil's 5 A fuse."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.6, 0.008)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.6)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 25, 0.5)
    c.bolt("GP1")
    c.bolt("GP4")
    c.on_bar("F6:feed", "BUS1")
    c.fuse("F6", "F6:feed", "F6:load", 5)
    c.on_bar("F21:feed", "BUS1")
    c.fuse("F21", "F21:feed", "F21:load", 20)
    c.on_bar("F21:load", "BUS8")
    c.on_bar("K5:30", "BUS8")
    c.wire("W10", "F6:load", "SP1", 0.5, 0.2)
    c.wire("W11", "SP1", "K5:86", 0.5, 0.2)
    c.ohm("K5 coil", "K5:86", "K5:85", 90)
    c.wire("W12", "SP1", "X88:1", 0.5, 1.0)
    c.plug("X88", 1, 2)
    c.draws("A88", "X88.1", "X88.2", 0.010, 12)
    c.wire("W13", "X88:2", "GP4", 0.5, 0.6)
    c.wire("W14", "K5:85", "X8:2", 0.5, 1.3)
    c.plug("X8", 2)
    c.ohm("X9 horn path", "X8.2", "X9:horn", 0.2)
    c.wire("W15", "X9:horn", "X10:1", 0.5, 0.3)
    c.plug("X10", 1, 2)
    if positions.get("S5") == "pressed":
        c.contact("S5", "X10.1", "X10.2")
        c.contact("K5 contact", "K5:30", "K5:87")
    c.wire("W16", "X10:2", "GP4", 0.5, 0.9)
    c.wire("W17", "K5:87", "X55:1", 1.5, 1.9)
    c.plug("X55", 1, 2)
    c.draws("M55", "X55.1", "X55.2", 5, 12)
    c.wire("W18", "X55:2", "GP1", 1.5, 0.3)
    return c


def fault(c):
    c.bridge("K5:86", "K5:85", 0.1)
    c.cut("F6")
    if "K5 contact" in c.resistors:
        c.cut("K5 contact")


STATE = {"key": "off", "set": {"S5": "pressed"}}
DEAD = {"battery": "off", "set": {"S5": "rest"}}
EXPECT = {
    "complaint": {"words": "F6 blows"},
    "facts": [],
    "truth": {"fault": ["K5:85 short to K5:86 0.1 ohm", "F6 open"], "unit": ["K5"]},
    "class": "blown fuse",
    "first_step": ["F6", "K5", "F6:load"],
    "conclusion": {"holds": ["K5"], "not_alone": ["F6", "A88", "S5", "X9", "M55"]},
}
READINGS = [
    {"pin": "F6:feed"},
    {"pin": "F6:load"},
    {"pin": "K5:85", "state": {"set": {"S5": "rest"}}},
    {"pin": "K5:30"},
    {"pin": "X55:1"},
    {"pin": "K5:86", "black": "K5:85", "state": {**DEAD, "out": ["F6"]}},
    {"pin": "F6:load", "black": "GP1", "state": {**DEAD, "out": ["F6"]}},
    {"pin": "F6:load", "black": "GP1",
     "state": {"battery": "off", "set": {"S5": "pressed"}, "out": ["F6"]}},
]
