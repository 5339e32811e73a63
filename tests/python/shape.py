"""From what a job says of a tube to its rows, its nodes and its straight blank.

Rows are (straight before, rotation before, bend angle); angles in radians, lengths in mm. The rotation before a bend is
the signed angle that turns the bend's normal before into its own, right-handed about the leg from end A to end B.
"""

import dataclasses
import math
from dataclasses import dataclass

import numpy as np
from scipy.integrate import quad

import cope
import reading

PASSED = math.radians(0.05)  # under this bend angle a node is passed straight through
CORNERLESS = math.radians(175)  # over this a bend has no corner point


def turn(axis, angle, vector):
    """`vector` turned about the unit `axis` by the right-hand rule (Rodrigues' formula)."""
    c, s = math.cos(angle), math.sin(angle)
    return vector * c + np.cross(axis, vector) * s + axis * np.dot(axis, vector) * (1 - c)


def wrapped(angle):
    """The same turn in (-pi, pi]; what rounding leaves beside -pi counts as pi."""
    angle = math.remainder(angle, 2 * math.pi)
    return angle + 2 * math.pi if angle <= -math.pi + 1e-11 else angle


@dataclass
class Bend:
    """A bend of the finished tube and of its blank."""

    die: reading.Die
    material: reading.Material
    node: str
    length: float
    rotation: float
    angle: float
    radius: float = 0.0
    psi: float = 0.0
    start: float = 0.0
    end: float = 0.0

    @property
    def arc(self):
        """Length of the finished arc."""
        return self.radius * self.angle

    @property
    def blank_arc(self):
        """What the arc takes of the blank."""
        return self.arc / (1 + self.material.stretch)

    @property
    def setback(self):
        """Corner to tangent point; None where there is no corner."""
        return None if self.angle > CORNERLESS else self.radius * math.tan(self.angle / 2)

    @property
    def die_angle(self):
        """How far the die turns."""
        return self.angle * (1 + self.material.proportional) + self.material.constant


@dataclass
class Tube:
    """A tube of a job."""

    name: str
    od: float
    wall: float
    material: str
    dies: list
    bends: list
    last: float
    nodes: list
    passed: int
    extra_a: float
    extra_b: float
    path: list
    seam: float = None  # degrees

    @property
    def developed(self):
        """Straights and finished arcs, without extras."""
        return sum(b.length + b.arc for b in self.bends) + self.last

    @property
    def cut(self):
        """Length of the blank."""
        return self.extra_a + sum(b.length + b.blank_arc for b in self.bends) + self.last + self.extra_b

    @property
    def gain(self):
        """Sum of legs less the developed length; None where a corner is missing."""
        if any(b.setback is None for b in self.bends):
            return None
        return sum(2 * b.setback - b.arc for b in self.bends)


def corner_rows(points):
    """Legs between the corners that bend, their rotations and bend angles, and which points are corners."""
    kept = [0]
    for here in range(1, len(points) - 1):
        before, after = points[here] - points[kept[-1]], points[here + 1] - points[here]
        angle = math.atan2(np.linalg.norm(np.cross(before, after)), np.dot(before, after))
        # Lengths do not matter to atan2's ratio, so the legs need not be unit vectors here.
        if angle >= PASSED:
            kept.append(here)
    kept.append(len(points) - 1)
    spans = [points[b] - points[a] for a, b in zip(kept, kept[1:])]
    legs = [np.linalg.norm(span) for span in spans]
    ways = [span / leg for span, leg in zip(spans, legs)]
    angles, rotations, last = [], [], None
    for one, other in zip(ways, ways[1:]):
        cross = np.cross(one, other)
        angles.append(math.atan2(np.linalg.norm(cross), np.dot(one, other)))
        normal = cross / np.linalg.norm(cross)
        if last is None:
            rotations.append(0.0)
        else:
            rotations.append(wrapped(math.atan2(np.dot(np.cross(last, normal), one), np.dot(last, normal))))
        last = normal
    return legs, rotations, angles, kept[1:-1]


def walk(bends, last):
    """Corner points (None where there is none) of a tube from rows: end A at the origin, first leg along +x, first bend toward +y."""
    at, way, normal = np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 0, 1.0])
    corners = [at]
    for k, bend in enumerate(bends):
        if k:
            normal = turn(way, bend.rotation, normal)
        at = at + way * bend.length
        corners.append(None if bend.setback is None else at + way * bend.setback)
        centre = at + bend.radius * np.cross(normal, way)
        at = centre + turn(normal, bend.angle, at - centre)
        way = turn(normal, bend.angle, way)
    corners.append(at + way * last)
    return corners


def part_lost(od, wall, clr, strength, modulus):
    """The part of the curvature that comes back elastically: the moment of a tube that yields perfectly, by quadrature over its height."""
    outer, inner = od / 2, od / 2 - wall
    width = lambda r, y: 2 * math.sqrt(max(r * r - y * y, 0.0))
    stress = lambda y: min(modulus * y / clr, strength)
    core = strength * clr / modulus
    breaks = sorted({0.0, min(core, outer), inner, outer})
    part = lambda y: stress(y) * y * (width(outer, y) - width(inner, y))
    moment = 2 * sum(quad(part, a, b, epsabs=0, epsrel=1e-11, limit=200)[0] for a, b in zip(breaks, breaks[1:]))
    return moment * clr / (modulus * math.pi / 4 * (outer**4 - inner**4))


