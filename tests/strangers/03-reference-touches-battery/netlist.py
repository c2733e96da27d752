"""A reference that cannot sink is lifted where its wire has rubbed through to the fuel pump's feed."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.6, 0.008)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.5)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 25, 0.4)
    c.bolt("GP1")
    c.bolt("GP6")
    # module
    c.on_bar("F11:feed", "BUS1")
    c.fuse("F11", "F11:feed", "F11:load", 10)
    c.wire("W3", "F11:load", "A3.X1:1", 1.0, 1.4)
    c.wire("W4", "A3.X1:2", "GP1", 1.0, 0.9)
    c.plug("A3.X1", 1, 2, 3, 4, 8)
    c.ohm("A3 inner ground", "A3.X1.2", "A3.X1.4", 0.0001)
    # pump relay: its coil hangs between terminal 15 and the driver; the contact stands by the key
    on = key in ("run", "crank")
    c.on_bar("F16:feed", "BUS1")
    c.fuse("F16", "F16:feed", "F16:load", 20)
    c.on_bar("F16:load", "BUS2")
    c.on_bar("K6:30", "BUS2")
    if on:
        c.on_bar("S1:30", "BUS1")
        c.contact("S1", "S1:30", "S1:15")
        c.on_bar("S1:15", "BUS15")
        c.on_bar("F3:feed", "BUS15")
        c.fuse("F3", "F3:feed", "F3:load", 5)
        c.wire("W5", "F3:load", "K6:86", 0.5, 0.3)
        c.ohm("K6 coil", "K6:86", "K6:85", 90)
        c.wire("W6", "K6:85", "A3.X1:8", 0.5, 1.2)
        c.driver("PUMP", "A3.X1.8", "A3.X1.2", 0.1, 0.5)
        c.contact("K6 contact", "K6:30", "K6:87")
        c.draws("A3", "A3.X1.1", "A3.X1.2", 0.5, 12)
        c.reference("REF_C", "A3.X1.3", "A3.X1.4", 5.0, 0.3, 0.050)
    c.inline("X50", "front", "rear", 1, 2, 5)
    c.wire("W10", "A3.X1:3", "X50.front:1", 0.5, 2.4)
    c.wire("W11", "X50.rear:1", "SP1", 0.5, 1.6)
    c.wire("W12", "SP1", "X51:1", 0.5, 0.6)
    c.wire("W13", "SP1", "X52:1", 0.5, 1.1)
    c.wire("W14", "A3.X1:4", "X50.front:2", 0.5, 2.4)
    c.wire("W15", "X50.rear:2", "SP2", 0.5, 1.6)
    c.wire("W16", "SP2", "X51:2", 0.5, 0.6)
    c.wire("W17", "SP2", "X52:2", 0.5, 1.1)
    for plug, sensor in (("X51", "B31"), ("X52", "B32")):
        c.plug(plug, 1, 2)
        c.draws(sensor, f"{plug}.1", f"{plug}.2", 0.006, 5)
    c.wire("W30", "K6:87", "X50.front:5", 1.5, 2.2)
    c.wire("W31", "X50.rear:5", "X53:1", 1.5, 2.0)
    c.plug("X53", 1, 2)
    c.load("M6", "X53.1", "X53.2", 96, 12)
    c.wire("W32", "X53:2", "GP6", 1.5, 0.8)
    return c


def fault(c):
    """At the place where the two wires lie together: the ends that the fault's words name."""
    c.bridge("X50.rear:1", "X50.rear:5", 15.0)


STATE = {"key": "run"}
EXPECT = {
    "complaint": {"pin": "A3.X1:3", "black": None, "reads": "figure"},
    "facts": ["A3 communicates"],
    "truth": {"fault": "W11 short to W31 15 ohm", "unit": ["W11", "W31"]},
    "class": "high",
    "first_step": ["F16", "K6", "X50"],
    "conclusion": {"holds": ["W11"], "not_alone": ["A3", "B31", "B32", "M6"]},
}
READINGS = [
    {"pin": "A3.X1:3"},
    {"pin": "X52:1"},
    {"pin": "X53:1"},
    {"pin": "A3.X1:3", "state": {"out": ["F16"]}},
    {"pin": "A3.X1:3", "state": {"out": ["X50"]}},
    {"pin": "K6:85"},
]
