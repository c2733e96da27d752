"""A two-speed fan that stays on its low speed: the high-speed relay's coil has lost its feed."""

from solve import Circuit


def circuit(key, positions, high_feed=True):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.6, 0.007)
    c.wire("W1", "G1:30", "FL1:feed", 16, 0.5)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 25, 0.4)
    for point in ("GP1", "GP2", "GP5"):
        c.bolt(point)
    c.on_bar("FL7:feed", "BUS1")
    c.fuse("FL7", "FL7:feed", "FL7:load", 30)
    c.on_bar("FL7:load", "BUS7")
    c.on_bar("F8:feed", "BUS1")
    c.fuse("F8", "F8:feed", "F8:load", 15)
    c.wire("W10", "F8:load", "A2.X1:1", 1.5, 1.6)
    c.wire("W11", "A2.X1:2", "GP5", 1.5, 0.5)
    c.plug("A2.X1", 1, 2, 5, 6)
    on = key in ("run", "crank")
    if on:
        c.draws("A2", "A2.X1.1", "A2.X1.2", 0.6, 12)
        c.on_bar("S1:30", "BUS1")
        c.contact("S1", "S1:30", "S1:15")
        c.on_bar("S1:15", "BUS15")
    c.on_bar("F31:feed", "BUS15")
    c.fuse("F31", "F31:feed", "F31:load", 5)
    c.wire("W12", "F31:load", "SP1", 0.75, 0.2)
    c.wire("W13", "SP1", "K31:86", 0.5, 0.2)
    c.wire("W14", "SP1", "K32:86", 0.5, 0.3)
    c.ohm("K31 coil", "K31:86", "K31:85", 90)
    c.ohm("K32 coil", "K32:86", "K32:85", 90)
    c.wire("W15", "K31:85", "A2.X1:5", 0.5, 1.4)
    c.wire("W16", "K32:85", "A2.X1:6", 0.5, 1.4)
    c.on_bar("K31:30", "BUS7")
    c.on_bar("K32:30", "BUS7")
    low = on and positions.get("A2.LOW") == "on"
    high = on and positions.get("A2.HIGH") == "on"
    if low:
        c.driver("LOW", "A2.X1.5", "A2.X1.2", 0.1, 0.5)
        c.contact("K31 contact", "K31:30", "K31:87")
    if high:
        c.driver("HIGH", "A2.X1.6", "A2.X1.2", 0.1, 0.5)
        c.contact("K32 contact", "K32:30", "K32:87")
    c.wire("W17", "K31:87", "X33:1", 2.5, 1.0)
    c.plug("X33", 1, 2)
    c.ohm("R33", "X33.1", "X33.2", 0.33)
    c.wire("W18", "X33:2", "SP2", 2.5, 0.3)
    c.wire("W19", "K32:87", "SP2", 4, 1.3)
    c.wire("W20", "SP2", "X31:1", 4, 0.3)
    c.plug("X31", 1, 2)
    c.load("M31", "X31.1", "X31.2", 240, 12)
    c.wire("W21", "X31:2", "GP2", 4, 0.5)
    return c


def fault(c):
    """Without its feed the coil has no volts, so the contact stays open as well."""
    c.cut("W14")
    if "K32 contact" in c.resistors:
        c.cut("K32 contact")


STATE = {"key": "run", "set": {"A2.LOW": "on", "A2.HIGH": "on"}}
EXPECT = {
    "complaint": {"pin": "X31:1", "black": None, "reads": "figure"},
    "facts": ["A2 communicates"],
    "truth": {"fault": "W14 open", "unit": ["W14"]},
    "class": "low",
    "first_step": ["K32", "K32:87", "K32:86"],
    "conclusion": {"holds": ["W14"], "not_alone": ["M31", "R33", "K31", "A2", "F31", "FL7"]},
}
READINGS = [
    {"pin": "X31:1"},
    {"pin": "K32:87"},
    {"pin": "K32:86"},
    {"pin": "K32:85"},
    {"pin": "K31:86"},
    {"pin": "X31:1", "state": {"set": {"A2.LOW": "on", "A2.HIGH": "off"}}},
    {"pin": "X31:2"},
]
