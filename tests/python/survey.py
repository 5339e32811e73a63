"""What surveys tell, found again by scipy's least squares from the description of the record alone.

Random networks of points with taped distances, many with plumb drops, heights, lines, planes and pairs besides, some flat, some with a tape misread. The judge
starts from the true points, which the program does not know. Coordinates agree to 1e-8 of themselves or of their standard deviation where that is
larger, standard deviations to 1e-8 of themselves, what is left over at each reading to 1e-6. Which readings may be misread, and which surely is, is worked out by
taking every reading out in turn. `TUBEWRIGHT_COUNT=full` looks at 200 networks, else at 20. The box of 8 corners is held against figures from elsewhere in the library's own tests.
"""

import json
import math
import os
import pathlib
import random
import sys
import tempfile

import numpy as np
from scipy.optimize import least_squares
from scipy.stats import chi2, norm

import program
import reading

CASES = 200 if os.environ.get("TUBEWRIGHT_COUNT") == "full" else 20
TOLERANCE = 1e-8


def length_of(vector):
    """Without conjugates: a step along the imaginary axis passes through."""
    return np.sqrt(np.sum(vector * vector))


class Survey:
    """True points, and a record of them with errors."""

    def __init__(self, seed):
        chance = self.chance = random.Random(seed)
        self.flat = seed % 7 == 6
        self.dims = 2 if self.flat else 3
        count = chance.randrange(6, 10)
        self.points = self.spread(count)
        self.names = [f"p{number}" for number in range(count)]
        self.sd = {"length": chance.uniform(0.3, 2.0)}
        self.readings = []
        joined = [(one, other) for one in range(count) for other in range(one)]
        if chance.random() < 0.5:
            # The frame's points keep all of their tapes, so that every point is told well.
            joined = [pair for pair in joined if min(pair) < 4 or chance.random() < 0.7]
        for one, other in sorted(joined):
            self.tape(one, other)
        self.up = np.append(self.unit()[: self.dims], 0.0)[:3] if self.flat else self.unit()
        self.up /= np.linalg.norm(self.up)
        if seed % 3 == 1:
            self.more()
        if seed % 4 == 2:
            # Somebody read the tape at the wrong figure.
            slip = chance.choice([reading for reading in self.readings if reading["what"] == "distance"])
            slip["value"] += chance.choice((-1, 1)) * chance.choice((10, 20, 30))

    def unit(self):
        vector = np.array([self.chance.gauss(0, 1) for _ in range(3)])
        return vector / np.linalg.norm(vector)

    def spread(self, count):
        """Points that stand well apart, the frame's well off one line and one plane."""
        while True:
            points = np.array([[self.chance.uniform(0, 1500) for _ in range(3)] for _ in range(count)])
            if self.flat:
                points[:, 2] = 0
            apart = min(np.linalg.norm(points[one] - points[other]) for one in range(count) for other in range(one))
            x = points[1] - points[0]
            beside = np.linalg.norm(np.cross(x, points[2] - points[0])) / np.linalg.norm(x)
            off = 1e9 if self.flat else abs(np.dot(np.cross(x, points[2] - points[0]), points[3] - points[0])) / np.linalg.norm(np.cross(x, points[2] - points[0]))
            if apart > 250 and beside > 300 and off > 300:
                return points

    def tape(self, one, other):
        chance = self.chance
        reading = {"what": "distance", "points": (one, other), "sd": self.sd["length"], "longer": 0.0}
        if chance.random() < 0.2:
            reading["sd"] = reading["own"] = chance.uniform(0.3, 3.0)
        if chance.random() < 0.3:
            ends = [chance.choice(("centre", "outside", "inside")) for _ in range(2)]
            od = [chance.choice((25.4, 38.1, 44.5)) for _ in range(2)]
            reading["ends"], reading["od"] = ends, od
            reading["longer"] = sum({"centre": 0, "outside": 1, "inside": -1}[end] * across / 2 for end, across in zip(ends, od))
        true = np.linalg.norm(self.points[one] - self.points[other])
        reading["value"] = true + reading["longer"] + chance.gauss(0, reading["sd"])
        self.readings.append(reading)

    def more(self):
        """Points on a string, in a plane, under each other, over a level line, each other's image."""
        chance, add = self.chance, self.readings.append
        self.sd |= {key: chance.uniform(0.5, 3.0) for key in ("plumb", "height", "flush", "symmetric")}
        count = len(self.points)

        def new(true, near):
            """A point of its own, taped to some others."""
            self.points = np.vstack([self.points, true])
            self.names.append(f"q{len(self.names)}")
            for other in near:
                self.tape(len(self.points) - 1, other)
            return len(self.points) - 1

        across = lambda key: np.append([chance.gauss(0, self.sd[key]) for _ in range(self.dims)], 0.0)[:3] if self.flat else np.array([chance.gauss(0, self.sd[key]) for _ in range(3)])
        if chance.random() < 0.7:
            length = chance.uniform(200, 700)
            sideways = across("plumb")
            sideways -= self.up * np.dot(sideways, self.up)
            foot = new(self.points[3] - self.up * length + sideways, chance.sample(range(4), 4))
            add({"what": "drop", "points": (3, foot), "value": length + chance.gauss(0, self.sd["length"]), "sd": self.sd["length"]})
            add({"what": "plumb", "points": (3, foot), "value": 0.0, "sd": self.sd["plumb"]})
        for line in range(chance.randrange(3)):
            zero = chance.uniform(-500, 500)
            for point in chance.sample(range(count), 4):
                height = np.dot(self.up, self.points[point]) - zero + chance.gauss(0, self.sd["height"])
                add({"what": "height", "points": (point,), "line": line, "value": height, "sd": self.sd["height"]})
        self.lines = max((reading["line"] + 1 for reading in self.readings if reading["what"] == "height"), default=0)
        if chance.random() < 0.7:
            place = self.points[0] * 0.4 + self.points[2] * 0.6 + across("flush")
            middle = new(place, [0, 1])
            add({"what": "line", "points": (middle,), "of": (0, 2), "value": 0.0, "sd": self.sd["flush"]})
        if chance.random() < 0.7 and not self.flat:
            weights = np.array([chance.uniform(0.2, 1.0) for _ in range(3)])
            place = weights @ self.points[[1, 2, 3]] / weights.sum() + across("flush")
            inside = new(place, [1, 2, 3])
            add({"what": "plane", "points": (inside,), "of": (1, 2, 3), "value": 0.0, "sd": self.sd["flush"]})
        self.mirror = None
        if chance.random() < 0.7:
            normal = np.append(self.unit()[:2], 0.0) if self.flat else self.unit()
            normal /= np.linalg.norm(normal)
            off = chance.uniform(100, 600)
            self.mirror = (normal, off)
            for point in chance.sample(range(count), 3):
                true = self.points[point]
                image = new(true - normal * 2 * (np.dot(normal, true) - off) + across("symmetric"), chance.sample([other for other in range(count) if other != point], 4))
                add({"what": "symmetric", "points": (point, image), "value": 0.0, "sd": self.sd["symmetric"]})

    def yaml(self):
        """The record, its readings in the order in which the program lists them."""
        name = lambda point: self.names[point]
        of = lambda what: [reading for reading in self.readings if reading["what"] == what]
        text = "kind: survey\nunits: mm\naccuracy: { " + ", ".join(f"{key}: {value!r}" for key, value in self.sd.items()) + " }\n"
        hand = "flat: true" if self.flat else "up: p3"
        text += f"frame: {{ origin: p0, x: p1, xy: p2, {hand} }}\ndistances:\n"
        for reading in of("distance"):
            one, other = reading["points"]
            more = f", accuracy: {float(reading['own'])!r}" if "own" in reading else ""
            if "ends" in reading:
                more += f", a: {reading['ends'][0]}, b: {reading['ends'][1]}, od: [{reading['od'][0]}, {reading['od'][1]}]"
            text += f"  - {{ from: {name(one)}, to: {name(other)}, length: {float(reading['value'])!r}{more} }}\n"
        if of("drop"):
            text += "drops:\n" + "".join(f"  - {{ from: {name(reading['points'][0])}, to: {name(reading['points'][1])}, length: {float(reading['value'])!r} }}\n" for reading in of("drop"))
        if of("height"):
            text += "levels:\n"
            for line in range(self.lines):
                heights = ", ".join(f"{name(reading['points'][0])}: {float(reading['value'])!r}" for reading in of("height") if reading["line"] == line)
                text += f"  - heights: {{ {heights} }}\n"
        for reading in of("line"):
            text += f"lines:\n  - points: [{name(reading['of'][0])}, {name(reading['points'][0])}, {name(reading['of'][1])}]\n"
        for reading in of("plane"):
            text += f"planes:\n  - points: [{', '.join(name(point) for point in reading['of'])}, {name(reading['points'][0])}]\n"
        if of("symmetric"):
            pairs = ", ".join(f"[{name(reading['points'][0])}, {name(reading['points'][1])}]" for reading in of("symmetric"))
            text += f"symmetric:\n  - pairs: [{pairs}]\n"
        return text


