"""A wiper that runs slow but not fast: the fast brush no longer touches."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.5, 0.009)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.7)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 35, 0.3)
    c.bolt("GP1", 0.0001)
    c.bolt("GP2")
    if key in ("run", "crank"):
        c.on_bar("S1:30", "BUS1")
        c.contact("S1", "S1:30", "S1:15")
        c.on_bar("S1:15", "BUS15")
    c.on_bar("F10:feed", "BUS15")
    c.fuse("F10", "F10:feed", "F10:load", 20)
    c.wire("W10", "F10:load", "X18:1", 2.5, 1.3)
    c.plug("X18", 1, 2, 3)
    cavity = {"slow": 2, "fast": 3}.get(positions.get("S18"))
    if cavity:
        c.contact("S18", "X18.1", f"X18.{cavity}")
    c.wire("W11", "X18:2", "X20.dash:1", 1.5, 1.0)
    c.wire("W12", "X18:3", "X20.dash:2", 1.5, 1.0)
    c.inline("X20", "dash", "scuttle", 1, 2)
    c.wire("W13", "X20.scuttle:1", "X19:1", 1.5, 0.9)
    c.wire("W14", "X20.scuttle:2", "X19:2", 1.5, 0.9)
    c.plug("X19", 1, 2, 3)
    c.ohm("M18 fast", "X19.2", "X19.3", 1.8)
    c.ohm("M18 slow", "X19.1", "X19.3", 3.0)
    c.wire("W15", "X19:3", "GP2", 1.5, 0.4)
    return c


def fault(c):
    c.cut("M18 fast")


STATE = {"key": "run", "set": {"S18": "fast"}}
EXPECT = {
    "complaint": {"words": "M18 does not work"},
    "facts": ["M18 works with S18 slow"],
    "truth": {"fault": "M18 open", "unit": ["M18"]},
    "class": "dead function",
    "first_step": ["X20", "X20.dash:2", "X20.scuttle:2", "X19", "X19:2"],
    "conclusion": {"holds": ["M18"], "not_alone": ["S18", "F10", "GP2", "W14", "W15"]},
}
READINGS = [
    {"pin": "X20.scuttle:2"},
    {"pin": "X19:2"},
    {"pin": "X19:3"},
    {"pin": "X19:1"},
    {"pin": "X19:1", "state": {"set": {"S18": "slow"}}},
    {"pin": "X20.scuttle:2", "black": "X19:3", "state": {"battery": "off", "set": {"S18": "off"}}},
    {"pin": "X20.scuttle:1", "black": "X19:3", "state": {"battery": "off", "set": {"S18": "off"}}},
]