def tubes(job_path):
    """(bender, tubes) of a job file."""
    text, nodes, units, bender_path = reading.job(job_path)
    bender = reading.bender(bender_path)
    found = [tube(n, t or {}, text, nodes, units, bender) for n, t in text["tubes"].items()]
    by_name = {one.name: one for one in found}
    # Where ends land is found on the tubes as they stand alone; only then are their blanks shortened.
    for one, off in [(one, set_offs(one, (text["tubes"][one.name] or {}).get("ends") or {}, by_name, units)) for one in found]:
        one.extra_a -= off[0]
        one.extra_b -= off[1]
        for bend in one.bends:
            bend.start -= off[0]
            bend.end -= off[0]
    return bender, found


def set_offs(own, ends, by_name, units):
    """From each end node into the tube to the long point of an end that lands on another tube; 0 for any other."""
    found = []
    for key, index, beside in (("a", 0, 1), ("b", -1, -2)):
        if key not in ends:
            found.append(0.0)
            continue
        other = by_name[ends[key]["meets"]]
        assert not other.passed, "a corner that is passed straight through has no bend"
        pieces = cope.centreline(other.nodes, [bend.radius for bend in other.bends])
        node = np.array(own.nodes[index], float)
        into = np.array(own.nodes[beside], float) - node
        into /= np.linalg.norm(into)
        straights = [*(bend.length for bend in own.bends), own.last]
        start = straights[index] / (1 if own.bends else 2)
        toe, side, _ = cope.frame(pieces, node, into, into if key == "a" else -into)
        joint = (pieces, other.od / 2, node, into, toe, side, own.od / 2, start)
        long = cope.two_planes(*joint) if ends[key].get("cut") == "two-plane" else cope.long_point(*joint)
        found.append(long + reading.length(ends[key].get("gap", 0), units))
    return found


def tube(name, text, job, nodes, units, bender):
    """One tube."""
    stock = {**(job.get("tube") or {}), **(text.get("tube") or {})}
    od = reading.length(stock["od"], units)
    wall = reading.length(stock["wall"], units) if "wall" in stock else None
    extra = text.get("extra") or {}

    names, points, rows = [], None, None
    if "path" in text:
        names = text["path"]
        points = [nodes[n] for n in names]
        legs, rotations, angles, corners = corner_rows(points)
    elif "legs" in text:
        angles = [reading.bend_angle(b) for b in text.get("bends") or []]
        rotations = [0.0, *(reading.degrees(r) for r in text.get("rotations") or [])]
        rotations += [0.0] * (len(angles) - len(rotations))
        legs = []
        for k, leg in enumerate(text["legs"]):
            leg = leg if isinstance(leg, dict) else {"length": leg}
            way = text.get("measured", "centre")
            value = reading.length(leg["length"], units)
            for end, bend in (("a", k - 1), ("b", k)):
                if 0 <= bend < len(angles):
                    shift = {"centre": 0, "outside": -1, "inside": 1}[leg.get(end, way)]
                    value += shift * od / 2 * math.tan(angles[bend] / 2)
            legs.append(value)
        corners = list(range(1, len(angles) + 1))
    else:
        rows = text["rows"]
        angles = [reading.degrees(r["bend"]) for r in rows[:-1]]
        rotations = [0.0, *(reading.degrees(r.get("rotation", 0)) for r in rows[1:-1])][: len(angles)]
        corners = list(range(1, len(angles) + 1))

    dies = text.get("dies") or [stock.get("die")] * len(angles)
    bends = []
    for k, angle in enumerate(angles):
        die = bender.dies[dies[k]]
        material = die.materials[stock["material"]] if stock.get("material") else reading.Material()
        node = names[corners[k]] if names else None
        if not material.springback_given and wall is not None and "yield" in stock and "e_modulus" in stock:
            lost = part_lost(od, wall, die.clr, float(stock["yield"]), float(stock["e_modulus"]))
            material = dataclasses.replace(material, proportional=lost / (1 - lost), estimated=True)
        bends.append(Bend(die, material, node, 0.0, wrapped(rotations[k]), angle))
        bends[k].radius = die.clr * (1 + material.proportional) if material.radius_growth else die.clr

    if rows is None:
        backs = [0.0, *(b.setback for b in bends), 0.0]
        straights = [leg - backs[k] - backs[k + 1] for k, leg in enumerate(legs)]
    else:
        straights = [reading.length(r["length"], units) for r in rows]
    for bend, straight in zip(bends, straights):
        bend.length = straight
    if points is None:
        points = walk(bends, straights[-1])

    extra_a, extra_b = (reading.length(extra.get(end, 0), units) for end in "ab")
    at, psi = extra_a, 0.0
    for bend in bends:
        psi = wrapped(psi + bend.rotation)
        bend.psi = psi
        bend.start = at + bend.length
        bend.end = at = bend.start + bend.blank_arc
    return Tube(
        name=name,
        od=od,
        wall=wall,
        material=stock.get("material"),
        dies=dies if angles else [stock.get("die")],
        bends=bends,
        last=straights[-1],
        nodes=points,
        passed=len(points) - 2 - len(bends),
        extra_a=extra_a,
        extra_b=extra_b,
        path=names,
        seam=text.get("seam"),
    )
