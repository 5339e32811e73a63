"""Half-bent tubes: what the bends that are left have to be, found again by scipy from the description of `--done` alone.

For random tubes in space, some bends of each made and off by chance: the made ones are where they came out (angle after release, slip toward end B, roll
clockwise from end A, the start of an arc kept with lead A and its end with lead B); end B and the line of the last leg are held within 1e-6 mm and 1e-9
radian, and no other shape that holds them has its nodes between off by less (SLSQP, over rows, with the blank and the rolls between made bends as equations). With one
bend left they cannot be held: the same weighted least squares by scipy, to 1e-6. What came out as planned leaves the plan's own steps.
"""

import json
import math
import os
import pathlib
import random
import sys
import tempfile

# Matrices of a dozen rows: more threads only wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from scipy.optimize import least_squares, minimize

import program

BENDER = """
kind: bender
units: mm
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 1500
dies: {{ d: {{ od: 30, clr: {clr!r}, max_angle: 195, clamp_length: 30, follower_length: 30,
  materials: {{ steel: {{ springback: {{ constant: 1.2, proportional: {k!r} }}, stretch: {e!r} }} }} }} }}
"""
HELD, FREE, SAME = 30, 12, 10


class Tube:
    """A random tube, and which bends of it are made and how they came out."""

    def __init__(self, seed, left):
        chance = random.Random(seed)
        bends = left + chance.randint(1, 2)
        self.k, self.e, self.clr = chance.uniform(0, 0.04), chance.uniform(0, 0.03), chance.uniform(70, 110)
        self.radius = self.clr * (1 + self.k)
        self.rows = [(chance.uniform(250, 500), chance.choice((-1, 1)) * chance.uniform(20, 150), chance.uniform(25, 85)) for _ in range(bends)]
        self.rows[0] = (self.rows[0][0], 0.0, self.rows[0][2])
        self.last = chance.uniform(300, 600)
        self.extra = chance.choice((0.0, 12.0))
        # Mostly from end A on, sometimes from end B, or from the middle.
        forward = [f"{bend + 1}{chance.choice('AAB')}" for bend in range(bends)]
        backward = [f"{bend + 1}{chance.choice('ABB')}" for bend in reversed(range(bends))]
        mixed = chance.sample(forward, bends)
        self.order = chance.choice((forward, forward, backward, mixed))
        self.made = {}
        for turn in self.order[: bends - left]:
            off = lambda by: chance.uniform(-by, by) if chance.random() < 0.8 else 0.0
            self.made[int(turn[:-1]) - 1] = (turn[-1], self.rows[int(turn[:-1]) - 1][2] + off(2.5), off(3), off(2))

    def job(self, folder):
        """Writes both files; the path of the job."""
        (folder / "bender.yaml").write_text(BENDER.format(clr=self.clr, k=self.k, e=self.e))
        rows = "".join(f"      - {{ length: {l!r}, {f'rotation: {r!r}, ' if i else ''}bend: {a!r} }}\n" for i, (l, r, a) in enumerate(self.rows))
        job = folder / "job.yaml"
        job.write_text(
            "kind: job\nunits: mm\nbender: bender.yaml\ntube: { od: 30, wall: 2, material: steel, die: d }\n"
            f"tubes:\n  t:\n    extra: {{ a: {self.extra!r}, b: 0 }}\n    rows:\n{rows}      - {{ length: {self.last!r} }}\n"
        )
        return job

    def done(self):
        """What is given with --done."""
        return ", ".join(f"{bend + 1}{lead} angle={angle!r} slip={slip!r} roll={roll!r}" for bend, (lead, angle, slip, roll) in self.made.items())


def turned(vector, axis, degrees):
    """Rodrigues."""
    sin, cos = math.sin(math.radians(degrees)), math.cos(math.radians(degrees))
    return vector * cos + np.cross(axis, vector) * sin + axis * (axis @ vector) * (1 - cos)


def shape(rows, last, radius):
    """Corners, end B and the last direction: end A at the origin, the first leg along +x, the first bend toward +y."""
    at, along, normal = np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 0, 1.0])
    corners, before = [], 0.0
    for length, rotation, angle in rows:
        setback = radius * math.tan(math.radians(angle / 2))
        at = at + along * (before + length + setback)
        corners.append(at)
        normal = turned(normal, along, rotation)
        along = turned(along, normal, angle)
        before = setback
    return np.array(corners), at + along * (before + last), along


