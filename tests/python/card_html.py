"""The card as a page of HTML in a browser without a window: on a phone, on a screen and printed, held against the card as a document."""

import json
import os
import pathlib
import re
import sys
import tempfile
import urllib.parse

import card_pdf
import pages

WIDTHS = (390, 1280)

# Written into a copy of the page: measures what is seen and tells it to the page around.
MEASURE = """<script>
document.fonts.ready.then(() => {
  const boxes = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node; (node = walk.nextNode());) {
    if (!node.textContent.trim() || node.parentElement.closest("script, title")) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const box of range.getClientRects()) {
      // The letters stand in the middle of their box: lines may be set closer than it.
      const off = 0.2 * box.height;
      if (box.width > 1) boxes.push([box.left, box.top + off, box.right, box.bottom - off, node.textContent.trim()]);
    }
  }
  const overlaps = [];
  boxes.sort((one, other) => one[1] - other[1]);
  boxes.forEach((one, place) => {
    for (let next = place + 1; next < boxes.length && boxes[next][1] < one[3]; next++) {
      const other = boxes[next];
      const wide = Math.min(one[2], other[2]) - Math.max(one[0], other[0]);
      const high = Math.min(one[3], other[3]) - Math.max(one[1], other[1]);
      if (wide > 1 && high > 1) overlaps.push([one[4], other[4], wide, high]);
    }
  });
  const room = document.documentElement.clientWidth;
  const outside = boxes.filter(box => box[0] < 0 || box[2] > room + 0.5).map(box => box[4]);
  const texts = {};
  for (const section of document.querySelectorAll("[id]")) texts[section.id] = section.innerText;
  const size = word => parseFloat(getComputedStyle(word).fontSize);
  const large = [...document.querySelectorAll(".panel .large")].map(size);
  const drawn = [...document.querySelectorAll("figure > svg")].filter(one => one.getClientRects().length);
  // Letters of a picture in pixels: its size in mm times how much the picture is drawn larger.
  const small = drawn.flatMap(one => [...one.querySelectorAll("text")].map(
    text => parseFloat(text.getAttribute("font-size")) * one.getBoundingClientRect().width / one.viewBox.baseVal.width));
  parent.postMessage({width: innerWidth, scroll: document.documentElement.scrollWidth, count: boxes.length, overlaps, outside, texts,
    large, pictures: drawn.length, letters: small.length ? Math.min(...small) : null, loaded: document.fonts.size}, "*");
});
</script>"""

AROUND = """<!DOCTYPE html><body><pre id="told"></pre><script>
const told = [];
addEventListener("message", event => {
  told.push(event.data);
  document.getElementById("told").textContent = encodeURIComponent(JSON.stringify(told));
});
</script>%s</body>"""


def browser(*words):
    return pages.tool("chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", *words)


def measured(page, folder):
    """What is seen of a page at each width."""
    (folder / "copy.html").write_text(page.replace("</body>", MEASURE + "</body>"))
    frames = "".join(f'<iframe src="copy.html" style="border:0;width:{width}px;height:900px"></iframe>' for width in WIDTHS)
    (folder / "around.html").write_text(AROUND % frames)
    dom = browser("--virtual-time-budget=20000", "--window-size=1400,1000", "--dump-dom", (folder / "around.html").as_uri())
    told = json.loads(urllib.parse.unquote(re.search(r'<pre id="told">(.*?)</pre>', dom)[1]))
    return {one["width"]: one for one in told}


