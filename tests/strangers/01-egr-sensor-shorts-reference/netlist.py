"""Four sensors on one reference; the exhaust gas valve's position sensor is shorted inside."""

from solve import Circuit


def circuit(key, positions):
    c = Circuit("G1:31")
    c.supply("G1", "G1:30", "G1:31", 12.6, 0.007)
    c.wire("W1", "G1:30", "FL1:feed", 10, 0.5)
    c.fuse("FL1", "FL1:feed", "FL1:load", 60)
    c.on_bar("FL1:load", "BUS1")
    c.on_bar("F8:feed", "BUS1")
    c.fuse("F8", "F8:feed", "F8:load", 15)
    c.wire("W2", "G1:31", "GP1", 25, 0.4)
    c.bolt("GP1")
    c.bolt("GP5")
    c.wire("W10", "F8:load", "A2.X1:1", 1.5, 1.6)
    c.wire("W11", "A2.X1:2", "GP5", 1.5, 0.5)
    c.plug("A2.X1", 1, 2)
    c.plug("A2.X2", 1, 2)
    c.ohm("A2 ground to sensor ground", "A2.X1.2", "A2.X2.2", 0.0001)
    if key in ("run", "crank"):
        c.draws("A2", "A2.X1.1", "A2.X1.2", 0.6, 12)
        c.reference("REF", "A2.X2.1", "A2.X2.2", 5.0, 0.25, 0.080)
    c.wire("W20", "A2.X2:1", "SP1", 0.5, 0.3)
    c.wire("W21", "SP1", "X41:1", 0.5, 1.1)
    c.wire("W22", "SP1", "X30.body:1", 0.5, 0.7)
    c.inline("X30", "body", "engine", 1, 2)
    c.wire("W23", "X30.engine:1", "SP3", 0.5, 0.3)
    c.wire("W24", "SP3", "X42:1", 0.5, 0.6)
    c.wire("W25", "SP3", "X43:1", 0.5, 0.9)
    c.wire("W26", "SP3", "X44:1", 0.5, 0.5)
    c.wire("W30", "A2.X2:2", "SP2", 0.5, 0.3)
    c.wire("W31", "SP2", "X41:2", 0.5, 1.1)
    c.wire("W32", "SP2", "X30.body:2", 0.5, 0.7)
    c.wire("W33", "X30.engine:2", "SP4", 0.5, 0.3)
    c.wire("W34", "SP4", "X42:2", 0.5, 0.6)
    c.wire("W35", "SP4", "X43:2", 0.5, 0.9)
    c.wire("W36", "SP4", "X44:2", 0.5, 0.5)
    for plug, sensor, amps in (("X41", "B21", 0.007), ("X42", "B22", 0.008), ("X43", "B23", 0.010),
                               ("X44", "B24", 0.005)):
        c.plug(plug, 1, 2)
        c.draws(sensor, f"{plug}.1", f"{plug}.2", amps, 5)
    return c


def fault(c):
    c.bridge("X43.1", "X43.2", 3.0)


STATE = {"key": "run"}
EXPECT = {
    "complaint": {"pin": "X41:1", "black": None, "reads": "figure"},
    "facts": ["A2 communicates"],
    "truth": {"fault": "B23 short 3 ohm", "unit": ["B23"]},
    "class": "near zero",
    "first_step": ["X41", "X30"],
    "conclusion": {"holds": ["B23"], "not_alone": ["A2", "B21", "B22", "B24"]},
}
READINGS = [
    {"pin": "X41:1"},
    {"pin": "X41:1", "black": "X41:2"},
    {"pin": "X41:2"},
    {"pin": "X41:1", "state": {"out": ["X41"]}},
    {"pin": "X41:1", "state": {"out": ["X41", "X30"]}},
    {"pin": "X41:1", "state": {"out": ["X43"]}},
    {"pin": "A2.X1:1"},
]
