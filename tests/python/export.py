"""Exported tubes, read and measured by programs of others' making, against the plan's geometry.

STEP by OpenCascade: one sound solid a tube and the names of all, its volume pi / 4 (OD2 - ID2) times the developed length, its faces planes, cylinders and
tori about the centreline that is worked out here from the plan's nodes or rows, and points of that centreline half an ID from it. STL and glTF by trimesh:
closed, corners on the true surface, no point of a triangle further off than the chord error. DXF by ezdxf: audited, each line and arc at its place.
"""

import io
import json
import math
import pathlib
import sys
import tempfile
from dataclasses import dataclass

import ezdxf
import numpy as np
import trimesh
from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeVertex
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp
from OCP.BRepTools import BRepTools
from OCP.GeomAbs import GeomAbs_SurfaceType as Kind
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDocStd import TDocStd_Document
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopoDS import TopoDS
from OCP.XCAFDoc import XCAFDoc_DocumentTool, XCAFDoc_ShapeTool
from OCP.collections import Sequence_TDF_Label

import program
from occ import explored, pnt, xyz
from opencascade import turned

LENGTH = 1e-6  # mm
RELATIVE = 1e-6
SINGLE = 2.0**-24  # of a coordinate in single precision, by rounding
CHORDS = {"": 0.1, "0.02 mm": 0.02, "1.5 mm": 1.5}

AWKWARD = """
kind: job
units: in
bender: bender.yaml
tube: {{ od: 1.5, wall: 0.095, die: five }}
tubes:
  "Bügel's ½ 100%% \\\\ 日本 𝛼":
    legs: [7, 24, 18]
    bends: [90, 145]
    rotations: [130]
    extra: {{ a: 1, b: 2 }}
  awkward:
    rows:
      - {{ length: 0, bend: 178 }}
      - {{ length: 0, rotation: 90, bend: 0.5 }}
      - {{ length: 12, rotation: -17, bend: 60 }}
      - {{ length: 0 }}
  bar:
    legs: [20]
"""

# Its wall is not given.
BARE = """
kind: job
units: mm
bender: bender.yaml
tube: {{ od: 38.1, die: five }}
nodes: {{ a: [100, 20, 7], b: [100, 900, 7], c: [400, 900, 500], d: [400, 1400, 900] }}
tubes:
  bare: {{ path: [a, b, c, d] }}
"""

BENDER = """
kind: bender
units: in
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 40
dies:
  five: { od: 1.5, clr: 5, max_angle: 200, clamp_length: 3, follower_length: 6 }
"""


@dataclass
class Piece:
    """A straight, or an arc about `centre` by `angle` right-handed about `normal`; it begins at `start` along `way`."""

    start: np.ndarray
    way: np.ndarray
    length: float
    centre: np.ndarray = None
    normal: np.ndarray = None
    radius: float = 0.0

    def at(self, along):
        """Point and direction so far along it."""
        if self.centre is None:
            return self.start + self.way * along, self.way
        angle = along / self.radius
        return self.centre + turned(self.normal, angle, self.start - self.centre), turned(self.normal, angle, self.way)

    def distance(self, points):
        """Distance of points to it."""
        if self.centre is None:
            along = np.clip((points - self.start) @ self.way, 0.0, self.length)
            return np.linalg.norm(points - self.start - along[:, None] * self.way, axis=1)
        spoke = (self.start - self.centre) / self.radius
        off = points - self.centre
        angle = np.arctan2(off @ self.way, off @ spoke) % math.tau
        whole = self.length / self.radius
        # Beside the arc the nearer end counts.
        angle = np.where(angle <= whole, angle, np.where(angle - whole < math.tau - angle, whole, 0.0))
        nearest = self.radius * (np.cos(angle)[:, None] * spoke + np.sin(angle)[:, None] * self.way)
        return np.linalg.norm(off - nearest, axis=1)


