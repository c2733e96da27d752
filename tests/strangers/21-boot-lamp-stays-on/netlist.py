"""A car whose battery is flat after two days: the boot lid's switch has stuck, and the lamp burns in the shut boot."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.5, 0.008)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.5)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 25, 0.4)
    for point in ("GP1", "GP7", "GP30"):
        c.bolt(point)
    for fuse, amps in (("F40", 10), ("F41", 15), ("F42", 7.5)):
        c.on_bar(f"{fuse}:feed", "BUS1")
        c.fuse(fuse, f"{fuse}:feed", f"{fuse}:load", amps)
    c.wire("W10", "F40:load", "A20.X1:1", 1.0, 1.6)
    c.wire("W11", "A20.X1:2", "GP30", 1.0, 0.4)
    c.wire("W12", "F41:load", "A21.X1:1", 1.5, 1.8)
    c.wire("W13", "A21.X1:2", "GP30", 1.5, 0.9)
    c.plug("A20.X1", 1, 2)
    c.plug("A21.X1", 1, 2)
    awake = key in ("accessory", "run")
    c.ohm("A20", "A20.X1.1", "A20.X1.2", 12 / 0.4 if awake or key == "crank" else 1200)
    c.ohm("A21", "A21.X1.1", "A21.X1.2", 12 / 1 if awake else 4000)
    c.wire("W14", "F42:load", "SP1", 0.75, 1.2)
    c.wire("W15", "SP1", "X60:1", 0.75, 2.9)
    c.wire("W16", "SP1", "X62:1", 0.75, 1.0)
    for plug in ("X60", "X61", "X62"):
        c.plug(plug, 1, 2)
    c.lamp("E60", "X60.1", "X60.2", 5, 12)
    c.wire("W17", "X60:2", "X61:1", 0.75, 1.2)
    c.contact("S61", "X61.1", "X61.2", 0.005 if positions.get("S61") == "open" else None)
    c.wire("W18", "X61:2", "GP7", 0.75, 0.5)
    c.draws("A62", "X62.1", "X62.2", 0.004, 12)
    c.wire("W19", "X62:2", "GP30", 0.75, 1.1)
    return c


def fault(c):
    c.resistors["S61"][2] = 0.005


STATE = {"key": "off"}
EXPECT = {
    "complaint": {"words": "draws 450 mA asleep"},
    "facts": [],
    "truth": {"fault": "S61 stuck", "unit": ["S61"]},
    "class": "draw asleep",
    "first_step": ["F42", "F40", "F41"],
    "conclusion": {"holds": ["S61"], "not_alone": ["E60", "A20", "A21", "A62", "F42"]},
}
READINGS = [
    {"pin": "F42:feed", "black": "F42:load", "unit": 1e-5, "filament": True},
    {"pin": "F40:feed", "black": "F40:load", "unit": 1e-5},
    {"pin": "F41:feed", "black": "F41:load", "unit": 1e-5},
    {"pin": "X60:2"},
    {"pin": "X60:1"},
    {"pin": "X61:1", "state": {"out": ["X60"]}},
    {"pin": "X60:2", "state": {"set": {"S61": "open"}}},
    {"pin": "G1:30"},
]