class Taped:
    """A record of the samples, read from its file. Its points start some millimetres off what was found, in its frame."""

    def __init__(self, path, found):
        file = reading.load(path)
        size = lambda value: reading.length(value, file["units"])
        frame = file["frame"]
        self.flat = frame.get("flat", False)
        self.dims = 2 if self.flat else 3
        framed = [frame[key] for key in ("origin", "x", "xy", "up") if key in frame]
        at = {point["name"]: point["at_mm"] for point in found["points"]}
        self.names = framed + [name for name in at if name not in framed]
        chance = random.Random(5)
        off = lambda axis: chance.uniform(-4, 4) if axis < self.dims else 0.0
        self.points = np.array([[value + off(axis) for axis, value in enumerate(at[name])] for name in self.names])
        self.up = np.array([0.02, -0.01, 1.0]) / math.hypot(0.02, 0.01, 1.0)
        place = self.names.index
        sd = {key: size(value) for key, value in file["accuracy"].items()}
        self.readings = []
        add = self.readings.append
        for tape in file["distances"]:
            ends = [tape.get(end, tape.get("measured", "centre")) for end in "ab"]
            od = tape.get("od", 0)
            across = [size(one) for one in (od if isinstance(od, list) else [od, od])]
            longer = sum({"centre": 0, "outside": 1, "inside": -1}[end] * one / 2 for end, one in zip(ends, across))
            own = size(tape["accuracy"]) if "accuracy" in tape else sd["length"]
            add({"what": "distance", "points": (place(tape["from"]), place(tape["to"])), "sd": own, "longer": longer, "value": size(tape["length"])})
        levels = file.get("levels", [])
        self.lines = len(levels)
        for line, level in enumerate(levels):
            for name, height in level["heights"].items():
                add({"what": "height", "points": (place(name),), "line": line, "value": size(height), "sd": sd["height"]})
        self.mirror = None
        for symmetry in file.get("symmetric", []):
            assert "plane" not in symmetry and self.mirror is None, path
            one, other = self.points[[place(name) for name in symmetry["pairs"][0]]]
            normal = (other - one) / np.linalg.norm(other - one)
            self.mirror = (normal, np.dot(normal, one + other) / 2)
            for pair in symmetry["pairs"]:
                add({"what": "symmetric", "points": tuple(place(name) for name in pair), "value": 0.0, "sd": sd["symmetric"]})
        # What this reading of a record does not know, it would judge wrongly.
        assert set(file) <= {"kind", "units", "date", "accuracy", "frame", "distances", "levels", "symmetric"}, (path, set(file))


