"""Gaps of random plans against a general-purpose library for distances: python-fcl, by its GJK and its trees of triangles.

The tube of each step is placed by the replay's own reading of the file format (`pose.py`) as capsules: one for a straight,
for an arc so many that no chord is further than SAG from it. Against the boxes, cylinders, capsules and meshes of the bender, and against itself,

- at the die angle that a clearance names, the gap is the one that it states;
- at no other die angle that is looked at is any gap below the stated one;
- before the die angle of a first contact nothing touches.

What fcl itself is off by is found out first, on cases in closed form. Two of its calls are not used: a distance to a `Halfspace` ends the
process, so that the floor is a block; and a distance to a mesh knows the surface alone, so that a tube that begins inside is told by
`gaps.py`. Of bodies that overlap it tells no depth: the capsules are thinner than the tube by THIN, which shows what is no deeper.
"""

import math
import os
import pathlib
import random
import sys
import tempfile

import fcl
import numpy as np

import gaps
import random_jobs
import replay
import shape
from pose import AHEAD, BEHIND, Pose
from reading import Solid

GAP = 0.1  # mm: what is promised of a gap
SAG = 0.005  # mm
THIN = 0.5  # mm
OWN = 0.005  # mm: what fcl may be off by in closed form
FIRST = math.radians(0.02)  # a first contact may be told late by so much
FLOOR = 2e4  # mm: side of the block that stands for the floor
REQUEST = fcl.DistanceRequest()


def along(make, start, end):
    """A body made for a length, its own z axis from one point to another."""
    way = end - start
    length = float(np.linalg.norm(way))
    third = way / length if length > 0 else np.array([0.0, 0, 1])
    first = np.cross(np.eye(3)[np.argmin(np.abs(third))], third)
    first /= np.linalg.norm(first)
    turned = np.column_stack([first, np.cross(third, first), third])
    return fcl.CollisionObject(make(length), fcl.Transform(turned, (start + end) / 2))


def capsule(start, end, radius):
    """All points within a radius of a line."""
    return along(lambda length: fcl.Capsule(radius, length), start, end)


def surface(triangles):
    """A mesh with every triangle's corners for itself."""
    model = fcl.BVHModel()
    model.beginModel(len(triangles), 3 * len(triangles))
    model.addSubModel(triangles.reshape(-1, 3), np.arange(3 * len(triangles)).reshape(-1, 3))
    model.endModel()
    return fcl.CollisionObject(model, fcl.Transform())


def body(solid):
    """A solid in its place at die angle 0."""
    if solid.kind == "mesh":
        return surface(solid.triangles)
    if solid.kind == "box":
        return fcl.CollisionObject(fcl.Box(*(solid.high - solid.low)), fcl.Transform((solid.low + solid.high) / 2))
    make = fcl.Capsule if solid.kind == "capsule" else fcl.Cylinder
    return along(lambda length: make(solid.radius, length), solid.start, solid.end)


def floor(bender):
    """All that is below the floor, as far as it matters."""
    top = -bender.centre_height * bender.up
    return along(lambda depth: fcl.Box(FLOOR, FLOOR, depth), top - 1000 * bender.up, top)


def distance(capsules, other):
    """The smallest distance of some capsules from one body; the tree of boxes around them is fcl's."""
    tree = fcl.DynamicAABBTreeCollisionManager()
    tree.registerObjects(capsules)
    tree.setup()
    found = fcl.DistanceData(REQUEST)
    tree.distance(other, found, fcl.defaultDistanceCallback)
    return found.result.min_distance