class Judge:
    """The same tube as rows, all of them unknown, with equations for what is made."""

    def __init__(self, tube):
        self.tube = tube
        self.bends = len(tube.rows)
        self.wanted = shape(tube.rows, tube.last, tube.radius)
        self.start = np.array([*np.ravel(tube.rows), tube.last])
        # Where arcs start and end on the blank, and rolls, as planned.
        self.planned = self.blank(self.start)

    def split(self, x):
        """Rows and the last straight."""
        return x[:-1].reshape(-1, 3), x[-1]

    def per_degree(self):
        """Blank that a degree of bend takes."""
        return self.tube.radius * math.radians(1) / (1 + self.tube.e)

    def blank(self, x):
        """Start of each arc, its end, and its roll."""
        at, roll, all_of = self.tube.extra, 0.0, []
        for length, rotation, angle in self.split(x)[0]:
            start, roll = at + length, roll + rotation
            at = start + angle * self.per_degree()
            all_of.append((start, at, roll))
        return all_of

    def equations(self, x):
        """What the made bends hold: angle, place, and roll against the first made one. The first rotation is none."""
        rows, blank, first, left = self.split(x)[0], self.blank(x), None, [x[1]]
        for bend in sorted(self.tube.made):
            lead, angle, slip, roll = self.tube.made[bend]
            end = 0 if lead == "A" else 1
            left += [rows[bend][2] - angle, blank[bend][end] - self.planned[bend][end] - slip]
            off = blank[bend][2] - self.planned[bend][2] - roll
            if first is not None:
                left.append(off - first)
            first = off if first is None else first
        return np.array(left)

    def between(self, x):
        """Corners off their nodes, mm."""
        rows, last = self.split(x)
        return np.ravel(shape(rows, last, self.tube.radius)[0] - self.wanted[0])

    def held(self, x):
        """End B and the last line: five figures."""
        _, end, along = shape(*self.split(x), self.tube.radius)
        across = np.linalg.svd(self.wanted[2][None])[2][1:]
        return np.concatenate([end - self.wanted[1], 100 * across @ along])

    def weighted(self, x):
        """All residuals with their weights; the last direction as an angle."""
        _, end, along = shape(*self.split(x), self.tube.radius)
        axis = np.cross(self.wanted[2], along)
        sine = np.linalg.norm(axis)
        angle = math.atan2(sine, self.wanted[2] @ along)
        return np.concatenate([1000 * (end - self.wanted[1]), 100 * axis * (angle / sine if sine > 1e-12 else 1.0), self.between(x)])

    def free(self):
        """A basis of all that the equations, which are straight, leave free, and a solution of them."""
        size = len(self.start)
        flat = self.equations(np.zeros(size))
        matrix = np.array([self.equations(row) - flat for row in np.eye(size)]).T
        # Angles of 100 mm for a radian beside mm, so that all are of a like size.
        scale = np.array([1, 0.6, 0.6] * self.bends + [1])
        basis = np.linalg.svd(matrix / scale)[2][np.linalg.matrix_rank(matrix / scale) :].T
        some = self.start + np.linalg.lstsq(matrix / scale, -self.equations(self.start), rcond=None)[0] / scale
        return some, basis / scale[:, None]


def slopes(of, at):
    """Derivatives by central differences; figures of some mm or degrees are straight enough over a hundredth of one."""
    step = 1e-3
    return np.array([(of(at + step * unit) - of(at - step * unit)) / (2 * step) for unit in np.eye(len(at))]).T


def rows_of(tube):
    """The unknowns as the program has them."""
    return np.array([value for row in tube["rows"][:-1] for value in (row["length_mm"], row["rotation_deg"], row["bend_deg"])] + [tube["rows"][-1]["length_mm"]])


def wrapped(x, near):
    """Rotations by whole turns, so that they lie near others: only their sum counts."""
    x = x.copy()
    x[1:-1:3] += 360 * np.round((near[1:-1:3] - x[1:-1:3]) / 360)
    return x


def planned(job, *more):
    """A tube's document and the exit status."""
    run = program.run("tubewright", "plan", str(job), "--quiet", "--format", "json", *more)
    if run.returncode not in (0, 1):
        raise SystemExit(f"rescue: {more}: {run.stderr}")
    return json.loads(run.stdout)["tubes"][0]


def solved(folder, seed, left):
    """A random tube, its judge and what the program makes of it."""
    tube = Tube(seed, left)
    out = planned(tube.job(folder), "--order", " ".join(tube.order), "--done", tube.done())
    judge = Judge(tube)
    found = wrapped(rows_of(out), judge.start)
    faults = []
    if np.abs(judge.equations(found)).max() > 1e-7:
        faults.append(f"the made bends are not as they came out: {judge.equations(found)}")
    corners, end, _ = shape(*judge.split(found), tube.radius)
    nodes = np.array(out["nodes_mm"])
    if np.abs(nodes[1:-1] - corners).max() > 1e-6 or np.abs(nodes[-1] - end).max() > 1e-6:
        faults.append("nodes are not those of the rows")
    u = judge.blank(found)[-1][1] + found[-1]
    cut = judge.planned[-1][1] + tube.last
    if abs(out["cut_length_mm"] - cut) > 1e-6 or abs(out["rescue"]["left_at_b_mm"] - (cut - u)) > 1e-6:
        faults.append("the tube is not as long as it was cut")
    return tube, judge, out, found, faults


