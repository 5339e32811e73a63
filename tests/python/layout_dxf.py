"""DXF files of layouts, read by ezdxf: audited without an error or a fix, and measured against the plan.

Lengths of the centrelines within 1e-6 of the plan's rows with the extras of the job file, edges half an OD to either side, named
points at their chalk coordinates, every name as it was given.
"""

import json
import math
import pathlib
import tempfile

import ezdxf
from ezdxf.lldxf.encoding import decode_dxf_unicode
from ezdxf.math import bulge_to_arc

import program
import shape

LAYERS = {"CENTRELINE", "EDGES", "POINTS", "TEXT"}
TOLERANCE = 1e-6

AWKWARD = """
kind: job
units: ft
bender: bender.yaml
tube: {{ od: 1.5 in, wall: 0.095 in, die: five }}
tubes:
  "Bügel ½ 100%% ^J 日本 𝛼":
    legs: [3, 9, 8]
    bends: [90, 172]
    rotations: [180]
    extra: {{ a: 1 in, b: 2 in }}
  kink:
    rows:
      - {{ length: 2, bend: 178 }}
      - {{ length: 3, rotation: 90, bend: 0.5 }}
      - {{ length: 1 }}
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


def length(polyline):
    """Length of a polyline with bulges."""
    total = 0.0
    vertices = [(vertex.dxf.location, vertex.dxf.bulge) for vertex in polyline.vertices]
    for (start, bulge), (end, _) in zip(vertices, vertices[1:]):
        if bulge:
            _, _, _, radius = bulge_to_arc(start, end, bulge)
            total += abs(radius * 4 * math.atan(bulge))
        else:
            total += start.distance(end)
    return total


def judge(job, more=()):
    """One file; returns how many layouts it has."""
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "layout.dxf"
        run = program.run("tubewright", "layout", str(job), "--output", str(path), "--quiet", *more)
        assert run.returncode in (0, 1), run.stderr
        raw = path.read_bytes()
        doc = ezdxf.readfile(path)
    assert doc.dxfversion == "AC1009", doc.dxfversion
    auditor = doc.audit()
    assert not auditor.errors and not auditor.fixes, (auditor.errors, auditor.fixes)
    assert LAYERS <= {layer.dxf.name for layer in doc.layers}
    ask = lambda command: json.loads(program.run("tubewright", command, str(job), "--format", "json", "--quiet", *more).stdout)
    plan, own = ask("plan"), ask("layout")
    per = 25.4 if own["units"] == "in" else 1.0
    assert raw.startswith(b"999\r\nlengths in " + (b"inches" if per > 1 else b"millimetres")), raw[:40]
    space = doc.modelspace()
    assert {entity.dxf.layer for entity in space} == LAYERS
    middles = list(space.query('POLYLINE[layer=="CENTRELINE"]'))
    edges = list(space.query('POLYLINE[layer=="EDGES"]'))
    points = [entity.dxf.location for entity in space.query('POINT[layer=="POINTS"]')]
    # Letters beyond ASCII stand as the numbers of their UTF-16 units, which release 12 leaves to the reader.
    units = [decode_dxf_unicode(entity.plain_text()) for entity in space.query("TEXT")]
    texts = [text.encode("utf-16", "surrogatepass").decode("utf-16") for text in units]
    planes = [(tube, drawn, one) for tube, drawn in zip(plan["tubes"], own["tubes"]) for one in drawn["layouts"]]
    assert len(middles) == len(planes) and len(edges) == 2 * len(planes)
    taken = []
    beyond = {one.name: (one.extra_a, one.extra_b) for one in shape.tubes(job)[1]}
    for place, (tube, drawn, one) in enumerate(planes):
        what = f"{pathlib.Path(job).stem} {tube['name']}, {one['name']}"
        extra = beyond[tube["name"]]
        rows = tube["rows"]
        wanted = sum(rows[leg - 1]["length_mm"] for leg in one["legs"])
        wanted += sum(rows[bend - 1]["arc_mm"] for bend in one["bends"])
        wanted += extra[0] if one["legs"][0] == 1 else 0
        wanted += extra[1] if one["legs"][-1] == len(rows) else 0
        assert abs(length(middles[place]) * per - wanted) <= TOLERANCE, f"{what}: {length(middles[place]) * per} {wanted}"
        # Each arc differs from its parallel by half an OD times its angle, outside more and inside less.
        turned = sum(
            rows[arc["bend"] - 1]["bend_deg"] * (1 if arc["turns"] == "right" else -1) for arc in one["arcs"]
        )
        for edge, side in zip(edges[2 * place:2 * place + 2], (1, -1)):
            beside = wanted + side * math.radians(turned) * tube["od_mm"] / 2
            assert abs(length(edge) * per - beside) <= TOLERANCE, f"{what}: edge {length(edge) * per} {beside}"
        # Points: moved along x alone, all by the same.
        names = [(spot["along_mm"], spot["offset_mm"]) for spot in one["points"]]
        names += [(arc["along_mm"], arc["offset_mm"]) for arc in one["arcs"]]
        mine, points = points[:len(names)], points[len(names):]
        shift = mine[0].x * per - names[0][0]
        for at, (along, offset) in zip(mine, names):
            assert abs(at.x * per - along - shift) <= TOLERANCE and abs(at.y * per - offset) <= TOLERANCE, what
        corner = [vertex.dxf.location.x * per for edge in edges[2 * place:2 * place + 2] for vertex in edge.vertices]
        taken.append((min(corner), max(corner)))
        title = f"{tube['name']}: {one['name']}, "
        assert any(text.startswith(title) for text in texts), f"{what}: {texts}"
        assert tube["feasible"] or any(text.startswith("CANNOT") for text in texts), what
    assert not points
    # Side by side: none on another.
    assert all(one[1] < other[0] for one, other in zip(taken, taken[1:])), taken
    return len(planes)


def main():
    """All samples, in both units, and a job of awkward names and shapes."""
    count = 0
    for job in sorted([*program.TOP.glob("samples/jobs/*.yaml"), *program.TOP.glob("samples/ends/*.yaml")]):
        for units in ("mm", "in"):
            count += judge(job, ("--units", units))
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        (folder / "bender.yaml").write_text(BENDER)
        (folder / "awkward.yaml").write_text(AWKWARD.format())
        count += judge(folder / "awkward.yaml")
    assert count > 40, count
    print(f"judge: layout_dxf: {count} layouts read from DXF files")


if __name__ == "__main__":
    main()
