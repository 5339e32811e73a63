"""Replays every plan by a second reading of the file format, in Python, and compares.

The job and the bender file are read anew, the tube's shape, its blank and every figure of every step are worked out again,
and every clearance is searched for by dense sampling. Nothing of the program is used but the JSON that it prints, and of
that only the order of the steps is taken on trust.

    replay.py                the jobs in samples/jobs, samples/ends and tests/python/jobs, and some random ones (more with TUBEWRIGHT_COUNT=full)
    replay.py JOB...         these only
    replay.py SEED...        these random jobs only, by number

A job may name the command lines to be replayed in comment lines: `# plan: --order "2A 1A"`; without one it is planned plainly.
"""

import concurrent.futures
import hashlib
import itertools
import json
import math
import os
import pathlib
import re
import shlex
import sys
import tempfile
import time

import numpy as np

import gaps
import program
import random_jobs
import shape
from pose import AHEAD, BEHIND, Pose
from scatter import scatter
from shape import wrapped

EXACT = 1e-6  # mm or degrees: figures that are arithmetic only
GAP = 0.1  # mm: what is promised of a gap
SLACK = 0.01  # mm: what refined sampling may be off
KEEP = 0.01  # mm: what a gap to be kept may differ by
ROLL = 0.02  # degrees: a change by a whole degree of roll is not quite the rate of change
COST = 0.2  # s a step
MOST_TRIED = 3 if os.environ.get("TUBEWRIGHT_COUNT") == "full" else 2  # bends of a tube whose every order is tried
WORTH = ["no-solids", "not-looked-at", "springback-none", "springback-estimated", "springback-borrowed", "bounded", "stopped",
         "tight-accepted", "od-differs", "small-bend", "extrapolated", "level-first", "cope-beside", "ends-at-one-node", "cope-held", "straight-through", "shared-node",
         "pin-near-target", "change-nothing"]
KEYS = {
    "document": "schema tubes",
    "tube": "name od_mm wall_mm die material nodes_mm rows developed_mm cut_length_mm gain_mm feasible cost_s proved_optimal "
            "fingerprint accuracy fitness steps alternatives why_not cures notes",
    "row": "bend node length_mm rotation_deg bend_deg formed_radius_mm setback_mm arc_mm",
    "step": "step bend lead die springback mark_mm tail_mm top_deg top_arc_mm turn_deg swap_ends dial_start_deg "
            "dial_target_deg die_angle_deg pin_moves gauge clearances swing verdict",
    "clearance": "obstacle motion gap_mm keep_mm die_angle_deg blank_mm point_mm",
    "swing": "reach_mm high_mm low_mm",
    "springback": "from date lot",
}


class Differences:
    """Collects what differs, each with its place."""

    def __init__(self):
        self.found, self.looked_at, self.where = [], 0, ""

    def say(self, text):
        self.found.append(f"{self.where}: {text}")

    def holds(self, truth, text):
        """Notes `text` unless `truth`."""
        self.looked_at += 1
        if not truth:
            self.say(text)
        return bool(truth)

    def near(self, name, theirs, ours, by=EXACT):
        """Both null, or numbers no further apart than `by`."""
        same = (theirs is None) == (ours is None) and (ours is None or abs(theirs - ours) <= by)
        return self.holds(same, f"{name} is {theirs}, the replay has {ours}")

    def same(self, name, theirs, ours):
        return self.holds(theirs == ours, f"{name} is {theirs!r}, the replay has {ours!r}")

    def turn(self, name, theirs, ours):
        """An angle in (-180, 180], 180 and -180 being the same turn."""
        if theirs is None or ours is None:
            return self.same(name, theirs, ours)
        off = math.remainder(theirs - ours, 360)
        self.holds(-180 < theirs <= 180, f"{name} is {theirs}, outside (-180, 180]")
        return self.holds(abs(off) <= EXACT, f"{name} is {theirs}, the replay has {ours}")

    def keys(self, kind, entry):
        self.same(f"the keys of a {kind}", sorted(entry), sorted(KEYS[kind].split()))


class Refused(Exception):
    """The program printed no document."""


def options(path):
    """The command lines to replay for a job."""
    lines = re.findall(r"^# plan:(.*)$", path.read_text(), flags=re.M)
    return [shlex.split(line) for line in lines] or [[]]


