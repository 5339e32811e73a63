"""What records of test bends tell, found again by scipy's least squares from the description of the record alone.

For random shops and records: every true angle is an unknown, and so is where each bend starts; exact readings and marks are put in. Figures and standard
deviations agree to 1e-8 of themselves, or of their standard deviation where that is larger; what is left over at each bend to 1e-6. What the record
cannot tell is null.
"""

import json
import math
import pathlib
import random
import sys
import tempfile

import numpy as np
from scipy.optimize import least_squares

import program

BENDER = """
kind: bender
units: mm
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 860
pointer: {{ set_to: {set_to!r}, when: {when} }}
dies: {{ d: {{ od: 38.1, clr: 127, max_angle: 195, clamp_length: 70, follower_length: 150 }} }}
"""
OD = 38.1
KEYS = ("constant_deg", "proportional", "clr_mm", "stretch", "mark_offset_mm")
CASES = 100
TOLERANCE = 1e-8


class Shop:
    """A shop with its true figures, and a record of it with errors."""

    def __init__(self, seed):
        chance = random.Random(seed)
        self.c, self.k = math.radians(chance.uniform(0.3, 2.5)), chance.uniform(0.01, 0.05)
        self.clr, self.e, self.m = chance.uniform(120, 135), chance.uniform(0.0, 0.03), chance.uniform(-6, 6)
        self.set_to = chance.choice((-1.5, 0.5))
        self.when = chance.choice(("slack-out", "first-bite"))
        self.zero = self.set_to if self.when == "first-bite" else 0.0
        # Standard deviations in mm and degrees; a mark and a reading are often exact.
        self.sd = {"length": chance.uniform(0.2, 1.5), "angle": chance.uniform(0.05, 0.5)}
        if chance.random() < 0.5:
            self.sd["mark"] = chance.uniform(0.2, 1.0)
        if chance.random() < 0.5:
            self.sd["reading"] = chance.uniform(0.1, 0.6)
        marked = seed % 5 != 4
        angles = [chance.uniform(20, 40), chance.uniform(85, 100), chance.uniform(110, 140)]
        angles += [chance.uniform(15, 150) for _ in range(chance.randrange(4))]
        self.bends = [self.bend(chance, angle, place < 3, marked) for place, angle in enumerate(angles)]
        if seed % 3 == 1:
            # A slip of the hand, for both to find.
            slip, by = chance.choice((("angle", 3.0), ("blank", -12.0)))
            self.bends[chance.randrange(3)][slip] += by
        self.marked = any("mark" in bend for bend in self.bends)

    def bend(self, chance, about, full, marked):
        """One bend: with all its lengths, or with some."""
        theta, noise = math.radians(about), lambda key: chance.gauss(0, self.sd.get(key, 0.0))
        radius = self.clr * (1 + self.k)
        setback, arc = radius * math.tan(theta / 2), radius * theta / (1 + self.e)
        lead, blank, mark = chance.choice("AB"), chance.uniform(900, 1100), chance.uniform(380, 420)
        start = mark + self.m if lead == "A" else mark - self.m - arc
        taken = chance.choice(("centre", "outside", "inside", None))
        longer = {"outside": 1, "inside": -1}.get(taken, 0) * OD / 2 * math.tan(theta / 2)
        reading = about * (1 + self.k) + math.degrees(self.c) + self.zero + noise("reading")
        bend = {"reading": reading, "angle": about + noise("angle")}
        if not full and chance.random() < 0.3:
            return bend
        if marked and (full or chance.random() < 0.7):
            bend |= {"mark": mark + noise("mark"), "lead": lead}
        legs = [start + setback + longer + noise("length"), blank - start - arc + setback + longer + noise("length")]
        if full or chance.random() < 0.8:
            bend |= {"blank": blank + noise("length"), "legs": legs}
            if taken:
                bend["measured"] = taken
        if chance.random() < 0.3 and ("mark" in bend or "legs" in bend):
            bend["start"] = start + noise("length")
        if not full and chance.random() < 0.2 and "legs" in bend:
            del bend["reading"]
        return bend

    def yaml(self):
        """The record."""
        flow = lambda pairs: "{ " + ", ".join(f"{key}: {value if isinstance(value, (str, list)) else repr(value)}" for key, value in pairs.items()) + " }"
        lines = "".join(f"  - {flow(bend)}\n" for bend in self.bends)
        return (
            "kind: test-bends\nunits: mm\nbender: bender.yaml\ndie: d\nmaterial: steel\n"
            f"tube: {{ od: {OD} }}\naccuracy: {flow(self.sd)}\nbends:\n{lines}"
        )


