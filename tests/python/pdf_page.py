"""What is drawn on the pages of a PDF file, read from the content streams: in mm from the upper left corner, y down.

A second reading of what the program wrote, by pikepdf's parser and the rules of the format for the current matrix, the clip and
the stroke. Curves are kept as their points.
"""

import re
import subprocess
from dataclasses import dataclass

import numpy as np
import pikepdf

MM = 25.4 / 72


@dataclass
class Line:
    """A stroked path: one polyline for each of its parts."""

    parts: list  # arrays (n, 2), mm
    width: float  # mm
    dash: tuple  # mm
    clip: tuple  # x0, y0, x1, y1 of the window that it is seen through, mm; None without one
    shift: tuple  # where the origin of its own frame is on the page, mm

    @property
    def length(self):
        """Length of the whole path, mm."""
        return sum(float(np.linalg.norm(np.diff(part, axis=0), axis=1).sum()) for part in self.parts)


def _cubic(a, b, c, d, count=400):
    t = np.linspace(0, 1, count + 1)[1:, None]
    return (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d


class Page:
    """One page."""

    def __init__(self, page):
        box = [float(value) for value in page.mediabox]
        self.width, self.height = (box[2] - box[0]) * MM, (box[3] - box[1]) * MM
        self.lines = []
        self._read(page)
        self.unembedded = [str(font.get("/BaseFont")) for font in _fonts(page) if not _embedded(font)]
        self.fonts = len(_fonts(page))

    def _place(self, matrix, x, y):
        px, py = np.array([x, y, 1.0]) @ matrix[:, :2]
        return np.array([px * MM, self.height - py * MM])

    def _read(self, page):
        matrix, clip = np.eye(3), None
        width, dash = 1.0, ()
        stack, parts, clipping = [], [], False
        for instruction in pikepdf.parse_content_stream(page):
            words, name = instruction.operands, str(instruction.operator)
            if name in ("q", "Q"):
                if name == "q":
                    stack.append((matrix, clip, width, dash))
                else:
                    matrix, clip, width, dash = stack.pop()
            elif name == "cm":
                a, b, c, d, e, f = (float(word) for word in words)
                matrix = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrix
            elif name == "w":
                width = float(words[0])
            elif name == "d":
                dash = tuple(float(word) for word in words[0])
            elif name == "m":
                parts.append([self._place(matrix, float(words[0]), float(words[1]))])
            elif name == "l":
                parts[-1].append(self._place(matrix, float(words[0]), float(words[1])))
            elif name == "c":
                a, b, c = (self._place(matrix, float(words[k]), float(words[k + 1])) for k in (0, 2, 4))
                parts[-1].extend(_cubic(parts[-1][-1], a, b, c))
            elif name == "re":
                x, y, w, h = (float(word) for word in words)
                parts.append([self._place(matrix, *at) for at in ((x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y))])
            elif name == "h":
                parts[-1].append(parts[-1][0])
            elif name in ("W", "W*"):
                clipping = True
            elif name in ("S", "s", "B", "B*", "b", "f", "f*", "n"):
                if clipping:
                    points = np.concatenate([np.array(part) for part in parts])
                    clip = (*points.min(axis=0), *points.max(axis=0))
                if name in ("S", "s", "B", "B*", "b"):
                    scale = float(np.hypot(*matrix[0, :2])) * MM
                    shift = tuple(self._place(matrix, 0.0, 0.0))
                    arrays = [np.array(part) for part in parts]
                    self.lines.append(Line(arrays, width * scale, tuple(step * scale for step in dash), clip, shift))
                parts, clipping = [], False


def _fonts(page):
    fonts = page.get("/Resources", {}).get("/Font", {})
    return [fonts[name] for name in fonts.keys()]


def _embedded(font):
    if font.get("/Subtype") == "/Type3":
        return True
    for inner in font.get("/DescendantFonts", [font]):
        descriptor = inner.get("/FontDescriptor", {})
        if not any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3")):
            return False
    return True


def pages(path):
    """The pages of a file."""
    with pikepdf.open(path) as file:
        return [Page(page) for page in file.pages]


def words(path):
    """For each page its words with their boxes: (text, x0, y0, x1, y1) in mm, by poppler."""
    text = subprocess.run(["pdftotext", "-bbox", str(path), "-"], check=True, capture_output=True, text=True).stdout
    found = []
    for line in text.splitlines():
        if "<page " in line:
            found.append([])
        word = re.search(r'<word xMin="(.*?)" yMin="(.*?)" xMax="(.*?)" yMax="(.*?)">(.*?)</word>', line)
        if word:
            found[-1].append((word[5], *(float(word[k]) * MM for k in range(1, 5))))
    return found


def white(path, folder, margin, dpi=60):
    """Names the pages on which something is printed nearer to an edge than `margin`, mm, as poppler draws them."""
    subprocess.run(["pdftoppm", "-gray", "-r", str(dpi), str(path), str(folder / "page")], check=True)
    bad = []
    for image in sorted(folder.glob("page-*.pgm")):
        data = image.read_bytes()
        head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data)
        wide, high = int(head[1]), int(head[2])
        grey = np.frombuffer(data[head.end():], dtype=np.uint8).reshape(high, wide)
        edge = int(margin / 25.4 * dpi) - 1
        inner = grey[edge:high - edge, edge:wide - edge]
        if int((grey < 250).sum()) != int((inner < 250).sum()):
            bad.append(image.name)
        image.unlink()
    return bad
