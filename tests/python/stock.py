"""Cut lists of random jobs against scipy's integer programming, and bar by bar from the description of the list alone.

Straight tubes of one size, so that a cut length is the leg; bars at hand and to be bought, offcuts, kerf, rough ends. Every bar has room for what is cut from
it, no stock is used more often than it is there, marks and rests are what they have to be. What is bought is what an assignment of pieces to single bars
finds, a model that knows nothing of ways to fill a bar: first the least length uncut, then the least length bought. What is called the best is proved there, and what
has to be bought at least is not more.
"""

import json
import pathlib
import random
import sys
import tempfile

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

import program
import reading

BENDER = """
kind: bender
units: mm
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 860
dies: { d: { od: 38.1, clr: 127, max_angle: 195, clamp_length: 70, follower_length: 150 } }
"""
CASES = 100
TOLERANCE = 1e-6


class Shop:
    """A random list of pieces and of stock; lengths in whole mm."""

    def __init__(self, seed):
        chance = random.Random(seed)
        self.kerf, self.waste = chance.choice((0, 2, 3)), chance.choice((0, 0, 10))
        step = chance.choice((1, 50, 100))
        length = lambda least, most: step * chance.randint(least // step + 1, most // step)
        self.pieces = [length(300, 2600) for _ in range(chance.randint(2, 9))]
        self.offcuts = [(length(400, 2000), chance.randint(1, 2)) for _ in range(chance.randint(0, 3))]
        self.at_hand = [(length(2000, 6000), 1)] if chance.random() < 0.4 else []
        self.bought = chance.sample((2000, 3000, 4000, 6000, 7500), chance.randint(1, 2)) if chance.random() < 0.9 else []

    def yaml(self):
        """The job."""
        several = lambda length, count: f"{{ length: {length}, count: {count} }}"
        offcuts = ", ".join(several(*offcut) if offcut[1] > 1 else str(offcut[0]) for offcut in self.offcuts)
        bars = ", ".join([*(several(*bar) for bar in self.at_hand), *map(str, self.bought)])
        tubes = "".join(f"  t{place}: {{ legs: [{length}] }}\n" for place, length in enumerate(self.pieces))
        return (
            "kind: job\nunits: mm\nbender: bender.yaml\ntube: { od: 38.1 }\n"
            f"stock: {{ kerf: {self.kerf}, end_waste: {self.waste}, bars: [{bars}], offcuts: [{offcuts}] }}\ntubes:\n{tubes}"
        )

    def least(self):
        """Least length uncut, and with that the least length bought: each piece in one bar at most, each bar with its own room."""
        bars = [(length, 0) for length, count in [*self.offcuts, *self.at_hand] for _ in range(count)]
        bars += [(length, length) for length in self.bought for _ in self.pieces]
        pieces, n = self.pieces, len(self.pieces)
        # Unknowns: piece i from bar j, bar j used.
        size = n * len(bars) + len(bars)
        at = lambda i, j: i * len(bars) + j
        rows, low, high = [], [], []

        def row(entries, least, most):
            line = np.zeros(size)
            for place, value in entries:
                line[place] += value
            rows.append(line)
            low.append(least)
            high.append(most)

        for i in range(n):
            row([(at(i, j), 1) for j in range(len(bars))], 0, 1)
        for j, (length, _) in enumerate(bars):
            # n pieces take n - 1 kerfs where the last ends with the bar.
            room = length - 2 * self.waste + self.kerf
            used = n * len(bars) + j
            row([*((at(i, j), pieces[i] + self.kerf) for i in range(n)), (used, -max(room, 0))], -np.inf, 0)
            if j and bars[j - 1] == bars[j]:
                # Bars that are alike are taken in turn.
                row([(used - 1, 1), (used, -1)], 0, np.inf)
        cut = np.array([-float(pieces[place // len(bars)]) if place < n * len(bars) else 0.0 for place in range(size)])
        price = np.array([0.0] * (n * len(bars)) + [float(cost) for _, cost in bars])
        if not bars:
            return sum(pieces), 0
        solve = lambda costs: milp(costs, constraints=LinearConstraint(np.array(rows), low, high), integrality=np.ones(size), bounds=Bounds(0, 1))
        best = solve(cut)
        assert best.status == 0, best.message
        held = -best.fun
        row([(place, -value) for place, value in enumerate(cut) if value], held - TOLERANCE, np.inf)
        cheapest = solve(price)
        assert cheapest.status == 0, cheapest.message
        return sum(pieces) - held, round(cheapest.fun)


class Worked(Shop):
    """One size of tube of a job of the samples, which says of every bar what it is: the cut lengths of the plan, and the pieces for test bends as they are listed."""

    def __init__(self, path, plan, group):
        file = reading.load(path)
        stock, usual = file["stock"], file["tube"]
        size = lambda value: reading.length(value, file["units"])
        ours = lambda bar: all(abs(size(bar.get(key, usual[key])) - group[f"{key}_mm"]) < 1e-9 for key in ("od", "wall"))
        self.kerf, self.waste = size(stock["kerf"]), size(stock["end_waste"])
        bars = [bar if isinstance(bar, dict) else {"length": bar} for bar in stock["bars"]]
        offcuts = [bar if isinstance(bar, dict) else {"length": bar} for bar in stock["offcuts"]]
        self.bought = [size(bar["length"]) for bar in bars if "count" not in bar]
        self.at_hand = [(size(bar["length"]), bar["count"]) for bar in bars if "count" in bar and ours(bar)]
        self.offcuts = [(size(bar["length"]), bar.get("count", 1)) for bar in offcuts if ours(bar)]
        tubes = {name: usual | tube.get("tube", {}) for name, tube in file["tubes"].items()}
        lengths = {tube["name"]: tube["cut_length_mm"] for tube in plan["tubes"] if ours(tubes[tube["name"]])}
        # The tubes first, by their number; what is kept for test bends behind them.
        names = list(lengths)
        self.pieces = list(lengths.values())
        for piece in [piece for bar in group["bars"] for piece in bar["pieces"]] + group["uncut"]:
            if piece["tube"] is None:
                piece["tube"] = f"t{len(self.pieces)}"
                self.pieces.append(piece["length_mm"])
            else:
                piece["tube"] = f"t{names.index(piece['tube'])}"
        self.tests = len(self.pieces) - len(names)


def worked():
    """The job of the buggy's frame, one size of tube after the other; how many pieces it has."""
    path = program.TOP / "samples/ends/buggy-frame.yaml"
    run = program.run("tubewright", "stock", str(path), "--format", "json")
    plan = json.loads(program.run("tubewright", "plan", str(path), "--format", "json", "--quiet").stdout)
    found = json.loads(run.stdout)
    assert run.returncode == 0 and len(found["groups"]) == 2, run.stderr
    pieces = 0
    for group in found["groups"]:
        shop = Worked(path, plan, group)
        wrong = list(faults(shop, found | {"groups": [group]}, run.returncode))
        assert not wrong and shop.tests == 3, (group["od_mm"], wrong)
        pieces += len(shop.pieces)
    assert pieces == len(plan["tubes"]) + 6, pieces
    return pieces


def faults(shop, found, status):
    """What is wrong with a document, in words."""
    [group] = found["groups"]
    kerf, waste = shop.kerf, shop.waste
    seen = []
    there = {("offcut", length): 0 for length, _ in shop.offcuts} | {("at-hand", length): 0 for length, _ in shop.at_hand}
    for length, count in shop.offcuts:
        there["offcut", length] += count
    for length, count in shop.at_hand:
        there["at-hand", length] += count
    bought = 0
    for bar in group["bars"]:
        if bar["kind"] == "bought":
            bought += bar["length_mm"]
            if bar["length_mm"] not in shop.bought:
                yield f"a bar of {bar['length_mm']} is not on sale"
        else:
            there[bar["kind"], bar["length_mm"]] -= 1
        at = waste
        for piece in bar["pieces"]:
            place = int(piece["tube"][1:])
            seen.append(place)
            end = at + shop.pieces[place]
            if abs(piece["from_mm"] - at) > TOLERANCE or abs(piece["to_mm"] - end) > TOLERANCE or abs(piece["length_mm"] - shop.pieces[place]) > TOLERANCE:
                yield f"{piece} should lie from {at} to {end}"
            at = end + kerf
        if at - kerf > bar["length_mm"] - waste + TOLERANCE or not bar["pieces"]:
            yield f"{bar} is not long enough, or has no piece"
        if abs(bar["left_mm"] - max(bar["length_mm"] - at, 0)) > TOLERANCE:
            yield f"{bar} leaves {bar['length_mm'] - at}"
    if min(there.values(), default=0) < 0:
        yield f"more stock is used than there is: {there}"
    uncut = [int(piece["tube"][1:]) for piece in group["uncut"]]
    if sorted(seen + uncut) != list(range(len(shop.pieces))):
        yield f"cut {seen}, not cut {uncut}"
    if found["feasible"] != (not uncut) or status != bool(uncut):
        yield f"feasible {found['feasible']}, status {status}, not cut {uncut}"
    if abs(bought - group["bought_mm"]) > TOLERANCE or abs(sum(buy["length_mm"] * buy["count"] for buy in group["buy"]) - bought) > TOLERANCE:
        yield f"bought {bought}, and said {group['bought_mm']}, {group['buy']}"
    least_uncut, least_bought = shop.least()
    short = sum(shop.pieces[place] for place in uncut)
    if abs(short - least_uncut) > 1e-3 or abs(bought - least_bought) > 1e-3:
        yield f"uncut {short}, bought {bought}; least are {least_uncut}, {least_bought}"
    if group["at_least_mm"] > least_bought + TOLERANCE or not group["best"]:
        yield f"at least {group['at_least_mm']}, best {group['best']}, but {least_bought} will do"


def main():
    """The worked job, then all random ones; status 1 where any list is not as it has to be."""
    pieces = worked()
    wrong = bars = short = 0
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        (folder / "bender.yaml").write_text(BENDER)
        for seed in range(CASES):
            shop = Shop(seed)
            job = folder / f"job{seed}.yaml"
            job.write_text(shop.yaml())
            run = program.run("tubewright", "stock", str(job), "--format", "json")
            if run.returncode not in (0, 1):
                print(f"stock: job {seed}: {run.stderr}", file=sys.stderr)
                wrong += 1
                continue
            found = json.loads(run.stdout)
            for fault in faults(shop, found, run.returncode):
                print(f"stock: job {seed}: {fault}", file=sys.stderr)
                wrong += 1
            bars += len(found["groups"][0]["bars"])
            short += run.returncode
    if wrong or not bars or not short:
        print(f"stock: {wrong} faults in {CASES} jobs", file=sys.stderr)
        return 1
    print(f"judge: stock: {pieces} pieces of the buggy's frame, {CASES} random jobs, {bars} bars, {short} with pieces that no stock is left for")
    return 0


if __name__ == "__main__":
    sys.exit(main())