class Judge:
    """The same record as equations: figures first, then the true angles, starts and blanks of the bends."""

    def __init__(self, shop):
        self.shop = shop
        self.at = [math.radians(1.0), 0.02, 127.0, 0.01] + ([0.0] if shop.marked else [])
        self.places = []
        for bend in shop.bends:
            places = {}
            if "reading" not in bend or "reading" in shop.sd:
                places["theta"] = self.new(math.radians(bend["angle"]))
            lengths = "legs" in bend or "start" in bend
            if lengths and ("mark" not in bend or "mark" in shop.sd):
                places["start"] = self.new(bend.get("mark", bend.get("start", 400.0)))
            if "blank" in bend:
                places["blank"] = self.new(bend["blank"])
            self.places.append(places)
        self.names = []
        self.residuals(np.array(self.at), self.names)

    def new(self, value):
        """Place of one more unknown."""
        self.at.append(value)
        return len(self.at) - 1

    def residuals(self, at, names=None):
        """Measured less computed over the standard deviation, of all measurements; complex figures in, complex figures out."""
        shop, out = self.shop, []
        c, k, clr, e = at[:4]
        m = at[4] if shop.marked else 0.0
        rad = math.radians
        for number, (bend, places) in enumerate(zip(shop.bends, self.places)):

            def row(what, measured, computed, sd):
                out.append((measured - computed) / sd)
                if names is not None:
                    names.append((number, what, sd))

            turned = rad(bend["reading"] - shop.zero) if "reading" in bend else None
            theta = at[places["theta"]] if "theta" in places else (turned - c) / (1 + k)
            row("angle", rad(bend["angle"]), theta, rad(shop.sd["angle"]))
            if turned is not None and "reading" in shop.sd:
                row("reading", turned, theta * (1 + k) + c, rad(shop.sd["reading"]))
            tan = np.tan(theta / 2)
            radius = clr * (1 + k)
            setback, arc = radius * tan, radius * theta / (1 + e)
            longer = {"outside": 1, "inside": -1}.get(bend.get("measured"), 0) * OD / 2 * tan
            if "legs" not in bend and "start" not in bend:
                continue
            if "start" in places:
                start = at[places["start"]]
                if "mark" in bend:
                    row("mark", bend["mark"], start - m if bend["lead"] == "A" else start + arc + m, shop.sd["mark"])
            else:
                start = bend["mark"] + m if bend["lead"] == "A" else bend["mark"] - m - arc
            if "blank" in bend:
                blank = at[places["blank"]]
                row("blank", bend["blank"], blank, shop.sd["length"])
                row("leg 1", bend["legs"][0], start + setback + longer, shop.sd["length"])
                row("leg 2", bend["legs"][1], blank - start - arc + setback + longer, shop.sd["length"])
            if "start" in bend:
                row("start", bend["start"], start, shop.sd["length"])
        return np.array(out)

    def slopes(self, at):
        """Derivatives by a step along the imaginary axis: exact to rounding."""
        step = 1e-30
        columns = []
        for place in range(len(at)):
            moved = at.astype(complex)
            moved[place] += 1j * step
            columns.append(self.residuals(moved).imag / step)
        return np.array(columns).T

    def solve(self):
        """Figures, their standard deviations, and what is left over at each bend."""
        start = np.array(self.at)
        scale = np.maximum(np.abs(start), 1e-2)
        scaled = lambda x: self.residuals(x * scale)
        found = least_squares(scaled, start / scale, jac=lambda x: self.slopes(x * scale) * scale, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15)
        at = found.x * scale
        # One plain step more: what the search leaves is of second order.
        for _ in range(3):
            at = at + np.linalg.lstsq(self.slopes(at), -self.residuals(at), rcond=None)[0]
        slopes, left = self.slopes(at), self.residuals(at)
        norms = np.linalg.norm(slopes, axis=0)
        covariance = np.linalg.inv((slopes / norms).T @ (slopes / norms)) / np.outer(norms, norms)
        spread = np.eye(len(left)) - slopes @ covariance @ slopes.T
        figures = list(at[:5] if self.shop.marked else at[:4])
        deviations = list(np.sqrt(np.diag(covariance))[: len(figures)])
        figures[0], deviations[0] = math.degrees(figures[0]), math.degrees(deviations[0])
        return figures, deviations, [self.standardised(number, left, spread) for number in range(len(self.places))]

    def standardised(self, number, left, spread):
        """What is left over in the equations of the angle, the blank and the mark of a bend, each over its standard deviation."""
        row = {what: (place, sd) for place, (bend, what, sd) in enumerate(self.names) if bend == number}
        bend = self.shop.bends[number]

        def over(weights):
            by = np.zeros(len(left))
            for what, weight in weights.items():
                if what == "mark" and "mark" not in row:
                    continue
                if what not in row:
                    return None
                place, sd = row[what]
                by[place] = weight * sd
            variance = by @ spread @ by
            return by @ left / math.sqrt(variance) if variance > 1e-6 * (by @ by) else None

        marks = []
        if "mark" in bend:
            marks.append(over({"mark": 1, "leg 1": -1} if bend["lead"] == "A" else {"mark": 1, "blank": -1, "leg 2": 1}))
            # With either end leading the mark differs from where the start puts it by just these two errors.
            marks.append(over({"mark": 1, "start": -1}))
        marks = [mark for mark in marks if mark is not None]
        return {
            "angle": over({"angle": 1}),
            "blank": over({"blank": 1, "leg 1": -1, "leg 2": -1}),
            "mark": max(marks, key=abs) if marks else None,
        }