def course(tube, whole=False):
    """Straights and arcs of a tube of the plan: from its nodes where it has all of them, else from its rows. `whole` runs to the nodes, else to the long points of copes."""
    nodes = [None if node is None else np.array(node, float) for node in tube["nodes_mm"]]
    rows = tube["rows"]
    unit = lambda v: v / np.linalg.norm(v)
    if all(node is not None for node in nodes):
        # What is passed straight through is no corner.
        corners = [nodes[0]]
        for before, node, after in zip(nodes, nodes[1:], nodes[2:]):
            one, other = unit(node - before), unit(after - node)
            if math.degrees(math.atan2(np.linalg.norm(np.cross(one, other)), one @ other)) >= 0.05 - 1e-9:
                corners.append(node)
        corners.append(nodes[-1])
        ways = [unit(b - a) for a, b in zip(corners, corners[1:])]
        pieces, at = [], corners[0]
        for one, other, corner, row in zip(ways, ways[1:], corners[1:], rows):
            normal = np.cross(one, other)
            angle = math.atan2(np.linalg.norm(normal), one @ other)
            radius = row["formed_radius_mm"]
            back = radius * math.tan(angle / 2)
            start = corner - back * one
            pieces.append(Piece(at, one, float((start - at) @ one)))
            normal = unit(normal)
            pieces.append(Piece(start, one, radius * angle, start + radius * np.cross(normal, one), normal, radius))
            at = corner + back * other
        pieces.append(Piece(at, ways[-1], float((corners[-1] - at) @ ways[-1])))
    else:
        # Rows begin at the origin along +x, their first bend toward +y.
        at, way, normal, pieces = np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 0, 1.0]), []
        for row in rows:
            pieces.append(Piece(at, way, row["length_mm"]))
            at = at + way * row["length_mm"]
            if "bend_deg" in row:
                normal = turned(way, math.radians(row["rotation_deg"]), normal)
                radius, angle = row["formed_radius_mm"], math.radians(row["bend_deg"])
                pieces.append(Piece(at, way, radius * angle, at + radius * np.cross(normal, way), normal, radius))
                at, way = pieces[-1].at(radius * angle)
    # An end that lands on another tube is cut square at its long point.
    for end in [] if whole else tube.get("ends", []):
        if end["end"] == "A":
            first = pieces[0]
            pieces[0] = Piece(first.start + first.way * end["set_off_mm"], first.way, first.length - end["set_off_mm"])
        else:
            pieces[-1] = Piece(pieces[-1].start, pieces[-1].way, pieces[-1].length - end["set_off_mm"])
    return [piece for piece in pieces if piece.length > 1e-7]


def developed(tube):
    """Length along the centreline, to the long points of copes."""
    return tube["developed_mm"] - sum(end["set_off_mm"] for end in tube.get("ends", []))


def exported(job, extension, *more):
    """Bytes of an export, through a file."""
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / f"out.{extension}"
        run = program.run("tubewright", "export", str(job), "--output", str(path), "--quiet", *more)
        assert run.returncode in (0, 1) and not run.stderr, run.stderr
        return path.read_bytes()


def name(label):
    found = TDataStd_Name()
    assert label.FindAttribute(TDataStd_Name.GetID_s(), found)
    return found.Get().ToExtString()


