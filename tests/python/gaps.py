"""Distances from a tube to what it must not touch, by dense sampling and local refinement.

Nothing is certified here: a sample can only be too far away, never too near. On smooth pieces and bodies a grid of 3 mm
by 0.25 degree, refined around every local minimum near the smallest, misses by far less than the 0.1 mm that is promised.
"""

import math
from dataclasses import dataclass

import numpy as np

from pose import AHEAD, BEHIND
from reading import Solid

SPACING = 3.0  # mm along the blank
ANGLE = math.radians(0.25)
# A local minimum of the grid can be lowered by refinement by less than this; those further off are not refined.
REFINED = 9.0
FAR = 150.0  # mm: more than any gap that has to be kept, the tube's radius included


def to_solid(body, points):
    """Distance from points (..., 3) to a body; 0 inside."""
    if body.kind == "box":
        off = np.maximum(np.maximum(body.low - points, points - body.high), 0.0)
        return np.sqrt(np.sum(off * off, axis=-1))
    if body.kind == "mesh":
        return to_mesh(body.triangles, points)
    along = body.end - body.start
    length = np.linalg.norm(along)
    unit = along / length if length else np.array([0.0, 0, 1])
    gone = points - body.start
    on = gone @ unit
    if body.kind == "capsule":
        away = gone - unit * np.clip(on, 0, length)[..., None]
        return np.maximum(np.sqrt(np.sum(away * away, axis=-1)) - body.radius, 0.0)
    away = gone - unit * on[..., None]
    beside = np.maximum(np.sqrt(np.sum(away * away, axis=-1)) - body.radius, 0.0)
    past = np.maximum(np.maximum(-on, on - length), 0.0)
    return np.hypot(beside, past)


def to_mesh(triangles, points):
    """Distance from points to a closed surface; 0 inside.

    For speed, points that are far off and not among the nearest get their distance to the box around the surface: too small,
    but never so small that one of them would count.
    """
    flat = points.reshape(-1, 3)
    corners = triangles.reshape(-1, 3)
    around = to_solid(Solid("", "", "box", low=corners.min(0), high=corners.max(0)), flat)
    least = np.argpartition(around, min(200, len(around) - 1))[:200]
    reach = max(to_surface(triangles, flat[least]).min() + 4 * REFINED, FAR)
    near = around <= reach
    around[near] = to_surface(triangles, flat[near])
    return around.reshape(points.shape[:-1])


def cross(u, v):
    """Cross products along the last axis; numpy's own spends most of its time on sorting out axes."""
    x, y, z = u[..., 0], u[..., 1], u[..., 2]
    a, b, c = v[..., 0], v[..., 1], v[..., 2]
    return np.stack([y * c - z * b, z * a - x * c, x * b - y * a], axis=-1)


def dot(u, v):
    """Dot products along the last axis."""
    return u[..., 0] * v[..., 0] + u[..., 1] * v[..., 1] + u[..., 2] * v[..., 2]