def check_held(folder, seed):
    """End B held, and no nearer nodes."""
    tube, judge, out, found, faults = solved(folder, seed, 2 + seed % 2)
    off = judge.held(found)
    if not out["rescue"]["held"]:
        return faults + ["not held"]
    if np.linalg.norm(off[:3]) > 1e-6 or np.linalg.norm(off[3:]) / 100 > 1e-9:
        faults.append(f"end B or the last leg is off by {off}")
    some, basis = judge.free()
    guess = np.linalg.lstsq(basis, found - some, rcond=None)[0]
    # From near the program's own answer, or from the plan; SLSQP does not always come to rest.
    looked, chance = False, np.random.default_rng(seed)
    for start in (*(guess + chance.normal(0, by, len(guess)) for by in (0.3, 0.1, 1.0, 0.03)), guess * 0):
        if looked:
            break
        between, held = (lambda z, of=of: of(some + basis @ z) for of in (judge.between, judge.held))
        best = minimize(
            lambda z: between(z) @ between(z) / 100, start, jac=lambda z: between(z) @ slopes(between, z) / 50, method="SLSQP",
            constraints={"type": "eq", "fun": held, "jac": lambda z: slopes(held, z)}, options={"maxiter": 200, "ftol": 1e-12},
        )
        if best.success and np.abs(held(best.x)).max() < 1e-6:
            looked = True
            mine = judge.between(found) @ judge.between(found)
            if mine > 100 * best.fun + 1e-6 * (1 + mine):
                faults.append(f"{mine} for the nodes, where {100 * best.fun} are enough")
    return faults if looked else faults + ["SLSQP finds nothing to compare with"]


def check_free(folder, seed):
    """One bend left: weighted least squares."""
    tube, judge, out, found, faults = solved(folder, seed, 1)
    if out["rescue"]["held"]:
        return faults + ["held, which cannot be"]
    some, basis = judge.free()
    best = least_squares(lambda z: judge.weighted(some + basis @ z), np.zeros(basis.shape[1]), xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale="jac", jac="3-point")
    wanted = some + basis @ best.x
    mine, least = (np.sum(judge.weighted(x) ** 2) for x in (found, wanted))
    if abs(mine - least) > 1e-6 * least or np.abs(found - wanted).max() > 1e-5:
        faults.append(f"{mine} where {least} is the least; rows differ by {np.abs(found - wanted).max()}")
    return faults


def check_same(folder, seed):
    """What came out as planned: the steps that are left are the plan's."""
    tube = Tube(seed, 2)
    job = tube.job(folder)
    whole = planned(job)
    if not whole["feasible"]:
        return None
    made = len(whole["steps"]) - 2
    rest = planned(job, "--done", ", ".join(f"{step['bend']}{step['lead']}" for step in whole["steps"][:made]))
    faults = []
    for one, other in zip(whole["steps"][made:], rest["steps"], strict=True):
        for key in one:
            if key == "step":
                continue
            near = isinstance(one[key], float) and abs(one[key] - other[key]) < 1e-6
            if one[key] != other[key] and not near and key not in ("clearances", "swing", "gauge", "pin_moves"):
                faults.append(f"step {one['step']}: {key} is {other[key]}, {one[key]} in the plan")
    return faults


def main():
    """All cases; status 1 where any differs."""
    counts, bad = {}, 0
    with tempfile.TemporaryDirectory() as folder:
        for name, check, wanted in (("held", check_held, HELD), ("weighted", check_free, FREE), ("as planned", check_same, SAME)):
            seed = 0
            while counts.get(name, 0) < wanted and seed < 10 * wanted:
                faults = check(pathlib.Path(folder), seed)
                if faults is not None:
                    counts[name] = counts.get(name, 0) + 1
                    for fault in faults:
                        print(f"rescue: {name}, seed {seed}: {fault}", file=sys.stderr)
                    bad += bool(faults)
                seed += 1
    told = ", ".join(f"{count} {name}" for name, count in counts.items())
    print(f"judge: rescue: {told}, {bad} of them differ")
    return 1 if bad or len(counts) < 3 or min(counts.values()) < 5 else 0


if __name__ == "__main__":
    sys.exit(main())