ORDER = ("distance", "drop", "plumb", "height", "line", "plane", "symmetric")


class Judge:
    """The same record as equations in the coordinates that the frame leaves open."""

    def __init__(self, survey):
        self.survey = survey
        self.readings = sorted(survey.readings, key=lambda reading: ORDER.index(reading["what"]))
        origin = survey.points[0]
        x = survey.points[1] - origin
        x = x / np.linalg.norm(x)
        y = survey.points[2] - origin
        y = y - x * np.dot(x, y)
        y = y / np.linalg.norm(y)
        z = np.cross(x, y)
        if not survey.flat and np.dot(z, survey.points[3] - origin) < 0:
            z = -z
        axes = np.array([x, y, z])
        framed = (survey.points - origin) @ axes.T
        self.places, start = {}, []
        for point in range(len(framed)):
            for axis in range({0: 0, 1: 1, 2: 2}.get(point, survey.dims)):
                self.places[point, axis] = len(start)
                start.append(framed[point, axis])
        self.leanings = []
        what = {reading["what"] for reading in self.readings}
        self.up = self.leaning(axes @ survey.up, start) if what & {"drop", "height"} else None
        self.levels = []
        for line in range(getattr(survey, "lines", 0)):
            self.levels.append(len(start))
            start.append(0.0)
        self.normal = None
        if "symmetric" in what:
            normal, off = survey.mirror
            self.normal = self.leaning(axes @ normal, start)
            self.off = len(start)
            start.append(off - np.dot(normal, origin))
        self.start = np.array(start)
        self.rows = None

    def leaning(self, guess, start):
        """A direction by its guess and two leans, in thousandths."""
        place = len(start)
        sides = np.linalg.svd(guess[None, :])[2][1:]
        if self.survey.flat:
            sides = [np.array([-guess[1], guess[0], 0.0])]
        start.extend(0.0 for _ in sides)
        return guess, sides, place

    def direction(self, leaning, at):
        guess, sides, place = leaning
        long = guess + sum(side * at[place + number] / 1000 for number, side in enumerate(sides))
        return long / length_of(long)

    def beside(self, along, still):
        """Directions square to another that do not turn about it as it leans: those square to where it is `still`, made square again."""
        if self.survey.flat:
            return [np.array([-along[1], along[0], 0.0])]
        return [side - along * np.dot(along, side) for side in np.linalg.svd(still[None, :])[2][1:]]

    def residuals(self, at, still):
        """Computed less measured over the standard deviation; `still` is where directions to the side are taken."""
        points = [np.array([at[self.places[point, axis]] if (point, axis) in self.places else 0.0 for axis in range(3)]) for point in range(len(self.survey.points))]
        settled = points if still is at else [np.array([still[self.places[point, axis]] if (point, axis) in self.places else 0.0 for axis in range(3)]) for point in range(len(self.survey.points))]
        up = self.direction(self.up, at) if self.up else None
        still_up = self.direction(self.up, still) if self.up else None
        out, rows = [], []
        for reading in self.readings:
            first, what = len(out), reading["what"]
            own = [points[point] for point in reading["points"]]
            if what == "distance":
                out.append(length_of(own[1] - own[0]) + reading["longer"] - reading["value"])
            elif what == "drop":
                out.append(np.dot(up, own[0] - own[1]) - reading["value"])
            elif what == "plumb":
                out.extend(np.dot(side, own[0] - own[1]) for side in self.beside(up, still_up))
            elif what == "height":
                out.append(np.dot(up, own[0]) + at[self.levels[reading["line"]]] - reading["value"])
            elif what == "line":
                a, b = (points[point] for point in reading["of"])
                before = settled[reading["of"][1]] - settled[reading["of"][0]]
                along = (b - a) / length_of(b - a)
                out.extend(np.dot(side, own[0] - a) for side in self.beside(along, before / length_of(before)))
            elif what == "plane":
                a, b, c = (points[point] for point in reading["of"])
                normal = np.cross(b - a, c - a)
                out.append(np.dot(normal / length_of(normal), own[0] - a))
            else:
                normal = self.direction(self.normal, at)
                off = own[1] - own[0] + normal * 2 * (np.dot(normal, own[0]) - at[self.off])
                out.extend(off[: self.survey.dims])
            rows.append((first, len(out)))
            out[first:] = [value / reading["sd"] for value in out[first:]]
        self.rows = rows
        return np.array(out)

    def slopes(self, at):
        """Derivatives by a step along the imaginary axis: exact to rounding."""
        step = 1e-30
        columns = []
        for place in range(len(at)):
            moved = at.astype(complex)
            moved[place] += 1j * step
            columns.append(self.residuals(moved, at).imag / step)
        return np.array(columns).T

    def settled(self, at, kept):
        """The last digits. Where the sum of squares is flat the search stops; with large residuals plain steps may swing about the minimum for ever, and where a point lies
        in the plane of all that it is taped to they lead far away: then second derivatives find it."""
        # A thousandth of a millimetre is more than a search that came to rest leaves.
        before, near = 1e-3, at
        for _ in range(12):
            step = np.linalg.lstsq(self.slopes(near)[kept], -self.residuals(near, near)[kept], rcond=None)[0]
            far = np.linalg.norm(step)
            if not far < before:
                break
            near, before = near + step, far
            if far < 1e-10:
                return near

        def gradient(x):
            return self.slopes(x)[kept].T @ self.residuals(x, x)[kept]

        norms = np.linalg.norm(self.slopes(at)[kept], axis=0)
        apart = 1e-2 / np.maximum(norms, 1e-3 * norms.max())
        bends = np.array([(gradient(at + way) - gradient(at - way)) / (2 * one) for one, way in zip(apart, np.diag(apart))])
        before = math.inf
        for _ in range(12):
            step = -np.linalg.lstsq(bends, gradient(at), rcond=None)[0]
            if not np.linalg.norm(step) < before:
                break
            at, before = at + step, np.linalg.norm(step)
        return at

    def solve(self, without=None, start=None):
        """Unknowns, residuals, their variances, the covariance of the unknowns, what is redundant and the sum of squares, one reading left out.

        Where without it some unknowns are not told any more, the unknowns are None.
        """
        start = self.start if start is None else start
        self.residuals(start, start)
        out = set() if without is None else set(range(*self.rows[without]))
        kept = [row for row in range(self.rows[-1][1]) if row not in out]
        found = least_squares(lambda x: self.residuals(x, x)[kept], start, jac=lambda x: self.slopes(x)[kept], method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15)
        slopes = self.slopes(found.x)[kept]
        norms = np.linalg.norm(slopes, axis=0)
        rank = int((np.linalg.svd(slopes / np.maximum(norms, 1e-12), compute_uv=False) > 1e-5).sum())
        if rank < len(start):
            return None, None, None, None, len(kept) - rank, 2 * float(found.cost)
        at = self.settled(found.x, kept)
        slopes = self.slopes(at)[kept]
        norms = np.linalg.norm(slopes, axis=0)
        covariance = np.linalg.inv((slopes / norms).T @ (slopes / norms)) / np.outer(norms, norms)
        left = self.residuals(at, at)
        spread = np.eye(len(kept)) - slopes @ covariance @ slopes.T
        return at, left, spread, covariance, len(kept) - len(at), float(left[kept] @ left[kept])