def solids(path, tubes, job):
    """The solids of a STEP file in the order of the tubes, names and places checked."""
    document = TDocStd_Document(TCollection_ExtendedString("XmlXCAF"))
    reader = STEPCAFControl_Reader()
    reader.SetNameMode(True)
    assert reader.ReadFile(str(path)) == IFSelect_ReturnStatus.IFSelect_RetDone
    assert reader.Transfer(document)
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    free = Sequence_TDF_Label()
    tool.GetFreeShapes(free)
    assert free.Length() == 1, free.Length()
    top = free.Value(1)
    if len(tubes) == 1:
        assert not XCAFDoc_ShapeTool.IsAssembly_s(top)
        parts = [top]
    else:
        assert XCAFDoc_ShapeTool.IsAssembly_s(top) and name(top) == job, name(top)
        components = Sequence_TDF_Label()
        XCAFDoc_ShapeTool.GetComponents_s(top, components)
        parts = []
        for number in range(1, components.Length() + 1):
            component = components.Value(number)
            place = XCAFDoc_ShapeTool.GetLocation_s(component).Transformation()
            matrix = [[place.Value(row, column) for column in (1, 2, 3, 4)] for row in (1, 2, 3)]
            assert np.abs(np.array(matrix) - np.eye(3, 4)).max() <= 1e-12, matrix
            part = type(component)()
            assert XCAFDoc_ShapeTool.GetReferredShape_s(component, part)
            assert name(part) == name(component)
            parts.append(part)
    assert [name(part) for part in parts] == [tube["name"] for tube in tubes], [name(part) for part in parts]
    found = []
    for part in parts:
        shape = XCAFDoc_ShapeTool.GetShape_s(part)
        inside = explored(shape, TopAbs_ShapeEnum.TopAbs_SOLID)
        assert len(inside) == 1 and len(explored(shape, TopAbs_ShapeEnum.TopAbs_SHELL)) == 1
        found.append(inside[0])
    return found


