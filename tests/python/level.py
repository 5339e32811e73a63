"""Slopes, heights, turns, balance and end-to-end sizes of every step, placed anew with scipy's rotations.

Of the plan only its rows and the order of its steps are used; the bender's and the tube's own figures are read from their files. The tube is walked
outward from the tangent point in small pieces of equal mass, each carried by a product of rotations. Held against the plan and the card:

- the level reading of the named leg, its side, and that no leg shows the roll better;
- what a bar across the tube reads, by turning the tube's own material from one step to the next;
- the heights of both ends, and the size from end to end after each step;
- the moment with which the bent tube drops, and with which it tips, by adding up its pieces.

    level.py             the jobs in samples/jobs, random ones (more with TUBEWRIGHT_COUNT=full), and a table of slopes
    level.py SEED...     these random jobs only

Random jobs are given a wall and a density.
"""

import json
import math
import os
import pathlib
import re
import sys
import tempfile

import numpy as np
from scipy.spatial.transform import Rotation

import program
import random_jobs
import shape

EXACT = 1e-6  # mm or degrees
ROLL = 0.02  # degrees: a change by a whole degree of roll is not quite the rate of change
SHOWN = 0.3  # of a degree of roll, that a leg must show to be named
FELT = 0.05  # N m
ONE_HAND = 20.0  # N m
GRAVITY = 9.80665
PIECES = 4000  # an arc's pieces: their middles are off by 1e-8 of its radius

# Slope of a leg of bend angle theta after a turn by rho: asin(sin theta sin rho), rounded to the printed digits.
RHO = [15, 30, 45, 60, 75, 90]
SLOPES = {
    15: [3.8410, 7.4355, 10.5453, 12.9525, 14.4775, 15.0000],
    20: [5.0785, 9.8466, 13.9954, 17.2294, 19.2910, 20.0000],
    30: [7.4355, 14.4775, 20.7048, 25.6589, 28.8791, 30.0000],
    45: [10.5453, 20.7048, 30.0000, 37.7612, 43.0795, 45.0000],
    60: [12.9525, 25.6589, 37.7612, 48.5904, 56.7741, 60.0000],
    75: [14.4775, 28.8791, 43.0795, 56.7741, 68.9094, 75.0000],
    90: [15.0000, 30.0000, 45.0000, 60.0000, 75.0000, 90.0000],
    110: [14.0761, 28.0243, 41.6411, 54.4687, 65.1858, 70.0000],
    135: [10.5453, 20.7048, 30.0000, 37.7612, 43.0795, 45.0000],
}

X, Y, Z = np.eye(3)


def about(axis, angle):
    return Rotation.from_rotvec(np.asarray(axis, float) * angle)