def plan(path, words):
    """The document that the program prints for a job, and its exit status."""
    done = program.run("tubewright", "plan", str(path), "--format", "json", *words)
    if not done.stdout.strip():
        raise Refused(f"replay: plan {path} {' '.join(words)} printed nothing, status {done.returncode}:\n{done.stderr}")
    return json.loads(done.stdout), done.returncode


def compare_fitness(out, tube, bender, diff):
    """The wall on the outside of each bend: volume kept, the neutral axis on the centreline."""
    diff.near("od_over_wall", out["od_over_wall"], None if tube.wall is None else tube.od / tube.wall)
    diff.same("the bends of fitness", [bend["bend"] for bend in out["bends"]], [k + 1 for k in range(len(tube.bends))])
    for bend, name in zip(out["bends"], tube.dies):
        outside = bender.dies[name].clr + tube.od / 2
        kept = bender.dies[name].clr / outside
        diff.near("clr_over_od", bend["clr_over_od"], bender.dies[name].clr / tube.od)
        diff.near("outer_wall_mm", bend["outer_wall_mm"], None if tube.wall is None else tube.wall * kept)
        diff.near("thinning", bend["thinning"], 1 - kept)
        diff.near("outer_strain", bend["outer_strain"], outside / bender.dies[name].clr - 1)


def compare_seam(out, tube, bender, diff):
    """What bends do to the seam where it lies, and to one at every other place of the girth, sampled."""
    if tube.seam is None or not tube.bends:
        diff.same("seam", out, None)
        return
    strains = np.array([tube.od / 2 / bender.dies[name].clr for name in tube.dies])
    tops = np.array([bend.psi for bend in tube.bends])
    at = lambda degrees: strains * np.abs(np.sin(np.radians(np.asarray(degrees, float)[..., None]) - tops))
    here = at(tube.seam)
    diff.near("at_deg", out["at_deg"], tube.seam)
    diff.near("strain", out["strain"], here.max())
    diff.same("the bends that strain the seam most", out["bends"], [k + 1 for k in range(len(here)) if here[k] >= here.max() - 1e-9])
    for degrees in out["least_at_deg"]:
        diff.near(f"least_strain, at {degrees} degrees", out["least_strain"], at(degrees).max())
    diff.same("least_at_deg in order", out["least_at_deg"], sorted(set(out["least_at_deg"])))
    step = 0.02
    around = np.arange(0, 360, step)
    most = at(around).max(axis=1)
    diff.holds(most.min() >= out["least_strain"] - 1e-12, f"least_strain is {out['least_strain']}, sampled {most.min()}")
    # Over a step no strain changes by more than this.
    slack = strains.max() * math.radians(step)
    for degrees in around[most <= out["least_strain"] + 1e-9]:
        near = min(abs(math.remainder(degrees - best, 360)) for best in out["least_at_deg"])
        diff.holds(near <= step, f"as good at {degrees} degrees as at {out['least_at_deg']}")
    diff.holds(most.min() <= out["least_strain"] + slack, f"least_strain is {out['least_strain']}, sampled {most.min()}")


