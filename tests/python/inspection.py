"""Measured parts, found again by scipy from the description of the record alone.

Nodes laid on the wanted ones: scipy's Rotation.align_vectors on random tubes with random errors, in random axes. Shapes from legs, angles, rotations,
distances, touched points and heights: scipy's least_squares on equations of its own, with a tube laid out by rotations. Both agree to 1e-8, and so do
the readings, marks and top lines of the next piece by the law of the die.
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
from scipy.spatial.transform import Rotation

import program

K, C, CLR, OD, E = 0.023, 1.3, 127.0, 38.1, 0.011
BENDER = f"""
kind: bender
units: mm
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 860
dies: {{ d: {{ od: {OD}, clr: {CLR}, max_angle: 195, clamp_length: 70, follower_length: 150, mark_offset: 4, materials: {{
  steel: {{ springback: {{ constant: {C}, proportional: {K} }}, stretch: {E} }} }} }} }}
"""
CASES = 100 if os.environ.get("TUBEWRIGHT_COUNT") == "full" else 40
TOLERANCE = 1e-8
R = CLR * (1 + K)


class Shape:
    """Legs from corner to corner, bend angles and rotations in radians; rotation 0 of bend 1 is none."""

    def __init__(self, legs, angles, rotations):
        self.legs, self.angles, self.rotations = legs, angles, rotations

    def frames(self):
        """Corners and ends, directions, normals, with end A at the origin."""
        at, turn = np.zeros(3), Rotation.identity()
        corners, directions, normals = [at], [], []
        for place, leg in enumerate(self.legs):
            if place:
                if place > 1:
                    turn = turn * Rotation.from_rotvec([self.rotations[place - 1], 0, 0])
                normals.append(turn.apply([0, 0, 1]))
                turn = turn * Rotation.from_rotvec([0, 0, self.angles[place - 1]])
            directions.append(turn.apply([1, 0, 0]))
            at = at + directions[-1] * leg
            corners.append(at)
        return np.array(corners), np.array(directions), np.array(normals)

    def straights(self):
        """What is left of the legs between tangent points."""
        back = [0.0] + [R * math.tan(angle / 2) for angle in self.angles] + [0.0]
        return [leg - back[place] - back[place + 1] for place, leg in enumerate(self.legs)]


def some_shape(chance, bends):
    """A tube as shops bend them, with a hand."""
    legs = [chance.uniform(450, 800) for _ in range(bends + 1)]
    angles = [math.radians(chance.uniform(25, 95)) for _ in range(bends)]
    rotations = [0.0] + [math.radians(chance.choice((-1, 1)) * chance.uniform(20, 150)) for _ in range(bends - 1)]
    return Shape(legs, angles, rotations)


def shaken(chance, shape):
    """The shape as it came off the bender."""
    off = lambda values, by: [value + chance.gauss(0, by) for value in values]
    rotations = [0.0] + off(shape.rotations[1:], math.radians(1.5))
    return Shape(off(shape.legs, 3.0), off(shape.angles, math.radians(1.5)), rotations)


def numbers(values):
    return "[" + ", ".join(repr(float(value)) for value in values) + "]"


def job(shape):
    """A job of one tube with these corners."""
    corners = shape.frames()[0]
    nodes = "".join(f"  p{place}: {numbers(corner)}\n" for place, corner in enumerate(corners))
    path = ", ".join(f"p{place}" for place in range(len(corners)))
    return (
        f"kind: job\nunits: mm\nbender: bender.yaml\ntube: {{ od: {OD}, wall: 2, material: steel, die: d }}\n"
        f"nodes:\n{nodes}tubes: {{ part: {{ path: [{path}], tolerance: 3 }} }}\n"
    )


def wrapped(angle):
    return math.remainder(angle, 2 * math.pi)


def agree(seed, what, own, other):
    """Within the tolerance of the figure, or of 1 where that is larger."""
    own, other = np.asarray(own, float), np.asarray(other, float)
    assert np.all(np.abs(own - other) <= TOLERANCE * np.maximum(1.0, np.abs(other))), (seed, what, own, other)


def inspected(folder, seed, shape, text, order):
    """What the program makes of a record."""
    (folder / "bender.yaml").write_text(BENDER)
    (folder / "job.yaml").write_text(job(shape))
    head = f'kind: measured-part\nunits: mm\njob: job.yaml\ntube: part\norder: "{order}"\n'
    (folder / "part.yaml").write_text(head + text)
    run = program.run("tubewright", "inspect", str(folder / "part.yaml"), "--format", "json")
    assert run.returncode in (0, 1), (seed, run.stderr, text)
    found = json.loads(run.stdout)
    assert run.returncode == (1 if found["within_tolerance"] is False else 0), (seed, found)
    return found


def compare_rows(seed, found, wanted, made):
    """Rows: measured less wanted."""
    for place, row in enumerate(found["rows"]):
        agree(seed, "length", row["length_mm"], made.straights()[place] - wanted.straights()[place])
        if place < len(made.angles):
            agree(seed, "bend", row["bend_deg"], math.degrees(made.angles[place] - wanted.angles[place]))
            agree(seed, "rotation", row["rotation_deg"], math.degrees(wrapped(made.rotations[place] - wanted.rotations[place])))


def compare_off(seed, found, wanted, made):
    """Corners, laid on the wanted ones by scipy."""
    aim, corners = wanted.frames()[0], made.frames()[0]
    middle, own = aim.mean(axis=0), corners.mean(axis=0)
    turn, _ = Rotation.align_vectors(aim - middle, corners - own)
    off = turn.apply(corners - own) + middle - aim
    agree(seed, "off", [node["off_mm"] for node in found["nodes"]], off)
    agree(seed, "rms", found["rms_mm"], math.sqrt((off**2).sum(axis=1).mean()))
    assert found["within_tolerance"] == bool(np.all(np.linalg.norm(off, axis=1) <= 3)), (seed, found)


def compare_next(seed, found, wanted, made, leads):
    """The whole error taken back: the blank laid out anew with what was wanted less the error."""
    less = lambda want, got: 2 * want - got
    angles = [less(want, got) for want, got in zip(wanted.angles, made.angles)]
    straights = [less(want, got) for want, got in zip(wanted.straights(), made.straights())]
    at, psi = 0.0, 0.0
    for place, angle in enumerate(angles):
        at += straights[place]
        psi += wanted.rotations[place] - wrapped(made.rotations[place] - wanted.rotations[place])
        arc, lead = R * angle / (1 + E), leads[place]
        mark = at - 4 if lead == "A" else at + arc + 4
        at += arc
        own = found["next"][place]
        assert (own["bend"], own["lead"]) == (place + 1, lead), (seed, own)
        agree(seed, "mark", own["mark_mm"], mark)
        agree(seed, "dial", own["dial_target_deg"], math.degrees(angle) * (1 + K) + C)
        top = wrapped(psi + (math.pi if lead == "B" else 0.0))
        agree(seed, "top", math.degrees(wrapped(math.radians(own["top_deg"]) - top)), 0.0)
    agree(seed, "cut", found["next_cut_length_mm"], at + straights[-1])


def of_nodes(folder, seed):
    """Nodes alone, in random axes: they are the shape, and align_vectors lays them."""
    chance = random.Random(seed)
    bends = chance.randrange(2, 6)
    wanted = some_shape(chance, bends)
    made = shaken(chance, wanted)
    turn = Rotation.random(random_state=seed)
    shift = np.array([chance.uniform(-2000, 2000) for _ in range(3)])
    nodes = turn.apply(made.frames()[0]) + shift
    text = "nodes:\n" + "".join(f"  p{place}: {numbers(node)}\n" for place, node in enumerate(nodes))
    leads = [chance.choice("AB") for _ in range(bends)]
    order = " ".join(f"{place + 1}{lead}" for place, lead in enumerate(leads))
    found = inspected(folder, seed, wanted, text, order)
    assert not found["wrong_hand"], (seed, found)
    compare_rows(seed, found, wanted, made)
    compare_off(seed, found, wanted, made)
    compare_next(seed, found, wanted, made, leads)


class Judge:
    """A record of all sorts as equations of its own."""

    def __init__(self, chance, wanted):
        made = shaken(chance, wanted)
        corners, directions, normals = made.frames()
        turn, shift = Rotation.random(random_state=chance.randrange(1 << 30)), np.array([chance.uniform(-500, 500) for _ in range(3)])
        self.sd = (chance.uniform(0.3, 1.5), math.radians(chance.uniform(0.1, 0.5)))
        self.bends, self.taken = len(wanted.angles), chance.choice((0, 1, -1))
        noise = lambda value: value + chance.gauss(0, self.sd[0])
        turned = lambda value: value + chance.gauss(0, self.sd[1])
        heel = self.heels(made.angles)
        self.legs = [noise(leg + heel[place] + heel[place + 1]) for place, leg in enumerate(made.legs)]
        self.angles = [turned(angle) for angle in made.angles]
        self.rotations = [turned(rotation) for rotation in made.rotations[1:]]
        pair = lambda: chance.sample(range(self.bends + 2), 2)
        self.distances = [(one, other, noise(np.linalg.norm(corners[one] - corners[other]) + self.taken * OD)) for one, other in (pair() for _ in range(3))]
        self.touched = []
        for leg in range(self.bends + 1):
            for _ in range(4):
                side = np.cross(directions[leg], [chance.gauss(0, 1) for _ in range(3)])
                at = corners[leg] + directions[leg] * made.legs[leg] * chance.uniform(0.3, 0.7)
                at = at + side / np.linalg.norm(side) * (OD / 2 + chance.gauss(0, self.sd[0]))
                self.touched.append((leg, turn.apply(at) + shift))
        self.nodes = [(node, turn.apply(corners[node]) + shift + [chance.gauss(0, self.sd[0]) for _ in range(3)]) for node in (0, self.bends)]
        self.flat = chance.randrange(self.bends)
        self.up = noise(-normals[self.flat] @ (corners[-1] - corners[self.flat + 1]))
        self.start = np.concatenate([made.legs, made.angles, made.rotations[1:], shift, turn.as_rotvec()])

    def heels(self, angles):
        """What half an OD further out adds to a leg at each of its ends."""
        return [0.0] + [self.taken * OD / 2 * math.tan(angle / 2) for angle in angles] + [0.0]

    def shape(self, at):
        n = self.bends
        return Shape(list(at[: n + 1]), list(at[n + 1 : 2 * n + 1]), [0.0, *at[2 * n + 1 : 3 * n]])

    def residuals(self, at):
        shape = self.shape(at)
        corners, directions, normals = shape.frames()
        pose, shift = Rotation.from_rotvec(at[-3:]), at[-6:-3]
        length, angle = self.sd
        heel = self.heels(shape.angles)
        out = [(leg + heel[place] + heel[place + 1] - read) / length for place, (leg, read) in enumerate(zip(shape.legs, self.legs))]
        out += [(own - read) / angle for own, read in zip(shape.angles, self.angles)]
        out += [wrapped(own - read) / angle for own, read in zip(shape.rotations[1:], self.rotations)]
        out += [(np.linalg.norm(corners[one] - corners[other]) + self.taken * OD - read) / length for one, other, read in self.distances]
        for leg, point in self.touched:
            to = pose.inv().apply(point - shift) - corners[leg]
            out.append((np.linalg.norm(to - directions[leg] * (directions[leg] @ to)) - OD / 2) / length)
        for node, point in self.nodes:
            out += list((pose.apply(corners[node]) + shift - point) / length)
        out.append((-normals[self.flat] @ (corners[-1] - corners[self.flat + 1]) - self.up) / length)
        return np.array(out)

    def slopes(self, at):
        """Derivatives of the residuals: central differences of three widths, so wide that rounding counts little against them."""
        columns = []
        for place in range(len(at)):
            step = np.eye(len(at))[place] * (0.3 if place <= self.bends or len(at) - 6 <= place < len(at) - 3 else 3e-4)
            wide, half, quarter = ((self.residuals(at + by) - self.residuals(at - by)) / (2 * by[place]) for by in (step, step / 2, step / 4))
            columns.append((64 * quarter - 20 * half + wide) / 45)
        return np.array(columns).T

    def solve(self):
        """The best shape: scipy's search, then steps of its own for as long as each is shorter than the one before."""
        at = least_squares(self.residuals, self.start, x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=200).x
        before = math.inf
        for _ in range(100):
            slopes = self.slopes(at)
            step = np.linalg.lstsq(slopes, -self.residuals(at), rcond=None)[0]
            far = np.max(np.abs(step) * np.linalg.norm(slopes, axis=0))
            if far >= before:
                break
            at, before = at + step, far
        assert before < 1e-7, before
        return self.shape(at)

    def yaml(self):
        taken = {0: "centre", 1: "outside", -1: "inside"}[self.taken]
        lines = [f"accuracy: {{ length: {self.sd[0]!r}, angle: {math.degrees(self.sd[1])!r} }}"]
        lines += [f"legs: {numbers(self.legs)}", f"measured: {taken}", f"bends: {numbers(np.degrees(self.angles))}"]
        lines += [f"rotations: {numbers(np.degrees(self.rotations))}", "distances:"]
        lines += [f"  - {{ from: p{one}, to: p{other}, length: {float(read)!r}, measured: {taken} }}" for one, other, read in self.distances]
        lines += ["touched:"] + [f"  - {{ leg: {leg + 1}, at: {numbers(at)} }}" for leg, at in self.touched]
        lines += ["nodes:"] + [f"  p{node}: {numbers(at)}" for node, at in self.nodes]
        lines += [f"lying: {{ flat: {self.flat + 1}, up: {{ p{self.bends + 1}: {float(self.up)!r} }} }}"]
        return "\n".join(lines) + "\n"


def of_all_sorts(folder, seed):
    """Every sort of measurement at once, with errors: least_squares finds the same shape."""
    chance = random.Random(10_000 + seed)
    bends = chance.randrange(2, 5)
    wanted = some_shape(chance, bends)
    judge = Judge(chance, wanted)
    found = inspected(folder, seed, wanted, judge.yaml(), " ".join(f"{place + 1}A" for place in range(bends)))
    made = judge.solve()
    compare_rows(seed, found, wanted, made)
    compare_off(seed, found, wanted, made)


def main():
    """Random parts, one after the other."""
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(CASES):
            of_nodes(pathlib.Path(folder), seed)
            of_all_sorts(pathlib.Path(folder), seed)
    print(f"judge: inspect: {CASES} parts by their nodes and {CASES} by measurements of all sorts as by scipy")


if __name__ == "__main__":
    sys.exit(main())