def compare(seed, found, judge):
    """One record."""
    figures, deviations, bends = judge.solve()
    assert found["schema"] == "tubewright/calibration/1" and (found["die"], found["material"]) == ("d", "steel")
    for key, figure, deviation in zip(KEYS, figures, deviations):
        own = found[key]
        assert own is not None, (seed, key, found["notes"])
        size = max(abs(figure), deviation)
        assert abs(own["value"] - figure) <= TOLERANCE * size, (seed, key, own, figure, deviation)
        assert abs(own["sd"] - deviation) <= TOLERANCE * deviation, (seed, key, own, figure, deviation)
    assert (found["mark_offset_mm"] is None) == (not judge.shop.marked), (seed, found["mark_offset_mm"])
    for own, bend in zip(found["bends"], bends, strict=True):
        for what, by in bend.items():
            told = own["standardised"][what]
            assert (told is None) == (by is None), (seed, own, bend)
            assert by is None or abs(told - by) <= 1e-6, (seed, own, bend)
        assert own["outlier"] == any(by is not None and abs(by) > 3 for by in bend.values()), (seed, own, bend)


def main():
    """Random records, one after the other."""
    outliers = 0
    with tempfile.TemporaryDirectory() as folder:
        record, bender = pathlib.Path(folder) / "record.yaml", pathlib.Path(folder) / "bender.yaml"
        for seed in range(CASES):
            shop = Shop(seed)
            bender.write_text(BENDER.format(set_to=shop.set_to, when=shop.when))
            record.write_text(shop.yaml())
            run = program.run("tubewright", "calibrate", str(record), "--format", "json")
            assert run.returncode == 0, (seed, run.stderr, shop.yaml())
            found = json.loads(run.stdout)
            compare(seed, found, Judge(shop))
            outliers += sum(bend["outlier"] for bend in found["bends"])
    assert outliers, "no record had a bend to be called an outlier"
    print(f"judge: calibrate: {CASES} records as by scipy, {outliers} bends called outliers in both")


if __name__ == "__main__":
    sys.exit(main())
