#!/usr/bin/env python3
"""Recompute every reading of the invented calls from the wiring they were invented with.

Each job under examples/ and tests/handbooks/ has a file of the same name under tests/oracle/truth/ that says what
is in the walls: which end runs to which, how long, what is joined in a box nobody opened, and which traveler each
handle selects. From that this script builds the network and solves it by nodal analysis, one reading at a time, and
compares what a meter would show with what the job says. It shares nothing with lath: Python and PyYAML only.

Assumed: copper at 20 C, 2.525 ohm per 1000 ft of 14 AWG and 1.588 of 12 AWG (NBS Handbook 100). Cable capacitance
21 pF/ft core to core for the sheathed cable (measured on a roll of 14-2: R. Duffy, "The Capacitance Connection",
Nuts & Volts), half of that from each core to earth, in armour or pipe as much (estimates); knob-and-tube singles
1.8 pF/ft to the next single and to earth (parallel-wire formula at 3 to 5 in). A filament cold is 1/15 of hot, and
follows the 0.55 power of volts between (from memory). Probe contact and leads 0.1 ohm. Nothing else hangs on the
circuit.

Usage: check_examples.py [JOB ...]      exit 1 if any reading differs
"""

import cmath
import pathlib
import sys

import yaml

ROOT = pathlib.Path(__file__).resolve().parents[2]
OHM_PER_FOOT = {14: 2.525e-3, 12: 1.588e-3}
OMEGA = 2 * cmath.pi * 60
SOURCE, BOND, CONTACT, LEADS = 0.15, 0.15, 0.01, 0.1
GMIN = 1e-13
# Capacitance of a core to earth as a share of core to core; other sheaths one half.
TO_EARTH = {"armored": 1.0, "knob-and-tube": 1.0, "conduit": 1.0}


class Network:
    """Points joined at no resistance, and admittances between them."""

    def __init__(self):
        self.parent = {}
        self.parts = []

    def find(self, point):
        self.parent.setdefault(point, point)
        while self.parent[point] != point:
            self.parent[point] = self.parent[self.parent[point]]
            point = self.parent[point]
        return point

    def join(self, one, other):
        self.parent[self.find(one)] = self.find(other)

    def add(self, one, other, admittance):
        self.find(one), self.find(other)
        self.parts.append((one, other, admittance))

    def solve(self, injected, ground="earth"):
        """Volts at every point for currents put into points."""
        roots = sorted({self.find(p) for p in self.parent} - {self.find(ground)})
        place = {root: i for i, root in enumerate(roots)}
        n = len(roots)
        rows = [[0j] * (n + 1) for _ in range(n)]
        for i in range(n):
            rows[i][i] += GMIN
        for one, other, y in self.parts:
            i, j = place.get(self.find(one)), place.get(self.find(other))
            if i == j:
                continue
            for here, there in ((i, j), (j, i)):
                if here is not None:
                    rows[here][here] += y
                    if there is not None:
                        rows[here][there] -= y
        for point, current in injected:
            i = place.get(self.find(point))
            if i is not None:
                rows[i][n] += current
        volts = eliminate(rows)
        known = {root: volts[i] for root, i in place.items()}
        return lambda point: known.get(self.find(point), 0j)


def eliminate(rows):
    n = len(rows)
    for col in range(n):
        pivot = max(range(col, n), key=lambda r: abs(rows[r][col]))
        rows[col], rows[pivot] = rows[pivot], rows[col]
        for r in range(col + 1, n):
            factor = rows[r][col] / rows[col][col]
            if factor:
                for c in range(col, n + 1):
                    rows[r][c] -= factor * rows[col][c]
    out = [0j] * n
    for r in range(n - 1, -1, -1):
        out[r] = (rows[r][n] - sum(rows[r][c] * out[c] for c in range(r + 1, n))) / rows[r][r]
    return out


