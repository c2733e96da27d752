"""A left rear lamp with a lost ground: its stop filament's current goes home through both tail filaments."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.6, 0.008)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.6)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 25, 0.5)
    for point in ("GP1", "GP60", "GP61"):
        c.bolt(point)
    c.on_bar("F8:feed", "BUS1")
    c.fuse("F8", "F8:feed", "F8:load", 10)
    c.on_bar("F9:feed", "BUS1")
    c.fuse("F9", "F9:feed", "F9:load", 7.5)
    c.wire("W10", "F8:load", "X72:1", 1.0, 0.9)
    c.plug("X72", 1, 2)
    if positions.get("S72") == "pressed":
        c.contact("S72", "X72.1", "X72.2")
    c.wire("W11", "X72:2", "SP1", 1.0, 4.2)
    c.wire("W12", "F9:load", "X3:1", 1.0, 0.9)
    c.plug("X3", 1, 2)
    if positions.get("S3") == "side":
        c.contact("S3", "X3.1", "X3.2")
    c.wire("W13", "X3:2", "SP2", 1.0, 4.6)
    c.wire("W14", "SP1", "X71:2", 1.0, 0.6)
    c.wire("W15", "SP1", "X73:2", 1.0, 1.9)
    c.wire("W16", "SP2", "X71:1", 0.75, 0.6)
    c.wire("W17", "SP2", "X73:1", 0.75, 1.9)
    c.wire("W18", "X71:3", "GP60", 1.0, 0.4)
    c.wire("W19", "X73:3", "GP61", 1.0, 0.4)
    for plug, lamp in (("X71", "E71"), ("X73", "E73")):
        c.plug(plug, 1, 2, 3)
        c.lamp(f"{lamp} tail", f"{plug}.1", f"{plug}.3", 5, 12)
        c.lamp(f"{lamp} stop", f"{plug}.2", f"{plug}.3", 21, 12)
    return c


def fault(c):
    c.cut("W18")


STATE = {"key": "run", "set": {"S72": "pressed", "S3": "off"}}
EXPECT = {
    "complaint": {"pin": "X71:3", "black": None, "reads": "figure"},
    "facts": [],
    "truth": {"fault": "W18 open", "unit": ["W18"]},
    "class": "high",
    "first_step": ["GP60", "X71", "X71:3", "X73"],
    "conclusion": {"holds": ["W18"], "not_alone": ["E71", "E73", "S72", "S3", "F8", "F9"]},
}
READINGS = [
    {"pin": "X71:3", "filament": True},
    {"pin": "X71:2"},
    {"pin": "X71:1", "filament": True},
    {"pin": "X73:3", "filament": True},
    {"pin": "X71:2", "black": "X71:3", "filament": True},
    {"pin": "X71:3", "state": {"set": {"S72": "released", "S3": "side"}}, "filament": True},
    {"pin": "X71:3", "state": {"set": {"S72": "pressed", "S3": "side"}}},
    {"pin": "GP60"},
]