def compare_shape(out, tube, bender, diff):
    """Nodes, rows, lengths."""
    # Only a tube with an end that lands on another has them; tests/python/copes.py looks at their figures.
    diff.keys("tube", {key for key in out if key != "ends"})
    diff.near("od_mm", out["od_mm"], tube.od)
    diff.near("wall_mm", out["wall_mm"], tube.wall)
    diff.same("material", out["material"], tube.material)
    compare_fitness(out["fitness"], tube, bender, diff)
    compare_seam(out["fitness"].get("seam"), tube, bender, diff)
    several = len(set(tube.dies)) > 1
    diff.same("die", out["die"], None if several else tube.dies[0])
    diff.same("the number of nodes", len(out["nodes_mm"]), len(tube.nodes))
    for k, (theirs, ours) in enumerate(zip(out["nodes_mm"], tube.nodes)):
        if theirs is None or ours is None:
            diff.same(f"node {k + 1}", theirs, None if ours is None else list(ours))
        else:
            diff.holds(np.allclose(theirs, ours, rtol=0, atol=EXACT), f"node {k + 1} is {theirs}, the replay has {ours}")
    diff.same("the number of rows", len(out["rows"]), len(tube.bends) + 1)
    for k, (row, bend) in enumerate(zip(out["rows"], tube.bends)):
        name = f"row {k + 1}, "
        diff.keys("row", row)
        diff.same(name + "bend", row["bend"], k + 1)
        diff.same(name + "node", row["node"], bend.node)
        diff.near(name + "length_mm", row["length_mm"], bend.length)
        diff.turn(name + "rotation_deg", row["rotation_deg"], math.degrees(bend.rotation))
        diff.near(name + "bend_deg", row["bend_deg"], math.degrees(bend.angle))
        diff.near(name + "formed_radius_mm", row["formed_radius_mm"], bend.radius)
        diff.near(name + "setback_mm", row["setback_mm"], bend.setback)
        diff.near(name + "arc_mm", row["arc_mm"], bend.arc)
    diff.same("the keys of the last row", list(out["rows"][-1]), ["length_mm"])
    diff.near("the last length_mm", out["rows"][-1]["length_mm"], tube.last)
    diff.near("developed_mm", out["developed_mm"], tube.developed)
    diff.near("cut_length_mm", out["cut_length_mm"], tube.cut)
    diff.near("gain_mm", out["gain_mm"], tube.gain)


def spring_from(tube, bend):
    """Where the springback comes from, in the format's words."""
    material = bend.material
    if not material.springback_given:
        return "estimated" if material.estimated else "none"
    told = material.measured
    if not told:
        return "given"
    fits = abs(told.get("od", tube.od) - tube.od) <= bend.die.fit + 1e-9
    if "wall" in told and tube.wall is not None:
        fits = fits and abs(tube.wall - told["wall"]) <= 0.05 * told["wall"] + 1e-9
    return "measured" if fits else "borrowed"


def beyond(bend):
    """Whether a bend lies more than 20 degrees beyond the test bends that its springback is from."""
    angles = (bend.material.measured or {}).get("angles")
    degrees = math.degrees(bend.angle)
    return bool(angles) and not angles[0] - 20 <= degrees <= angles[1] + 20


def limits(pose):
    """Broken limits as names, counted along the blank from the tangent point on the lead side."""
    die, bend = pose.die, pose.bend
    broken = set()
    ahead, behind = pose.sides[AHEAD], pose.sides[BEHIND]
    if ahead.bends:
        if ahead.bends[0][0] < die.clamp_length + die.runout - 1e-9:
            broken.add("grip")
    elif ahead.reach < die.grip_min - 1e-9:
        broken.add("grip")
    drawn = bend.blank_arc
    with_follower = lambda length: max(drawn, length) if die.travels else drawn + length
    if behind.bends:
        if behind.bends[0][0] < with_follower(die.follower_length) + die.runout - 1e-9:
            broken.add("follower")
    elif behind.reach < with_follower(die.tail_min) - 1e-9:
        broken.add("follower")
    if bend.die_angle > die.max_angle + 1e-12:
        broken.add("die-arc")
    if abs(pose.tube.od - die.od) > die.fit + 1e-9:
        broken.add("fit")
    return broken