def step(job, tubes, worst):
    """STEP by OpenCascade."""
    raw = exported(job, "step")
    assert b"ends cut square" in raw and raw == exported(job, "stp")
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "out.step"
        path.write_bytes(raw)
        shapes = solids(path, tubes, pathlib.Path(job).stem)
    for tube, solid in zip(tubes, shapes):
        what = f"{pathlib.Path(job).stem} {tube['name']}"
        assert BRepCheck_Analyzer(solid).IsValid(), what
        pieces = course(tube)
        outside = tube["od_mm"] / 2
        inside = None if tube["wall_mm"] is None else outside - tube["wall_mm"]
        radii = [outside] if inside is None else [outside, inside]
        area = math.pi * (outside**2 - (inside or 0.0) ** 2)
        props = GProp_GProps()
        BRepGProp.VolumeProperties_s(solid, props)
        wanted = area * developed(tube)
        off = abs(props.Mass() / wanted - 1)
        worst["volume"] = max(worst["volume"], off)
        assert off <= RELATIVE, f"{what}: volume {props.Mass()}, {wanted}"
        # Every face belongs to a piece, an end or nothing: two halves for each piece and radius, and the ends.
        wanted = {(place, radius): 2 for place in range(len(pieces)) for radius in radii}
        ends, lengths = 0, {radius: 0.0 for radius in radii}
        for face in explored(solid, TopAbs_ShapeEnum.TopAbs_FACE):
            face = TopoDS.Face(face)
            surface = BRepAdaptor_Surface(face)
            u0, u1, v0, v1 = BRepTools.UVBounds_s(face)
            if surface.GetType() == Kind.GeomAbs_Plane:
                plane = surface.Plane()
                normal, at = xyz(plane.Axis().Direction()), xyz(plane.Location())
                places = [pieces[0].at(0.0), pieces[-1].at(pieces[-1].length)]
                near = [np.linalg.norm(at - point) <= LENGTH and np.linalg.norm(np.cross(normal, way)) <= 1e-9 for point, way in places]
                assert sum(near) == 1, what
                BRepGProp.SurfaceProperties_s(face, props)
                assert abs(props.Mass() / area - 1) <= RELATIVE, what
                ends += 1
                continue
            if surface.GetType() == Kind.GeomAbs_Cylinder:
                body = surface.Cylinder()
                axis, at, radius = xyz(body.Axis().Direction()), xyz(body.Location()), body.Radius()
                apart = lambda piece: math.inf if piece.centre is not None else max(
                    np.linalg.norm(np.cross(point - at, axis)) for point in (piece.start, piece.at(piece.length)[0]))
                length = v1 - v0
                low = at + axis * min(v0, v1)
                spans = [(place, abs(length - piece.length) + min(np.linalg.norm(low - piece.start), np.linalg.norm(low - piece.at(piece.length)[0])))
                         for place, piece in enumerate(pieces) if apart(piece) <= LENGTH]
                around = u1 - u0
            else:
                assert surface.GetType() == Kind.GeomAbs_Torus, f"{what}: {surface.GetType()}"
                body = surface.Torus()
                axis, at, radius = xyz(body.Axis().Direction()), xyz(body.Location()), body.MinorRadius()
                # How far the axis of the tube in the file is from ours: by its centre, its radius and its tilt, at that radius.
                apart = lambda piece: math.inf if piece.centre is None else max(
                    np.linalg.norm(piece.centre - at), abs(piece.radius - body.MajorRadius()),
                    np.linalg.norm(np.cross(axis, piece.normal)) * piece.radius)
                length = (u1 - u0) * body.MajorRadius()
                begin = lambda angle: at + body.MajorRadius() * (math.cos(angle) * xyz(body.XAxis().Direction()) + math.sin(angle) * xyz(body.YAxis().Direction()))
                spans = [(place, abs(length - piece.length) + min(np.linalg.norm(begin(u) - piece.start) for u in (u0, u1)))
                         for place, piece in enumerate(pieces) if apart(piece) <= LENGTH]
                around = v1 - v0
            assert abs(around - math.pi) <= 1e-9, f"{what}: {around}"
            place, off = min(spans, key=lambda span: span[1], default=(None, math.inf))
            assert off <= LENGTH, f"{what}: a face of no piece, {off}"
            mine = min(radii, key=lambda one: abs(one - radius))
            assert abs(mine - radius) <= LENGTH, what
            wanted[place, mine] -= 1
            lengths[mine] += length / 2
            worst["axis"] = max(worst["axis"], apart(pieces[place]), off)
        assert ends == 2 and not any(wanted.values()), f"{what}: {ends} {wanted}"
        for length in lengths.values():
            off = abs(length - developed(tube))
            worst["length"] = max(worst["length"], off)
            assert off <= LENGTH, f"{what}: length {length}, {developed(tube)}"
        # Points of our centreline lie half an ID (half an OD from the shell of what is shown as a bar) from what was read, all along.
        shell = explored(solid, TopAbs_ShapeEnum.TopAbs_SHELL)[0]
        for piece in pieces:
            for part in (0.03, 0.5, 0.9):
                point, _ = piece.at(part * piece.length)
                found = BRepExtrema_DistShapeShape(BRepBuilderAPI_MakeVertex(pnt(point)).Vertex(), shell)
                free = [np.linalg.norm(point - end) for end in (pieces[0].start, pieces[-1].at(pieces[-1].length)[0])]
                if inside is None and min(free) < outside:
                    continue
                off = abs(found.Value() - radii[-1])
                worst["distance"] = max(worst["distance"], off)
                assert off <= LENGTH, f"{what}: {found.Value()} {radii[-1]}"
        for vertex in explored(solid, TopAbs_ShapeEnum.TopAbs_VERTEX):
            assert BRep_Tool.Tolerance_s(TopoDS.Vertex(vertex)) <= LENGTH, what
        box = Bnd_Box()
        BRepBndLib.AddOptimal_s(solid, box, False, False)
        low, high = box.CornerMin(), box.CornerMax()
        nodes = np.array([piece.start for piece in pieces])
        assert (nodes >= xyz(low) - LENGTH).all() and (nodes <= xyz(high) + LENGTH).all(), what


