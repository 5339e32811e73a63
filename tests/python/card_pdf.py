"""The card on paper, read back from the PDF by poppler and pikepdf and held against the card as a document."""

import os
import pathlib
import re
import sys
import tempfile
import xml.etree.ElementTree as ElementTree

import pikepdf

import pages

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
POINT = 25.4 / 72
EDGE = 10.0  # mm


def boxes(path):
    """For each page its words with their boxes in mm: (x0, y0, x1, y1, word)."""
    page = ElementTree.fromstring(pages.tool("pdftotext", "-bbox", str(path), "-"))
    name = "{http://www.w3.org/1999/xhtml}"
    found = []
    for sheet in page.iter(f"{name}page"):
        words = []
        for word in sheet.iter(f"{name}word"):
            box = [float(word.get(key)) * POINT for key in ("xMin", "yMin", "xMax", "yMax")]
            words.append((*box, word.text))
        found.append(words)
    return found


def file(path, paper):
    """Boxes of the pages, and letters that travel with the file."""
    with pikepdf.open(path) as document:
        for page in document.pages:
            box = [float(value) * POINT for value in page.mediabox]
            wanted = [0, 0, *PAPERS[paper]]
            assert all(abs(one - other) < 1e-3 for one, other in zip(box, wanted)), (path, box)
            for font in page.resources.get("/Font", {}).values():
                for one in font.get("/DescendantFonts", [font]):
                    described = one["/FontDescriptor"]
                    assert any(key in described for key in ("/FontFile", "/FontFile2", "/FontFile3")), (path, one)
        assert "/CreationDate" not in document.docinfo, path
        return len(document.pages)


def judge(job, paper, folder):
    """One card on one paper; how many steps and pages were looked at."""
    card = pages.card(job)
    path = pathlib.Path(folder) / f"{job.stem}-{paper}.pdf"
    written = pages.written(job, path, "--paper", paper)
    again = pages.written(job, path, "--paper", paper, "--force")
    assert written == again, f"{path}: other bytes the second time"
    assert len(written) < 2_000_000, (path, len(written))
    count = file(path, paper)
    # In the order in which it was drawn: END and MARK, UP or DOWN, STOP, then the rows.
    texts = [pages.plain(text) for text in pages.tool("pdftotext", "-raw", str(path), "-").split("\f")[:-1]]
    sheets = boxes(path)
    assert len(texts) == len(sheets) == count
    wide, high = PAPERS[paper]
    for number, (text, words) in enumerate(zip(texts, sheets), 1):
        assert f"page {number} of {count}" in text, (path, number)
        assert f"job {card['job']}" in text and f"files {card['fingerprint']}" in text, (path, number)
        assert ("date " + card["date"] if card["date"] else "date") in text, (path, number)
        for x0, y0, x1, y1, word in words:
            assert min(x0, y0, wide - x1, high - y1) >= EDGE, (path, number, word, (x0, y0, x1, y1))
    steps = 0
    place = 0
    for tube in card["tubes"]:
        own = []
        while place < count and texts[place].startswith(tube["name"] + " "):
            own.append(texts[place])
            place += 1
        assert own, (path, tube["name"])
        steps += judge_tube(tube, own, f"{path.name}, {tube['name']}")
    assert place == count, (path, "pages that belong to no tube")
    return steps, count


def judge_tube(tube, texts, where):
    first, everything = texts[0], " ".join(texts)
    assert tube["verdict"] in first, where
    if tube["hand"]:
        assert all(tube["hand"] in text for text in texts), where
    for text in [note["text"] for note in tube["not_kept"] + tube["notes"]] + tube["why_not"] + tube["cures"]:
        assert pages.plain(text)[1:] in everything, (where, text, everything)
    for text in tube["fitness"]["says"]:
        assert pages.plain(text)[1:] in everything, (where, text, everything)
    work = tube["work"]
    if work is None:
        assert "DO NOT CUT" in first and "Caliper" not in everything and "Marks" not in everything, where
        return 0
    assert "DO NOT CUT" not in everything, where
    pages.in_order(first, ["Caliper", "OD", "Cut", work["ledger"]["printed"]], where)
    for line in work["ledger"]["lines"]:
        assert f"{line['what']} {line['printed']}" in first, (where, line)
    for mark in work["marks"]:
        assert pages.row(mark) in everything, (where, mark)
    for step in work["steps"]:
        title = f"Step {step['step']} of {step['of']}: bend {step['bend']}"
        found = [text for text in texts if title in text]
        assert len(found) == 1, (where, title)
        assert len(re.findall(r"Step \d+ of \d+: bend", found[0])) == 1, (where, title)
        pages.in_order(found[0], [title, *pages.large(step), *pages.taped(step)], f"{where}, step {step['step']}")
        for row in step["add"]:
            assert f"{row['short_deg']:.0f}" in found[0] and row["printed"] in found[0], (where, row)
    if work["finished"]:
        for check in work["finished"]["checks"]:
            assert f"{check['faces']} {check['printed']}" in everything, (where, check)
        for caution in work["cautions"]:
            assert pages.plain(caution) in texts[-1], (where, caution)
    return len(work["steps"])


def main():
    full = os.environ.get("TUBEWRIGHT_COUNT") == "full"
    steps = sheets = 0
    with tempfile.TemporaryDirectory() as folder:
        for job in pages.JOBS:
            # One paper for each job in the short run, so that both are seen.
            papers = PAPERS if full else [list(PAPERS)[pages.JOBS.index(job) % 2]]
            for paper in papers:
                more = judge(job, paper, folder)
                steps, sheets = steps + more[0], sheets + more[1]
    assert steps >= 20, steps
    print(f"judge: card_pdf: {steps} steps on {sheets} pages are as the documents say, in the order of the hands")


if __name__ == "__main__":
    sys.exit(main())