def to_surface(triangles, flat):
    """Distance from points (n, 3) to a closed surface; 0 inside, told by the solid angle that the surface fills."""
    # In parts, so that points x triangles stays small.
    return np.concatenate([to_triangles(triangles, part) for part in np.array_split(flat, 1 + len(flat) * len(triangles) // 200_000)])


def to_triangles(triangles, points):
    """Distance from points (n, 3) to triangles (t, 3, 3), 0 where they wind around a point."""
    normals = cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    normals = normals / np.maximum(np.sqrt(dot(normals, normals)), 1e-300)[:, None]
    toward = [triangles[None, :, k] - points[:, None] for k in range(3)]
    inside, best = True, np.inf
    for k in range(3):
        edge = (triangles[:, (k + 1) % 3] - triangles[:, k])[None]
        share = np.clip(-dot(toward[k], edge) / np.maximum(dot(edge, edge), 1e-300), 0, 1)
        best = np.minimum(best, dot(*[toward[k] + share[..., None] * edge] * 2))
        inside = inside & (dot(-toward[k], cross(normals[None], edge)) >= 0)
    best = np.where(inside, np.minimum(best, dot(toward[0], normals[None]) ** 2), best)
    u, v, w = toward
    lu, lv, lw = (np.sqrt(dot(k, k)) for k in toward)
    under = lu * lv * lw + dot(u, v) * lw + dot(v, w) * lu + dot(w, u) * lv
    wound = 2 * np.arctan2(dot(u, cross(v, w)), under).sum(axis=1)
    return np.where(np.abs(wound) > 2 * math.pi, 0.0, np.sqrt(best.min(axis=1)))


def derived(die, hand):
    """The die disc, the clamp and the follower where the file gives none."""
    d, clr = die.od, die.clr
    up, down = np.array([0.0, 0, 0.75 * d]), np.array([0.0, 0, -0.75 * d])

    def block(name, on, x0, x1):
        y = sorted([hand * (-clr - 1.25 * d), hand * -clr])
        return Solid(name, on, "box", low=np.array([x0, y[0], -0.75 * d]), high=np.array([x1, y[1], 0.75 * d]))

    return {
        "die": die.shapes["die"] or [Solid("die", "die", "cylinder", start=down, end=up, radius=clr)],
        "clamp": die.shapes["clamp"] or [block("clamp", "die", 0.0, die.clamp_length)],
        "follower": die.shapes["follower"] or [block("follower", "follower", -die.follower_length, 0.0)],
    }


@dataclass
class Found:
    """The smallest gap that sampling found; `None` for the gap where nothing is looked at."""

    gap: float = None
    angle: float = 0.0
    side: str = None
    distance: float = 0.0
    first_contact: float = None


class Step:
    """Everything that is asked about one step."""

    def __init__(self, pose):
        self.pose = pose
        self.angles = grid(0.0, pose.target, ANGLE)
        self.places = {
            name: np.unique(np.concatenate([grid(a, b, SPACING) for a, b in zip(s.breaks, s.breaks[1:])]))
            for name, s in pose.sides.items()
        }
        self.centres = {name: pose.place(self.angles, name, d) for name, d in self.places.items()}
        self.bodies = derived(pose.die, pose.bender.hand)
        self.found, self.asked = {}, {}

    def obstacles(self):
        """Names in order: the file's own, then floor, die, clamp, follower, tube."""
        return [s.name for s in self.pose.bender.solids] + ["floor", "die", "clamp", "follower", "tube"]

    def held_to(self, side, angle):
        """Distance up to which the holding parts are not looked at."""
        pose, die = self.pose, self.pose.die
        near = pose.sides[side].next_bend()
        beyond = die.clamp_length + 0 * angle if side == AHEAD else pose.follower_end(angle)
        return np.maximum(near, beyond + die.od)

    def distance(self, name, side, angle, points, place):
        """Distance of points (n, m, 3) to an obstacle; infinite where they are not looked at. `place` is (m,) or (n, m)."""
        pose = self.pose
        if name == "floor":
            return np.maximum(pose.height(points), 0.0)
        if name in ("die", "clamp", "follower"):
            bodies = self.bodies[name]
            held = self.held_to(side, np.asarray(angle, float))[:, None] - 1e-9
            unseen = place < held
        else:
            bodies, unseen = [s for s in pose.bender.solids if s.name == name], None
        best = np.full(points.shape[:-1], np.inf)
        if unseen is not None and np.all(unseen):
            return best
        for body in bodies:
            best = np.minimum(best, to_solid(body, pose.into(body.on, angle, points)))
        return best if unseen is None else np.where(unseen, np.inf, best)

    def gap(self, name):
        """The smallest gap of an obstacle over the whole motion."""
        if name not in self.found:
            self.found[name] = self.own_gap() if name == "tube" else self.gap_to(name)
        return self.found[name]

    def gap_to(self, name):
        """The smallest gap of any obstacle but the tube itself."""
        radius = self.pose.tube.od / 2
        best = Found()
        for side in (AHEAD, BEHIND):
            values = self.distance(name, side, self.angles, self.centres[side], self.places[side])
            if not np.isfinite(values).any():
                continue
            ask = lambda angle, place, side=side: self.distance(
                name, side, angle, self.pose.place(angle, side, place), place
            )
            low, angle, place, contact = refine(values, self.angles, self.places[side], ask, radius)
            gap = max(low - radius, 0.0)
            if best.gap is None or gap < best.gap:
                first = best.first_contact
                best = Found(gap, angle, side, place, first)
            if contact is not None:
                best.first_contact = contact if best.first_contact is None else min(contact, best.first_contact)
        return best

    def gap_at(self, name, angle):
        """The smallest gap of an obstacle at one die angle, by a finer row of places."""
        pose = self.pose
        if name == "tube":
            return self.own_gap_at(angle)
        best = np.inf
        for side in (AHEAD, BEHIND):
            places = self.places[side]
            at = np.array([angle])
            values = self.distance(name, side, at, pose.place(at, side, places), places)[0]
            if not np.isfinite(values).any():
                continue
            for k in minima(values, values.min() + REFINED):
                low, high = places[max(k - 1, 0)], places[min(k + 1, len(places) - 1)]
                best = min(best, values[k])
                for _ in range(12):
                    fine = np.linspace(low, high, 9)
                    got = self.distance(name, side, at, pose.place(at, side, fine), fine)[0]
                    j = int(np.argmin(got))
                    best = min(best, got[j])
                    low, high = fine[max(j - 1, 0)], fine[min(j + 1, 8)]
        return best - pose.tube.od / 2

    def own_sides(self):
        """Places of both parts that the tube is checked against itself at."""
        die = self.pose.die
        ahead, behind = self.places[AHEAD], self.places[BEHIND]
        ahead = ahead[ahead > die.clamp_length]
        if die.clamp_length < self.pose.sides[AHEAD].reach:
            ahead = np.concatenate([[die.clamp_length], ahead])
        return ahead, behind

    def own_distance(self, angle, first, second):
        """Distances (n, m) between places ahead and behind at one die angle; infinite where they cannot meet."""
        pose = self.pose
        here = pose.place([angle], AHEAD, first)[0]
        there = pose.place([angle], BEHIND, second)[0]
        apart = np.sqrt(np.maximum(((here[:, None] - there[None]) ** 2).sum(-1), 0.0))
        turned = pose.sides[AHEAD].turned(first)[:, None] + pose.sides[BEHIND].turned(second)[None] + angle
        unseen = (turned < math.pi / 2 - 1e-9) | (second[None] < pose.follower_end(angle) - 1e-9)
        unseen |= first[:, None] < pose.die.clamp_length - 1e-9
        return np.where(unseen, np.inf, apart)

    def own_gap(self):
        """The smallest gap between the lead part and the trailing part."""
        pose = self.pose
        ahead, behind = self.own_sides()
        if len(ahead) == 0:
            return Found()
        angles = grid(0.0, pose.target, math.radians(1.0))
        rows = []
        for angle in angles:
            # The follower's far end moves along the blank, so that its place joins the grid anew at each angle.
            end = pose.follower_end(angle)
            places = behind[behind >= end]
            if end <= pose.sides[BEHIND].reach:
                places = np.concatenate([[end], places])
            if len(places) == 0:
                continue
            values = self.own_distance(angle, ahead[::2], places[::2])
            k, j = np.unravel_index(np.argmin(values), values.shape)
            if np.isfinite(values[k, j]):
                rows.append((values[k, j], angle, ahead[::2][k], places[::2][j]))
        if not rows:
            return Found()
        lowest = min(r[0] for r in rows)
        best, first_contact = None, None
        for value, angle, first, second in rows:
            if value > lowest + 3 * REFINED:
                continue
            value, angle, first, second = self.own_zoom(value, angle, first, second, free=True)
            if value <= pose.tube.od and (first_contact is None or angle < first_contact):
                first_contact = angle
            if best is None or value < best[0]:
                best = (value, angle, first, second)
        found = Found(max(best[0] - pose.tube.od, 0.0), best[1], AHEAD, best[2])
        if first_contact is not None:
            touching = [a for v, a, _, _ in rows if v <= pose.tube.od]
            found.first_contact = self.first_own_contact(min([first_contact, *touching]))
        return found

    def own_zoom(self, value, angle, first, second, free):
        """Refines one pair of places, and the die angle too where it is `free`."""
        span = [math.radians(1.0) if free else 0.0, 2 * SPACING, 2 * SPACING]
        for _ in range(14):
            angles = np.clip(angle + np.linspace(-1, 1, 5 if free else 1) * span[0], 0, self.pose.target)
            one = np.clip(first + np.linspace(-1, 1, 9) * span[1], 0, self.pose.sides[AHEAD].reach)
            two = np.clip(second + np.linspace(-1, 1, 9) * span[2], 0, self.pose.sides[BEHIND].reach)
            one = np.append(one, self.pose.die.clamp_length)
            for a in angles if free else [angle]:
                other = np.append(two, self.pose.follower_end(a))
                other = other[other <= self.pose.sides[BEHIND].reach]
                one = one[one <= self.pose.sides[AHEAD].reach]
                got = self.own_distance(a, one, other)
                k, j = np.unravel_index(np.argmin(got), got.shape)
                if got[k, j] < value:
                    value, angle, first, second = got[k, j], a, one[k], other[j]
            span = [s * 0.55 for s in span]
        return value, angle, first, second

    def own_gap_at(self, angle):
        """The smallest gap between both parts at one die angle."""
        ahead, behind = self.own_sides()
        end = self.pose.follower_end(angle)
        behind = behind[behind >= end]
        if end <= self.pose.sides[BEHIND].reach:
            behind = np.concatenate([[end], behind])
        if len(ahead) == 0 or len(behind) == 0:
            return np.inf
        values = self.own_distance(angle, ahead, behind)
        best = np.inf
        for flat in np.argsort(values, axis=None)[:6]:
            k, j = np.unravel_index(flat, values.shape)
            if np.isfinite(values[k, j]):
                best = min(best, self.own_zoom(values[k, j], angle, ahead[k], behind[j], free=False)[0])
        return best - self.pose.tube.od

    def first_own_contact(self, late):
        """The first die angle, up to `late`, at which the parts touch."""
        early = max(0.0, late - math.radians(1.0))
        while early > 0 and self.own_gap_at(early) <= 0:
            late, early = early, max(0.0, early - math.radians(1.0))
        if early == 0 and self.own_gap_at(0.0) <= 0:
            return 0.0
        for _ in range(20):
            middle = (early + late) / 2
            early, late = (early, middle) if self.own_gap_at(middle) <= 0 else (middle, late)
        return late

    def other_part(self, side, distance, angle):
        """(how far off, which side, where on it): the nearest place of the other part of the tube, as far as both are checked."""
        at = np.array([distance])
        if side == AHEAD:
            other, places = BEHIND, self.places[BEHIND]
            end = self.pose.follower_end(angle)
            places = np.concatenate([[end], places[places >= end]])
            ask = lambda fine: self.own_distance(angle, at, fine)[0]
        else:
            other, places = AHEAD, self.own_sides()[0]
            ask = lambda fine: self.own_distance(angle, fine, at)[:, 0]
        values = ask(places)
        best = int(np.argmin(values))
        found = values[best], places[best]
        for k in minima(values, values[best] + REFINED):
            fine = np.linspace(places[max(k - 1, 0)], places[min(k + 1, len(places) - 1)], 2001)
            got = ask(fine)
            j = int(np.argmin(got))
            found = min(found, (got[j], fine[j]))
        return found[0], other, found[1]

    def keep_apart(self, side, distance, angle):
        """Least and most that may be asked for as the gap between both parts: both places move, so their squares add."""
        pose = self.pose
        _, other, there = self.other_part(side, distance, angle)
        ends = [(s, np.array([d])) for s, d in ((side, distance), (other, there))]
        asked = [[float(k[0]) for k in pose.keep(s, d, angle, pose.place([angle], s, d)[0])] for s, d in ends]
        keep = pose.bender.keep
        return tuple(keep + math.hypot(one - keep, two - keep) for one, two in zip(*asked))

    def swing(self):
        """(reach from the die's axis, highest and lowest height above the floor) of the tube's surface."""
        radius = self.pose.tube.od / 2
        asked = {
            "reach": lambda points: -np.hypot(points[..., 0], points[..., 1]),
            "high": lambda points: -self.pose.height(points),
            "low": self.pose.height,
        }
        found = {}
        for name, value in asked.items():
            best = np.inf
            for side in (AHEAD, BEHIND):
                ask = lambda angle, place, side=side: value(self.pose.place(angle, side, place))
                low, *_ = refine(value(self.centres[side]), self.angles, self.places[side], ask, -np.inf)
                best = min(best, low)
            found[name] = best
        return -found["reach"] + radius, -found["high"] + radius, found["low"] - radius

    def shortage(self, name):
        """The smallest of (gap - what must be kept) over the grid, by the least and by the most that may be asked for."""
        pose = self.pose
        if pose.bender.accuracy is None:
            found = self.gap(name)
            return (np.inf, np.inf) if found.gap is None else (found.gap - pose.bender.keep,) * 2
        if name == "tube":
            found = self.gap(name)
            if found.gap is None:
                return np.inf, np.inf
            least, most = self.keep_apart(found.side, found.distance, found.angle)
            return found.gap - least, found.gap - most
        worst = [np.inf, np.inf]
        for side in (AHEAD, BEHIND):
            # Coarse in the die angle: what has to be kept changes slowly.
            every = max(1, len(self.angles) // 60)
            angles, places, centres = self.angles[::every], self.places[side], self.centres[side][::every]
            if side not in self.asked:
                self.asked[side] = np.array([pose.keep(side, places, a, c) for a, c in zip(angles, centres)])
            values = np.maximum(self.distance(name, side, angles, centres, places) - pose.tube.od / 2, 0.0)
            for which in (0, 1):
                worst[which] = min(worst[which], (values - self.asked[side][:, which]).min())
        return tuple(worst)


def grid(low, high, step):
    """Evenly spaced values with both ends."""
    return np.linspace(low, high, max(1, math.ceil((high - low) / step)) + 1)


def minima(values, below):
    """Places of local minima of a row."""
    padded = np.concatenate([[np.inf], values, [np.inf]])
    return [k for k in range(len(values)) if values[k] <= min(padded[k], padded[k + 2]) and values[k] <= below]


def refine(values, angles, places, ask, contact):
    """(value, angle, place) of the smallest of a grid, and the first die angle at which the value is at most `contact`."""
    padded = np.pad(values, 1, constant_values=np.inf)
    around = np.stack(
        [padded[1 + i : 1 + i + values.shape[0], 1 + j : 1 + j + values.shape[1]]
         for i in (-1, 0, 1) for j in (-1, 0, 1) if (i, j) != (0, 0)]
    ).min(0)
    lowest = values.min()
    k, j = np.nonzero((values <= around) & (values <= lowest + REFINED) & np.isfinite(values))
    order = np.lexsort((angles[k], values[k, j]))[:16]
    best, touching = None, []
    step = angles[1] - angles[0] if len(angles) > 1 else 0.0
    for row, column in zip(k[order], j[order]):
        value, angle, place = values[row, column], angles[row], places[column]
        spans = [step, SPACING]
        for _ in range(16):
            near = np.clip(angle + np.linspace(-1, 1, 5) * spans[0], angles[0], angles[-1])
            along = np.clip(place + np.linspace(-1, 1, 5) * spans[1], places[0], places[-1])
            got = ask(near, along)
            a, p = np.unravel_index(np.argmin(got), got.shape)
            if got[a, p] < value:
                value, angle, place = got[a, p], near[a], along[p]
            spans = [s * 0.6 for s in spans]
        if best is None or value < best[0]:
            best = (value, angle, place)
        if value <= contact:
            touching.append(angle)
    rows = np.nonzero((values <= contact).any(axis=1))[0]
    touching += [angles[row] for row in rows[:1]]
    return (*best, first_touch(min(touching), angles, ask, places, contact) if touching else None)


def first_touch(late, angles, ask, places, contact):
    """The first die angle, at or before `late`, at which the value is at most `contact`, without a break up to `late`."""
    def lowest(angle):
        row = ask(np.array([angle]), places)[0]
        value = row.min()
        for k in minima(row, value + REFINED):
            fine = np.linspace(places[max(k - 1, 0)], places[min(k + 1, len(places) - 1)], 61)
            value = min(value, ask(np.array([angle]), fine)[0].min())
        return value

    step = ANGLE
    early = max(angles[0], late - step)
    while early > angles[0] and lowest(early) <= contact:
        late, early = early, max(angles[0], early - step)
    if lowest(early) <= contact:
        return early
    for _ in range(18):
        middle = (early + late) / 2
        early, late = (early, middle) if lowest(middle) <= contact else (middle, late)
    return late