def compare_clearances(out, step, diff):
    """Every gap of a step; returns (smallest, contact, tight, perhaps tight)."""
    pose, place = step.pose, diff.where
    bend_entries = [c for c in out["clearances"] if c["motion"] == "bend"]
    diff.same("the obstacles", sorted(c["obstacle"] for c in bend_entries), sorted(step.obstacles()))
    radius = pose.tube.od / 2
    tightest, contact, surely, perhaps = math.inf, False, False, False
    for entry in bend_entries:
        name = entry["obstacle"]
        if name not in step.obstacles():
            continue
        diff.where = f"{place}, {name}"
        diff.keys("clearance", entry)
        found = step.gap(name)
        apart = 2 * radius if name == "tube" else radius
        low, high = step.shortage(name)
        surely, perhaps = surely or low < -GAP, perhaps or high < GAP
        if entry["gap_mm"] is None:
            diff.holds(all(entry[k] is None for k in ("die_angle_deg", "blank_mm", "point_mm")), "gap_mm is null alone")
            diff.holds(found.gap is None or found.gap > pose.bender.comfortable - GAP - SLACK,
                       f"the gap is null, the replay finds {found.gap} at {math.degrees(found.angle):.3f} degrees")
            continue
        if not diff.holds(found.gap is not None, f"the gap is {entry['gap_mm']}, the replay has nothing to look at there"):
            continue
        gap = entry["gap_mm"]
        tightest = min(tightest, gap)
        contact = contact or gap == 0
        diff.holds(found.gap - GAP - SLACK <= gap <= found.gap + GAP + 1e-6,
                   f"the gap is {gap:.4f}, the replay finds {found.gap:.4f} at {math.degrees(found.angle):.3f} degrees, "
                   f"{pose.on_blank(found.side, found.distance):.2f} on the blank (theirs: {entry['die_angle_deg']:.3f}, {entry['blank_mm']:.2f})")
        angle, point = math.radians(entry["die_angle_deg"]), np.array(entry["point_mm"])
        diff.holds(-1e-9 <= angle <= pose.target + 1e-9, f"die_angle_deg {entry['die_angle_deg']} is outside the bend")
        side, distance = pose.from_blank(entry["blank_mm"])
        diff.holds(distance <= pose.sides[side].reach + 1e-6, f"blank_mm {entry['blank_mm']} is not on the blank")
        at = np.array([angle])
        ours = pose.place(at, side, [distance])[0, 0]
        diff.holds(np.linalg.norm(ours - point) <= 1e-4, f"point_mm is {list(point)}, the place {entry['blank_mm']} on the blank is at {ours}")
        if name == "tube":
            there = step.other_part(side, distance, angle)[0] - apart
        else:
            there = step.distance(name, side, at, ours[None, None], np.array([distance]))[0, 0] - apart
        if gap > 0:
            diff.holds(abs(there - gap) <= GAP + SLACK, f"the gap is {gap:.4f}, at the stated place and die angle it is {there:.4f}")
        else:
            diff.holds(there <= GAP + SLACK, f"a contact is stated, at its place and die angle the gap is {there:.4f}")
            if found.first_contact is not None:
                diff.holds(angle <= found.first_contact + math.radians(0.02),
                           f"first contact at {math.degrees(angle):.3f} degrees, the replay touches at {math.degrees(found.first_contact):.3f}")
                early = step.gap_at(name, angle)
                diff.holds(early <= GAP + SLACK, f"first contact at {math.degrees(angle):.3f} degrees, the gap there is {early:.4f}")
        least, most = step.keep_apart(side, distance, angle) if name == "tube" else pose.keep(side, distance, angle, ours)
        diff.holds(least - KEEP <= entry["keep_mm"] <= most + KEEP, f"keep_mm is {entry['keep_mm']}, the replay has {least:.4f} to {most:.4f}")
    diff.where = place
    return tightest, contact, surely, perhaps


def true_up(bender):
    """The upward direction for slopes, a bender that is out of level included."""
    if not bender.level:
        return bender.up
    along = math.sin(bender.level.get("along", 0.0))
    if bender.vertical:
        return np.array([along, math.copysign(math.sqrt(1 - along * along), bender.up[1]), 0.0])
    # The die's side of the tube is +y for an anticlockwise hand.
    across = bender.hand * math.sin(bender.level.get("across", 0.0))
    return np.array([along, across, math.sqrt(1 - along * along - across * across)])


def compare_gauge(out, pose, diff):
    """The slope of the leg that tells the roll best, with the tube laid in; none where no leg tells it."""
    up = true_up(pose.bender)
    slope = lambda way: math.degrees(math.asin(np.clip(way @ up, -1, 1)))
    axis = np.array([1.0, 0, 0])
    legs = []  # (numbers of the legs, direction, change of the slope by a degree of roll)
    for side in (AHEAD, BEHIND):
        # The first straight of either side is the one that lies in the bender.
        for way, near, far in pose.sides[side].legs[1:]:
            ends = sorted(pose.on_blank(side, place) for place in (near, far))
            # A bend that is not made yet splits nothing: such a straight holds several legs.
            first, last = (1 + sum(b.start < place - 1e-6 for b in pose.tube.bends) for place in ends)
            changes = max(abs(slope(shape.turn(axis, math.radians(by), way)) - slope(way)) for by in (-1, 1))
            legs.append((range(first, last + 1), way, changes))
    best = max((leg[2] for leg in legs), default=0.0)
    gauge = out["gauge"]
    if gauge is None:
        diff.holds(best < 0.3 + ROLL, f"gauge is null, a degree of roll changes the slope of some leg by {best:.3f} degrees")
        return
    named = [leg for leg in legs if gauge["leg"] in leg[0]]
    if not diff.holds(named, f"gauge names leg {gauge['leg']}, which does not stick out"):
        return
    _, way, changes = named[0]
    diff.holds(changes >= max(best, 0.3) - ROLL, f"gauge names leg {gauge['leg']} that changes by {changes:.3f}, another by {best:.3f}")
    diff.near("gauge rise_deg", gauge["rise_deg"], slope(way))
    if abs(way[1]) > 1e-6:
        diff.same("gauge side", gauge["side"], "die" if way[1] * pose.bender.hand > 0 else "away")