class Placed:
    """One step's tube at one die angle: each part as pieces of (distances from the tangent point along the blank, turn to the far end)."""

    def __init__(self, pose, angle):
        self.pose, self.angle, self.radius = pose, angle, pose.tube.od / 2 - THIN
        self.pieces = {AHEAD: [], BEHIND: []}
        drawn, reach = float(pose.drawn_in(angle)), pose.sides[BEHIND].reach
        if drawn > 0:
            # Short of its very end, which counts as drawn in no longer.
            self.add(BEHIND, 0.0, min(drawn * (1 - 1e-12), reach), pose.die.clr, angle, 0.0)
        for side, from_here in ((AHEAD, 0.0), (BEHIND, drawn)):
            for start, end, _, _, axis, radius, _, turned in pose.sides[side].pieces:
                if max(start, from_here) <= end:
                    self.add(side, max(start, from_here), end, radius, 0.0 if axis is None else turned, turned)

    def add(self, side, start, end, radius, most, turned):
        """A piece that turns by no more than `most`: of an arc, a chord over the angle w is off by radius (1 - cos(w / 2))."""
        parts = math.ceil(most / (2 * math.acos(1 - SAG / radius))) if most else 1
        self.pieces[side].append((np.linspace(start, end, max(1, parts) + 1), turned))

    def lines(self, side, places, beyond):
        """Chords (n, 2, 3) of the places of a piece that lie beyond a distance."""
        if places[-1] < beyond:
            return np.empty((0, 2, 3))
        places = np.array([max(beyond, places[0]), *places[places > max(beyond, places[0])]])
        points = self.pose.place([self.angle], side, places)[0]
        return np.stack([points[:-1], points[1:]], axis=1) if len(points) > 1 else points[None].repeat(2, axis=1)

    def gap(self, name, bodies, held_to):
        """The gap to an obstacle at this die angle, down to -THIN; infinite where nothing is looked at."""
        if name == "tube":
            return self.own_gap()
        best = math.inf
        for side in (AHEAD, BEHIND):
            beyond = float(held_to(side, self.angle)) - 1e-9 if name in ("die", "clamp", "follower") else 0.0
            lines = np.concatenate([self.lines(side, places, beyond) for places, _ in self.pieces[side]])
            for solid, made in bodies if len(lines) else []:
                # The solid stands, the tube is seen from what the solid is fixed to.
                seen = self.pose.into(solid.on, self.angle, lines.reshape(1, -1, 3)).reshape(-1, 2, 3)
                best = min(best, distance([capsule(*line, self.radius) for line in seen], made) - THIN)
                if solid.kind == "mesh" and not gaps.to_mesh(solid.triangles, seen).all():
                    best = -THIN
        return best

    def own_gap(self):
        """Lead part against trailing part, of pieces between whose far ends the tube turns by 90 degrees or more."""
        best, clamp, follower = math.inf, self.pose.die.clamp_length - 1e-9, float(self.pose.follower_end(self.angle)) - 1e-9
        for places, turned in self.pieces[AHEAD]:
            ahead = self.lines(AHEAD, places, clamp)
            for others, back in self.pieces[BEHIND] if len(ahead) else []:
                behind = self.lines(BEHIND, others, follower)
                if len(behind) and turned + back + self.angle >= math.pi / 2 - 1e-9:
                    tree = [capsule(*line, self.radius) for line in behind]
                    best = min(best, *(distance(tree, capsule(*line, self.radius)) - 2 * THIN for line in ahead))
        return best


def closed_forms(count):
    """The most that fcl is off for a capsule against each kind of body, by the distance of single points, which is convex along a line."""
    rng, worst = np.random.default_rng(1), 0.0
    for _ in range(count):
        start, way = rng.uniform(-500, 500, 3), rng.normal(size=3)
        end, radius = start + way / np.linalg.norm(way) * rng.choice([1.0, 10.0, 300.0]), rng.uniform(8, 25)
        low = rng.uniform(-400, 200, 3)
        high, thick = low + rng.uniform(5, 300, 3), rng.uniform(2, 150)
        below = Solid("", "", "box", low=np.array([-FLOOR / 2, -FLOOR / 2, -1600.0]), high=np.array([FLOOR / 2, FLOOR / 2, -600.0]))
        solids = [below, Solid("", "", "box", low=low, high=high)]
        solids += [Solid("", "", kind, start=low, end=high, radius=thick) for kind in ("cylinder", "capsule")]
        for solid in solids:
            share = np.array([0.0, 1.0])
            for _ in range(24):
                share = np.linspace(*share, 33)
                k = int(np.argmin(gaps.to_solid(solid, start + share[:, None] * (end - start))))
                share = share[[max(k - 1, 0), min(k + 1, 32)]]
            true = gaps.to_solid(solid, start + share[0] * (end - start)) - radius
            if true > 0:
                worst = max(worst, abs(fcl.distance(capsule(start, end, radius), body(solid), REQUEST, fcl.DistanceResult()) - true))
    return worst


def lump(seed, bender, path):
    """The bender's text with a mesh more: a prism over a star of five points, which is not convex."""
    r = random.Random(f"lump {seed}")
    at = [r.uniform(-250, 250), r.uniform(-150, 150), r.choice([-1, 1]) * r.uniform(25, 50)]
    rim = [(r.uniform(20, 120), 2 * math.pi * (k + r.uniform(0, 0.8)) / 5) for k in range(5)]
    flat = [(0.0, 0.0), *((d * math.cos(w), d * math.sin(w)) for d, w in rim)]
    deep = math.copysign(r.uniform(20, 80), at[2])
    points = [(at[0] + x, at[1] + y, at[2] + z) for z in sorted([0.0, deep]) for x, y in flat]
    faces = []
    for k in range(1, 6):
        n = k % 5 + 1
        faces += [(0, n, k), (6, 6 + k, 6 + n), (k, n, 6 + n), (k, 6 + n, 6 + k)]
    lines = [f"v {x:.6f} {y:.6f} {z:.6f}" for x, y, z in points] + [f"f {a + 1} {b + 1} {c + 1}" for a, b, c in faces]
    path.write_text("\n".join(lines) + "\n")
    line = f"  - {{ name: lump, on: {r.choice(['frame', 'die', 'follower'])}, mesh: {{ file: {path.name}, units: mm }} }}\n"
    return bender + ("" if "\nsolids:" in bender else "solids:\n") + line


