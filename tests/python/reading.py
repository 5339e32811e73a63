"""Job and bender files, read from their description in the README: into millimetres and radians.

This is a second reading, made without the program's own sources, so that a mistake in one of the two shows. It trusts
that a file is in order: what is refused, and with which words, is tested elsewhere.
"""

import json
import math
import pathlib
import re
import struct
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np
from ruamel.yaml import YAML

import program

UNITS = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "ft": Fraction(3048, 10),
}

_NUMBER = r"\d+(?:\.\d+)?|\.\d+"
_MIXED = re.compile(rf"(?:(?P<whole>{_NUMBER})(?![\d/]))?(?:(?:\s+|-)?(?P<over>\d+)/(?P<under>\d+))?")


def _mixed(text):
    """`44`, `44.5`, `1/2`, `44 1/2`, `44-1/2` as an exact fraction."""
    text = text.strip()
    found = _MIXED.fullmatch(text)
    if not text or not found:
        raise ValueError(f"not a number: {text!r}")
    value = Fraction(found["whole"] or 0)
    if found["over"]:
        value += Fraction(int(found["over"]), int(found["under"]))
    return value


def length(value, units):
    """A length of a file as millimetres; `units` are the file's."""
    if isinstance(value, (int, float)):
        # By way of the shortest text that names the number, which is what was written.
        return float(Fraction(repr(value)) * UNITS[units])
    text = value.strip()
    sign = 1
    if text[0] in "+-":
        sign, text = (-1 if text[0] == "-" else 1), text[1:].strip()
    feet = re.match(rf"({_NUMBER})\s*(?:'|ft\b)\s*", text)
    if feet:
        inches = re.sub(r'\s*("|in)$', "", text[feet.end():])
        total = Fraction(feet[1]) * UNITS["ft"] + (_mixed(inches) * UNITS["in"] if inches else 0)
        return float(sign * total)
    named = re.fullmatch(r"(.*?)\s*(mm|cm|m|in|\")", text)
    if named:
        return float(sign * _mixed(named[1]) * UNITS["in" if named[2] == '"' else named[2]])
    return float(sign * _mixed(text) * UNITS[units])


def degrees(value):
    """An angle of a file as radians."""
    return math.radians(float(value))


def load(path):
    """A YAML file as plain dictionaries and lists (YAML 1.2, so `on:` is a word)."""
    return YAML(typ="safe", pure=True).load(pathlib.Path(path).read_text())


@dataclass
class Solid:
    """A body in the bender frame at die angle 0."""

    name: str
    on: str
    kind: str  # box, cylinder, capsule, mesh
    low: np.ndarray = None
    high: np.ndarray = None
    start: np.ndarray = None
    end: np.ndarray = None
    radius: float = 0.0
    triangles: np.ndarray = None


@dataclass
class Material:
    """How a tube behaves in one die."""

    constant: float = 0.0
    proportional: float = 0.0
    stretch: float = 0.0
    radius_growth: bool = True
    springback_given: bool = False
    estimated: bool = False
    measured: dict = None


@dataclass
class Die:
    """A die with its clamp and follower."""

    name: str
    od: float
    clr: float
    max_angle: float
    clamp_length: float
    follower_length: float
    mark_offset: float
    fit: float
    runout: float
    grip_min: float
    tail_min: float
    travels: bool
    shapes: dict
    materials: dict


@dataclass
class Bender:
    """A bender file."""

    turns: bool  # the die turns; else the die stands
    hand: int  # +1 anticlockwise, -1 clockwise
    up: np.ndarray
    vertical: bool
    centre_height: float
    pin: tuple
    set_to: float
    first_bite: bool
    keep: float
    comfortable: float
    accuracy: dict
    level: dict
    seconds: dict
    motions: dict
    dies: dict
    solids: list
    files: list = field(default_factory=list)


SECONDS = {
    "step": 60,
    "swap_ends": 45,
    "change_die": 240,
    "set_turn": 20,
    "turn_per_degree": 0.1,
    "pin_move": 20,
    "near": 60,
}


def mesh(path, units, at):
    """Triangles (n, 3, 3) of an STL or OBJ file, in millimetres, moved by `at`."""
    data = pathlib.Path(path).read_bytes()
    scale = float(UNITS[units])
    if pathlib.Path(path).suffix.lower() == ".obj":
        points, faces = [], []
        for line in data.decode().splitlines():
            words = line.split()
            if words[:1] == ["v"]:
                points.append([float(w) for w in words[1:4]])
            elif words[:1] == ["f"]:
                corners = [int(w.split("/")[0]) for w in words[1:]]
                corners = [c - 1 if c > 0 else len(points) + c for c in corners]
                faces.extend([corners[0], corners[k], corners[k + 1]] for k in range(1, len(corners) - 1))
        triangles = np.array(points)[np.array(faces)]
    elif len(data) >= 84 and len(data) == 84 + 50 * struct.unpack("<I", data[80:84])[0]:
        count = struct.unpack("<I", data[80:84])[0]
        records = np.frombuffer(data[84:], dtype=np.dtype([("f", "<f4", (4, 3)), ("a", "<u2")]), count=count)
        triangles = records["f"][:, 1:].astype(float)
    else:
        corners = re.findall(r"vertex\s+(\S+)\s+(\S+)\s+(\S+)", data.decode())
        triangles = np.array(corners, dtype=float).reshape(-1, 3, 3)
    return triangles * scale + np.asarray(at)


