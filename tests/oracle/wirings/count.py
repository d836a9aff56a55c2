#!/usr/bin/env python3
"""Counts, lists or times the wirings of a survey with the answer-set program wirings.lp.

    count.py SURVEY.yaml [--buried B] [--lines | --digest | --time]
    count.py --check [--most N] | --write      all cases of surveys.json, against or into counts.json
    count.py --hand                 the cases of hand.json, against the lists worked out there by hand

Without --buried there is none (B is 0). A wiring is one line (see `line_of`); the digest is
the sha256 of the sorted lines joined by a newline. --time prints the wirings counted and the seconds for grounding and
solving, in process, nothing else being done with the models.

Needs clingo 5.8 and PyYAML from PyPI.
"""

import argparse
import hashlib
import json
import pathlib
import re
import sys
import time

import clingo
import yaml

HERE = pathlib.Path(__file__).resolve().parent
PROGRAM = HERE / "wirings.lp"
SURVEYS = HERE / "surveys"

# All answer sets, projected. Deciding the projected atoms first is what made it fastest of the ways tried.
OPTIONS = ["0", "--project=project", "--heuristic=Domain", "--dom-mod=level,show"]


class Survey:
    """The boxes of a job file, with ends, wires, devices and joints numbered in file order."""

    def __init__(self, path):
        with open(path, encoding="utf-8") as file:
            boxes = yaml.safe_load(file)["boxes"]
        self.boxes = [str(box["name"]) for box in boxes]
        self.ends = []  # (box, tag, [wire words])
        self.facts = []
        self.joints = 0
        self.devices = 0
        for number, box in enumerate(boxes):
            self._box(number, box)

    def _fact(self, *words):
        self.facts.append(f"{words[0]}({','.join(str(word) for word in words[1:])}).")

    def _box(self, number, box):
        opened = box.get("opened", True)
        self._fact("opened" if opened else "unopened", number)
        points = {}
        for cable in box.get("cables") or []:
            points.update(self._end(number, cable))
        for device in box.get("devices") or []:
            points.update(self._device(number, device))
        if opened:
            self._joints(number, box, points)

    def _end(self, number, cable):
        """An end and its wires; gives the point that each wire is called by."""
        end, tag = len(self.ends), str(cable["tag"])
        words = [str(word) for word in cable["wires"]]
        self.ends.append((number, tag, words))
        self._fact("end", end, number)
        points = {}
        for wire, word in enumerate(words):
            self._fact("wire", end, wire)
            if re.fullmatch(r"w[0-9]+", word):
                self._fact("anyhue", end, wire)
            else:
                self._fact("hue", end, wire, json.dumps(re.sub(r"[0-9]+$", "", word)))
            points[f"{tag}.{word}"] = ("wire", end, wire)
        return points

    def _device(self, number, device):
        """A device; gives the point of each screw that a joint may name."""
        ident, kind = self.devices, device["kind"].replace("-", "_")
        self.devices += 1
        if kind == "light":
            self._fact("light", ident, number)
            screws = ["center", "shell"]
        else:
            self._fact("switch", ident, number, kind)
            screws = ["common", "t1", "t2"] if kind == "three_way" else ["s1", "s2"]
        return {f"{device['name']}.{screw}": ("screw", f"t({ident},{screw})") for screw in screws}

    def _joints(self, number, box, points):
        apart = box.get("apart") or []
        joints = [[self._local(box, point) for point in joint] for joint in box.get("joints") or []]
        # `apart: true` beside joints: those are as they were found, everything else had been undone.
        loose = set(points) - {name for names in joints for name in names}
        free = loose if apart is True else {self._local(box, point) for point in apart}
        for name in free:
            self._fact("free" + points[name][0], *points[name][1:])
        taken = set(free)
        for names in joints:
            self._joint(number, [name for name in names if name not in free], points)
            taken.update(names)
        for name, point in points.items():
            if point[0] == "wire" and name not in taken:
                self._joint(number, [name], points)

    def _joint(self, number, names, points):
        joint = self.joints
        self.joints += 1
        self._fact("found", joint, number)
        if len(names) == 1 and names[0] in points and points[names[0]][0] == "wire":
            self._fact("capped", joint)
        for name in names:
            if name == "metal":
                self._fact("foundmetal", joint)
            else:
                self._fact("found" + points[name][0], joint, *points[name][1:])

    @staticmethod
    def _local(box, point):
        """A point as it is written within its box."""
        return str(point).removeprefix(f"{box['name']}/")

    def program(self, buried):
        """The facts, with so many buried boxes, numbered after the known ones."""
        dug = [f"buried({len(self.boxes) + number})." for number in range(buried)]
        return "\n".join(self.facts + dug)

    def place(self, symbol):
        """A place, in the words of a line."""
        if symbol.name == "end":
            return self.end_name(symbol.arguments[0].number)
        if symbol.name == "box":
            return self.box_name(symbol.arguments[0].number)
        return symbol.name

    def box_name(self, number):
        return self.boxes[number] if number < len(self.boxes) else "buried"

    def end_name(self, number):
        box, tag, _ = self.ends[number]
        return f"{self.boxes[box]}/{tag}"


