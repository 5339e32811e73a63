"""The tube in the bender, at any die angle of one step.

Places on the tube are told by their distance along the blank from the tangent point, ahead (toward the lead end) or
behind. All functions take arrays of die angles and of distances, and return an array (angles, distances, 3), in mm in
the bender frame.
"""

import math

import numpy as np

from shape import turn

AHEAD, BEHIND = "ahead", "behind"


def about_z(points, angle):
    """Points (..., 3) turned about +z by an angle that fits their leading axes."""
    c, s = np.cos(angle), np.sin(angle)
    x, y, z = points[..., 0], points[..., 1], points[..., 2]
    return np.stack([c * x - s * y, s * x + c * y, z + 0 * c], axis=-1)


class Side:
    """One part of the tube at die angle 0, as straights and finished arcs in a row."""

    def __init__(self, origin, way, normal, toward_b, bends, reach, psi):
        """`bends`: made bends as (near end, far end, bend), by distance; `reach`: whole length along the blank."""
        self.reach = reach
        pieces = []  # (from, to, point, way, axis or None, radius, stretch)
        at, here, carried, turned = 0.0, np.asarray(origin, float), np.asarray(normal, float), 0.0
        way = np.asarray(way, float)
        for near, far, bend in bends:
            pieces.append((at, near, here, way, None, 0.0, 0.0, turned))
            here = here + way * (near - at)
            along = way if toward_b else -way
            axis = turn(along, bend.psi - psi, carried)
            # Walked from B to A, a bend turns the other way about its normal.
            axis = axis if toward_b else -axis
            turned += bend.angle
            pieces.append((near, far, here, way, axis, bend.radius, bend.material.stretch, turned))
            centre = here + bend.radius * np.cross(axis, way)
            here = centre + turn(axis, bend.angle, here - centre)
            way, carried = turn(axis, bend.angle, way), turn(axis, bend.angle, carried)
            at = far
        pieces.append((at, reach, here, way, None, 0.0, 0.0, turned))
        self.pieces = pieces
        self.breaks = np.array([p[0] for p in pieces] + [reach])
        self.bends = bends
        self.legs = [(p[3], p[0], p[1]) for p in pieces if p[4] is None]

    def points(self, distance):
        """Points (n, 3) at the distances (n,)."""
        distance = np.asarray(distance, float)
        which = np.clip(np.searchsorted(self.breaks, distance, side="right") - 1, 0, len(self.pieces) - 1)
        out = np.empty((*distance.shape, 3))
        for k, (start, _, here, way, axis, radius, stretch, _) in enumerate(self.pieces):
            mine = which == k
            if not mine.any():
                continue
            gone = (distance[mine] - start)[:, None]
            if axis is None:
                out[mine] = here + way * gone
            else:
                angle = gone * (1 + stretch) / radius
                inward = np.cross(axis, way)
                out[mine] = here + radius * (way * np.sin(angle) + inward * (1 - np.cos(angle)))
        return out

    def turned(self, distance):
        """How far the tube turns between the tangent point and the far end of the piece that holds each distance."""
        which = np.clip(np.searchsorted(self.breaks, distance, side="left") - 1, 0, len(self.pieces) - 1)
        return np.array([p[7] for p in self.pieces])[which]

    def next_bend(self):
        """Distance to the near end of the next made bend; infinite where the tube is straight to its end."""
        return self.bends[0][0] if self.bends else math.inf


