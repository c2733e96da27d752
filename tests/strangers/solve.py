#!/usr/bin/env python3
"""A small direct-current solver of its own, and the figures of the strangers worked out with it.

It shares nothing with the engine: no line of code, and it reads no circuit file. Each stranger's netlist.py says its
circuit once more, by hand, with the nodes that a drawing has, so that a misreading of the circuit file cannot come
out the same on both sides. Plain Python, no package needed.

    python3 solve.py            compares every expect.json with what its netlist gives
    python3 solve.py --write    works the figures out and writes them into expect.json
    python3 solve.py --show     prints them

The values are those of the worked scenarios' conventions: copper in milliohm per metre at 20 degrees in the style of
ISO 19642, cold fuses by rating, 5 mohm for a mated cavity or a closed contact, 0.5 mohm for a bolted ground,
0.05 mohm for a joint on a bar. A load stands as the resistance that takes its rated current at its rated volts;
a filament at its hot resistance, volts squared over watts. The meter is 10 Mohm. Nothing leaks otherwise, but for
1e-12 siemens from each node to the reference, so that a node in the air has a place; 40 decimal digits bear that
beside the 20 000 siemens of a bar.
"""

import importlib.util
import json
import sys
from decimal import Decimal, getcontext
from pathlib import Path

getcontext().prec = 40
sys.dont_write_bytecode = True
HERE = Path(__file__).resolve().parent

COPPER = {
    0.35: 54.4, 0.5: 37.1, 0.75: 24.7, 1.0: 18.5, 1.5: 12.7, 2.5: 7.60, 4: 4.71, 6: 3.14,
    10: 1.82, 16: 1.16, 25: 0.743, 35: 0.527, 50: 0.368, 70: 0.259, 95: 0.196,
}
FUSE = {5: 17e-3, 7.5: 10.5e-3, 10: 7.2e-3, 15: 4.6e-3, 20: 3.3e-3, 25: 2.4e-3, 30: 1.8e-3, 40: 1.3e-3,
        60: 1.5e-3, 125: 0.5e-3, 150: 0.5e-3}
CONTACT = 0.005
JOINT = 0.0005
BAR = 0.00005
DRIVER = 0.01
METER = 10e6
AIR = 1e-12
OPEN = None