class House:
    """A job with what is in its walls."""

    def __init__(self, job, truth):
        self.job, self.truth = job, truth
        self.boxes = {b["name"]: dict(b) for b in job["boxes"]}
        for name, inside in (truth.get("hidden") or {}).items():
            self.boxes.setdefault(name, {"name": name, "devices": []}).update(inside)
        self.ends = {
            f"{box}/{cable['tag']}": cable
            for box, seen in self.boxes.items()
            for cable in seen.get("cables", [])
        }
        self.devices = {
            f"{box}/{device['name']}": device
            for box, seen in self.boxes.items()
            for device in seen.get("devices", [])
        }

    def full(self, point, at):
        """BOX/tag.wire for a point written at a box."""
        return point if point == "earth" or "/" in point else f"{at}/{point}"

    def build(self, reading, live):
        """The network of one reading; lamps are left to the caller."""
        at = reading.get("at")
        net = Network()
        out = {self.full(d, at) for d in reading.get("out") or []}
        lifted = {self.full(w, at) for w in reading.get("lifted") or []}
        for box, seen in self.boxes.items():
            for joint in seen.get("joints", []):
                self.make_joint(net, box, seen, joint, out, lifted)
        for run in self.truth["runs"]:
            self.lay(net, run)
        for name, device in self.devices.items():
            self.close(net, name, device, reading)
        net.add("panel neutral", "earth", 1 / BOND)
        if live:
            net.add("panel line", "earth", 1 / SOURCE)
        for one, other in reading.get("jumpers") or []:
            net.join(self.full(one, at), self.full(other, at))
        return net

    def make_joint(self, net, box, seen, joint, out, lifted):
        points = [f"{box}/{p}" for p in joint]
        gone = [p for p in points if p.rsplit(".", 1)[0] in out]
        doubled = any(p.split("/", 1)[1] in seen.get("doubled", []) for p in gone)
        stay = [p for p in points if p not in gone and p not in lifted]
        for one, other in zip(stay, stay[1:]):
            if not doubled:
                net.join(one, other)

    def lay(self, net, run):
        """A cable: conductors, and the capacitance between them and to earth."""
        here, there = run["ends"]
        feet = run["feet"]
        seen = self.ends.get(here) or self.ends[there]
        singles = seen.get("sheath") == "knob-and-tube"
        wires = run.get("wires") or {w: w for w in seen["wires"]}
        middles = []
        for wire, far in wires.items():
            first, last = self.end_point(here, wire, run), self.end_point(there, far, run)
            net.add(first, last, 1 / self.ohms_of(run))
            middles.append(first)
        farad = (1.8e-12 if singles else 21e-12) * feet
        for i, one in enumerate(middles):
            net.add(one, "earth", 1j * OMEGA * farad * TO_EARTH.get(seen.get("sheath"), 0.5))
            for other in middles[i + 1 :]:
                net.add(one, other, 1j * OMEGA * farad)
        for wire, beside in (run.get("beside") or {}).items():
            net.add(f"{here}.{wire}", beside, 1j * OMEGA * farad)

    def ohms_of(self, run):
        """Ohms of one conductor of a cable."""
        here, there = run["ends"]
        seen = self.ends.get(here) or self.ends[there]
        return OHM_PER_FOOT[seen.get("gauge", 14)] * run["feet"]

    def end_point(self, end, wire, run):
        if end != "panel":
            return f"{end}.{wire}"
        return "panel line" if wire == run.get("line") else "panel neutral"

    def close(self, net, name, device, reading):
        """The contact, or pair of contacts, a switch makes in its position."""
        if device["kind"] in ("light", "pull-chain"):
            return
        box = name.split("/", 1)[0]
        positions = reading.get("switches") or {}
        position = positions.get(name, positions.get(box))
        contacts = self.truth["handles"][name][position] or []
        if contacts and isinstance(contacts[0], str):
            contacts = [contacts]
        for one, other in contacts:
            net.add(f"{name}.{one}", f"{name}.{other}", 1 / CONTACT)

    def lamps(self, reading):
        """Every lamp that is in its holder: terminals, hot ohms."""
        state = reading.get("lamp", "in")
        out = [self.full(d, reading.get("at")) for d in reading.get("out") or []]
        for name, device in self.devices.items():
            here = state.get(name.split("/")[0]) if isinstance(state, dict) else state
            if device["kind"] == "light" and here != "out" and name not in out:
                watts = 60 if here == "test" else device.get("watts", 60)
                yield name, 120**2 / watts

    def solve_live(self, reading, probes=None):
        """Volts everywhere with the breaker on, lamps at the resistance their own volts give them."""
        ohms = {name: hot / 15 for name, hot in self.lamps(reading)}
        supply = self.job["house"].get("supply", 120)
        for _ in range(40):
            net = self.build(reading, live=True)
            for name, r in ohms.items():
                net.add(f"{name}.center", f"{name}.shell", 1 / r)
            if probes:
                one, other, y = probes
                net.add(one, other, y)
            volts = net.solve([("panel line", supply / SOURCE)])
            for name, hot in self.lamps(reading):
                across = abs(volts(f"{name}.center") - volts(f"{name}.shell"))
                ohms[name] = max(hot / 15, hot * (across / 120) ** 0.55)
        assert abs(volts("panel line")) > 0.9 * supply, "the breaker would open"
        return volts

    def predict(self, reading):
        """What is read, one entry a pair or light."""
        do = reading["do"]
        if do == "watch":
            lights = reading["light"] if isinstance(reading["light"], list) else [reading["light"]]
            return [self.watch(reading, light) for light in lights]
        if do == "amps":
            return [self.amps(reading)]
        return [self.probe(reading, one, other) for one, other in self.pairs(reading)]

    def pairs(self, reading):
        at = reading["at"]
        if "between" in reading:
            return [tuple(self.full(p, at) for p in reading["between"])]
        return [(self.full(p, at), self.full(reading["to"], at)) for p in reading["points"]]

    def watch(self, reading, light):
        if not reading["breaker"] or reading.get("lamp", "in") == "out":
            return "dark"
        volts = self.solve_live(reading)
        share = abs(volts(f"{light}/light.center") - volts(f"{light}/light.shell")) / self.job["house"]["supply"]
        return "lit" if share >= 0.9 else "dim" if share >= 0.2 else "dark"

    def probe(self, reading, one, other):
        live = reading["breaker"]
        kind, ohms, watts = self.meter(reading["with"])
        if reading["do"] in ("ohms", "continuity"):
            assert not live, "ohms with the breaker on"
            return self.ohms(reading, one, other)
        if not live:
            return 0.0
        if reading["do"] == "load":
            return self.test_lamp(reading, one, other, watts)
        y = 1 / ohms + (1j * OMEGA * 100e-12 if kind == "high-impedance" else 0)
        volts = self.solve_live(reading, (one, other, y))
        return abs(volts(one) - volts(other))

    def ohms(self, reading, one, other):
        net = self.build(reading, live=False)
        for name, hot in self.lamps(reading):
            net.add(f"{name}.center", f"{name}.shell", 15 / hot)
        net.parts = [(a, b, y.real) for a, b, y in net.parts if y.real]
        net.find(one), net.find(other)
        volts = net.solve([(one, 1), (other, -1)])
        return abs(volts(one) - volts(other)) + LEADS

    def test_lamp(self, reading, one, other, watts):
        ohms = 16.0
        for _ in range(40):
            volts = self.solve_live(reading, (one, other, 1 / ohms))
            across = abs(volts(one) - volts(other))
            ohms = max(120**2 / watts / 15, 120**2 / watts * (across / 120) ** 0.55)
        return "bright" if across > 108 else "dim" if across > 24 else "none"

    def meter(self, name):
        for seen in self.job["instruments"]:
            kind = seen if isinstance(seen, str) else seen["kind"]
            if kind == name:
                extra = {} if isinstance(seen, str) else seen
                usual = {"high-impedance": 10e6, "low-impedance": 3e3}
                return kind, extra.get("ohms", usual.get(kind)), extra.get("watts", 60)
        raise ValueError(f"{name} is not among the instruments")

    def amps(self, reading):
        """Net amperes in a cable, or in one wire of it."""
        volts = self.solve_live(reading)
        end, _, only = f"{reading['at']}/{reading['around']}".partition(".")
        total = 0
        for run in self.truth["runs"]:
            here, there = run["ends"]
            if end not in (here, there):
                continue
            wires = run.get("wires") or {w: w for w in self.ends[end]["wires"]}
            for wire, far in wires.items():
                if only and only != (wire if end == here else far):
                    continue
                fall = volts(self.end_point(here, wire, run)) - volts(self.end_point(there, far, run))
                total += fall / self.ohms_of(run)
        return abs(total)


