"""A tracking box that no drawing shows is tapped into the climate control's reference and pulls it down."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.6, 0.008)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.6)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.on_bar("F13:feed", "BUS1")
    c.fuse("F13", "F13:feed", "F13:load", 10)
    c.wire("W2", "G1:31", "GP1", 25, 0.5)
    c.bolt("GP1")
    c.bolt("GP4")
    c.wire("W3", "F13:load", "A30.X1:1", 1.0, 1.2)
    c.wire("W4", "A30.X1:2", "GP4", 1.0, 0.4)
    c.plug("A30.X1", 1, 2, 3, 4)
    c.ohm("A30 inner ground", "A30.X1.2", "A30.X1.4", 0.0001)
    if key in ("run", "crank"):
        c.draws("A30", "A30.X1.1", "A30.X1.2", 0.35, 12)
        c.reference("VREF", "A30.X1.3", "A30.X1.4", 5.0, 0.4, 0.070)
    c.wire("W10", "A30.X1:3", "SP1", 0.5, 0.6)
    c.wire("W11", "SP1", "X26:1", 0.5, 0.8)
    c.wire("W12", "SP1", "X28.dash:1", 0.5, 0.9)
    c.inline("X28", "dash", "engine", 1, 2)
    c.wire("W13", "X28.engine:1", "SP3", 0.5, 0.5)
    c.wire("W14", "SP3", "X25:1", 0.5, 1.1)
    c.wire("W15", "SP3", "X27:1", 0.5, 0.8)
    c.wire("W16", "A30.X1:4", "SP2", 0.5, 0.6)
    c.wire("W17", "SP2", "X26:2", 0.5, 0.8)
    c.wire("W18", "SP2", "X28.dash:2", 0.5, 0.9)
    c.wire("W19", "X28.engine:2", "SP4", 0.5, 0.5)
    c.wire("W20", "SP4", "X25:2", 0.5, 1.1)
    c.wire("W21", "SP4", "X27:2", 0.5, 0.8)
    for plug, sensor, amps in (("X25", "B25", 0.009), ("X26", "B26", 0.002), ("X27", "B27", 0.012)):
        c.plug(plug, 1, 2)
        c.draws(sensor, f"{plug}.1", f"{plug}.2", amps, 5)
    return c


def fault(c):
    """A transistor that is on, 0.25 V behind 6 ohm, to the body."""
    c.driver("tracker", "SP1", "body", 0.25, 6.0)


STATE = {"key": "run"}
EXPECT = {
    "complaint": {"pin": "X26:1", "black": None, "reads": "figure"},
    "facts": ["A30 communicates"],
    "truth": {"fault": "SP1 sink 0.25 V behind 6 ohm unpowered 47 kohm", "unit": ["unlisted equipment"]},
    "class": "low",
    "first_step": ["X26", "X28", "X27", "X25"],
    "conclusion": {"holds": ["unlisted equipment"], "not_alone": ["A30", "B25", "B26", "B27"]},
}
READINGS = [
    {"pin": "X26:1"},
    {"pin": "X27:1"},
    {"pin": "X26:1", "state": {"out": ["X28"]}},
    {"pin": "X26:1", "state": {"out": ["X28", "X26"]}},
    {"pin": "X26:2"},
    {"pin": "A30.X1:1"},
]