def solid(entry, units, folder, files, name="", on=""):
    """One entry of `solids` or of a die's `shapes`."""
    point = lambda values: np.array([length(v, units) for v in values])
    name, on = entry.get("name", name), entry.get("on", on)
    if "box" in entry:
        return Solid(name, on, "box", low=point(entry["box"]["min"]), high=point(entry["box"]["max"]))
    for kind in ("cylinder", "capsule"):
        if kind in entry:
            body = entry[kind]
            radius = length(body["radius"], units)
            return Solid(name, on, kind, start=point(body["from"]), end=point(body["to"]), radius=radius)
    body = entry["mesh"]
    path = folder / body["file"]
    files.append(path)
    at = point(body.get("at", [0, 0, 0]))
    return Solid(name, on, "mesh", triangles=mesh(path, body["units"], at))


def die(name, entry, units, folder, files):
    """One die; what is not given is derived as the file format says."""
    mm = lambda key, default: length(entry[key], units) if key in entry else default
    materials = {}
    for material, given in (entry.get("materials") or {}).items():
        given = given or {}
        spring = given.get("springback") or {}
        measured = given.get("measured")
        if measured:
            measured = {k: length(v, units) if k in ("od", "wall") else v for k, v in measured.items()}
        materials[material] = Material(
            constant=degrees(spring.get("constant", 0)),
            proportional=float(spring.get("proportional", 0)),
            stretch=float(given.get("stretch", 0)),
            radius_growth=given.get("radius_growth", True),
            springback_given="springback" in given,
            measured=measured,
        )
    clamp, follower = mm("clamp_length", None), mm("follower_length", None)
    shapes = {}
    for part, on in (("die", "die"), ("clamp", "die"), ("follower", "follower")):
        bodies = (entry.get("shapes") or {}).get(part) or []
        shapes[part] = [solid(body, units, folder, files, part, on) for body in bodies]
    return Die(
        name=name,
        od=mm("od", None),
        clr=mm("clr", None),
        max_angle=degrees(entry["max_angle"]),
        clamp_length=clamp,
        follower_length=follower,
        mark_offset=mm("mark_offset", 0.0),
        fit=mm("fit", 0.3),
        runout=mm("runout", 0.0),
        grip_min=mm("grip_min", clamp),
        tail_min=mm("tail_min", follower),
        travels=entry.get("follower", "stands") == "travels",
        shapes=shapes,
        materials=materials,
    )


def bender(path):
    """A bender file."""
    path = pathlib.Path(path)
    text = load(path)
    assert text["kind"] == "bender"
    units, files = text["units"], []
    plane = text["bend_plane"]
    up = np.array([0.0, 0.0, 1.0])
    if plane == "vertical":
        up = np.array([float(v) for v in text["up"]])
        up /= np.linalg.norm(up)
    pin = text.get("pin")
    pointer = text.get("pointer") or {}
    clearance = text.get("clearance") or {}
    accuracy = text.get("accuracy")
    if accuracy is not None:
        accuracy = {
            "mark": length(accuracy.get("mark", 0), units),
            "bend": degrees(accuracy.get("bend", 0)),
            "rotation": degrees(accuracy.get("rotation", 0)),
        }
    level = text.get("level")
    made = Bender(
        turns=text["motion"] == "die-turns",
        hand={"anticlockwise": 1, "clockwise": -1}[text["hand"]],
        up=up,
        vertical=plane == "vertical",
        centre_height=length(text["centre_height"], units),
        pin=(float(pin["first"]), float(pin["every"])) if pin else None,
        set_to=float(pointer.get("set_to", 0)),
        first_bite=pointer.get("when") == "first-bite",
        keep=length(clearance["keep"], units) if "keep" in clearance else 5.0,
        comfortable=length(clearance["comfortable"], units) if "comfortable" in clearance else 50.0,
        accuracy=accuracy,
        level={k: degrees(v) for k, v in level.items()} if level else None,
        seconds={**SECONDS, **(text.get("seconds") or {})},
        motions=text.get("motions") or {},
        dies={n: die(n, d, units, path.parent, files) for n, d in text["dies"].items()},
        solids=[solid(s, units, path.parent, files) for s in text.get("solids") or []],
    )
    made.files = [path, *files]
    return made


def mirrored(nodes, mirror, units):
    """The nodes with those that the mirror makes, in millimetres."""
    if not mirror:
        return nodes
    plane = mirror["plane"]
    axis, at = (plane, 0.0) if isinstance(plane, str) else next((k, length(v, units)) for k, v in plane.items())
    here, there = mirror["suffix"]["from"], mirror["suffix"]["to"]
    made = dict(nodes)
    for name, point in nodes.items():
        if name.endswith(here):
            image = point.copy()
            image["xyz".index(axis)] = 2 * at - image["xyz".index(axis)]
            made.setdefault(name[: len(name) - len(here)] + there, image)
    return made


def bend_angle(entry):
    """A bend of `legs`: its bend angle, or the included angle of a drawing."""
    if isinstance(entry, dict):
        return math.pi - degrees(entry["included"])
    return degrees(entry)


def job(path):
    """A job file as (text of the job, nodes in mm, units, path of the bender file)."""
    path = pathlib.Path(path)
    text = load(path)
    assert text["kind"] == "job"
    units = text["units"]
    nodes = {n: np.array([length(v, units) for v in at]) for n, at in (text.get("nodes") or {}).items()}
    if "survey" in text:
        # The one thing that is taken from the program: what a survey tells is held against scipy elsewhere.
        told = program.run("tubewright", "survey", str(path.parent / text["survey"]), "--format", "json")
        nodes |= {point["name"]: np.array(point["at_mm"]) for point in json.loads(told.stdout)["points"] if None not in point["at_mm"]}
    return text, mirrored(nodes, text.get("mirror"), units), units, path.parent / text["bender"]
