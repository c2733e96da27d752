"""A window motor that is dead both ways: one of its wires has broken in the door hinge."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.6, 0.007)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.5)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 25, 0.4)
    c.bolt("GP1")
    c.bolt("GP14")
    if key in ("run", "crank"):
        c.on_bar("S1:30", "BUS1")
        c.contact("S1", "S1:30", "S1:15")
        c.on_bar("S1:15", "BUS15")
    c.on_bar("F26:feed", "BUS15")
    c.fuse("F26", "F26:feed", "F26:load", 25)
    c.wire("W10", "F26:load", "X17:1", 2.5, 1.5)
    c.wire("W11", "X17:2", "GP14", 2.5, 0.9)
    c.plug("X17", 1, 2, 3, 4)
    position = positions.get("S17", "rest")
    # One side feeds, the other stays grounded; at rest both are grounded.
    c.contact("S17 motor 3", "X17.3", "X17.1" if position == "up" else "X17.2")
    c.contact("S17 motor 4", "X17.4", "X17.1" if position == "down" else "X17.2")
    c.wire("W12", "X17:3", "X18.sill:1", 1.5, 1.2)
    c.wire("W13", "X17:4", "X18.sill:2", 1.5, 1.2)
    c.inline("X18", "sill", "door", 1, 2)
    c.wire("W14", "X18.door:1", "X19:1", 1.5, 0.8)
    c.wire("W15", "X18.door:2", "X19:2", 1.5, 0.8)
    c.plug("X19", 1, 2)
    c.ohm("M17", "X19.1", "X19.2", 1.5)
    return c


def fault(c):
    c.cut("W15")


STATE = {"key": "run", "set": {"S17": "up"}}
EXPECT = {
    "complaint": {"words": "M17 does not work"},
    "facts": [],
    "truth": {"fault": "W15 open", "unit": ["W15"]},
    "class": "dead function",
    "first_step": ["X18", "X18.door:1", "X18.door:2", "X18.sill:1", "X18.sill:2", "F26", "X17"],
    "conclusion": {"holds": ["W15"], "not_alone": ["M17", "S17", "F26", "W14", "GP14"]},
}
READINGS = [
    {"pin": "X18.door:1"},
    {"pin": "X18.door:2"},
    {"pin": "X17:4"},
    {"pin": "X19:1"},
    {"pin": "X19:2"},
    {"pin": "X18.door:1", "state": {"set": {"S17": "down"}}},
    {"pin": "X18.door:2", "state": {"set": {"S17": "down"}}},
    {"pin": "X18.door:1", "black": "X18.door:2", "state": {"battery": "off", "out": ["X17"]}},
]