class Laid:
    """The tube laid in for one step, with the bends in `made` made."""

    def __init__(self, bender, tube, rows, index, lead, made):
        self.bender, self.lead, self.index = bender, lead, index
        self.bend = tube.bends[index]
        die, hand = self.bend.die, bender.hand
        self.tangent = -hand * die.clr * Y
        travel = -X if lead == "A" else X
        normal = (-hand if lead == "A" else hand) * Z
        # The tube's own axes at the tangent point: travel, toward the inside of the bend, normal.
        here = Rotation.from_matrix(np.column_stack([travel, np.cross(normal, travel), normal]))
        self.axes = here
        blank = tube.bends
        start = blank[index].start if lead == "A" else blank[index].end
        self.start, self.cut = start, tube.cut
        # Each: leg number or None for an arc, direction of travel, points, places on the blank.
        self.parts, self.legs = [], {}
        self.straight_to = {"A": 0.0, "B": tube.cut}

        for toward in ("B", "A"):
            sign = 1 if toward == "B" else -1
            at, turned, along, bent = self.tangent, here, start, False
            order = range(index + 1, len(blank)) if toward == "B" else range(index - 1, -1, -1)
            if toward == "A":
                # The active bend's own leg before it, back through its roll.
                roll = rows[index]["rotation_deg"]
            for j in order:
                if toward == "B":
                    turned = turned * about(X, math.radians(rows[j]["rotation_deg"]))
                else:
                    turned = turned * about(X, -math.radians(roll))
                    roll = rows[j]["rotation_deg"]
                if j not in made:
                    continue
                near = blank[j].start if toward == "B" else blank[j].end
                far = blank[j].end if toward == "B" else blank[j].start
                at = self.add_straight(at, turned, along, near, toward)
                if not bent:
                    self.straight_to[toward] = near
                bent = True
                radius, angle = rows[j]["formed_radius_mm"], math.radians(rows[j]["bend_deg"])
                centre = turned.apply([0, radius, 0]) + at
                share = (np.arange(PIECES) + 0.5) / PIECES
                turns = turned * Rotation.from_rotvec(np.outer(sign * share * angle, Z))
                points = centre + turns.apply([0, -radius, 0])
                self.parts.append((None, near + (far - near) * share, points, abs(far - near) / PIECES))
                turned = turned * about(Z, sign * angle)
                at = centre + turned.apply([0, -radius, 0])
                along = far
                # Legs of this straight, out to the next made bend.
                out = turned.apply(X) * sign
                leg = j + 2 if toward == "B" else j + 1
                self.legs[leg] = out
                nexts = [k for k in order if (k > j if toward == "B" else k < j)]
                for k in nexts:
                    if k in made:
                        break
                    self.legs[k + 2 if toward == "B" else k + 1] = out
            end = tube.cut if toward == "B" else 0.0
            at = self.add_straight(at, turned, along, end, toward)
            if toward == "A":
                self.end_a = at
            else:
                self.end_b = at

    def add_straight(self, at, turned, low, high, toward):
        way = turned.apply(X) * (1 if toward == "B" else -1)
        length = abs(high - low)
        if length > 0:
            share = (np.arange(PIECES) + 0.5) / PIECES
            points = at + np.outer(share * length, way)
            self.parts.append((toward, low + (high - low) * share, points, length / PIECES))
        return at + way * length

    def bent(self, angle):
        """(points, lengths) of all pieces at a die angle in radians; and the line of the trailing straight there."""
        die, hand = self.bend.die, self.bender.hand
        growth = 1 + self.bend.material.stretch
        drawn = die.clr * angle / growth
        lead_turn = about(Z, hand * angle)
        back = about(Z, 0.0 if self.bender.turns else -hand * angle)
        all_points, lengths = [], []
        for _, where, points, length in self.parts:
            behind = where - self.start if self.lead == "A" else self.start - where
            leads = behind < 0
            wrapped = (behind >= 0) & (behind < drawn)
            moved = points + drawn * X
            moved[leads] = lead_turn.apply(points[leads]) if leads.any() else moved[leads]
            if wrapped.any():
                left = angle - behind[wrapped] * growth / die.clr
                moved[wrapped] = Rotation.from_rotvec(np.outer(hand * left, Z)).apply(self.tangent)
            all_points.append(back.apply(moved))
            lengths.append(np.full(len(points), length))
        return np.concatenate(all_points), np.concatenate(lengths), back.apply(self.tangent), back.apply(X)


def upward(bender):
    """Up in the bender frame as a level sees it."""
    if not bender.level:
        return bender.up
    along = math.sin(bender.level.get("along", 0.0))
    if bender.vertical:
        return np.array([along, math.copysign(math.sqrt(1 - along**2), bender.up[1]), 0.0])
    across = math.sin(bender.level.get("across", 0.0)) * bender.hand
    return np.array([along, across, math.sqrt(1 - along**2 - across**2)])


def slope(way, up):
    return math.degrees(math.asin(max(-1.0, min(1.0, float(np.dot(way, up))))))


class Judge:
    """Counts what was compared, by name, and collects what differs."""

    def __init__(self):
        self.found, self.counts, self.where = [], {}, ""

    def near(self, name, theirs, ours, by=EXACT):
        self.counts[name] = self.counts.get(name, 0) + 1
        if theirs is None or abs(theirs - ours) > by:
            self.found.append(f"{self.where}: {name} is {theirs}, here {ours}")

    def holds(self, name, truth, text):
        self.counts[name] = self.counts.get(name, 0) + 1
        if not truth:
            self.found.append(f"{self.where}: {text}")