def compare_step(out, number, before, step, diff):
    """One step; returns (broken limits, verdict as found, cost)."""
    pose = step.pose
    tube, bend, bender = pose.tube, pose.bend, pose.bender
    diff.keys("step", out)
    diff.same("step", out["step"], number)
    diff.same("die", out["die"], bend.die.name)
    diff.keys("springback", out["springback"])
    diff.same("springback from", out["springback"]["from"], spring_from(tube, bend))
    told = bend.material.measured or {}
    diff.same("springback date and lot", [out["springback"]["date"], out["springback"]["lot"]],
              [None if told.get(k) is None else str(told[k]) for k in ("date", "lot")])
    a = pose.lead == "A"
    mark = bend.start - bend.die.mark_offset if a else bend.end + bend.die.mark_offset
    diff.near("mark_mm", out["mark_mm"], mark)
    diff.near("tail_mm", out["tail_mm"], tube.cut - mark if a else mark)
    top = wrapped(bend.psi + (0 if a else math.pi))
    diff.turn("top_deg", out["top_deg"], math.degrees(top))
    girth = math.pi * tube.od
    arc = (top / (2 * math.pi) * girth) % girth
    off = abs(out["top_arc_mm"] - arc)
    diff.holds(min(off, girth - off) <= EXACT and 0 <= out["top_arc_mm"] < girth, f"top_arc_mm is {out['top_arc_mm']}, the replay has {arc}")
    diff.same("swap_ends", out["swap_ends"], before is not None and before.lead != pose.lead)
    diff.turn("turn_deg", out["turn_deg"], turned_by(pose, before))
    diff.near("die_angle_deg", out["die_angle_deg"], math.degrees(bend.die_angle))
    diff.near("dial_start_deg", out["dial_start_deg"], bender.set_to)
    diff.near("dial_target_deg", out["dial_target_deg"], target(pose))
    pins = pin_moves(pose)
    diff.holds(len(pins) == len(out["pin_moves"]) and np.allclose(out["pin_moves"], pins, rtol=0, atol=EXACT),
               f"pin_moves is {out['pin_moves']}, the replay has {pins}")

    tightest, contact, surely, perhaps = compare_clearances(out, step, diff)
    diff.keys("swing", out["swing"])
    for name, ours in zip(("reach_mm", "high_mm", "low_mm"), step.swing()):
        diff.near(name, out["swing"][name], ours, GAP + SLACK)
    compare_gauge(out, pose, diff)
    if contact:
        diff.same("verdict", out["verdict"], "contact")
    elif out["verdict"] == "tight":
        diff.holds(perhaps, "verdict is tight, the replay finds every gap wide enough")
    elif out["verdict"] == "clear":
        diff.holds(not surely, "verdict is clear, the replay finds a gap under what must be kept")
    else:
        diff.say(f"verdict is {out['verdict']}")

    return limits(pose), out["verdict"], seconds(pose, before, tightest)


def seconds(pose, before, tightest):
    """What a step costs after another (None for the first), with its tightest gap."""
    bender, rates = pose.bender, pose.bender.seconds
    terms = [rates["step"]]
    turn = turned_by(pose, before)
    if before is None:
        terms += [rates["set_turn"]]
    elif before.lead != pose.lead:
        terms += [rates["swap_ends"], rates["set_turn"]]
    elif abs(turn) > 1e-9:
        terms += [rates["set_turn"], rates["turn_per_degree"] * abs(turn)]
    if before is not None and before.die.name != pose.die.name:
        terms += [rates["change_die"]]
    terms += [rates["pin_move"]] * len(pin_moves(pose))
    if tightest < bender.comfortable:
        terms += [rates["near"] * (1 - tightest / bender.comfortable)]
    return sum(round(t, 3) for t in terms)


