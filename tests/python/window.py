"""A walk through the real window, on a display of its own: keys, mouse, fields, clipboard, a file that changes outside.

Where things stand in the window is known from looking at it: PLACES below are for the hoop at 1280x800. What was seen at each stop is kept
in target/window, to be looked at. Nothing is timed; what does not come within a minute fails.
"""

import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import time

from PIL import Image, ImageChops, ImageGrab

import program

# A minute, in looks at the screen.
LOOKS = 300
PANEL = (0, 0, 395, 755)
PICTURE = (405, 0, 1280, 755)
PLACES = {
    "in the list": (190, 600),
    "on the picture": (800, 300),
    "knee-left": (110, 440),
    "y of knee-left": (110, 510),
    "z of knee-left": (110, 543),
}
KEPT = program.TOP / "target" / "window"


class Walk:
    """The program in a window, and the hand that moves it."""

    def __init__(self, job, display):
        self.env = {**os.environ, "DISPLAY": display}
        self.display = display
        self.program = subprocess.Popen([program.built() / "tubewright-view", job], env=self.env, stderr=subprocess.PIPE, text=True)
        self.stops = 0

    def do(self, *words):
        subprocess.run(["xdotool", *map(str, words)], env=self.env, check=True)

    def seen(self, part):
        return ImageGrab.grab(xdisplay=self.display).convert("RGB").crop(part)

    def until(self, what, part, good):
        """Looks until it is good, and returns what was seen."""
        for _ in range(LOOKS):
            if self.program.poll() is not None:
                raise SystemExit(f"window: it ended while looking for {what}: {self.program.stderr.read()}")
            picture = self.seen(part)
            if good(picture):
                return picture
            time.sleep(0.2)
        self.keep("missing")
        raise SystemExit(f"window: {what} did not come, see {KEPT}")

    def still(self, part):
        """What is seen when nothing moves any more."""
        seen = []

        def same(picture):
            seen.append(picture)
            return len(seen) > 8 and not any(differs(picture, other) for other in seen[-8:-1])

        return self.until("stillness", part, same)

    def click(self, place, button=1):
        self.do("mousemove", *PLACES[place])
        time.sleep(0.1)
        self.do("click", button)

    def write(self, place, text):
        self.click(place)
        time.sleep(0.2)
        self.do("key", "ctrl+a")
        self.do("type", "--delay", 40, "--", text)

    def keep(self, name):
        self.stops += 1
        self.seen((0, 0, 1280, 800)).save(KEPT / f"{self.stops:02}-{name}.png")