class Count:
    """What was compared."""

    def __init__(self):
        self.poses = self.gaps = self.touching = self.near = self.meshes = 0
        self.worst, self.wrong = 0.0, []


def compare(step, pose, where, count):
    """All gaps of one step, at the die angles that it names and some others."""
    entries = [entry for entry in step["clearances"] if entry["motion"] == "bend"]
    told = {math.radians(e["die_angle_deg"]) for e in entries if e["gap_mm"] is not None}
    # Just before a first contact too.
    early = {math.radians(e["die_angle_deg"]) - FIRST for e in entries if e["gap_mm"] == 0}
    angles = sorted({*told, *(a for a in early if a > 0), *np.linspace(0.0, pose.target, 5)})
    reader = gaps.Step(pose)
    bodies = {name: [(s, body(s)) for s in solids] for name, solids in reader.bodies.items()}
    bodies |= {s.name: [(s, body(s))] for s in pose.bender.solids}
    bodies["floor"] = [(Solid("floor", "frame", "box"), floor(pose.bender))]
    count.poses += len(angles)
    for angle in angles:
        placed = Placed(pose, angle)
        for entry in entries:
            name, gap = entry["obstacle"], entry["gap_mm"]
            found = placed.gap(name, bodies.get(name), reader.held_to)
            count.gaps += 1
            place = f"{where}, {name} at {math.degrees(angle):.3f} degrees: fcl finds {found:.4f}"
            if gap is None:
                if found < pose.bender.comfortable - GAP:
                    count.wrong.append(f"{place}, the plan nothing within {pose.bender.comfortable}")
                continue
            if found < gap - GAP:
                if gap > 0 or angle <= math.radians(entry["die_angle_deg"]) - 0.9 * FIRST:
                    count.wrong.append(f"{place}, the plan no less than {gap:.4f} (at {entry['die_angle_deg']:.3f})")
            if angle == math.radians(entry["die_angle_deg"]):
                off = max(found, 0.0) - gap
                count.worst = max(count.worst, abs(off))
                count.touching += gap == 0
                count.near += 0 < gap < 20
                count.meshes += name == "lump"
                if abs(off) > GAP:
                    count.wrong.append(f"{place}, the plan {gap:.4f} there")


def main():
    """Compares until there are poses enough; status 1 where any differs."""
    own = closed_forms(1000)
    full = os.environ.get("TUBEWRIGHT_COUNT") == "full"
    count, steps, seed = Count(), 0, 5000
    while count.poses < (500 if full else 60):
        seed += 1
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder) / f"random-{seed}.yaml"
            job, bender, words = random_jobs.job(seed)
            path.write_text(job)
            (path.parent / "bender.yaml").write_text(lump(seed, bender, path.parent / "lump.obj"))
            try:
                document, _ = replay.plan(path, words)
            except replay.Refused as refusal:
                if "solid-in-the-way" in str(refusal) or "meets-itself" in str(refusal):
                    continue
                raise
            the_bender, (tube,) = shape.tubes(path)
        made = set()
        for step in document["tubes"][0]["steps"]:
            index = step["bend"] - 1
            compare(step, Pose(the_bender, tube, index, step["lead"], set(made)), f"random {seed}, step {step['step']}", count)
            made.add(index)
            steps += 1
    for line in count.wrong:
        print(line)
    if count.wrong or own > OWN or not (count.touching and count.near and count.meshes):
        print(f"fcl_gaps: {len(count.wrong)} differences in {count.gaps} gaps of {count.poses} poses, {count.touching} touching, "
              f"{count.near} near, {count.meshes} to a mesh; fcl off by {own:.1e} mm in closed form", file=sys.stderr)
        return 1
    print(f"judge: fcl: {count.gaps} gaps of {count.poses} poses in {steps} steps agree, worst {count.worst:.3f} mm; {count.touching} touching, "
          f"{count.near} within 20 mm, {count.meshes} to a mesh; fcl itself is off by {own:.1e} mm at most in closed form")
    return 0


if __name__ == "__main__":
    sys.exit(main())
