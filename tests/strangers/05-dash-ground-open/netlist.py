"""The dash's ground is off its stud: the radio's current goes home through dash lamps and side lamps."""

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
    c.on_bar("F12:feed", "BUS1")
    c.fuse("F12", "F12:feed", "F12:load", 20)
    c.wire("W3", "F12:load", "X3:1", 1.5, 0.9)
    c.plug("X3", 1, 2)
    if positions.get("S3") == "side":
        c.contact("S3", "X3.1", "X3.2")
    c.wire("W4", "X3:2", "BUS58", 1.5, 0.9)
    c.on_bar("F9:feed", "BUS58")
    c.fuse("F9", "F9:feed", "F9:load", 7.5)
    c.on_bar("F5:feed", "BUS1")
    c.fuse("F5", "F5:feed", "F5:load", 10)
    c.wire("W10", "F9:load", "SP1", 0.75, 0.8)
    c.wire("W11", "SP1", "X31:1", 0.5, 0.5)
    c.wire("W12", "SP1", "X32:1", 0.5, 0.9)
    c.wire("W13", "SP1", "X1:1", 0.75, 2.1)
    c.wire("W14", "SP1", "X2:1", 0.75, 3.0)
    c.wire("W15", "X1:2", "GP1", 0.75, 0.4)
    c.wire("W16", "X2:2", "GP1", 0.75, 1.6)
    c.wire("W20", "F5:load", "X12:1", 1.0, 1.1)
    c.wire("W21", "X12:2", "SP2", 1.0, 0.4)
    c.wire("W22", "X31:2", "SP2", 0.5, 0.3)
    c.wire("W23", "X32:2", "SP2", 0.5, 0.7)
    c.wire("W24", "SP2", "GP4", 1.5, 0.5)
    for plug in ("X12", "X31", "X32", "X1", "X2"):
        c.plug(plug, 1, 2)
    c.draws("A12", "X12.1", "X12.2", 0.5, 12)
    c.lamp("E31", "X31.1", "X31.2", 1.2, 12)
    c.lamp("E32", "X32.1", "X32.2", 1.2, 12)
    c.lamp("E1", "X1.1", "X1.2", 5, 12)
    c.lamp("E2", "X2.1", "X2.2", 5, 12)
    return c


def fault(c):
    c.cut("GP4")


STATE = {"key": "run"}
EXPECT = {
    "complaint": {"pin": "X12:2", "black": None, "reads": "figure"},
    "facts": [],
    "truth": {"fault": "GP4 open", "unit": ["GP4"]},
    "class": "high",
    "first_step": ["GP4", "SP2", "X12", "X32", "X31"],
    "conclusion": {"holds": ["GP4"], "not_alone": ["A12", "E31", "E32", "E1", "E2", "F5", "F9"]},
}
READINGS = [
    {"pin": "X12:2", "filament": True},
    {"pin": "X12:1"},
    {"pin": "X12:1", "black": "X12:2", "filament": True},
    {"pin": "GP4", "filament": True},
    {"pin": "X12:2", "state": {"out": ["X12"]}},
    {"pin": "X12:2", "state": {"set": {"S3": "side"}}},
    {"pin": "X1:1", "filament": True},
]
