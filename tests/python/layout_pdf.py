"""Pages of layouts and wrap strips, measured as printed.

pikepdf reads the content streams, poppler the words and the picture. On every page: both bars within 0.05 mm of 100 mm and 4 in,
letters embedded, nothing nearer than 10 mm to an edge. On every tile: its place on the sheet by its name, crosses where its neighbours
have them, the tube's centreline at its length. On a wrap strip: every top line at its place around the tube.

`TUBEWRIGHT_COUNT=full` looks at both sizes of paper, else at A4.
"""

import json
import math
import os
import pathlib
import re
import tempfile

import numpy as np

import pdf_page
import program
import shape

SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
TOLERANCE = 0.05
OVERLAP = 10.0
MARGIN = 10.0


def near(found, wanted, what):
    """Fails where a length in mm is off by more than 0.05."""
    assert abs(found - wanted) <= TOLERANCE, f"{what}: {found:.4f} instead of {wanted:.4f}"


def bars(page, what):
    """Both bars stand in the foot, measured over their outermost ends."""
    foot = page.height - MARGIN - 13
    level, upright = [], []
    for line in page.lines:
        if line.clip is not None or len(line.parts) != 1 or len(line.parts[0]) != 2:
            continue
        (x0, y0), (x1, y1) = line.parts[0]
        if min(y0, y1) > foot and abs(y0 - y1) < 0.01 and abs(x1 - x0) > 50:
            level.append((y0, x0, x1))
        elif min(y0, y1) > foot and abs(x0 - x1) < 0.01:
            upright.append((max(y0, y1), x0))
    assert len(level) == 2, f"{what}: {len(level)} bars"
    for (y, x0, x1), wanted in zip(sorted(level), (100.0, 101.6)):
        near(abs(x1 - x0), wanted, f"{what}: bar")
        ticks = [x for at, x in upright if abs(at - y) < 0.05]
        near(max(ticks) - min(ticks), wanted, f"{what}: ticks of a bar")


def common(page, paper, what):
    """What holds for every page."""
    near(page.width, SIZES[paper][0], f"{what}: width")
    near(page.height, SIZES[paper][1], f"{what}: height")
    assert not page.unembedded and page.fonts, f"{what}: fonts not embedded: {page.unembedded}"
    bars(page, what)


def tile_name(words, page):
    """The large name at the upper right."""
    right = [word for word in words if word[2] < 25 and abs(word[3] - (page.width - MARGIN)) < 0.5]
    return max(right, key=lambda word: word[4] - word[2])[0]


def number(name):
    """Row and column of a tile, from 0."""
    letters, digits = re.fullmatch(r"([A-Z]+)(\d+)", name).groups()
    row = 0
    for letter in letters:
        row = row * 26 + ord(letter) - 64
    return row - 1, int(digits) - 1


def crosses(page):
    """Middles of upright crosses with arms of 4 mm, outside of windows."""
    level, upright = [], []
    for line in page.lines:
        if line.clip is None and len(line.parts) == 1 and len(line.parts[0]) == 2 and abs(line.length - 8) < 0.01:
            (x0, y0), (x1, y1) = line.parts[0]
            (level if abs(y0 - y1) < 0.01 else upright).append(((x0 + x1) / 2, (y0 + y1) / 2))
    return [at for at in level if any(math.dist(at, other) < 0.02 for other in upright)]


def tiles(pages, names, wanted_length, what):
    """The tiles of one layout."""
    first = next(line for line in pages[0].lines if line.clip is not None)
    wide, high = first.clip[2] - first.clip[0], first.clip[3] - first.clip[1]
    step = (wide - OVERLAP, high - OVERLAP)
    marks, sheets = {}, {}
    for page, name in zip(pages, names):
        row, column = number(name)
        inside = [line for line in page.lines if line.clip is not None]
        x0, y0, x1, y1 = inside[0].clip
        near(x1 - x0, wide, f"{what} {name}: window")
        # A point of the sheet is moved by `shift` to its place on the page.
        shift = inside[0].shift
        near(x0 - shift[0], column * step[0], f"{what} {name}: x of the tile")
        near(y0 - shift[1], row * step[1], f"{what} {name}: y of the tile")
        found = crosses(page)
        assert len(found) == 6, f"{what} {name}: {len(found)} crosses"
        marks[row, column] = sorted((x - shift[0], y - shift[1]) for x, y in found)
        for x, y in marks[row, column]:
            near((x - OVERLAP / 2) % step[0] if (x - OVERLAP / 2) % step[0] < 1 else step[0] - (x - OVERLAP / 2) % step[0], 0, f"{what} {name}: cross")
        # The centreline: the only line in dashes of 9 and 2 mm.
        middle = [line for line in inside if len(line.dash) == 2 and abs(line.dash[0] - 9) < 0.01]
        assert len(middle) == 1, f"{what} {name}: {len(middle)} centrelines"
        near(middle[0].length, wanted_length, f"{what} {name}: centreline")
        points = np.concatenate(middle[0].parts) - np.array(shift)
        sheets[row, column] = points
    for (row, column), found in marks.items():
        for other, shared in (((row, column + 1), 3), ((row + 1, column), 2)):
            if other in marks:
                same = sum(any(math.dist(one, two) <= TOLERANCE for two in marks[other]) for one in found)
                assert same == shared, f"{what}: {same} crosses in common"
    # The tube lies at the same place of the sheet on all tiles, and all of it is on some tile.
    sheet = next(iter(sheets.values()))
    assert all(np.abs(points - sheet).max() <= TOLERANCE for points in sheets.values()), what
    along = np.concatenate([np.linspace(a, b, 20) for a, b in zip(sheet[:-1], sheet[1:])])
    cells = {(math.floor((y - 5) / step[1]), math.floor((x - 5) / step[0])) for x, y in along}
    assert cells <= set(marks), f"{what}: nothing is drawn of {cells - set(marks)}"
    return len(pages)