def surface(what, mesh, tube, chord, worst):
    """A mesh in mm and the job's axes: closed, its corners on the true surface, its triangles near it."""
    pieces, outside = course(tube), tube["od_mm"] / 2
    inside = None if tube["wall_mm"] is None else outside - tube["wall_mm"]
    single = max(1e-4, 2 * SINGLE * np.abs(mesh.vertices).max())
    assert mesh.is_watertight and mesh.is_winding_consistent and mesh.body_count == 1, what
    away = lambda points: np.min([piece.distance(points) for piece in pieces], axis=0)
    corners = away(mesh.vertices)
    wall = np.abs(corners - outside) <= single
    if inside is None:
        middle = corners <= single
    else:
        middle = np.abs(corners - inside) <= single
        worst["corner"] = max(worst["corner"], np.abs(corners[middle] - inside).max())
    assert (wall | middle).all(), f"{what}: {corners[~(wall | middle)]}"
    worst["corner"] = max(worst["corner"], np.abs(corners[wall] - outside).max())
    # The flat ends join one radius to the other, or to the middle; all other triangles keep to one.
    of = wall[mesh.faces]
    across = of.any(axis=1) & ~of.all(axis=1)
    sag = 0.0
    weights = np.array([[1, 1, 1], [0, 1, 1], [1, 0, 1], [1, 1, 0], [2, 1, 1], [1, 2, 1], [1, 1, 2], [1, 5, 0]], float)
    weights /= weights.sum(axis=1, keepdims=True)
    for which, radius in ((of.all(axis=1), outside), ((~of).all(axis=1), inside)):
        if radius is None:
            assert not which.any()
            continue
        for weight in weights:
            sag = max(sag, np.abs(away((weight[:, None] * mesh.triangles[which]).sum(axis=1)) - radius).max())
    assert sag <= chord + single, f"{what}: {sag} of {chord}"
    straight = all(piece.centre is None for piece in pieces)
    # Finer than it has to be would be a fault too, but for what makes a round tube look round.
    assert sag >= chord / (8 if straight else 4) or chord > 1, f"{what}: {sag} of {chord}"
    worst["sag"] = max(worst["sag"], sag / chord)
    area = math.pi * (outside**2 - (inside or 0) ** 2)
    layer = math.tau * (outside + (inside or 0)) * developed(tube) * chord
    off = abs(mesh.volume - area * developed(tube))
    assert off <= layer, f"{what}: volume {mesh.volume}, off {off} of {layer}"
    for end, way in (pieces[0].at(0.0), pieces[-1].at(pieces[-1].length)):
        flat = np.abs((mesh.triangles_center - end) @ way) <= single
        flat &= across & (np.linalg.norm(mesh.triangles_center - end, axis=1) <= outside)
        assert flat.sum() * 2 == across.sum(), what


def stl(job, tubes, error, more, worst):
    """STL: one file for each tube, and one with the triangles of all. In that, tubes that touch could not be told apart: an STL has nothing but corners."""
    alone = []
    for tube in tubes:
        raw = exported(job, "stl", "--tube", tube["name"], *more)
        assert f"mm, axes of the job, chord error {error} mm, no copes".encode() in raw[:80]
        alone.append(raw[84:])
        mesh = trimesh.load_mesh(io.BytesIO(raw), file_type="stl")
        surface(f"{pathlib.Path(job).stem} {tube['name']} stl {error}", mesh, tube, error, worst)
    whole = exported(job, "stl", *more)
    assert whole[84:] == b"".join(alone) and int.from_bytes(whole[80:84], "little") * 50 == len(whole) - 84


def gltf(job, tubes, error, more, worst):
    """Both forms of glTF: a mesh for each tube, by its name, in metres and with y up."""
    for extension in ("glb", "gltf"):
        scene = trimesh.load_scene(io.BytesIO(exported(job, extension, *more)), file_type=extension)
        assert set(scene.graph.nodes_geometry) == {tube["name"] for tube in tubes}, scene.graph.nodes_geometry
        for tube in tubes:
            matrix, geometry = scene.graph[tube["name"]]
            assert np.array_equal(matrix, np.eye(4))
            mesh = scene.geometry[geometry].copy()
            x, y, z = mesh.vertices.T * 1000
            mesh.vertices = np.column_stack([x, -z, y])
            surface(f"{pathlib.Path(job).stem} {tube['name']} {extension} {error}", mesh, tube, error, worst)