def seen(card, found, where):
    """One width: nothing runs over, and every step has its figures in the order of the hands."""
    assert found["scroll"] <= found["width"], (where, found["scroll"])
    assert not found["outside"], (where, found["outside"])
    assert not found["overlaps"], (where, found["overlaps"][:5])
    assert found["count"] > 20, where
    steps = 0
    for number, tube in enumerate(card["tubes"], 1):
        text = pages.plain(found["texts"][f"tube{number}"])
        assert tube["verdict"] in text and (tube["hand"] or "") in text, where
        for words in [note["text"] for note in tube["not_kept"] + tube["notes"]] + tube["why_not"] + tube["cures"]:
            assert pages.plain(words)[1:] in text, (where, words)
        for words in tube["fitness"]["says"]:
            assert pages.plain(words)[1:] in text, (where, words)
        work = tube["work"]
        if work is None:
            assert "DO NOT CUT" in text and "Caliper" not in text and "Marks" not in text, where
            continue
        pages.in_order(text, ["Caliper", "OD", "Cut", work["ledger"]["printed"]], where)
        for line in work["ledger"]["lines"]:
            assert f"{line['what']} {line['printed']}" in text, (where, line)
        for mark in work["marks"]:
            assert pages.row(mark) in text, (where, mark)
        for step in work["steps"]:
            own = pages.plain(found["texts"][f"tube{number}step{step['step']}"])
            wanted = [f"Step {step['step']} of {step['of']}: bend {step['bend']}", *pages.large(step), *pages.taped(step)]
            pages.in_order(own, wanted, f"{where}, {tube['name']}, step {step['step']}")
            for row in step["add"]:
                assert f"{row['short_deg']:.0f}" in own and row["printed"] in own, (where, row)
            steps += 1
        if work["finished"]:
            for check in work["finished"]["checks"]:
                assert f"{check['faces']} {check['printed']}" in text, (where, check)
    if steps:
        # Pixels of a screen at arm's length: large words stay large, and words in pictures stay legible.
        assert len(set(found["large"])) == 1 and found["large"][0] >= 44, (where, found["large"])
        assert found["letters"] >= 9.5, (where, found["letters"])
    return steps


def quiet(page, where):
    """Nothing is fetched and nothing runs."""
    plain = re.sub(r"url\(data:font/woff2;base64,[A-Za-z0-9+/=]*\)", "", page)
    for word in ("http", "src=", "url(", "<script", "<link", "@import"):
        assert word not in plain, (where, word)
    assert 'name="viewport"' in page, where


def printed(card, path, paper, folder):
    """The page as a browser prints it."""
    pdf = folder / "printed.pdf"
    browser("--no-pdf-header-footer", f"--print-to-pdf={pdf}", path.as_uri())
    wide, high = card_pdf.PAPERS[paper]
    texts = [pages.plain(text) for text in pages.tool("pdftotext", "-raw", str(pdf), "-").split("\f")[:-1]]
    sheets = card_pdf.boxes(pdf)
    assert len(texts) == len(sheets) > 0, path
    for number, (text, words) in enumerate(zip(texts, sheets), 1):
        where = f"{path.name} printed on {paper}, page {number}"
        assert f"page {number} of {len(texts)}" in text, (where, text)
        for x0, y0, x1, y1, word in words:
            # Chromium rounds a sheet to whole points.
            assert min(x0, y0, wide - x1, high - y1) >= card_pdf.EDGE - 0.4, (where, word)
    for tube in card["tubes"]:
        for step in tube["work"]["steps"] if tube["work"] else []:
            title = f"Step {step['step']} of {step['of']}: bend {step['bend']}"
            wanted = [title, *pages.large(step), *pages.taped(step)]
            whole = 0
            for text in texts:
                try:
                    pages.in_order(text, wanted, path)
                    whole += 1
                except AssertionError:
                    pass
            assert whole >= 1, (path, paper, tube["name"], title, "is not whole on one page")
    return len(texts)


def main():
    full = os.environ.get("TUBEWRIGHT_COUNT") == "full"
    steps = sheets = 0
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        for place, job in enumerate(pages.JOBS):
            card = pages.card(job)
            for paper in card_pdf.PAPERS if full else [list(card_pdf.PAPERS)[place % 2]]:
                path = folder / f"{job.stem}-{paper}.html"
                written = pages.written(job, path, "--paper", paper)
                assert written == pages.written(job, path, "--paper", paper, "--force"), f"{path}: other bytes the second time"
                page = written.decode()
                quiet(page, path)
                sheets += printed(card, path, paper, folder)
            found = measured(page, folder)
            assert set(found) == set(WIDTHS), (job, sorted(found))
            for width in WIDTHS:
                steps += seen(card, found[width], f"{job.stem} at {width} px")
    assert steps >= 40, steps
    print(f"judge: card_html: {steps} steps at {' and '.join(map(str, WIDTHS))} px and {sheets} printed pages are as the documents say")


if __name__ == "__main__":
    sys.exit(main())