def layout(job, paper, folder):
    """All pages of one sample."""
    path = folder / "layout.pdf"
    run = program.run("tubewright", "layout", str(job), "--paper", paper, "--force", "--output", str(path), "--quiet")
    assert run.returncode in (0, 1), run.stderr
    pages, words = pdf_page.pages(path), pdf_page.words(path)
    names = [tile_name(said, page) for page, said in zip(pages, words)]
    for place, (page, name) in enumerate(zip(pages, names)):
        common(page, paper, f"{job.stem} {paper} page {place + 1} {name}")
    bad = pdf_page.white(path, folder, MARGIN)
    assert not bad, f"{job.stem} {paper}: printed too near an edge: {bad}"
    plan = json.loads(program.run("tubewright", "plan", str(job), "--format", "json", "--quiet").stdout)
    own = json.loads(program.run("tubewright", "layout", str(job), "--format", "json", "--quiet").stdout)
    starts = [place for place, name in enumerate(names) if name == "LAYOUT"] + [len(names)]
    place, counted = 0, 0
    beyond = {one.name: (one.extra_a, one.extra_b) for one in shape.tubes(job)[1]}
    for tube, drawn in zip(plan["tubes"], own["tubes"]):
        extra = beyond[tube["name"]]
        rows = tube["rows"]
        for one in drawn["layouts"]:
            if not one["bends"]:
                continue
            wanted = sum(rows[leg - 1]["length_mm"] for leg in one["legs"])
            wanted += sum(rows[bend - 1]["arc_mm"] for bend in one["bends"])
            wanted += extra[0] if one["legs"][0] == 1 else 0
            wanted += extra[1] if one["legs"][-1] == len(rows) else 0
            begin, end = starts[place] + 1, starts[place + 1]
            what = f"{job.stem} {paper} {tube['name']}, {one['name']}"
            counted += tiles(pages[begin:end], names[begin:end], wanted, what)
            here = set(names[begin:end])
            for said in words[begin:end]:
                # A neighbour that is named without "is empty" after it is there.
                for (word, *_), (after, *_) in zip(said, said[1:] + [("", 0)]):
                    if re.fullmatch(r"[A-Z]\d+", word) and after != "is":
                        assert word in here, f"{what}: {word} is named and not printed"
            place += 1
    assert place == len(starts) - 1, f"{job.stem}: {len(starts) - 1} overviews for {place} layouts"
    return counted


def strips(job, paper, folder):
    """The wrap strips of one sample."""
    path = folder / "strips.pdf"
    run = program.run_bytes("wrap_strips", str(job), paper)
    if run.returncode == 4:
        return 0
    assert run.returncode == 0, run.stderr
    path.write_bytes(run.stdout)
    plan = json.loads(program.run("tubewright", "plan", str(job), "--format", "json", "--quiet").stdout)
    # A turn counts from the tenth of a degree that is printed of it.
    turned = lambda step: min(step["top_deg"] % 360, -step["top_deg"] % 360) >= 0.05
    needed = [tube for tube in plan["tubes"] if tube["feasible"] and any(map(turned, tube["steps"]))]
    pages = pdf_page.pages(path)
    assert len(pages) == len(needed), f"{job.stem}: {len(pages)} strips for {len(needed)} tubes"
    assert not pdf_page.white(path, folder, MARGIN), f"{job.stem} {paper}: a strip is too near an edge"
    for page, tube in zip(pages, needed):
        what = f"{job.stem} {paper} strip of {tube['name']}"
        common(page, paper, what)
        girth = math.pi * tube["od_mm"]
        # The outline is the only closed path drawn with a line of 0.2 mm.
        outlines = [line for line in page.lines if abs(line.width - 0.2) < 0.01 and len(line.parts[0]) == 5]
        assert len(outlines) == 1, what
        left = outlines[0].parts[0][:, 0].min()
        top = outlines[0].parts[0][:, 1].min()
        upright = lambda width: sorted(
            {
                round(float(line.parts[0][0, 0] - left), 3)
                for line in page.lines
                if abs(line.width - width) < 0.01
                and len(line.parts) == 1
                and len(line.parts[0]) == 2
                and abs(line.parts[0][0, 0] - line.parts[0][1, 0]) < 0.01
                and line.parts[0][0, 1] > top + 10
                and line.length > 15
            }
        )
        wanted = sorted(step["top_arc_mm"] for step in tube["steps"])
        found = upright(0.5)
        for at in wanted:
            assert any(abs(at - x) <= TOLERANCE for x in found), f"{what}: no line at {at:.3f}: {found}"
        for x in found:
            assert any(abs(at - x) <= TOLERANCE for at in wanted), f"{what}: a line at {x:.3f} that no bend asks for"
        assert len(upright(0.8)) == 1, what
        near(upright(0.8)[0], girth, f"{what}: girth")
    return len(pages)


def main():
    """All samples."""
    papers = ["a4", "letter"] if os.environ.get("TUBEWRIGHT_COUNT") == "full" else ["a4"]
    counted = [0, 0]
    for job in sorted([*program.TOP.glob("samples/jobs/*.yaml"), *program.TOP.glob("samples/ends/*.yaml")]):
        for paper in papers:
            with tempfile.TemporaryDirectory() as folder:
                folder = pathlib.Path(folder)
                counted[0] += layout(job, paper, folder)
                counted[1] += strips(job, paper, folder)
    assert counted[0] > 50 and counted[1] >= 4, counted
    print(f"judge: layout_pdf: {counted[0]} tiles and {counted[1]} wrap strips measured on {', '.join(papers)}")


if __name__ == "__main__":
    main()
