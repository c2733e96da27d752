"""A trailer whose lamps go dim when it brakes: the socket's return contact has spread and has 6 ohm."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 25.2, 0.010)
    c.wire("W1", "G1:30", "FL1:feed", 16, 2.5)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 50, 0.5)
    c.bolt("GP1", 0.0001)
    c.bolt("GP21", 0.0003)
    c.on_bar("F35:feed", "BUS1")
    c.fuse("F35", "F35:feed", "F35:load", 15)
    c.on_bar("F36:feed", "BUS1")
    c.fuse("F36", "F36:feed", "F36:load", 15)
    c.wire("W10", "F35:load", "X35:1", 1.5, 1.0)
    c.plug("X35", 1, 2)
    if positions.get("S35") == "side":
        c.contact("S35", "X35.1", "X35.2")
    c.wire("W11", "X35:2", "X80.truck:2", 1.5, 8.5)
    c.wire("W12", "F36:load", "X36:1", 1.5, 2.0)
    c.plug("X36", 1, 2)
    if positions.get("S36") == "pressed":
        c.contact("S36", "X36.1", "X36.2")
    c.wire("W13", "X36:2", "X80.truck:4", 1.5, 7.0)
    c.wire("W14", "X80.truck:1", "GP21", 2.5, 0.6)
    c.inline("X80", "truck", "trailer", 1, 2, 4)
    c.wire("W20", "X80.trailer:2", "SP1", 1.5, 12)
    c.wire("W21", "X80.trailer:4", "SP2", 1.5, 12)
    c.wire("W22", "SP3", "X80.trailer:1", 2.5, 12)
    c.wire("W23", "SP1", "X81:1", 1.0, 0.5)
    c.wire("W24", "SP1", "X82:1", 1.0, 2.0)
    c.wire("W25", "SP2", "X81:2", 1.0, 0.5)
    c.wire("W26", "SP2", "X82:2", 1.0, 2.0)
    c.wire("W27", "X81:3", "SP3", 1.0, 0.5)
    c.wire("W28", "X82:3", "SP3", 1.0, 2.0)
    c.plug("X81", 1, 2, 3)
    c.plug("X82", 1, 2, 3)
    c.lamp("E81", "X81.1", "X81.3", 10, 24)
    c.lamp("E82", "X82.1", "X82.3", 10, 24)
    c.lamp("E83", "X81.2", "X81.3", 21, 24)
    c.lamp("E84", "X82.2", "X82.3", 21, 24)
    return c


def fault(c):
    c.add("X80:1", 6.0)


STATE = {"key": "run", "set": {"S35": "side", "S36": "pressed"}}
EXPECT = {
    "complaint": {"pin": "X81:3", "black": None, "reads": "figure"},
    "facts": [],
    "truth": {"fault": "X80.trailer:1 added 6 ohm", "unit": ["X80", "X80:1"]},
    "class": "high",
    "first_step": ["X80", "X80.trailer:1", "X80.truck:1"],
    "conclusion": {"holds": ["X80"], "not_alone": ["E81", "E82", "E83", "E84", "GP21", "F35", "F36"]},
}
READINGS = [
    {"pin": "X81:3", "filament": True},
    {"pin": "X80.trailer:1", "filament": True},
    {"pin": "X80.truck:1", "filament": True},
    {"pin": "X81:2", "filament": True},
    {"pin": "X81:2", "black": "X81:3", "filament": True},
    {"pin": "X81:3", "state": {"set": {"S35": "side", "S36": "released"}}, "filament": True},
    {"pin": "X81:2", "state": {"set": {"S35": "off", "S36": "released"}}},
    {"pin": "F35:load"},
]
