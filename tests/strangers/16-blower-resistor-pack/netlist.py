"""A blower that only runs at full speed: the resistor pack has opened beside its common end."""

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
    c.on_bar("F25:feed", "BUS1")
    c.fuse("F25", "F25:feed", "F25:load", 30)
    c.wire("W10", "F25:load", "X16:1", 4, 0.9)
    c.plug("X16", 1, 2, 3, 4, 5)
    cavity = {"low": 2, "middle": 3, "fast": 4, "full": 5}.get(positions.get("S16"))
    if cavity:
        c.contact("S16", "X16.1", f"X16.{cavity}")
    c.wire("W11", "X16:2", "X17:1", 2.5, 1.1)
    c.wire("W12", "X16:3", "X17:2", 2.5, 1.1)
    c.wire("W13", "X16:4", "X17:3", 2.5, 1.1)
    c.wire("W14", "X16:5", "SP1", 4, 1.2)
    c.wire("W15", "X17:4", "SP1", 4, 0.2)
    c.wire("W16", "SP1", "X18:1", 4, 0.2)
    c.wire("W17", "X18:2", "GP4", 4, 0.8)
    c.plug("X17", 1, 2, 3, 4)
    c.ohm("R16 last", "X17.3", "X17.4", 0.4)
    c.ohm("R16 middle", "X17.2", "X17.3", 0.6)
    c.ohm("R16 first", "X17.1", "X17.2", 1.2)
    c.plug("X18", 1, 2)
    c.load("M16", "X18.1", "X18.2", 216, 12)
    return c


def fault(c):
    c.cut("R16 last")


STATE = {"key": "run", "set": {"S16": "middle"}}
EXPECT = {
    "complaint": {"words": "M16 does not work"},
    "facts": [],
    "truth": {"fault": "R16 open", "unit": ["R16"]},
    "class": "dead function",
    "first_step": ["F25", "X17", "X18", "X18:1", "X17:2", "X17:4", "S16"],
    "conclusion": {"holds": ["R16"], "not_alone": ["M16", "S16", "F25", "GP4", "W12"]},
}
READINGS = [
    {"pin": "X18:1"},
    {"pin": "X17:2"},
    {"pin": "X17:4"},
    {"pin": "X17:1"},
    {"pin": "X18:1", "state": {"set": {"S16": "full"}}},
    {"pin": "X18:1", "state": {"set": {"S16": "low"}}},
    {"pin": "X17:2", "black": "X17:4", "state": {"battery": "off", "set": {"S16": "off"}}},
]
