"""A starter that turns slowly: the joint of the engine's ground strap at the body has 12 mohm."""

from solve import BAR, Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.6, 0.008)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.5)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 35, 0.4)
    c.bolt("GP1", 0.0001)
    c.bolt("GP20", 0.0002)
    c.ohm("clamp", "G1:30", "W3 from", 0.0001)
    c.wire("W3", "W3 from", "W3 to", 35, 1.2)
    c.ohm("stud", "W3 to", "K9:30", 0.0001)
    c.ohm("braid at the gearbox", "BLOCK", "W4 from", 0.0001)
    c.wire("W4", "W4 from", "GP20", 25, 0.4)
    c.on_bar("F20:feed", "BUS1")
    c.fuse("F20", "F20:feed", "F20:load", 30)
    c.wire("W12", "F20:load", "K2:30", 4, 0.3)
    c.on_bar("F21:feed", "BUS1")
    c.fuse("F21", "F21:feed", "F21:load", 15)
    c.on_bar("F21:load", "BUS50")
    c.on_bar("S1:30", "BUS50")
    c.wire("W10", "S1:50", "K2:86", 1.0, 1.4)
    c.ohm("K2 coil", "K2:86", "K2:85", 80)
    c.wire("W11", "K2:85", "GP1", 0.75, 0.6)
    if key == "crank":
        c.contact("S1", "S1:30", "S1:50")
        c.contact("K2 contact", "K2:30", "K2:87")
    c.wire("W13", "K2:87", "K9:50", 4, 1.3)
    c.ohm("M1 on the block", "M1:31", "BLOCK", BAR)
    if key == "crank":
        c.contact("K9 contact", "K9:30", "K9:45", 0.001)
    c.ohm("solenoid", "K9:50", "K9:31", 0.9)
    c.ohm("K9 on the block", "K9:31", "BLOCK", BAR)
    c.ohm("K9 on the stud", "K9:45", "FIELD", BAR)
    c.ohm("M1 on the stud", "M1:45", "FIELD", BAR)
    c.ohm("M1", "M1:45", "M1:31", 0.045)
    return c


def fault(c):
    c.add("GP20", 0.012)


STATE = {"key": "crank"}
EXPECT = {
    "complaint": {"words": "M1 is weak"},
    "facts": [],
    "truth": {"fault": "GP20 added 12 mohm", "unit": ["GP20", "W4"]},
    "class": "weak",
    "first_step": ["G1:30", "K9:30", "BLOCK", "M1:31", "M1:45", "M1", "K9", "GP20"],
    "conclusion": {"holds": ["GP20"], "not_alone": ["M1", "K9", "G1", "W3", "K2", "F20"]},
}
READINGS = [
    {"pin": "G1:30"},
    {"pin": "K9:30"},
    {"pin": "BLOCK"},
    {"pin": "GP20"},
    {"pin": "M1:45", "black": "M1:31"},
    {"pin": "GP20", "black": "GP1"},
    {"pin": "G1:30", "black": "K9:30"},
]