def agrees(do, read, predicted):
    """Whether what the job says is what the network gives."""
    if isinstance(predicted, str) or isinstance(read, str):
        named = {"open": isinstance(predicted, float) and predicted > 20e6}
        return read == predicted or named.get(read, False)
    slack = {"volts": 0.02 * predicted + 0.5, "ohms": 0.05 * predicted + 0.11, "amps": 0.06}[do]
    return abs(read - predicted) <= slack


def check(path):
    job = yaml.safe_load(path.read_text())
    truth = yaml.safe_load((ROOT / "tests/oracle/truth" / path.name).read_text())
    house, wrong = House(job, truth), 0
    for number, reading in enumerate(job["readings"], 1):
        read = reading["reads"] if isinstance(reading["reads"], list) else [reading["reads"]]
        predicted = house.predict(reading)
        if len(read) != len(predicted) or not all(
            agrees(reading["do"], r, p) for r, p in zip(read, predicted)
        ):
            wrong += 1
            print(f"{path.name}: reading {number}: job says {read}, the network gives {predicted}")
    print(f"{path.name}: {len(job['readings'])} readings, {wrong} differ")
    return wrong


def main():
    given = [pathlib.Path(p) for p in sys.argv[1:]]
    paths = given or sorted([*ROOT.glob("examples/*.yaml"), *ROOT.glob("tests/handbooks/**/*.yaml")])
    paths = [p for p in paths if not p.name.endswith(".expected.yaml")]
    return 1 if sum(check(p) for p in paths) else 0


if __name__ == "__main__":
    sys.exit(main())