def standardised(left, spread):
    """Of one reading with its rows: with sign where it has one row, else the size of the one figure that is as unlikely."""
    if len(left) == 1:
        return left[0] / math.sqrt(spread[0, 0]) if spread[0, 0] > 1e-6 else None
    values, vectors = np.linalg.eigh(spread)
    told = values > 1e-6
    if not told.any():
        return None
    squares = float(sum((vectors[:, place] @ left) ** 2 / values[place] for place in np.flatnonzero(told)))
    count = int(told.sum())
    if count == 1 or squares > 600:
        return math.sqrt(squares)
    return float(norm.isf(chi2.sf(squares, count) / 2))


def compare(seed, found, survey):
    """One network."""
    judge = Judge(survey)
    at, left, spread, covariance, freedom, squares = judge.solve()
    assert found["undetermined"] == [], (seed, found["undetermined"], found["notes"])
    told = found["distances"] + found["others"]
    assert len(told) == len(judge.readings), seed
    sizes = []
    for own, reading, rows in zip(told, judge.readings, judge.rows, strict=True):
        block, here = spread[slice(*rows), slice(*rows)], left[slice(*rows)]
        w = standardised(here, block)
        sizes.append(abs(w) if w is not None else 0.0)
        assert [own["from"], own["to"]] == ([survey.names[point] for point in reading["points"]] + [None])[:2], (seed, own)
        assert own.get("what", "distance") == reading["what"], (seed, own)
        residual = (here[0] if len(here) == 1 else np.linalg.norm(here)) * reading["sd"]
        assert abs(own["residual_mm"] - residual) <= 1e-6, (seed, own, residual)
        assert abs(own["redundancy"] - np.trace(block) / len(here)) <= 1e-6, (seed, own, block)
        assert (own["standardised"] is None) == (w is None), (seed, own, w)
        assert w is None or abs(own["standardised"] - w) <= 2e-6 * max(1.0, abs(w)), (seed, own, w)
    # The rule: every reading in turn is taken out.
    suspects = [number for number, size in enumerate(sizes) if size > 3.29] if freedom and chi2.sf(squares, freedom) < 0.05 else []
    sure = []
    if suspects:
        rest = [judge.solve(number, at) if sizes[number] else None for number in range(len(told))]
        chances = [chi2.sf(one[5], one[4]) if one and one[4] else (1.0 if one else chi2.sf(squares, freedom)) for one in rest]
        sure = [number for number in suspects if chances[number] >= 0.05 and all(chance < 0.001 for other, chance in enumerate(chances) if other != number)]
    named = {(entry["what"], entry["from"], entry["to"]): entry for entry in found["misread"]}
    assert len(named) == len(suspects), (seed, found["misread"], suspects)
    for number in suspects:
        reading = judge.readings[number]
        key = (reading["what"], *([survey.names[point] for point in reading["points"]] + [None])[:2])
        entry = named[key]
        assert entry["sure"] == (number in sure), (seed, entry, sure)
        rows = judge.rows[number]
        if rest[number][0] is None:
            # What is measured of swings without it: what is redundant of it says how far off it is.
            alone = left[slice(*rows)] / (np.trace(spread[slice(*rows), slice(*rows)]) / (rows[1] - rows[0]))
        else:
            alone = rest[number][1][slice(*rows)]
        by = -alone[0] * reading["sd"] if len(alone) == 1 else np.linalg.norm(alone) * reading["sd"]
        assert abs(entry["by_mm"] - by) <= max(1e-6, 1e-8 * abs(by)), (seed, entry, by)
    if sure:
        at, _, _, covariance, _, _ = rest[sure[0]]
    for point in found["points"]:
        number = survey.names.index(point["name"])
        for axis in range(3):
            place = judge.places.get((number, axis))
            wanted, sd = (at[place], math.sqrt(covariance[place, place])) if place is not None else (0.0, 0.0)
            own = point["at_mm"][axis]
            assert own is not None and abs(own - wanted) <= TOLERANCE * max(abs(wanted), sd), (seed, point, axis, wanted, sd)
            assert abs(point["sd_mm"][axis] - sd) <= TOLERANCE * sd, (seed, point, axis, sd)
    return len(suspects), len(sure)