class Circuit:
    """Elements by name. Nodes are whatever text an element is joined to."""

    def __init__(self, ground):
        self.ground = ground
        self.resistors = {}   # name: [a, b, ohms or None for open]
        self.sources = {}     # name: [plus, minus, volts, ohms]
        self.limited = {}     # name: [pin, ret, volts, ohms, amps]; never sinks
        self.drops = {}       # name: [a, b, volts, ohms]; a driver that is on: conducts from a to b only

    # what a circuit is made of

    def ohm(self, name, a, b, ohms):
        assert name not in self.resistors, name
        self.resistors[name] = [a, b, ohms]

    def wire(self, name, a, b, mm2, metres):
        self.ohm(name, a, b, COPPER[mm2] * 1e-3 * metres)

    def fuse(self, name, a, b, amps):
        self.ohm(name, a, b, FUSE[amps])

    def contact(self, name, a, b, ohms=CONTACT):
        self.ohm(name, a, b, ohms)

    def plug(self, name, *cavities):
        """A part's plug: wire side `X5:1`, part side `X5.1`."""
        for cavity in cavities:
            self.contact(f"{name}:{cavity}", f"{name}:{cavity}", f"{name}.{cavity}")

    def inline(self, name, first, second, *cavities):
        for cavity in cavities:
            self.contact(f"{name}:{cavity}", f"{name}.{first}:{cavity}", f"{name}.{second}:{cavity}")

    def on_bar(self, point, bar):
        self.ohm(f"{point} on {bar}", point, bar, BAR)

    def bolt(self, name, ohms=JOINT):
        """A ground point: its wires' side bears its name, and behind the joint is the body."""
        self.ohm(name, name, "body", ohms)

    def load(self, name, a, b, watts, volts):
        self.ohm(name, a, b, volts * volts / watts)

    lamp = load

    def draws(self, name, a, b, amps, volts):
        self.ohm(name, a, b, volts / amps)

    def supply(self, name, plus, minus, volts, ohms):
        self.sources[name] = [plus, minus, volts, ohms]

    def reference(self, name, pin, ret, volts, ohms, amps):
        self.limited[name] = [pin, ret, volts, ohms, amps]

    def driver(self, name, a, b, volts=0.0, ohms=DRIVER):
        self.drops[name] = [a, b, volts, ohms]

    # what goes wrong with it

    def cut(self, *names):
        for name in names:
            found = [t for t in (self.resistors, self.sources, self.limited, self.drops) if name in t]
            assert found, name
            for table in found:
                del table[name]

    def add(self, name, ohms):
        self.resistors[name][2] += ohms

    def bridge(self, a, b, ohms):
        self.ohm(f"bridge {a} {b}", a, b, ohms)

    def chafe(self, name, to, ohms, along=0.5):
        a, b, whole = self.resistors.pop(name)
        self.ohm(f"{name} first piece", a, f"{name} bare", max(whole * along, 1e-9))
        self.ohm(f"{name} second piece", f"{name} bare", b, max(whole * (1 - along), 1e-9))
        self.ohm(f"{name} chafe", f"{name} bare", to, ohms)

    def part(self, *names):
        """Parts plugs and pulls fuses: whatever bears the name, or is a cavity of it, is gone."""
        for name in names:
            gone = [n for n in self.resistors if n == name or n.startswith(name + ":")]
            assert gone, name
            for each in gone:
                del self.resistors[each]

    def battery_off(self):
        """With the battery disconnected no source is left; what sources stand on is open."""
        self.sources.clear()
        self.limited.clear()
        self.drops.clear()

    # solving

    def solve(self, extra_current=None):
        """Node volts by nodal analysis; limiters and drivers settle by trial."""
        mode = {name: "volts" for name in self.limited}
        on = {name: True for name in self.drops}
        for _ in range(60):
            volts = self._linear(mode, on, extra_current)
            changed = False
            for name, (pin, ret, emf, ohms, amps) in self.limited.items():
                across = volts[pin] - volts[ret]
                want = "volts"
                if (emf - across) / ohms > amps + 1e-12:
                    want = "limit"
                elif emf - across < -1e-9:
                    want = "off"
                if mode[name] == "volts" and want != "volts":
                    mode[name], changed = want, True
                elif mode[name] == "limit" and across > emf - amps * ohms + 1e-9:
                    mode[name], changed = "volts", True
                elif mode[name] == "off" and across < emf - 1e-9:
                    mode[name], changed = "volts", True
            for name, (a, b, emf, ohms) in self.drops.items():
                want = volts[a] - volts[b] >= emf
                if on[name] != want:
                    on[name], changed = want, True
            if not changed:
                return volts
        raise RuntimeError("does not settle")

    def _linear(self, mode, on, extra_current):
        nodes = {self.ground}
        for table in (self.resistors, self.sources, self.limited, self.drops):
            for a, b, *_ in table.values():
                nodes |= {a, b}
        if extra_current:
            nodes |= set(extra_current[:2])
        index = {node: i for i, node in enumerate(sorted(nodes - {self.ground}))}
        size = len(index)
        matrix = [[Decimal(0)] * (size + 1) for _ in range(size)]

        def conductance(a, b, siemens):
            siemens = Decimal(siemens)
            for p, q in ((a, b), (b, a)):
                if p in index:
                    matrix[index[p]][index[p]] += siemens
                    if q in index:
                        matrix[index[p]][index[q]] -= siemens

        def current(a, b, amps):
            """Amps from a into b, from outside the resistors."""
            amps = Decimal(amps)
            if a in index:
                matrix[index[a]][size] -= amps
            if b in index:
                matrix[index[b]][size] += amps

        for node in index:
            conductance(node, self.ground, AIR)
        for a, b, ohms in self.resistors.values():
            if ohms is not OPEN:
                conductance(a, b, 1 / ohms)
        for plus, minus, emf, ohms in self.sources.values():
            conductance(plus, minus, 1 / ohms)
            current(minus, plus, emf / ohms)
        for name, (pin, ret, emf, ohms, amps) in self.limited.items():
            if mode[name] == "volts":
                conductance(pin, ret, 1 / ohms)
                current(ret, pin, emf / ohms)
            elif mode[name] == "limit":
                current(ret, pin, amps)
        for name, (a, b, emf, ohms) in self.drops.items():
            if on[name]:
                conductance(a, b, 1 / ohms)
                current(b, a, emf / ohms)
        if extra_current:
            current(*extra_current)
        for i in range(size):
            best = max(range(i, size), key=lambda r: abs(matrix[r][i]))
            matrix[i], matrix[best] = matrix[best], matrix[i]
            pivot = matrix[i][i]
            for r in range(i + 1, size):
                if matrix[r][i]:
                    factor = matrix[r][i] / pivot
                    for c in range(i, size + 1):
                        if matrix[i][c]:
                            matrix[r][c] -= factor * matrix[i][c]
        solution = [Decimal(0)] * size
        for i in reversed(range(size)):
            rest = sum(matrix[i][c] * solution[c] for c in range(i + 1, size))
            solution[i] = (matrix[i][size] - rest) / matrix[i][i]
        volts = {node: float(solution[i]) for node, i in index.items()}
        volts[self.ground] = 0.0
        return volts

    def volts(self, red, black):
        self.ohm("meter", red, black, METER)
        solved = self.solve()
        del self.resistors["meter"]
        return solved[red] - solved[black]

    def ohms(self, red, black):
        """What an ohmmeter shows: one milliampere through the dead circuit. Above 60 Mohm it shows OL."""
        solved = self.solve(extra_current=(black, red, 1e-3))
        value = (solved[red] - solved[black]) / 1e-3
        return "OL" if value > 60e6 else value

    def amps(self, name):
        """Current through a resistor, for the stories' arithmetic."""
        a, b, ohms = self.resistors[name]
        solved = self.solve()
        return (solved[a] - solved[b]) / ohms


