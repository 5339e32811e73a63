"""How far end B of a finished tube is off, from the shop's own standard deviations: by numerical derivatives and counting.

Every mark, every bend angle and every rotation goes wrong on its own. Marks and arcs lie on the blank: with lead A a bend's
arc starts at its mark, with lead B it ends there, and the straights are what is left between.
"""

import copy
import math

import numpy as np

from shape import turn


def end_b(tube, leads, marks, angles, rolls):
    """End B seen from end A, the first leg along +x, the first bend toward +y, after errors of each bend.

    `rolls` are errors of the rotations before each bend, as the rows have them: the first says nothing about the shape.
    """
    at, way, normal = np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 0, 1.0])
    along = tube.extra_a
    for k, bend in enumerate(tube.bends):
        wrong = copy.copy(bend)
        wrong.angle = bend.angle + angles[k]
        start = bend.start + marks[k] if leads[k] == "A" else bend.end + marks[k] - wrong.blank_arc
        if k:
            normal = turn(way, bend.rotation + rolls[k], normal)
        at = at + way * (start - along)
        centre = at + bend.radius * np.cross(normal, way)
        at = centre + turn(normal, wrong.angle, at - centre)
        way = turn(normal, wrong.angle, way)
        along = start + wrong.blank_arc
    return at + way * (tube.cut - tube.extra_b - along)


def scatter(tube, leads, shop):
    """(95 % radius, variance of end B in mm2, shares, mm a degree of each bend angle)."""
    count = len(tube.bends)
    zero = np.zeros(count)
    columns, owners, per_degree = [], [], []
    for k in range(count):
        one = np.eye(count)[k]
        # In mm for marks and in radians for angles; central differences.
        for step, which, deviation in ((1e-3, 0, shop["mark"]), (1e-5, 1, shop["bend"]), (1e-5, 2, shop["rotation"])):
            plus, minus = ([zero, zero, zero] for _ in range(2))
            plus[which], minus[which] = one * step, -one * step
            slope = (end_b(tube, leads, *plus) - end_b(tube, leads, *minus)) / (2 * step)
            columns.append(slope * deviation)
            owners.append(k)
            if which == 1:
                per_degree.append(np.linalg.norm(slope) * math.pi / 180)
    columns, owners = np.array(columns), np.array(owners)
    variance = (columns**2).sum(1)
    drawn = np.random.default_rng(1).standard_normal((400_000, len(columns))) @ columns
    radius = np.quantile(np.linalg.norm(drawn, axis=1), 0.95)
    shares = [variance[owners == k].sum() / variance.sum() for k in range(count)]
    return radius, variance.sum(), shares, per_degree