def judge_gauge(judge, step, laid):
    up, hand = upward(laid.bender), laid.bender.hand

    def shown(way):
        return max(abs(slope(about(X, math.radians(by)).apply(way), up) - slope(way, up)) for by in (1, -1))

    best = max((shown(way) for way in laid.legs.values()), default=0.0)
    gauge = step["gauge"]
    if gauge is None:
        judge.holds("no gauge", best < SHOWN + ROLL, f"no gauge, a leg shows {best} of a degree of roll")
        return
    way = laid.legs.get(gauge["leg"])
    if way is None:
        judge.holds("gauge", False, f"the gauge names leg {gauge['leg']}, which lies in line")
        return
    # An arcsine loses half of its digits beside 90 degrees.
    judge.near("gauge", gauge["rise_deg"], slope(way, up), EXACT if abs(gauge["rise_deg"]) < 89 else 1e-4)
    judge.holds("gauge", shown(way) > max(SHOWN, best - ROLL) - ROLL, f"leg {gauge['leg']} shows {shown(way)}, another {best}")
    if abs(way[1]) > 1e-9:
        judge.holds("side", gauge["side"] == ("die" if way[1] * hand > 0 else "away"), f"leg {gauge['leg']} points to {way}")


def judge_bar(judge, card, laid, before, psi):
    """The bar is fixed to the tube's material, level in the step before."""
    up = upward(laid.bender)
    level = Z if laid.bender.vertical else np.cross(up, X) * laid.bender.hand
    level = level / np.linalg.norm(level)

    def material(which, index):
        # The reference line's side of the tube, in the tube's axes at bend `index`.
        return which.axes * about(X, -psi[index])

    on_tube = material(before, before.index).inv().apply(level)
    bar = material(laid, laid.index).apply(on_tube)
    rise = card["bar"]["rise_deg"]
    by = EXACT if abs(rise) < 89 else 1e-4
    # Square to how it lay, either end is the one on the side that is looked at.
    seen = [bar] if np.dot(bar, level) > 1e-9 else [-bar] if np.dot(bar, level) < -1e-9 else [bar, -bar]
    judge.near("bar", rise, min((slope(one, up) for one in seen), key=lambda ours: abs(ours - rise)), by)
    judge.holds("bar end", card["bar"]["end"] == ("toward-you" if laid.bender.vertical else "die-side"), f"bar {card['bar']}")


def judge_balance(judge, card, laid, kg_per_mm):
    bender, die = laid.bender, laid.bend.die
    up = bender.up
    points, lengths, on_line, line = laid.bent(laid.bend.die_angle)
    square = np.cross(up, line)
    levers = (points - on_line) @ square * lengths
    moment = levers.sum() * kg_per_mm * 1e-3 * GRAVITY
    by = 1e-6 * (1 + np.abs(levers).sum() * kg_per_mm * 1e-3 * GRAVITY)
    hold = card["hold"]
    if hold is None:
        judge.holds("nothing to hold", abs(moment) < FELT + by, f"nothing to hold, the moment is {moment}")
    else:
        judge.near("hold", hold["moment_nm"], abs(moment), by)
        if bender.vertical:
            falls = "toward-you" if moment * square[2] > 0 else "away-from-you"
        else:
            falls = "die-side" if moment * bender.hand > 0 else "away-from-die"
        judge.holds("falls", hold["falls"] == falls, f"falls {hold['falls']}, here {falls}")

    def tips(angle, way, edge):
        points, lengths, on_line, line = laid.bent(angle)
        out = line * way
        level = out - up * np.dot(out, up)
        share = np.linalg.norm(level)
        if share < 0.1:
            return None
        lever = ((points - on_line - out * edge) @ (level / share) * lengths).sum()
        middle = ((points - on_line) @ out * lengths).sum() / lengths.sum()
        return lever * kg_per_mm * 1e-3 * GRAVITY, middle

    drawn = die.clr * laid.bend.die_angle / (1 + laid.bend.material.stretch)
    behind = tips(0.0, -1, die.follower_length)
    stand = card["stand"]
    if behind is None:
        judge.holds("no stand", stand is None, "a stand under a tube that stands on end")
        return
    bent = tips(laid.bend.die_angle, -1, die.follower_length - (drawn if die.travels else 0))
    ahead = tips(0.0, 1, die.clamp_length)
    bent = bent or (0.0, behind[1])
    most = max(behind[0], bent[0])
    by = 1e-5 * (1 + abs(most))
    if stand is None:
        judge.holds("no stand", max(most, ahead[0]) < ONE_HAND + by, f"no stand, it tips with {most} behind, {ahead[0]} ahead")
        return
    judge.near("stand", stand["tips_nm"], ahead[0] if stand["ahead"] else most, by)
    judge.holds("stand", stand["ahead"] == (most < ONE_HAND), f"stand {stand}, it tips with {most} behind, {ahead[0]} ahead")
    trailing = "B" if laid.lead == "A" else "A"
    judge.holds("stand", stand["end"] == (laid.lead if stand["ahead"] else trailing), f"stand at end {stand['end']}")
    if stand["from_index_mm"] is None:
        return
    offset = die.mark_offset if stand["ahead"] else -die.mark_offset
    place = stand["from_index_mm"] + offset
    edge = die.clamp_length if stand["ahead"] else die.follower_length
    judge.near("carries", stand["carries_kg"] * GRAVITY * (place - edge) * 1e-3, stand["tips_nm"], by)
    end = stand["end"]
    straight = abs(laid.straight_to[end] - laid.start) - (0 if stand["ahead"] else drawn)
    judge.holds("place", place <= straight, f"the stand at {place} stands under {straight} of straight tube")
    middle = ahead[1] if stand["ahead"] else max(behind[1], bent[1])
    judge.holds("place", place > middle, f"the stand at {place}, the middle of mass at {middle}")