class Pose:
    """One step: bend `index` of the tube made with `lead` ("A" or "B"), the bends in `made` made already."""

    def __init__(self, bender, tube, index, lead, made):
        self.bender, self.tube, self.bend, self.lead = bender, tube, tube.bends[index], lead
        self.die = self.bend.die
        hand = bender.hand
        self.target = self.bend.die_angle
        self.tangent = np.array([0.0, -hand * self.die.clr, 0.0])
        # The bend's normal: -z for lead A and +z for lead B, on an anticlockwise bender.
        normal = np.array([0.0, 0.0, -hand if lead == "A" else hand])
        ahead, behind = [], []
        before = [j for j in reversed(range(index)) if j in made]
        after = [j for j in range(index + 1, len(tube.bends)) if j in made]
        self.start = self.bend.start if lead == "A" else self.bend.end
        for j in before:
            b = tube.bends[j]
            (ahead if lead == "A" else behind).append((abs(b.end - self.start), abs(b.start - self.start), b))
        for j in after:
            b = tube.bends[j]
            (behind if lead == "A" else ahead).append((abs(b.start - self.start), abs(b.end - self.start), b))
        to_a, to_b = self.start, tube.cut - self.start
        x = np.array([1.0, 0, 0])
        psi = self.bend.psi
        self.sides = {
            AHEAD: Side(self.tangent, x, normal, lead == "B", ahead, to_a if lead == "A" else to_b, psi),
            BEHIND: Side(self.tangent, -x, normal, lead == "A", behind, to_b if lead == "A" else to_a, psi),
        }

    def drawn_in(self, angle):
        """Blank that has passed the tangent point at a die angle."""
        return self.die.clr * angle / (1 + self.bend.material.stretch)

    def follower_end(self, angle):
        """Distance behind, along the blank, of the follower's far end."""
        drawn = self.drawn_in(angle)
        return np.maximum(drawn, self.die.follower_length) if self.die.travels else drawn + self.die.follower_length

    def place(self, angle, side, distance):
        """Points of the centreline: `angle` (n,), `distance` (m,) or (n, m); returns (n, m, 3)."""
        angle = np.asarray(angle, float)[:, None]
        distance = np.broadcast_to(np.asarray(distance, float), (angle.shape[0], np.shape(distance)[-1]))
        hand = self.bender.hand
        rest = self.sides[side].points(distance.ravel()).reshape(*distance.shape, 3)
        if side == AHEAD:
            placed = about_z(rest, hand * angle + 0 * distance)
        else:
            drawn = self.drawn_in(angle)
            placed = rest.copy()
            placed[..., 0] += drawn
            share = np.divide(distance, drawn, out=np.ones_like(distance), where=drawn > 0)
            wrapping = distance < drawn
            on_die = about_z(np.broadcast_to(self.tangent, rest.shape), hand * (1 - share) * angle)
            placed = np.where(wrapping[..., None], on_die, placed)
        if not self.bender.turns:
            placed = about_z(placed, -hand * angle + 0 * distance)
        return placed

    def into(self, carrier, angle, points):
        """Points of the bender frame seen from a body that is fixed to `carrier` and drawn at die angle 0."""
        angle = np.asarray(angle, float).reshape((-1,) + (1,) * (points.ndim - 2))
        hand, turns = self.bender.hand, self.bender.turns
        if carrier == "die" and turns:
            return about_z(points, -hand * angle + np.zeros(points.shape[:-1]))
        if carrier == "follower":
            if not turns:
                return about_z(points, hand * angle + np.zeros(points.shape[:-1]))
            if self.die.travels:
                moved = points.copy()
                moved[..., 0] -= self.drawn_in(angle)
                return moved
        return points

    def on_blank(self, side, distance):
        """Distance from the cut end at A."""
        forward = (side == BEHIND) == (self.lead == "A")
        return self.start + distance if forward else self.start - distance

    def from_blank(self, blank):
        """(side, distance) of a place on the blank."""
        gone = blank - self.start
        ahead = gone <= 0 if self.lead == "A" else gone >= 0
        return (AHEAD if ahead else BEHIND), abs(gone)

    def height(self, points):
        """Height of points above the floor."""
        return points @ self.bender.up + self.bender.centre_height

    def keep(self, side, distance, angle, points):
        """Least and most that may be asked for as the gap to be kept at points (m, 3) of one part, at distances (m,) and one die
        angle: two standard deviations of the shop included.

        They differ only where the format's words allow two readings: on an arc itself (which of its ends counts, and
        whether it counts at all), elsewhere they are the same.
        """
        shop, keep = self.bender.accuracy, self.bender.keep
        if shop is None:
            return keep + 0 * distance, keep + 0 * distance
        both = shop["bend"] ** 2 + shop["rotation"] ** 2
        drawn = self.drawn_in(angle)
        lead, trail = self.place([angle], AHEAD, [0.0])[0, 0], self.place([angle], BEHIND, [drawn])[0, 0]
        off = [both * np.sum((points - end) ** 2, axis=-1) for end in (lead, trail)]
        if side == AHEAD:
            least = most = off[0]
        else:
            wrapping = distance < drawn
            least = np.where(wrapping, 0.0, off[1])
            most = np.where(wrapping, np.maximum(*off), off[1])
        for near, far, _ in self.sides[side].bends:
            tangent = self.place([angle], side, [near])[0, 0]
            part = both * np.sum((points - tangent) ** 2, axis=-1)
            most = most + np.where(distance > near, part, 0.0)
            least = least + np.where(distance >= far, part, 0.0)
        return tuple(keep + 2 * np.sqrt(shop["mark"] ** 2 + square) for square in (least, most))
