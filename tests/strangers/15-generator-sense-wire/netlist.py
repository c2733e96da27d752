"""A generator whose sense wire has 1.2 kohm too much: the regulator sees too little and charges too high."""

from solve import Circuit

HELD, CEILING = 14.2, 15.6


class Charging(Circuit):
    """The regulator moves the generator's volts until its sense terminal has what it holds, up to the ceiling."""

    def solve(self, extra_current=None):
        if "G2" not in self.sources:
            return super().solve(extra_current)
        low, high = 10.0, CEILING
        for _ in range(50):
            middle = (low + high) / 2
            # The winding's own resistance is made up for by the regulator: it sets the terminal's volts.
            self.sources["G2"][2:] = [middle, 1e-6]
            solved = super().solve(extra_current)
            if solved["G2:S"] - solved["G2:31"] < HELD:
                low = middle
            else:
                high = middle
        return solved


def circuit(key, positions):
    c = Charging("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.6, 0.060)
    if key == "run":
        c.supply("G2", "G2:B", "G2:31", 14.2, 1e-6)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.7)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.wire("W2", "G1:31", "GP1", 35, 0.3)
    c.bolt("GP1", 0.0001)
    c.bolt("GP2", 0.0002)
    c.bolt("GP3")
    c.wire("W3", "G1:30", "FL2:feed", 25, 0.3)
    c.fuse("FL2", "FL2:feed", "FL2:load", 125)
    c.wire("W4", "FL2:load", "G2:B", 25, 1.3)
    c.wire("W5", "G2:31", "GP2", 25, 0.3)
    c.on_bar("F7:feed", "BUS1")
    c.fuse("F7", "F7:feed", "F7:load", 5)
    c.wire("W6", "F7:load", "X14.body:2", 0.75, 0.6)
    c.inline("X14", "body", "engine", 2)
    c.wire("W7", "X14.engine:2", "G2:S", 0.75, 1.0)
    c.ohm("sense terminal", "G2:S", "G2:31", 12e3)
    c.on_bar("F12:feed", "BUS1")
    c.fuse("F12", "F12:feed", "F12:load", 25)
    c.wire("W8", "F12:load", "X15:1", 4, 4.0)
    c.plug("X15", 1, 2)
    c.load("R15", "X15.1", "X15.2", 180, 13.5)
    c.wire("W9", "X15:2", "GP3", 4, 0.5)
    return c


def fault(c):
    c.add("X14:2", 1200.0)


STATE = {"key": "run"}
EXPECT = {
    "complaint": {"pin": "G1:30", "black": None, "reads": "figure"},
    "facts": [],
    "truth": {"fault": "X14.body:2 added 1.2 kohm", "unit": ["X14", "X14:2"]},
    "class": "high",
    "first_step": ["F7", "G2:S", "G2:B", "X14", "X14.body:2", "X14.engine:2"],
    "conclusion": {"holds": ["X14"], "not_alone": ["G2", "G1", "R15", "FL2"]},
}
READINGS = [
    {"pin": "G1:30"},
    {"pin": "G2:B"},
    {"pin": "G2:S"},
    {"pin": "X14.body:2"},
    {"pin": "X14.engine:2"},
    {"pin": "X15:1"},
    {"pin": "G1:30", "state": {"key": "off"}},
]