def turned_by(pose, before):
    """Degrees that the hands turn the tube by, clockwise seen from the trailing end; None where something else sets the roll."""
    if before is None or before.lead != pose.lead:
        return None
    return math.degrees(wrapped((pose.bend.psi - before.bend.psi) * (1 if pose.lead == "A" else -1)))


def target(pose):
    """The dial's reading at the end."""
    return math.degrees(pose.bend.die_angle) + (pose.bender.set_to if pose.bender.first_bite else 0.0)


def pin_moves(pose):
    """Readings below the target near which the pin is moved."""
    if not pose.bender.pin:
        return []
    first, every = pose.bender.pin
    return [first + k * every for k in range(1000) if first + k * every < target(pose) - 1e-9]


def natural_order(tube, bender, lead, steps, tight_counts):
    """All bends one after the other from one end: (surely blocked, surely free, cost)."""
    order = range(len(tube.bends)) if lead == "A" else reversed(range(len(tube.bends)))
    made, before, cost, blocked, free = frozenset(), None, 0.0, False, True
    for index in order:
        step = steps(bender, tube, index, lead, made)
        found = {name: step.gap(name).gap for name in step.obstacles()}
        found = {name: gap for name, gap in found.items() if gap is not None}
        tightest = min(found.values(), default=math.inf)
        if tight_counts:
            # A gap of 0 may be a contact or, within what is promised, just none.
            low, high = (-1 if any(g <= 0 for g in found.values()) else 1), tightest
        else:
            both = [step.shortage(name) for name in step.obstacles()]
            low, high = min(s[0] for s in both), min(s[1] for s in both)
        broken = bool(limits(step.pose))
        blocked = blocked or broken or low < -GAP
        free = free and not broken and high > GAP
        cost += seconds(step.pose, before, tightest)
        made, before = made | {index}, step.pose
    return blocked, free, cost


def causes(step, index, tight_counts):
    """What surely stops a step, and what may, as (reason, bend): one entry for each limit and each obstacle."""
    bend = index + 1
    sure = [(name, bend) for name in limits(step.pose)]
    may = list(sure)
    for name in step.obstacles():
        gap = step.gap(name).gap
        if gap is None:
            continue
        low, high = (gap - GAP, gap - GAP) if tight_counts else step.shortage(name)
        reason = "contact" if gap <= 0 else "tight"
        if high < -GAP:
            sure.append((reason, bend))
        if low < GAP:
            may.append((reason, bend))
    return sure, may


def hold_the_reasons(out, tube, bender, steps, tight_counts, diff):
    """Without what is said to stop the tube some order could be made, and none is stopped by less."""
    told = [(w["reason"], w["bend"]) for w in out["why_not"]]
    possible, fewest = False, math.inf
    for order in itertools.permutations(range(len(tube.bends))):
        for leads in itertools.product("AB", repeat=len(order)):
            made, sure, may = frozenset(), [], []
            for index, lead in zip(order, leads):
                found = causes(steps(bender, tube, index, lead, made), index, tight_counts)
                sure += found[0]
                may += found[1]
                made = made | {index}
            possible = possible or set(sure) <= set(told)
            fewest = min(fewest, len(may))
    diff.holds(possible, f"no order is stopped by {told} alone")
    diff.holds(len(told) <= fewest, f"why_not has {told}, some order is stopped by {fewest} only")