def run(judge, job, words=()):
    """All tubes of one job; False where its files are refused."""
    documents = []
    for command in ("plan", "card"):
        done = program.run("tubewright", command, str(job), "--format", "json", *words)
        if not done.stdout.strip():
            if any(code in done.stderr for code in ("solid-in-the-way", "meets-itself")):
                return False
            raise SystemExit(f"level: {command} {job} {' '.join(words)} printed nothing:\n{done.stderr}")
        documents.append(json.loads(done.stdout))
    bender, tubes = shape.tubes(job)
    densities = {t["name"]: t for t in documents[1]["tubes"]}
    for out, tube in zip(documents[0]["tubes"], tubes):
        judge.where = f"{job.name} {' '.join(words)}, {tube.name}"
        rows, work = out["rows"], densities[tube.name]["work"]
        psi = np.radians(np.cumsum([0.0] + [row["rotation_deg"] for row in rows[1:-1]])) if tube.bends else []
        made, before = set(), None
        for number, step in enumerate(out["steps"]):
            judge.where = f"{job.name} {' '.join(words)}, {tube.name}, step {number + 1}"
            index = step["bend"] - 1
            laid = Laid(bender, tube, rows, index, step["lead"], made)
            judge_gauge(judge, step, laid)
            made.add(index)
            if work is not None:
                card = work["steps"][number]
                for key, point in (("end_a_up_mm", laid.end_a), ("end_b_up_mm", laid.end_b)):
                    judge.near(key, card[key], np.dot(point - laid.tangent, bender.up))
                if before is not None:
                    judge_bar(judge, card, laid, before, psi)
                if work["weight"] is not None:
                    judge_balance(judge, card, laid, work["weight"]["kg_per_m"] * 1e-3)
                # The finished place of the ends does not depend on where the tube lies: laid in anew, this bend made too.
                others = [k for k in range(len(tube.bends)) if k not in made]
                at = others[0] if others else None
                if at is None:
                    start, end = walked(rows, tube)
                else:
                    anew = Laid(bender, tube, rows, at, "A", made)
                    start, end = anew.end_a, anew.end_b
                if "check" in card:
                    judge.near("end to end", card["check"]["size_mm"], np.linalg.norm(end - start))
            before = laid
    return True


