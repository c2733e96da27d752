"""A side marker wire has chafed through on a spring hanger; its 5 A fuse is blown."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 25.2, 0.010)
    c.wire("W1", "G1:30", "FL1:feed", 16, 2.5)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 50, 0.5)
    c.bolt("GP1", 0.0001)
    c.bolt("GP9")
    c.on_bar("S3:30", "BUS1")
    if positions.get("S3") == "side":
        c.contact("S3", "S3:30", "S3:58")
    c.on_bar("S3:58", "BUS58")
    c.on_bar("F22:feed", "BUS58")
    c.fuse("F22", "F22:feed", "F22:load", 5)
    c.wire("W10", "F22:load", "X60.cab:1", 1.0, 1.8)
    c.inline("X60", "cab", "frame", 1)
    c.wire("W11", "X60.frame:1", "SP1", 1.0, 2.2)
    c.wire("W12", "SP1", "X61:1", 0.75, 0.5)
    c.wire("W13", "SP1", "SP2", 1.0, 3.0)
    c.wire("W14", "SP2", "X62:1", 0.75, 0.5)
    c.wire("W15", "SP2", "X63:1", 0.75, 2.6)
    for plug, lamp, name, metres in (("X61", "E61", "W16", 2.9), ("X62", "E62", "W17", 0.6),
                                     ("X63", "E63", "W18", 2.4)):
        c.plug(plug, 1, 2)
        c.lamp(lamp, f"{plug}.1", f"{plug}.2", 5, 24)
        c.wire(name, f"{plug}:2", "GP9", 0.75, metres)
    return c


def fault(c):
    c.chafe("W13", "body", 0.05)
    c.cut("F22")


STATE = {"key": "run", "set": {"S3": "side"}}
EXPECT = {
    "complaint": {"words": "F22 blows"},
    "facts": [],
    "truth": {"fault": ["W13 short 0.05 ohm", "F22 open"], "unit": ["W13"]},
    "class": "blown fuse",
    "first_step": ["F22", "X60"],
    "conclusion": {"holds": ["W13"], "not_alone": ["F22", "E61", "E62", "E63", "W10", "W11"]},
}
DEAD = {"battery": "off", "key": "off", "set": {"S3": "off"}}
READINGS = [
    {"pin": "F22:feed"},
    {"pin": "F22:load"},
    {"pin": "X63:1"},
    {"pin": "F22:load", "black": "GP1", "state": {**DEAD, "out": ["F22", "X61", "X62", "X63"]}},
    {"pin": "F22:load", "black": "GP1", "state": {**DEAD, "out": ["F22", "X60"]}},
    {"pin": "F22:load", "black": "GP1", "state": {**DEAD, "out": ["F22"]}, "filament": True},
]