def differs(one, other):
    """Whether two pictures differ by more than a speck: smoother edges are no difference."""
    small = [picture.resize((picture.width // 4, picture.height // 4), Image.Resampling.BOX) for picture in (one, other)]
    grey = ImageChops.difference(*small).convert("L")
    return sum(grey.histogram()[24:]) > 5


def colours(picture):
    return len(picture.getcolors(1 << 24))


def walk(folder, display):
    for part in ("jobs", "benders"):
        shutil.copytree(program.TOP / "samples" / part, folder / part)
    job = folder / "jobs" / "hoop.yaml"
    before = job.read_text()
    here = Walk(job, display)
    try:
        return stops(here, job, before)
    finally:
        here.program.kill()


def stops(here, job, before):
    checks = 0

    def check(holds, words):
        nonlocal checks
        checks += 1
        if not holds:
            here.keep("wrong")
            raise SystemExit(f"window: {words}, see {KEPT}")

    def saved(text):
        here.do("key", "ctrl+s")
        here.until(f"`{text}` in the file", PANEL, lambda _: text in job.read_text())

    here.until("the picture", PICTURE, lambda picture: colours(picture) > 200)
    window = subprocess.run(["xdotool", "search", "--name", "tubewright"], env=here.env, stdout=subprocess.PIPE, text=True).stdout.split()
    here.do("windowfocus", window[0])
    first = here.still(PICTURE)
    here.keep("opened")

    # The list scrolls under the wheel, the picture does not move.
    here.do("mousemove", *PLACES["in the list"])
    panel = here.still(PANEL)
    here.do("click", "--repeat", 8, 5)
    scrolled = here.until("a scrolled list", PANEL, lambda picture: differs(panel, picture))
    check(not differs(first, here.still(PICTURE)), "the wheel on the list moved the picture")
    here.do("click", "--repeat", 12, 4)
    here.until("the list scrolled back", PANEL, lambda picture: differs(scrolled, picture))

    # From step to step, and a motion played to its end.
    here.do("key", "Right")
    here.until("the second step", PICTURE, lambda picture: differs(first, picture))
    second = here.still(PICTURE)
    here.keep("second-step")
    here.do("key", "space")
    half = here.until("a motion", PICTURE, lambda picture: differs(second, picture))
    end = here.still(PICTURE)
    check(differs(half, end), "the motion did not go on")
    here.keep("played")

    # Round it with the left button, nearer with the wheel.
    panel = here.still(PANEL)
    here.do("mousemove", *PLACES["on the picture"])
    here.do("mousedown", 1)
    for _ in range(4):
        here.do("mousemove_relative", 40, 12)
        time.sleep(0.1)
    here.do("mouseup", 1)
    here.until("another side", PICTURE, lambda picture: differs(end, picture))
    round_it = here.still(PICTURE)
    check(not differs(panel, here.still(PANEL)), "going round it changed the list")
    here.do("click", "--repeat", 3, 4)
    here.until("a nearer picture", PICTURE, lambda picture: differs(round_it, picture))
    here.still(PICTURE)
    here.keep("other-side")

    # A figure is typed and saved; ctrl with a letter types nothing.
    here.click("knee-left")
    here.still(PANEL)
    old = here.still(PICTURE)
    here.write("z of knee-left", "31 1/4")
    here.until("the tube as typed", PICTURE, lambda picture: differs(old, picture))
    here.still(PICTURE)
    here.keep("typed")
    saved("31 1/4]")
    check(job.read_text() == before.replace("30-1/2", "31 1/4"), "more than the figure changed in the file")

    # Copied out of one field into another, taken back, done again.
    here.click("z of knee-left")
    time.sleep(0.2)
    here.do("key", "ctrl+a", "ctrl+c")
    time.sleep(0.2)
    here.click("y of knee-left")
    time.sleep(0.2)
    here.do("key", "ctrl+a", "ctrl+v")
    time.sleep(0.4)
    here.keep("pasted")
    saved("[2, 31 1/4, 31 1/4]")
    here.do("key", "ctrl+z")
    saved("[2, -18, 31 1/4]")

    # A wrong length is said beside its field and nothing is lost.
    here.write("y of knee-left", "-18 5/4")
    time.sleep(1)
    here.still(PANEL)
    here.keep("wrong-length")
    here.do("key", "ctrl+z")
    here.still(PANEL)
    here.do("key", "ctrl+s")
    here.still(PANEL)
    here.keep("taken-back")
    check("[2, -18, 31 1/4]" in job.read_text(), "one step back took back more than one figure")
    here.do("key", "ctrl+z")
    saved("[2, -18, 30-1/2]")
    check(job.read_text() == before, "all the way back the file is not what it was")

    # Somebody else changes the file.
    panel = here.still(PANEL)
    job.write_text(before.replace("30-1/2", "29"))
    here.until("word of the change", PANEL, lambda picture: differs(panel, picture))
    here.still(PANEL)
    here.keep("changed-outside")

    status = pathlib.Path(f"/proc/{here.program.pid}/status").read_text()
    peak = next(int(line.split()[1]) for line in status.splitlines() if line.startswith("VmHWM"))
    check(peak < 400 * 1024, f"it took {peak / 1024:.0f} MB of memory at most")
    check(here.program.poll() is None, "it ended")
    here.program.terminate()
    said = here.program.communicate()[1]
    check("panic" not in said, said)
    return checks + here.stops, peak / 1024


def attempt():
    """One walk on a display of its own."""
    reading, writing = os.pipe()
    words = ["Xvfb", "-displayfd", str(writing), "-screen", "0", "1280x800x24", "-nolisten", "tcp"]
    server = subprocess.Popen(words, pass_fds=[writing], stderr=subprocess.DEVNULL)
    os.close(writing)
    try:
        with os.fdopen(reading) as number, tempfile.TemporaryDirectory() as folder:
            display = f":{number.readline().strip()}"
            return walk(pathlib.Path(folder), display)
    finally:
        server.terminate()
        server.wait()


def main():
    shutil.rmtree(KEPT, ignore_errors=True)
    KEPT.mkdir(parents=True)
    try:
        count, peak = attempt()
    except SystemExit as fault:
        # A hand on a busy machine may come too late for a window: once more, and then it counts.
        print(f"window: the first walk ended: {fault}")
        count, peak = attempt()
    print(f"judge: window, {count} stops, {peak:.0f} MB at most")
    return 0


if __name__ == "__main__":
    sys.exit(main())