class Wirings:
    """The wirings of a survey, as answer sets."""

    def __init__(self, survey, buried):
        self.survey = survey
        self.control = clingo.Control(OPTIONS)
        self.control.load(str(PROGRAM))
        self.control.add("base", [], survey.program(buried))
        self.control.ground([("base", [])])

    def count(self):
        """How many there are; looks at no model."""
        self.control.solve()
        return int(self.control.statistics["summary"]["models"]["enumerated"])

    def lines(self):
        """All of them, sorted."""
        lines = []
        with self.control.solve(yield_=True) as models:
            for model in models:
                lines.append(self.line_of(model.symbols(shown=True)))
        return sorted(lines)

    def line_of(self, atoms):
        """scheme and order | feed box | pairing of each end | net of each wire; everything in file order."""
        survey, goes, nets, switches, feed = self.survey, {}, {}, {}, ""
        for atom in atoms:
            args = atom.arguments
            match atom.name:
                case "goes":
                    goes[args[0].number] = survey.place(args[1])
                case "carries":
                    nets[args[0].number, args[1].number] = args[2].name
                case "first" | "last" | "only":
                    switches[atom.name] = survey.box_name(args[0].number)
                case "feedbox":
                    feed = survey.box_name(args[0].number)
        scheme = f"single-pole {switches['only']}" if "only" in switches else (
            f"conventional {switches['first']}>{switches['last']}")
        pairing = [f"{survey.end_name(end)}={goes[end]}" for end in sorted(goes)]
        wires = [f"{survey.end_name(end)}.{survey.ends[end][2][wire]}={nets[end, wire]}" for end, wire in sorted(nets)]
        return "|".join([scheme, f"feed={feed}", ",".join(pairing), ",".join(wires)])


def digest(lines):
    return {"count": len(lines), "sha256": hashlib.sha256("\n".join(lines).encode()).hexdigest()}


def table():
    """surveys.json: for each case the survey and the number of buried boxes allowed."""
    return json.loads((HERE / "surveys.json").read_text(encoding="utf-8"))


def wirings_of(case):
    return Wirings(Survey(SURVEYS / f"{case['survey']}.yaml"), case["buried"])


def all_digests(names=None):
    results = {}
    for name in names or table():
        case = table()[name]
        start = time.perf_counter()
        lines = wirings_of(case).lines()
        if len(set(lines)) != len(lines):
            sys.exit(f"{name}: one wiring came twice")
        results[name] = {**case, **digest(lines)}
        print(f"{name:32} {len(lines):8} {time.perf_counter() - start:8.2f} s", flush=True)
    return results


def check(most):
    """Surveys against counts.json, those with at most `most` wirings where it is given: an exit status."""
    kept = json.loads((HERE / "counts.json").read_text(encoding="utf-8"))
    cases = [name for name in table() if not most or kept.get(name, {}).get("count", 0) <= most]
    differing = [name for name, result in all_digests(cases).items() if kept.get(name) != result]
    for name in differing:
        print(f"{name}: counts.json says something else")
    return 1 if differing or set(kept) != set(table()) else 0


def check_by_hand():
    """The answer sets against the lists in hand.json: an exit status."""
    wrong = 0
    for name, case in json.loads((HERE / "hand.json").read_text(encoding="utf-8")).items():
        lines = wirings_of(case).lines()
        by_hand = sorted(case["wirings"])
        for line in sorted(set(lines) - set(by_hand)):
            print(f"{name}: not in the list: {line}")
        for line in sorted(set(by_hand) - set(lines)):
            print(f"{name}: only in the list: {line}")
        wrong += lines != by_hand
        print(f"{name}: {len(by_hand)} by hand, {len(lines)} found")
    return 1 if wrong else 0


def one(options):
    survey = Survey(options.survey)
    buried = options.buried
    if options.time:
        start = time.perf_counter()
        count = Wirings(survey, buried).count()
        print(count, f"{time.perf_counter() - start:.3f}")
    elif options.lines:
        print("\n".join(Wirings(survey, buried).lines()))
    elif options.digest:
        print(json.dumps(digest(Wirings(survey, buried).lines())))
    else:
        print(Wirings(survey, buried).count())
    return 0


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("survey", nargs="?")
    parser.add_argument("--buried", type=int, default=0, metavar="B")
    parser.add_argument("--most", type=int, default=0, metavar="N", help="with --check: cases of at most N wirings")
    how = parser.add_mutually_exclusive_group()
    for flag in ("lines", "digest", "time", "check", "write", "hand"):
        how.add_argument(f"--{flag}", action="store_true")
    options = parser.parse_args()
    if options.hand:
        return check_by_hand()
    if options.check:
        return check(options.most)
    if options.write:
        rows = [f"{json.dumps(name)}: {json.dumps(row)}" for name, row in all_digests().items()]
        (HERE / "counts.json").write_text("{\n" + ",\n".join(rows) + "\n}\n", encoding="utf-8")
        return 0
    if not options.survey:
        parser.error("which survey?")
    return one(options)


if __name__ == "__main__":
    sys.exit(main())