def shorten(value):
    if isinstance(value, str):
        return value
    if abs(value) < 1e-6:
        return 0.0
    return float(f"{value:.4g}")


def shown(value, ohms=False):
    """As a meter of 2000 counts shows it."""
    if ohms:
        return f"{value:.1f} ohm" if value < 200 else f"{value:.0f} ohm"
    size = abs(value)
    digits = 3 if size < 2 else 2 if size < 20 else 1
    return f"{value:.{digits}f} V"


def complaint(netlist, readings):
    """A complaint at a pin has the figure that the faulty circuit gives there, as a meter shows it."""
    said = dict(netlist.EXPECT["complaint"])
    if said.get("reads") == "figure":
        found = next(r for r in readings if r["pin"] == said["pin"] and r["black"] == said.get("black")
                     and not r["state"])
        said["reads"] = shown(found["faulty"], found["quantity"] == "ohms")
    return said


def figures(netlist):
    """Every reading of a stranger, sound and faulty."""
    out = []
    for reading in netlist.READINGS:
        pin, black = reading["pin"], reading.get("black")
        state = dict(netlist.STATE)
        state.update(reading.get("state", {}))
        got = {}
        for which in ("sound", "faulty"):
            circuit = netlist.circuit(state.get("key", "run"), state.get("set", {}))
            if which == "faulty":
                netlist.fault(circuit)
            circuit.part(*state.get("out", []))
            against = black or circuit.ground
            if state.get("battery") == "off":
                circuit.battery_off()
                got[which] = shorten(circuit.ohms(pin, against))
            else:
                got[which] = shorten(circuit.volts(pin, against))
        entry = {"pin": pin, "black": black, "state": reading.get("state", {})}
        entry["quantity"] = "ohms" if state.get("battery") == "off" else "volts"
        if reading.get("filament"):
            entry["filament"] = True
        if "unit" in reading:
            entry["unit"] = reading["unit"]
        out.append({**entry, **got})
    return out


def load(folder):
    spec = importlib.util.spec_from_file_location(f"netlist_{folder.name[:2]}", folder / "netlist.py")
    netlist = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(netlist)
    return netlist


def dump(expected):
    """JSON with one reading a line."""
    readings = expected.pop("readings")
    text = json.dumps(expected, indent=2, ensure_ascii=False)[:-2]
    lines = ",\n".join("    " + json.dumps(r, ensure_ascii=False) for r in readings)
    return f'{text},\n  "readings": [\n{lines}\n  ]\n}}\n'


def main():
    sys.path.insert(0, str(HERE))
    names = [a for a in sys.argv[1:] if not a.startswith("--")]
    wrong = 0
    for folder in sorted(p.parent for p in HERE.glob("*/netlist.py")):
        if names and not any(folder.name.startswith(n) for n in names):
            continue
        netlist = load(folder)
        readings = figures(netlist)
        expected = {"file": "circuit.circuit", "state": netlist.STATE, **netlist.EXPECT,
                    "complaint": complaint(netlist, readings), "readings": readings}
        if "--show" in sys.argv:
            print(folder.name)
            for r in expected["readings"]:
                where = r["pin"] + (f" to {r['black']}" if r["black"] else "")
                print(f"  {where:26} {str(r['state'] or ''):50} {r['sound']!s:>9}  {r['faulty']!s:>9}")
        target = folder / "expect.json"
        if "--write" in sys.argv:
            target.write_text(dump(expected))
        elif not target.exists() or json.loads(target.read_text()) != json.loads(dump(expected)):
            print(f"{folder.name}: expect.json does not say what netlist.py gives")
            wrong += 1
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
