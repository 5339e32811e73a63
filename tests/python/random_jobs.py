"""Seeded random jobs on random benders, as texts: every switch of the bender's file in every combination, bodies near the tube."""

import math
import random

UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4}


def job(seed):
    """(text of a job file that names bender.yaml, text of that file, words for the command line)."""
    r = random.Random(seed)
    number = lambda low, high, digits=2: round(r.uniform(low, high), digits)
    units = r.choice(list(UNITS))
    # Figures are chosen in mm and written in the file's units: only what is written counts.
    mm = lambda value: f"{value / UNITS[units]:.4f}"
    point = lambda at: "[" + ", ".join(mm(v) for v in at) + "]"

    clr, od = number(60, 160), number(18, 45)
    clr = max(clr, 2 * od)
    clamp, follower = number(35, 90), number(60, 160)
    hand = r.choice([1, -1])
    vertical = r.random() < 0.4
    lines = [
        "kind: bender",
        f"units: {units}",
        f"motion: {r.choice(['die-turns', 'die-stands'])}",
        f"hand: {'anticlockwise' if hand > 0 else 'clockwise'}",
        f"bend_plane: {'vertical' if vertical else 'horizontal'}",
    ]
    if vertical:
        lean = r.uniform(0, 2 * math.pi)
        lines.append(f"up: [{math.cos(lean):.15f}, {math.sin(lean):.15f}, 0]")
    lines.append(f"centre_height: {mm(number(300, 1300))}")
    if r.random() < 0.6:
        lines.append(f"pin: {{ first: {number(15, 60)}, every: {number(25, 60)} }}")
    lines.append(f"pointer: {{ set_to: {number(-3, 1)}, when: {r.choice(['slack-out', 'first-bite'])} }}")
    if r.random() < 0.8:
        lines.append(f"clearance: {{ keep: {mm(number(1, 12))}, comfortable: {mm(number(20, 90))} }}")
    if r.random() < 0.4:
        lines.append(f"accuracy: {{ mark: {mm(number(0.2, 2))}, bend: {number(0.1, 0.8)}, rotation: {number(0.2, 1.5)} }}")
    if r.random() < 0.3 and not vertical:
        lines.append(f"level: {{ along: {number(-2, 2)}, across: {number(-2, 2)} }}")
    spring = f"constant: {number(0, 2)}, proportional: {number(0, 0.05, 3)}"
    lines += [
        "dies:",
        "  only:",
        f"    od: {mm(od)}",
        f"    clr: {mm(clr)}",
        f"    max_angle: {number(120, 200)}",
        f"    clamp_length: {mm(clamp)}",
        f"    follower_length: {mm(follower)}",
        f"    mark_offset: {mm(number(-10, 10))}",
        f"    runout: {mm(r.choice([0, 4]))}",
        f"    grip_min: {mm(clamp * number(0.5, 1))}",
        f"    follower: {r.choice(['stands', 'travels'])}",
        "    materials:",
        f"      steel: {{ springback: {{ {spring} }}, stretch: {number(0, 0.02, 4)}, radius_growth: {r.choice(['true', 'false'])} }}",
    ]
    if r.random() < 0.3:
        lines.append("    shapes:")
        lines.append(f"      die: [ {{ cylinder: {{ from: {point([0, 0, -od])}, to: {point([0, 0, od])}, radius: {mm(clr - od / 2 - 1)} }} }} ]")
    count = r.randint(0, 5)
    if count:
        lines.append("solids:")
    for k in range(count):
        on = r.choice(["frame", "frame", "die", "follower"])
        # Beside the tube, as far above or below it as a gap may be; or anywhere around the bender.
        side = r.choice([-1, 1])
        at = [number(-500, 500), -hand * clr + number(-300, 300), side * (od / 2 + number(1, 60))]
        if r.random() < 0.4:
            at = [number(-900, 900), number(-900, 900), number(-300, 300)]
        to = [at[0] + number(-200, 200), at[1] + number(-200, 200), at[2] + side * number(5, 80)]
        kind = r.choice(["box", "cylinder", "capsule"])
        if kind == "box":
            low, high = ([f(a, b) for a, b in zip(at, to)] for f in (min, max))
            body = f"box: {{ min: {point(low)}, max: {point(high)} }}"
        else:
            body = f"{kind}: {{ from: {point(at)}, to: {point(to)}, radius: {mm(number(2, 25))} }}"
        lines.append(f"  - {{ name: body {k + 1}, on: {on}, {body} }}")
    bender = "\n".join(lines) + "\n"

    bends = r.randint(1, 4)
    rows = []
    for k in range(bends):
        straight = number(60, 200) + clamp + (clr * 1.2 + follower) * r.choice([0, 1, 1])
        rotation = "" if k == 0 else f"rotation: {r.choice([0, 180, 90, -90, number(-180, 180), number(-180, 180)])}, "
        rows.append(f"      - {{ length: {mm(straight)}, {rotation}bend: {r.choice([number(3, 60), number(3, 110), 90])} }}")
    rows.append(f"      - {{ length: {mm(number(120, 500))} }}")
    text = "\n".join([
        "kind: job",
        f"units: {units}",
        "bender: bender.yaml",
        f"tube: {{ od: {mm(od)}, material: steel, die: only }}",
        "tubes:",
        "  tube:",
        f"    extra: {{ a: {mm(number(0, 40))}, b: {mm(number(0, 40))} }}",
        "    rows:",
        *rows,
    ]) + "\n"
    words = []
    if r.random() < 0.6:
        order = list(range(1, bends + 1))
        r.shuffle(order)
        words = ["--order", " ".join(f"{b}{r.choice('AB')}" for b in order)]
    if r.random() < 0.3:
        words.append("--accept-tight")
    text += f"    seam: {number(-360, 360)}\n" if r.random() < 0.5 else ""
    return text, bender, words