def main():
    """The samples whose points are all told, then random networks, one after the other."""
    suspects = sure = samples = 0
    for path in sorted((program.TOP / "samples/surveys").glob("*.yaml")):
        found = json.loads(program.run("tubewright", "survey", str(path), "--format", "json").stdout)
        if not found["undetermined"]:
            compare(path.stem, found, Taped(path, found))
            samples += 1
    assert samples >= 2, samples
    sorts = set()
    with tempfile.TemporaryDirectory() as folder:
        record = pathlib.Path(folder) / "survey.yaml"
        for seed in range(CASES):
            survey = Survey(seed)
            record.write_text(survey.yaml())
            run = program.run("tubewright", "survey", str(record), "--format", "json")
            assert run.returncode in (0, 1), (seed, run.stderr, survey.yaml())
            found = json.loads(run.stdout)
            assert run.returncode == (1 if found["misread"] or found["undetermined"] else 0), seed
            listed, named = compare(seed, found, survey)
            suspects, sure = suspects + listed, sure + named
            sorts |= {reading["what"] for reading in survey.readings}
    assert sure and suspects > sure and sorts == set(ORDER), (suspects, sure, sorts)
    print(f"judge: survey: {samples} samples and {CASES} networks as by scipy, {suspects} readings under suspicion in both, {sure} of them for sure")


if __name__ == "__main__":
    sys.exit(main())
