"""Copes against OpenCascade, and templates as printed against the same.

For random joints (straight tubes and tubes with a bend that run through, either end, offset, gap) the solid of the tube is cut by that of the other in OpenCascade, from cylinders
and tori; on what is left of the tube the rim on its outside is taken, point by point, and compared with the curve of `layout --ends --format json`: each way round within
0.01 mm, across the tube's rolled-out surface. Where OpenCascade does not cut, or cuts elsewhere (a joint in some hundreds; more than one in a hundred are not let pass), the rim is
where lines along the tube first meet the faces of the other, by OpenCascade again. The toe and the reference line are found here from the description. The same curve is then read
from the thick line of the PDF, wrapped around the tube, and has to be the same rim.

`TUBEWRIGHT_COUNT=full` looks at 1,000 joints, else at 20.
"""

import itertools
import json
import math
import os
import pathlib
import random
import sys
import tempfile

import numpy as np
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepClass3d import BRepClass3d_SolidClassifier
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakeTorus
from OCP.gp import gp_Ax2, gp_Lin
from OCP.IntCurvesFace import IntCurvesFace_ShapeIntersector
from OCP.TopAbs import TopAbs_EDGE, TopAbs_OUT, TopAbs_SOLID
from OCP.TopoDS import TopoDS

import cope
import pdf_page
import program
from occ import explored, list_of, pnt, towards, xyz

WITHIN = 0.01
COUNT = 1000 if os.environ.get("TUBEWRIGHT_COUNT") == "full" else 20
LENGTH = 500.0
LINES = 1440

BENDER = """
kind: bender
units: mm
motion: die-turns
hand: {hand}
bend_plane: horizontal
centre_height: 2000
dies:
  through: {{ od: {other!r}, clr: {clr!r}, max_angle: 195, clamp_length: 40, follower_length: 60 }}
  own: {{ od: {od!r}, clr: {own_clr!r}, max_angle: 195, clamp_length: 40, follower_length: 60 }}
"""


def unit(v):
    """The direction of a vector."""
    return v / np.linalg.norm(v)


def some_way(chance):
    """A random direction."""
    while True:
        v = np.array([chance.uniform(-1, 1) for _ in range(3)])
        if 0.1 < np.linalg.norm(v) < 1:
            return unit(v)


