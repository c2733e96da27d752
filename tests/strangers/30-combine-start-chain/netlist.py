"""A combine that does not crank: the switch at the folded auger no longer closes, so the start relay gets nothing."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.7, 0.004)
    c.wire("W1", "G1:30", "FL1:feed", 16, 4.5)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 70, 0.5)
    c.bolt("GP1", 0.0001)
    c.bolt("GP70")
    c.bolt("GP71")
    c.on_bar("F60:feed", "BUS1")
    c.fuse("F60", "F60:feed", "F60:load", 10)
    c.on_bar("F61:feed", "BUS1")
    c.fuse("F61", "F61:feed", "F61:load", 30)
    c.wire("W10", "F60:load", "X1:1", 1.5, 1.1)
    c.plug("X1", 1, 2)
    cranking = key == "crank"
    if cranking:
        c.contact("S1", "X1.1", "X1.2")
    c.wire("W11", "X1:2", "X81:1", 1.0, 1.4)
    c.wire("W12", "X81:2", "X82:1", 1.0, 0.9)
    c.wire("W13", "X82:2", "X90.cab:3", 1.0, 1.3)
    c.inline("X90", "cab", "deck", 3, 4, 5)
    c.wire("W14", "X90.deck:3", "X83:1", 1.0, 3.6)
    c.wire("W15", "X83:2", "X90.deck:4", 1.0, 3.6)
    c.wire("W16", "X90.cab:4", "K70:86", 1.0, 1.2)
    for switch, plug in (("S81", "X81"), ("S82", "X82"), ("S83", "X83")):
        c.plug(plug, 1, 2)
        c.contact(switch, f"{plug}.1", f"{plug}.2")
    c.ohm("K70 coil", "K70:86", "K70:85", 60)
    c.wire("W17", "K70:85", "GP70", 1.0, 0.7)
    c.wire("W18", "F61:load", "K70:30", 4, 0.4)
    if cranking:
        c.contact("K70 contact", "K70:30", "K70:87")
    c.wire("W19", "K70:87", "X90.cab:5", 4, 1.2)
    c.wire("W20", "X90.deck:5", "X84:1", 4, 4.2)
    c.plug("X84", 1, 2)
    c.ohm("Y84", "X84.1", "X84.2", 0.8)
    c.wire("W21", "X84:2", "GP71", 4, 0.4)
    return c


def fault(c):
    c.cut("S83")
    if "K70 contact" in c.resistors:
        c.cut("K70 contact")


STATE = {"key": "crank"}
EXPECT = {
    "complaint": {"words": "Y84 does not work"},
    "facts": [],
    "truth": {"fault": "S83 open", "unit": ["S83"]},
    "class": "dead function",
    "first_step": ["K70", "K70:86", "K70:87", "K70:30", "X90", "X90.cab:3", "X90.cab:4"],
    "conclusion": {"holds": ["S83"], "not_alone": ["Y84", "K70", "F60", "F61", "S1", "S81", "S82"]},
}
READINGS = [
    {"pin": "K70:86"},
    {"pin": "K70:87"},
    {"pin": "X90.cab:3"},
    {"pin": "X90.cab:4"},
    {"pin": "X84:1"},
    {"pin": "K70:30"},
    {"pin": "X83:1"},
    {"pin": "X90.deck:3", "black": "X90.deck:4", "state": {"battery": "off", "key": "off", "out": ["X90"]}},
]
