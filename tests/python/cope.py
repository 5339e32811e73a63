"""Where an end lands on another tube, from the description of `ends` alone: by walking along lines of the tube's surface.

The tube that runs through is every point within half its OD of its finished centreline. A line of the other tube's surface, parallel to its axis, is followed from its own middle
(from where its first bend begins) toward its node, by steps that are never longer than what is still free, until it touches. No closed form, no quartic.
"""

import math

import numpy as np

NEAR = 1e-9
STEPS = 20000


def centreline(points, radii):
    """Straights and arcs through corner points: ("line", from, to) and ("arc", centre, spoke, way, radius, angle)."""
    points = [np.array(point, float) for point in points]
    pieces, at = [], points[0]
    for k, radius in enumerate(radii, 1):
        one, other = points[k] - points[k - 1], points[k + 1] - points[k]
        one, other = one / np.linalg.norm(one), other / np.linalg.norm(other)
        angle = math.atan2(np.linalg.norm(np.cross(one, other)), one @ other)
        back = radius * math.tan(angle / 2)
        inward = other - one * (one @ other)
        inward /= np.linalg.norm(inward)
        start = points[k] - one * back
        pieces.append(("line", at, start))
        pieces.append(("arc", start + inward * radius, -inward, one, radius, angle))
        at = points[k] + other * back
    pieces.append(("line", at, points[-1]))
    return pieces


def place(piece, part):
    """Place and direction at a part of a piece."""
    if piece[0] == "line":
        _, a, b = piece
        return a + (b - a) * part, (b - a) / np.linalg.norm(b - a)
    _, centre, spoke, way, radius, angle = piece
    c, s = math.cos(angle * part), math.sin(angle * part)
    return centre + (spoke * c + way * s) * radius, way * c - spoke * s


def distance(piece, at):
    """Distance of points (n, 3) from a piece."""
    if piece[0] == "line":
        _, a, b = piece
        span = b - a
        part = np.clip((at - a) @ span / (span @ span), 0, 1)
        return np.linalg.norm(at - (a + part[:, None] * span), axis=1)
    _, centre, spoke, way, radius, angle = piece
    apart = at - centre
    x, y, z = apart @ spoke, apart @ way, apart @ np.cross(spoke, way)
    turn = np.arctan2(y, x)
    # Beyond an end of the arc that end is the nearest place, or the other.
    inside = (turn >= 0) & (turn <= angle)
    ends = np.minimum(*(np.linalg.norm(at - place(piece, part)[0], axis=1) for part in (0.0, 1.0)))
    return np.where(inside, np.hypot(np.hypot(x, y) - radius, z), ends)


def free(pieces, at):
    """Distance of points from a centreline."""
    return np.min([distance(piece, at) for piece in pieces], axis=0)


def frame(pieces, node, into, travel):
    """(toe, side, angle): the toe's way and a quarter turn clockwise from it looking along `travel`, where the axes come nearest to each other near the node."""
    best = None
    for piece in pieces:
        parts = np.linspace(0, 1, 2001)
        places = np.array([place(piece, part)[0] for part in parts])
        apart = places - node
        along = apart @ into
        off = np.linalg.norm(apart - along[:, None] * into, axis=1)
        # Near the node: where the tube itself is.
        for k in np.argsort(off + 1e-3 * np.abs(along))[:1]:
            score = off[k] + 1e-3 * abs(along[k])
            if best is None or score < best[0]:
                best = (score, piece, parts[k])
    _, piece, part = best
    slope = lambda p: (lambda at, way: (at - node - into * ((at - node) @ into)) @ way)(*place(piece, p))
    low, high = max(part - 1e-3, 0.0), min(part + 1e-3, 1.0)
    if slope(low) * slope(high) < 0:
        for _ in range(100):
            middle = (low + high) / 2
            low, high = (middle, high) if slope(middle) * slope(low) > 0 else (low, middle)
        part = (low + high) / 2
    way = place(piece, part)[1]
    lean = way @ into
    if lean < -1e-9:
        way, lean = -way, -lean
    toe = way - into * lean
    toe /= np.linalg.norm(toe)
    return toe, np.cross(travel, toe), math.atan2(np.linalg.norm(np.cross(way, into)), lean)


def edge(pieces, other, node, into, toe, side, radius, start, turns):
    """s for each angle from the toe: the first touch of its line, coming from `start`; NaN where there is none."""
    turns = np.asarray(turns, float)
    lines = node + radius * (np.cos(turns)[:, None] * toe + np.sin(turns)[:, None] * side)
    s = np.full(len(turns), float(start))
    open_ = np.ones(len(turns), bool)
    low = -start - 20 * other - 400
    for _ in range(STEPS):
        gap = free(pieces, lines[open_] + s[open_, None] * into) - other
        s[open_] -= np.maximum(gap, 0)
        done = gap < NEAR
        gone = s[open_] < low
        index = np.flatnonzero(open_)
        s[index[gone]] = np.nan
        open_[index[done | gone]] = False
        if not open_.any():
            break
    return s


def long_point(pieces, other, node, into, toe, side, radius, start):
    """Least s of the outside edge."""
    turns = np.linspace(0, 2 * math.pi, 721)
    for _ in range(4):
        s = edge(pieces, other, node, into, toe, side, radius, start, turns)
        best = int(np.nanargmin(s))
        least = s[best]
        turns = np.linspace(turns[max(best - 1, 0)], turns[min(best + 1, len(turns) - 1)], 41)
    return float(least)


def two_planes(pieces, other, node, into, toe, side, radius, start):
    """Least s of the edge that two plane cuts leave: through the tips and one crown each, moved back until nothing overlaps."""
    turns = np.linspace(0, 2 * math.pi, 721)
    s = edge(pieces, other, node, into, toe, side, radius, start, turns)
    crown, tip, heel, other_tip = s[0], s[180], s[360], s[540]
    middle, tilt = (tip + other_tip) / 2, (tip - other_tip) / 2
    planes = middle + tilt * np.sin(turns) + np.maximum((crown - middle) * np.cos(turns), (middle - heel) * np.cos(turns))
    return float(planes.min() + max(0.0, (s - planes).max()))