class Joint:
    """A random joint."""

    def __init__(self, seed):
        chance = random.Random(seed)
        self.other = chance.uniform(20, 70)
        self.clr = self.other * chance.uniform(1.5, 4)
        self.hand = chance.choice(("anticlockwise", "clockwise"))
        at, way = np.array([chance.uniform(-500, 500) for _ in range(3)]), some_way(chance)
        bent = chance.random() < 0.6
        turn = math.radians(chance.uniform(20, 120)) if bent else 0.0
        across = unit(np.cross(way, some_way(chance)))
        after = way * math.cos(turn) + across * math.sin(turn)
        back = self.clr * math.tan(turn / 2)
        self.points = [at - way * (700 + back), at, at + after * (700 + back)] if bent else [at - way * 700, at + way * 700]
        self.pieces = cope.centreline(self.points, [self.clr] if bent else [])
        # Somewhere on it: mostly on the bend, or near where it begins.
        piece = self.pieces[1] if bent and chance.random() < 0.7 else chance.choice(self.pieces[::2])
        part = chance.uniform(0.9, 1.0) if piece is self.pieces[0] and bent else chance.uniform(0.3, 0.7) if not bent else chance.uniform(0, 0.4)
        place, along = cope.place(piece, part)
        flat = math.radians(chance.choice((90.0, chance.uniform(25, 90), chance.uniform(40, 90))))
        square = unit(np.cross(along, some_way(chance)))
        self.into = along * math.cos(flat) + square * math.sin(flat)
        offset = chance.choice((0.0, chance.uniform(-0.3, 0.3))) * self.other
        self.od = 2 * (self.other / 2 - abs(offset)) * chance.uniform(0.35, 0.97)
        self.node = place + offset * np.cross(along, square) + self.into * chance.choice((0.0, chance.uniform(-4, 4)))
        self.wall = chance.choice((None, self.od * chance.uniform(0.03, 0.15)))
        self.gap = chance.choice((0.0, chance.uniform(0.5, 3)))
        self.end = chance.choice("AB")
        # A tube with a bend of its own has a reference line that does not hang on the joint.
        self.own_clr = 3 * self.od
        far = self.node + self.into * LENGTH
        turn = math.radians(chance.uniform(20, 80))
        aside = unit(np.cross(self.into, some_way(chance)))
        path = [self.node, far, far + (self.into * math.cos(turn) + aside * math.sin(turn)) * 600]
        self.path = path if self.end == "A" else path[::-1]
        self.start = LENGTH - self.own_clr * math.tan(turn / 2)
        # Before the cut the tube reaches from the start of its own bend to well past the other tube.
        self.low = -8 * self.other
        self.travel = self.into if self.end == "A" else -self.into
        self.toe, self.side, self.angle = cope.frame(self.pieces, self.node, self.into, self.travel)
        # With lead A the tube lies with bend 1's normal down for an anticlockwise bender: the reference line is on top.
        legs = [unit(b - a) for a, b in zip(self.path, self.path[1:])]
        normal = unit(np.cross(legs[0], legs[1]))
        self.reference = -normal if self.hand == "anticlockwise" else normal

    def fits(self):
        """Whether there is one cut, and by a margin: no line grazes the other tube, or jumps from one place of it to another."""
        if self.start < 150 or self.angle < math.radians(15):
            return False
        turns = np.linspace(0, 2 * math.pi, 181)
        grown = cope.edge(self.pieces, self.other / 2, self.node, self.into, self.toe, self.side, self.od / 2 + 0.05, self.start, turns)
        if np.isnan(grown).any() or np.abs(np.diff(grown)).max() > 0.2 * self.other or grown.max() > self.start - 60:
            return False
        return grown.max() < 4 * self.other and grown.min() > -4 * self.other

    def toe_deg(self):
        """Where the toe lies, clockwise from the reference line looking from end A."""
        return math.degrees(math.atan2(np.cross(self.reference, self.toe) @ self.travel, self.reference @ self.toe)) % 360

    def job(self, folder):
        """Writes both files."""
        (folder / "bender.yaml").write_text(BENDER.format(hand=self.hand, other=self.other, clr=self.clr, od=self.od, own_clr=self.own_clr))
        names = {f"h{k}": p for k, p in enumerate(self.points)} | {f"b{k}": p for k, p in enumerate(self.path)}
        nodes = "".join(f"  {name}: [{', '.join(repr(float(x)) for x in point)}]\n" for name, point in names.items())
        wall = "" if self.wall is None else f", wall: {self.wall!r}"
        path = lambda letter, points: ", ".join(f"{letter}{k}" for k in range(len(points)))
        (folder / "job.yaml").write_text(
            f"kind: job\nunits: mm\nbender: bender.yaml\nnodes:\n{nodes}tubes:\n"
            f"  through:\n    tube: {{ od: {self.other!r}, die: through }}\n    path: [{path('h', self.points)}]\n"
            f"  branch:\n    tube: {{ od: {self.od!r}, die: own{wall} }}\n    path: [{path('b', self.path)}]\n"
            f"    ends: {{ {self.end.lower()}: {{ meets: through, gap: {self.gap!r} }} }}\n"
        )
        return folder / "job.yaml"

    def rim(self):
        """Points (t, s) of the rim that OpenCascade leaves, densely, and whether it cut."""
        # A point of the tube's axis that the other tube holds: what is left may not hold it. Where it does, nothing was cut, and the seam of the cylinder is laid elsewhere.
        along = np.linspace(-2 * self.other, self.start, 400)
        points = self.node + along[:, None] * self.into
        within = points[cope.free(self.pieces, points) < 0.4 * self.other]
        middle = pnt(within[len(within) // 2])
        for seam, together in itertools.product((0.0, 1.0, 2.0, 3.0), (True, False)):
            solid = self.left(seam, together)
            if BRepClass3d_SolidClassifier(solid, middle, 1e-6).State() == TopAbs_OUT:
                return self.rim_of(solid), True
        return [self.met()], False

    def met(self):
        """Where lines along the tube's outside first meet the faces of the other tube: points (t, s), once round."""
        faces = []
        for tool in self.tools():
            faces.append(IntCurvesFace_ShapeIntersector())
            faces[-1].Load(tool, 1e-9)
        rim = []
        for t in np.linspace(0, 2 * math.pi, LINES + 1):
            origin = self.node + self.od / 2 * (self.toe * math.cos(t) + self.side * math.sin(t)) + self.start * self.into
            line = gp_Lin(pnt(origin), towards(-self.into))
            hits = []
            for face in faces:
                face.Perform(line, 0.0, self.start - self.low)
                assert face.IsDone(), "no line meets a face"
                hits += [face.WParameter(k) for k in range(1, face.NbPnt() + 1)]
            rim.append((t, self.start - min(hits)))
        return np.array(rim)

    def left(self, seam, together):
        """What is left of the tube, as a bar, with its seam so far around: cut by all pieces of the other at once, or by one after the other, which may leave a sliver between them."""
        around = self.toe * math.cos(seam) + self.side * math.sin(seam)
        frame = gp_Ax2(pnt(self.node + self.into * self.low), towards(self.into), towards(around))
        solid = BRepPrimAPI_MakeCylinder(frame, self.od / 2, self.start - self.low).Shape()
        tools = self.tools()
        for each in [tools] if together else [[tool] for tool in tools]:
            cut = BRepAlgoAPI_Cut()
            cut.SetArguments(list_of([solid]))
            cut.SetTools(list_of(each))
            cut.Build()
            assert cut.IsDone(), "no cut"
            solid = cut.Shape()
        return solid

    def tools(self):
        """The solids that the other tube is made of."""
        tools = []
        for piece in self.pieces:
            if piece[0] == "line":
                _, a, b = piece
                tools.append(BRepPrimAPI_MakeCylinder(gp_Ax2(pnt(a), towards(b - a)), self.other / 2, float(np.linalg.norm(b - a))).Shape())
            else:
                _, centre, spoke, along, radius, angle = piece
                frame = gp_Ax2(pnt(centre), towards(np.cross(spoke, along)), towards(spoke))
                tools.append(BRepPrimAPI_MakeTorus(frame, radius, self.other / 2, angle).Shape())
        return tools

    def rim_of(self, solid):
        """Points (t, s) of the rim of what is left."""
        # Of what is left the part that holds the far end.
        parts = [self.points_of(part) for part in explored(solid, TopAbs_SOLID)]
        found = max(parts, key=lambda part: max(((points - self.node) @ self.into).max() for points in part))
        rim = []
        for points in found:
            apart = points - self.node
            s = apart @ self.into
            x, y = apart @ self.toe, apart @ self.side
            on = (np.abs(np.hypot(x, y) - self.od / 2) < 1e-3) & (s < self.start - 1)
            # The seam of the cylinder is no rim: it runs along the axis.
            turns = np.arctan2(y, x)
            if on.all() and np.ptp(np.unwrap(turns)) * self.od / 2 > 1e-6:
                rim.append(np.column_stack([turns % (2 * math.pi), s]))
        return rim

    @staticmethod
    def points_of(shape):
        """Points of each edge of a shape."""
        edges = []
        for edge in map(TopoDS.Edge, explored(shape, TopAbs_EDGE)):
            if not BRep_Tool.Degenerated_s(edge):
                curve = BRepAdaptor_Curve(edge)
                edges.append(np.array([xyz(curve.Value(u)) for u in np.linspace(curve.FirstParameter(), curve.LastParameter(), 800)]))
        return edges


def apart(points, lines, radius):
    """Greatest distance of points (t, s) from polylines of such points, on the surface rolled out; three turns of it, so that no edge of the paper tells."""
    flat = lambda p: np.column_stack([p[:, 0] * radius, p[:, 1]])
    worst = 0.0
    segments = []
    for line in lines:
        unwrapped = np.column_stack([np.unwrap(line[:, 0]), line[:, 1]])
        for turn in (-2, -1, 0, 1, 2):
            moved = flat(unwrapped + [turn * 2 * math.pi, 0])
            segments.append(np.hstack([moved[:-1], moved[1:]]))
    segments = np.concatenate(segments)
    a, span = segments[:, :2], segments[:, 2:] - segments[:, :2]
    square = np.maximum((span * span).sum(axis=1), 1e-18)
    for point in flat(points):
        part = np.clip(((point - a) * span).sum(axis=1) / square, 0, 1)
        worst = max(worst, np.linalg.norm(a + part[:, None] * span - point, axis=1).min())
    return worst


def printed(joint, path, end):
    """The thick line of the template, wrapped: parts of (t, s), s from the node."""
    page = next(page for page in pdf_page.pages(path) if any(abs(line.width - 0.6) < 0.01 for line in page.lines))
    thick = [line for line in page.lines if abs(line.width - 0.6) < 0.01]
    assert len(thick) == 1 and thick[0].clip is None, "one thick line"
    girth = math.pi * joint.od
    # The long point's line: the only one in dashes of 6 and 1.5 mm, from the left edge to the line of the girth.
    long = [line for line in page.lines if len(line.dash) == 2 and abs(line.dash[0] - 6) < 0.01]
    assert len(long) == 1, "one line of the long point"
    (x0, y), (x1, _) = long[0].parts[0]
    assert abs(x1 - x0 - girth) < WITHIN, f"girth {x1 - x0} instead of {girth}"
    up = 1 if joint.end == "A" else -1
    parts = []
    for part in thick[0].parts:
        t = (part[:, 0] - x0) / girth * 2 * math.pi - math.radians(joint.toe_deg())
        parts.append(np.column_stack([t, up * (y - part[:, 1]) + end["set_off_mm"]]))
    return parts


def compared(joint, end, curve, rim):
    """Millimetres between the curve and the rim, by what is compared."""
    return {
        "rim": max(apart(part[::7], [curve], joint.od / 2) for part in rim),
        "curve": apart(curve[::3], rim, joint.od / 2),
        "long": abs(end["set_off_mm"] - joint.gap - min(part[:, 1].min() for part in rim)),
    }


def main():
    """Compares all joints; status 1 where any differs."""
    wrong, done, seed, bent, pages, uncut = [], 0, 0, 0, 0, 0
    worst = {"rim": 0.0, "curve": 0.0, "printed": 0.0, "long": 0.0, "toe": 0.0}
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        while done < COUNT:
            seed += 1
            joint = Joint(seed)
            if not joint.fits():
                continue
            done += 1
            job = joint.job(folder)
            ran = program.run("tubewright", "layout", str(job), "--ends", "--tube", "branch", "--format", "json", "--quiet")
            if ran.returncode not in (0, 1):
                wrong.append(f"joint {seed}: status {ran.returncode}: {ran.stderr}")
                continue
            end = json.loads(ran.stdout)["ends"][0]
            bent += len(joint.pieces) > 1
            curve = np.array(end["outside"])
            curve = np.column_stack([np.radians(curve[:, 0]), curve[:, 1] - joint.gap])
            rim, cut = joint.rim()
            uncut += not cut
            off = compared(joint, end, curve, rim)
            if cut and max(off.values()) > WITHIN:
                rim, uncut = [joint.met()], uncut + 1
                off = compared(joint, end, curve, rim)
            off["toe"] = abs((end["toe_deg"] - joint.toe_deg() + 180) % 360 - 180) * math.radians(joint.od / 2)
            if done % 5 == 0:
                path = folder / "ends.pdf"
                ran = program.run("tubewright", "layout", str(job), "--ends", "--tube", "branch", "--force", "--output", str(path), "--quiet")
                assert ran.returncode in (0, 1), ran.stderr
                if len(pdf_page.pages(path)) == 1:
                    pages += 1
                    parts = [part - [0, joint.gap] for part in printed(joint, path, end)]
                    off["printed"] = max(
                        max(apart(part[::7], parts, joint.od / 2) for part in rim), max(apart(part, rim, joint.od / 2) for part in parts)
                    )
            for what, by in off.items():
                worst[what] = max(worst[what], by)
                if not by <= WITHIN:
                    wrong.append(f"joint {seed}: {what} off by {by:.4f} mm: OD {joint.od:.2f} on {joint.other:.2f}, {math.degrees(joint.angle):.1f} degrees, end {joint.end}")
    for line in wrong:
        print(line)
    if wrong or bent < COUNT / 4 or pages < COUNT / 20 or uncut > COUNT / 100:
        print(f"copes: {len(wrong)} differences in {done} joints, {bent} on tubes with a bend, {pages} templates read, {uncut} not cut", file=sys.stderr)
        return 1
    told = ", ".join(f"{what} {by:.1e}" for what, by in worst.items())
    print(f"judge: copes: {done} joints of {seed} drawn agree, {bent} on tubes with a bend, {pages} templates read, {uncut} by lines; worst in mm: {told}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