def compare_tube(out, tube, bender, words, diff):
    """One tube of the document."""
    compare_shape(out, tube, bender, diff)
    top = diff.where
    cache = {}

    def steps(bender, tube, index, lead, made):
        key = index, lead, frozenset(made)
        if key not in cache:
            cache[key] = gaps.Step(Pose(bender, tube, index, lead, set(made)))
        return cache[key]

    made, before, cost = set(), None, 0.0
    blocked, reasons = [], set()
    tight_counts = "--accept-tight" in words
    for number, step in enumerate(out["steps"], 1):
        index = step["bend"] - 1
        diff.where = f"{top}, step {number} (bend {step['bend']}, lead {step['lead']})"
        if not diff.holds(0 <= index < len(tube.bends) and index not in made and step["lead"] in "AB", "no such step"):
            return
        replayed = steps(bender, tube, index, step["lead"], made)
        broken, verdict, spent = compare_step(step, number, before, replayed, diff)
        cost += spent
        found = {(name, index + 1) for name in broken}
        if verdict != "clear" and not (verdict == "tight" and tight_counts):
            found.add((verdict, index + 1))
        if found:
            blocked.append(number)
        reasons |= found
        made.add(index)
        before = replayed.pose
    diff.where = top
    whole = len(made) == len(tube.bends) and not blocked
    diff.same("feasible", out["feasible"], whole)
    told = {(w["reason"], w["bend"]) for w in out["why_not"]}
    if "--order" in words:
        # A step that touches one thing may be near to another as well, and the format lets both be told.
        also = {("tight", s["bend"]) for s in out["steps"] for c in s["clearances"] if c["gap_mm"] and c["gap_mm"] < c["keep_mm"]}
        diff.holds(reasons <= told <= reasons | also, f"why_not has {sorted(told)}, the replay finds {sorted(reasons)}")
        diff.same("proved_optimal", out["proved_optimal"], False)
    else:
        if not whole and len(tube.bends) <= MOST_TRIED and not bender.motions:
            hold_the_reasons(out, tube, bender, steps, tight_counts, diff)
        diff.holds(blocked in ([], [len(out["steps"])]), f"steps {blocked} are blocked, only the last may be")
        diff.holds(whole or blocked, "not feasible, and no step is blocked")
        for lead in "AB":
            stuck, free, natural = natural_order(tube, bender, lead, steps, tight_counts)
            if free and not stuck:
                diff.holds(whole, f"not feasible, the replay finds all bends free one after the other with lead {lead}")
                if whole:
                    by = COST * len(tube.bends)
                    diff.holds(cost <= natural + by, f"costs {cost} s, one after the other with lead {lead} {natural} s")
    diff.holds(bool(told) != whole, f"why_not has {sorted(told)} and feasible is {out['feasible']}")
    if whole:
        diff.near("cost_s", out["cost_s"], cost, COST * max(1, len(out["steps"])))
    else:
        diff.same("cost_s", out["cost_s"], None)
    compare_accuracy(out, tube, bender, diff)
    compare_notes(out, tube, bender, diff)


def compare_accuracy(out, tube, bender, diff):
    """How far end B may be off."""
    if bender.accuracy is None or not tube.bends:
        diff.same("accuracy", out["accuracy"], None)
        return
    leads = {s["bend"] - 1: s["lead"] for s in out["steps"]}
    if len(leads) < len(tube.bends):
        return
    radius, variance, shares, per_degree = scatter(tube, leads, bender.accuracy)
    told = out["accuracy"]
    if not diff.holds(told is not None, "accuracy is null, the bender's file gives it"):
        return
    # The program may work by a formula for the quantile, the replay counts: 3 % is finer than anybody knows a deviation.
    diff.near("accuracy, end_b_mm", told["end_b_mm"], radius, 0.03 * radius)
    if told["springback"] is None:
        end_b = told["nodes"][-1]["covariance_mm2"]
        diff.near("accuracy, variance of end B", sum(end_b[k][k] for k in range(3)), variance, 0.02 * variance)
    diff.same("accuracy, bends", sorted(b["bend"] for b in told["by"]), list(range(1, len(tube.bends) + 1)))
    for part in told["by"]:
        k = part["bend"] - 1
        diff.near(f"accuracy, share of bend {k + 1}", part["share"], shares[k], 0.02)
        diff.near(f"accuracy, mm_per_deg of bend {k + 1}", part["mm_per_deg"], per_degree[k], 0.02 * per_degree[k])
        diff.near(f"accuracy, way of bend {k + 1}", math.hypot(*part["moves_mm_per_deg"]), part["mm_per_deg"])


