"""Finished tubes against OpenCascade: wire length, end point, and the distance of the wire to boxes, cylinders and capsules.

The program's own tubes come from `tests/src/bin/finished_tubes.rs` as JSON. From their rows alone the
corner points are worked out here, the polyline is made in OpenCascade, and every corner is rounded by OpenCascade's own
planar fillet: no tangent point of ours is used. (Its analytic fillet, `ChFi2d_AnaFilletAlgo`: the iterative one is off by up
to 1e-6 mm near a reversal.) Its wire is measured by GProp, and against the solids by BRepExtrema.
"""

import json
import math
import sys

import numpy as np
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeWire
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakeSphere
from OCP.ChFi2d import ChFi2d_AnaFilletAlgo
from OCP.gp import gp_Ax2, gp_Pln
from OCP.GProp import GProp_GProps
from OCP.TopoDS import TopoDS_Edge

import program
from occ import pnt, towards, xyz

LENGTH = 1e-6  # mm
GAP = 0.1  # mm


def turned(axis, angle, vector):
    """`vector` turned about the unit `axis` (Rodrigues' formula)."""
    c, s = math.cos(angle), math.sin(angle)
    return vector * c + np.cross(axis, vector) * s + axis * (axis @ vector) * (1 - c)


def corners(tube):
    """Corner points from the rows: each leg is its straight and the setbacks, radius x tan(bend angle / 2), at its ends."""
    rows, radii = tube["rows"], tube["radii_mm"]
    bends = [math.radians(r["bend_deg"]) for r in rows[:-1]]
    backs = [0.0, *(r * math.tan(b / 2) for r, b in zip(radii, bends)), 0.0]
    at = np.array(tube["start_mm"])
    way, normal = np.array(tube["direction"]), np.array(tube["normal"])
    points = [at]
    for k, row in enumerate(rows):
        at = at + way * (row["length_mm"] + backs[k] + backs[k + 1])
        points.append(at)
        if k < len(bends):
            if k:
                normal = turned(way, math.radians(row["rotation_deg"]), normal)
            way = turned(normal, bends[k], way)
    return points


def wire(points, radii):
    """The polyline with OpenCascade's fillet at every corner: (wire, its edges)."""
    edges = [BRepBuilderAPI_MakeEdge(pnt(a), pnt(b)).Edge() for a, b in zip(points, points[1:])]
    whole = []
    for k, radius in enumerate(radii):
        normal = np.cross(points[k + 1] - points[k], points[k + 2] - points[k + 1])
        fillet = ChFi2d_AnaFilletAlgo(edges[k], edges[k + 1], gp_Pln(pnt(points[k + 1]), towards(normal)))
        if not fillet.Perform(radius):
            raise SystemExit(f"opencascade: no fillet of {radius} mm at corner {k + 1}")
        before, after = TopoDS_Edge(), TopoDS_Edge()
        arc = fillet.Result(before, after)
        whole += [before, arc]
        edges[k + 1] = after
    whole.append(edges[-1])
    maker = BRepBuilderAPI_MakeWire()
    for edge in whole:
        maker.Add(edge)
    return maker.Wire(), whole


def length(shape):
    found = GProp_GProps()
    BRepGProp.LinearProperties_s(shape, found)
    return found.Mass()


def far_end(edge, near):
    """The end of an edge that is not at `near`."""
    curve = BRepAdaptor_Curve(edge)
    ends = [curve.Value(curve.FirstParameter()), curve.Value(curve.LastParameter())]
    ends = [xyz(p) for p in ends]
    return max(ends, key=lambda p: np.linalg.norm(p - near))


def solids(entry):
    """A body of the tube's surroundings as solids of OpenCascade; a capsule is a cylinder and two balls.

    They are not fused: of 1,000 capsules two were so far off after BRepAlgoAPI_Fuse (64 mm for a touch) that the parts themselves,
    and the distance to the capsule's axis less its radius, contradict it.
    """
    if entry["kind"] == "box":
        return [BRepPrimAPI_MakeBox(pnt(entry["min_mm"]), pnt(entry["max_mm"])).Shape()]
    a, b, radius = np.array(entry["from_mm"]), np.array(entry["to_mm"]), entry["radius_mm"]
    along = b - a
    rod = BRepPrimAPI_MakeCylinder(gp_Ax2(pnt(a), towards(along)), radius, float(np.linalg.norm(along))).Shape()
    if entry["kind"] == "cylinder":
        return [rod]
    return [rod, *(BRepPrimAPI_MakeSphere(pnt(end), radius).Shape() for end in (a, b))]


def distance(one, other):
    """Distance of two shapes; 0 where one is inside the other."""
    found = BRepExtrema_DistShapeShape(one, other)
    if not found.IsDone():
        raise SystemExit("opencascade: no distance found")
    return 0.0 if found.InnerSolution() else found.Value()


def main():
    """Compares all tubes; status 1 where any differs."""
    done = program.run("finished_tubes")
    if done.returncode:
        raise SystemExit(f"opencascade: finished_tubes ends with status {done.returncode}: {done.stderr}")
    tubes = json.loads(done.stdout)["tubes"]
    wrong, worst, touching, near = [], {"length": 0.0, "end": 0.0, "gap": 0.0}, 0, 0
    for number, tube in enumerate(tubes, 1):
        points = corners(tube)
        shape, edges = wire(points, tube["radii_mm"])
        off = abs(length(shape) - tube["developed_mm"])
        worst["length"] = max(worst["length"], off)
        if off > LENGTH:
            wrong.append(f"tube {number}: wire {length(shape)}, ours {tube['developed_mm']}")
        end = far_end(edges[-1], points[-2])
        off = float(np.linalg.norm(end - np.array(tube["end_mm"])))
        worst["end"] = max(worst["end"], off)
        if off > LENGTH:
            wrong.append(f"tube {number}: end {end}, ours {tube['end_mm']}")
        for k, entry in enumerate(tube["solids"], 1):
            theirs = min(distance(shape, body) for body in solids(entry["solid"])) - tube["od_mm"] / 2
            ours = entry["gap_mm"]
            touching += theirs <= 0
            near += 0 < theirs < 20
            off = abs(max(theirs, 0.0) - ours)
            worst["gap"] = max(worst["gap"], off)
            # Just at a touch both answers are right: what is within 0.1 mm of it may be called either.
            if off > GAP or (theirs <= 0 and ours != 0):
                wrong.append(f"tube {number}, solid {k} ({entry['solid']['kind']}): gap {theirs}, ours {ours}")
    for line in wrong:
        print(line)
    if wrong or len(tubes) < 50 or not touching or not near:
        print(f"opencascade: {len(wrong)} differences in {len(tubes)} tubes, {touching} touching, {near} near", file=sys.stderr)
        return 1
    print(f"judge: opencascade: {len(tubes)} tubes agree, worst length {worst['length']:.1e} mm, end {worst['end']:.1e} mm, "
          f"gap {worst['gap']:.3f} mm; {touching} gaps touching, {near} within 20 mm")
    return 0


if __name__ == "__main__":
    sys.exit(main())
