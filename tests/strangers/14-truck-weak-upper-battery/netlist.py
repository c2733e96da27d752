"""Two batteries in series; the upper one has 25 mohm more inside than it should."""

from solve import BAR, Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.6, 0.004)
    c.supply("G2", "G2:30", "G2:31", 12.6, 0.004)
    c.ohm("W1 clamp", "G1:30", "W1 from", 0.0001)
    c.wire("W1", "W1 from", "W1 to", 70, 0.4)
    c.ohm("W1 other clamp", "W1 to", "G2:31", 0.0001)
    c.wire("W2", "G1:31", "GP1", 70, 0.5)
    c.bolt("GP1", 0.0001)
    c.bolt("GP2", 0.0001)
    c.wire("W3", "G2:30", "K9:30", 70, 3.2)
    c.wire("W4", "G2:30", "FL1:feed", 25, 0.8)
    c.fuse("FL1", "FL1:feed", "FL1:load", 125)
    c.on_bar("FL1:load", "BUS1")
    c.on_bar("F30:feed", "BUS1")
    c.fuse("F30", "F30:feed", "F30:load", 30)
    c.wire("W5", "BLOCK", "GP2", 70, 0.5)
    c.on_bar("F21:feed", "BUS1")
    c.fuse("F21", "F21:feed", "F21:load", 15)
    c.on_bar("F21:load", "BUS50")
    c.on_bar("S1:30", "BUS50")
    c.wire("W10", "S1:50", "K2:86", 1.0, 4.5)
    c.ohm("K2 coil", "K2:86", "K2:85", 320)
    c.wire("W11", "K2:85", "GP1", 1.0, 0.8)
    c.wire("W12", "F30:load", "K2:30", 4, 0.4)
    c.wire("W13", "K2:87", "K9:50", 4, 2.6)
    c.ohm("M1 on the block", "M1:31", "BLOCK", BAR)
    if key == "crank":
        c.contact("S1", "S1:30", "S1:50")
        c.contact("K2 contact", "K2:30", "K2:87")
        c.contact("K9 contact", "K9:30", "K9:45", 0.001)
    c.ohm("solenoid", "K9:50", "K9:31", 2.4)
    c.ohm("K9 on the block", "K9:31", "BLOCK", BAR)
    c.ohm("K9 on the stud", "K9:45", "FIELD", BAR)
    c.ohm("M1 on the stud", "M1:45", "FIELD", BAR)
    c.ohm("M1", "M1:45", "M1:31", 0.052)
    return c


def fault(c):
    c.sources["G2"][3] += 0.025


STATE = {"key": "crank"}
EXPECT = {
    "complaint": {"pin": "K9:30", "black": None, "reads": "figure"},
    "facts": [],
    "truth": {"fault": "G2 added 25 mohm", "unit": ["G2"]},
    "class": "low",
    "first_step": ["G2:30", "G1:30", "G2", "G1"],
    "conclusion": {"holds": ["G2"], "not_alone": ["G1", "M1", "K9", "W1", "W3", "K2"]},
}
READINGS = [
    {"pin": "K9:30"},
    {"pin": "G2:30"},
    {"pin": "G1:30"},
    {"pin": "G2:30", "black": "G2:31"},
    {"pin": "G1:30", "black": "G2:31"},
    {"pin": "BLOCK"},
    {"pin": "K2:87"},
]