def compare_notes(out, tube, bender, diff):
    """Notes that must be there, and their order."""
    codes = [n["code"] for n in out["notes"]]
    known = [WORTH.index(c) for c in codes if c in WORTH]
    diff.holds(known == sorted(known), f"the notes are not in order of importance: {codes}")
    must = {
        "no-solids": not bender.solids,
        "springback-none": any(spring_from(tube, b) == "none" for b in tube.bends),
        "springback-estimated": any(spring_from(tube, b) == "estimated" for b in tube.bends),
        "springback-borrowed": any(spring_from(tube, b) == "borrowed" for b in tube.bends),
        "extrapolated": any(beyond(b) for b in tube.bends),
        "od-differs": any(abs(tube.od - b.die.od) > 1e-9 for b in tube.bends),
        "straight-through": tube.passed > 0,
    }
    near = [s for s in out["steps"] if any(0 < s["dial_target_deg"] - p <= 8 for p in s["pin_moves"])]
    must["pin-near-target"] = bool(near)
    for code, there in must.items():
        diff.same(f"the note {code}", code in codes, there)


def replay(path, words, diff):
    """One job with one command line."""
    diff.where = f"{path.name} {' '.join(words)}".strip()
    bender, tubes = shape.tubes(path)
    document, status = plan(path, words)
    diff.keys("document", document)
    diff.same("schema", document["schema"], "tubewright/plan/1")
    if "--tube" in words:
        tubes = [t for t in tubes if t.name in words]
    diff.same("the tubes", [t["name"] for t in document["tubes"]], [t.name for t in tubes])
    digest = hashlib.sha256(b"".join(p.read_bytes() for p in [path, *bender.files])).hexdigest()[:4]
    top = diff.where
    for out, tube in zip(document["tubes"], tubes):
        diff.where = f"{top}, {tube.name}"
        diff.same("fingerprint", out["fingerprint"], digest)
        compare_tube(out, tube, bender, words, diff)
    diff.where = top
    diff.same("the exit status", status, 0 if all(t["feasible"] for t in document["tubes"]) else 1)
    return sum(len(t["steps"]) for t in document["tubes"])


def replay_random(seed, diff):
    """A random job; returns the number of its steps, or None where its files are refused."""
    job, bender, words = random_jobs.job(seed)
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / f"random-{seed}.yaml"
        path.write_text(job)
        (path.parent / "bender.yaml").write_text(bender)
        try:
            return replay(path, words, diff)
        except Refused as refusal:
            # A body that stands in the way of the straight tube, or a tube that meets itself.
            if "solid-in-the-way" in str(refusal) or "meets-itself" in str(refusal):
                return None
            raise


def done(task):
    """A task's name, the number of its steps, what differs, and how long it took."""
    name, work, *on = task
    began, diff = time.monotonic(), Differences()
    return name, work(*on, diff), diff, time.monotonic() - began


def main():
    """Replays the jobs of the command line, else all."""
    seeds = [int(a) for a in sys.argv[1:] if a.isdigit()]
    paths = [pathlib.Path(a).resolve() for a in sys.argv[1:] if not a.isdigit()]
    if len(sys.argv) == 1:
        paths = sorted([*program.TOP.glob("samples/jobs/*.yaml"), *program.TOP.glob("samples/ends/*.yaml"), *program.TOP.glob("tests/python/jobs/*.yaml")])
        seeds = range(1, 401 if os.environ.get("TUBEWRIGHT_COUNT") == "full" else 5)
    tasks = [(f"{p.name} {' '.join(w)}", replay, p, w) for p in paths for w in options(p)]
    tasks += [(f"random {seed}", replay_random, seed) for seed in seeds]
    program.built()
    steps, runs, refused, found, looked_at = 0, 0, 0, 0, 0
    with concurrent.futures.ProcessPoolExecutor(os.cpu_count()) as workers:
        for name, count, diff, seconds in workers.map(done, tasks):
            found, looked_at = found + len(diff.found), looked_at + diff.looked_at
            if count is None:
                refused += 1
                continue
            steps, runs = steps + count, runs + 1
            print(f"  {name}: {count} steps, {len(diff.found)} differences, {seconds:.1f} s", flush=True)
            for text in diff.found:
                print(f"    {text}", flush=True)
    if not steps or found or refused > len(seeds) // 2:
        print(f"replay: {found} differences in {looked_at} figures, {steps} steps, {runs} plans, {refused} refused",
              file=sys.stderr)
        return 1
    print(f"judge: replay: {looked_at} figures of {steps} steps in {runs} plans agree")
    return 0


if __name__ == "__main__":
    sys.exit(main())
