"""A door module that is silent, a fridge that is warm and a lamp that is dark: their row's link carries nothing."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 25.2, 0.010)
    c.wire("W1", "G1:30", "BUS0", 50, 0.6)
    c.wire("W2", "G1:31", "GP1", 50, 0.5)
    c.bolt("GP1", 0.0001)
    c.bolt("GP50", 0.0003)
    c.on_bar("FL1:feed", "BUS0")
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.wire("W3", "FL1:load", "BUS1", 16, 3.4)
    c.on_bar("FL3:feed", "BUS0")
    c.fuse("FL3", "FL3:feed", "FL3:load", 40)
    c.wire("W4", "FL3:load", "BUS3", 10, 3.4)
    for fuse, amps, bar in (("F31", 10, "BUS3"), ("F32", 15, "BUS3"), ("F33", 5, "BUS3"), ("F41", 10, "BUS1")):
        c.on_bar(f"{fuse}:feed", bar)
        c.fuse(fuse, f"{fuse}:feed", f"{fuse}:load", amps)
    c.wire("W10", "F31:load", "A28.X1:1", 1.5, 2.1)
    c.wire("W11", "A28.X1:2", "GP50", 1.5, 0.8)
    c.wire("W12", "F32:load", "X52:1", 1.5, 1.3)
    c.wire("W13", "X52:2", "GP50", 1.5, 1.0)
    c.wire("W14", "F33:load", "X53:1", 0.75, 2.0)
    c.wire("W15", "X53:2", "X54:1", 0.75, 0.8)
    c.wire("W16", "X54:2", "GP50", 0.75, 0.7)
    c.wire("W17", "F41:load", "A29.X1:1", 1.5, 1.5)
    c.wire("W18", "A29.X1:2", "GP50", 1.5, 0.9)
    for plug in ("A28.X1", "A29.X1", "X52", "X53", "X54"):
        c.plug(plug, 1, 2)
    c.draws("A28", "A28.X1.1", "A28.X1.2", 0.25, 24)
    c.draws("A29", "A29.X1.1", "A29.X1.2", 0.5, 24)
    c.load("R52", "X52.1", "X52.2", 60, 24)
    if positions.get("S53") == "on":
        c.contact("S53", "X53.1", "X53.2")
    c.lamp("E54", "X54.1", "X54.2", 10, 24)
    return c


def fault(c):
    c.cut("FL3")


STATE = {"key": "run", "set": {"S53": "on"}}
EXPECT = {
    "complaint": {"pin": "F31:load", "black": None, "reads": "figure"},
    "facts": ["A29 works"],
    "truth": {"fault": "FL3 open", "unit": ["FL3"]},
    "class": "near zero",
    "first_step": ["F31:feed", "F31", "BUS3", "F32", "F33", "FL3", "FL3:load"],
    "conclusion": {"holds": ["FL3"], "not_alone": ["A28", "R52", "E54", "F31", "FL1"]},
}
READINGS = [
    {"pin": "F31:load"},
    {"pin": "BUS3"},
    {"pin": "FL3:load"},
    {"pin": "FL3:feed"},
    {"pin": "X52:1"},
    {"pin": "F41:load"},
    {"pin": "A28.X1:2"},
]