def walked(rows, tube):
    """Both ends of the finished tube, from its rows alone."""
    at, turned = np.zeros(3), Rotation.identity()
    for k, row in enumerate(rows[:-1]):
        turned = turned * about(X, math.radians(row["rotation_deg"] if k else 0.0))
        at = at + turned.apply(X) * (row["length_mm"] + (tube.extra_a if k == 0 else 0))
        radius = row["formed_radius_mm"]
        centre = at + turned.apply(Y) * radius
        turned = turned * about(Z, math.radians(row["bend_deg"]))
        at = centre - turned.apply(Y) * radius
    extra = tube.extra_b + (tube.extra_a if len(rows) == 1 else 0)
    return np.zeros(3), at + turned.apply(X) * (rows[-1]["length_mm"] + extra)


PLAIN = """kind: bender
units: mm
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 2000
dies:
  only: { od: 30, clr: 60, max_angle: 200, clamp_length: 40, follower_length: 60, materials: { steel: { springback: { constant: 1, proportional: 0.02 } } } }
"""


def table(judge, folder):
    """Both bends of each tube bend by theta, so that whichever is made first, its leg has the slope that is printed."""
    tubes = {}
    for theta, slopes in SLOPES.items():
        for rho, wanted in zip(RHO, slopes):
            turned = (about(X, math.radians(rho)) * about(Z, math.radians(theta))).apply(X)
            judge.near("printed table", wanted, math.degrees(math.asin(turned[2])), 0.5e-4 + 1e-9)
            tubes[f"t{theta}-{rho}"] = (theta, rho, wanted)
    lines = ["kind: job", "units: mm", "bender: bender.yaml", "tube: { od: 30, material: steel, die: only }", "tubes:"]
    lines += [f"  {name}: {{ rows: [{{ length: 400, bend: {theta} }}, {{ length: 600, rotation: {rho}, bend: {theta} }}, {{ length: 400 }}] }}"
              for name, (theta, rho, _) in tubes.items()]
    path = folder / "table.yaml"
    path.write_text("\n".join(lines) + "\n")
    (folder / "bender.yaml").write_text(PLAIN)
    done = program.run("tubewright", "plan", str(path), "--format", "json")
    for out in json.loads(done.stdout)["tubes"]:
        theta, rho, wanted = tubes[out["name"]]
        judge.where = f"table, {theta} {rho}"
        if len(out["steps"]) < 2:
            continue
        gauge = out["steps"][1]["gauge"]
        shows = math.sin(math.radians(theta)) * math.cos(math.radians(rho)) / math.cos(math.radians(wanted))
        if gauge is None:
            judge.holds("table: no gauge", shows < SHOWN + ROLL or rho == 90, f"no gauge, the leg shows {shows}")
        else:
            judge.near("table", abs(gauge["rise_deg"]), wanted, 0.5e-4 + 1e-9)


def main():
    judge, refused = Judge(), 0
    seeds = [int(word) for word in sys.argv[1:]]
    if not seeds:
        seeds = range(1, 301 if os.environ.get("TUBEWRIGHT_COUNT") == "full" else 41)
        for path in sorted([*program.TOP.glob("samples/jobs/*.yaml"), *program.TOP.glob("samples/ends/*.yaml")]):
            run(judge, path)
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        table(judge, folder)
        for seed in seeds:
            job, bender, words = random_jobs.job(seed)
            units = re.search(r"^units: (\w+)", job, re.M)[1]
            wall = 2.0 / random_jobs.UNITS[units]
            job = job.replace("material: steel", f"wall: {wall:.6f}, density: 7850, material: steel")
            path = folder / f"random-{seed}.yaml"
            path.write_text(job)
            (folder / "bender.yaml").write_text(bender)
            refused += not run(judge, path, words)
    for text in judge.found:
        print(f"  {text}", flush=True)
    wanted = ["gauge", "no gauge", "side", "bar", "end_a_up_mm", "hold", "nothing to hold", "falls", "stand", "no stand", "place", "end to end", "table"]
    missing = [name for name in wanted if not judge.counts.get(name)] if len(sys.argv) == 1 else []
    total = sum(judge.counts.values())
    if judge.found or missing or not total or refused > len(seeds) // 2:
        print(f"level: {len(judge.found)} differences in {total} figures, {refused} refused, nothing compared of {missing}", file=sys.stderr)
        return 1
    told = ", ".join(f"{count} {name}" for name, count in judge.counts.items())
    print(f"judge: level: {told} agree; {refused} jobs refused")
    return 0


if __name__ == "__main__":
    sys.exit(main())