def lines(job, tubes, units, worst):
    """DXF by ezdxf."""
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "out.dxf"
        path.write_bytes(exported(job, "dxf", "--units", units))
        drawing = ezdxf.readfile(path)
    assert drawing.dxfversion == "AC1009"
    auditor = drawing.audit()
    assert not auditor.errors and not auditor.fixes, (auditor.errors, auditor.fixes)
    per = 25.4 if units == "in" else 1.0
    low, high = (np.array(drawing.header[key]) * per for key in ("$EXTMIN", "$EXTMAX"))
    layers = [layer.dxf.name for layer in drawing.layers if layer.dxf.name not in ("0", "TEXT")]
    layers = [layer for layer in layers if drawing.modelspace().query(f'LINE ARC[layer=="{layer}"]')]
    assert len(layers) == len(tubes) and len({layer.upper() for layer in layers}) == len(layers), layers
    for tube, layer in zip(tubes, layers):
        what = f"{pathlib.Path(job).stem} {tube['name']} {layer}"
        mine = list(drawing.modelspace().query(f'LINE ARC[layer=="{layer}"]'))
        pieces = course(tube)
        assert len(mine) == len(pieces), what
        total = 0.0
        for entity, piece in zip(mine, pieces):
            if piece.centre is None:
                assert entity.dxftype() == "LINE", what
                points = [entity.dxf.start, entity.dxf.start.lerp(entity.dxf.end), entity.dxf.end]
                total += entity.dxf.start.distance(entity.dxf.end) * per
            else:
                assert entity.dxftype() == "ARC", what
                angle = (entity.dxf.end_angle - entity.dxf.start_angle) % 360
                points = list(entity.vertices([entity.dxf.start_angle + part * angle for part in (0, 0.5, 1)]))
                total += entity.dxf.radius * math.radians(angle) * per
            for part, point in zip((0, 0.5, 1), points):
                point = np.array(point) * per
                off = np.linalg.norm(point - piece.at(part * piece.length)[0])
                worst["line"] = max(worst["line"], off)
                assert off <= LENGTH, f"{what}: {off}"
                assert (point >= low - LENGTH).all() and (point <= high + LENGTH).all(), what
        assert abs(total - developed(tube)) <= LENGTH, f"{what}: {total} {developed(tube)}"


def judge(job, worst):
    """All formats of one job; how many tubes it has."""
    plan = program.run("tubewright", "plan", str(job), "--format", "json", "--quiet")
    assert plan.returncode in (0, 1), plan.stderr
    tubes = json.loads(plan.stdout)["tubes"]
    for tube in tubes:
        last = course(tube, whole=True)[-1]
        at, _ = last.at(last.length)
        assert np.linalg.norm(at - np.array(tube["nodes_mm"][-1])) <= LENGTH, tube["name"]
    step(job, tubes, worst)
    for chord, error in CHORDS.items():
        more = ("--chord", chord) if chord else ()
        stl(job, tubes, error, more, worst)
        gltf(job, tubes, error, more, worst)
    for units in ("mm", "in"):
        lines(job, tubes, units, worst)
    return len(tubes)


def main():
    """All samples, and jobs of awkward names and shapes and of a tube without a wall."""
    worst = dict.fromkeys(("volume", "length", "axis", "distance", "corner", "sag", "line"), 0.0)
    count = 0
    for job in sorted([*program.TOP.glob("samples/jobs/*.yaml"), *program.TOP.glob("samples/ends/*.yaml")]):
        count += judge(job, worst)
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        (folder / "bender.yaml").write_text(BENDER)
        for job, text in (("awkward", AWKWARD), ("bare", BARE)):
            (folder / f"{job}.yaml").write_text(text.format())
            count += judge(folder / f"{job}.yaml", worst)
    assert count > 15, count
    print(f"judge: export: {count} tubes agree; worst volume {worst['volume']:.1e}, length {worst['length']:.1e} mm, axis {worst['axis']:.1e} mm, "
          f"distance {worst['distance']:.1e} mm, DXF {worst['line']:.1e} mm; corners of meshes {worst['corner']:.1e} mm, sag {worst['sag']:.2f} of the chord error")
    return 0


if __name__ == "__main__":
    sys.exit(main())
