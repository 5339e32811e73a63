"""What the judges of printed pages share: the samples' cards, and plain words."""

import json
import pathlib
import subprocess

import program

JOBS = sorted([*program.TOP.glob("samples/jobs/*.yaml"), *program.TOP.glob("samples/ends/*.yaml")])


def card(job, *more):
    """The card of a job as a document. Status 1 is that of a tube that cannot be bent."""
    run = program.run("tubewright", "card", str(job), "--quiet", "--format", "json", *more)
    assert run.returncode in (0, 1), (job, run.stderr)
    return json.loads(run.stdout)


def written(job, path, *more):
    """Writes a card into a file and returns its bytes."""
    path = pathlib.Path(path)
    run = program.run("tubewright", "card", str(job), "--quiet", "--output", str(path), *more)
    assert run.returncode in (0, 1), (job, run.stderr)
    return path.read_bytes()


def plain(text):
    """Words with one blank between them."""
    return " ".join(text.replace("\u00a0", " ").split())


def tool(*words):
    """Runs a program of the system; its standard output as text."""
    return subprocess.run(words, check=True, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True).stdout


def row(mark):
    """A mark as it stands in a table: bend, end that leads, mark, tail, top line and the same around the tube."""
    printed = mark["printed"]
    return f"{mark['bend']} {mark['lead']} {printed['mark']} {printed['tail']} {printed['top']} {printed['top_arc']}"


def in_order(text, wanted, where):
    """Fails unless all of `wanted` stand in `text` one behind the other."""
    at = 0
    for one in wanted:
        found = text.find(one, at)
        assert found >= 0, f"{where}: {one!r} is not in its place in {text!r}"
        at = found + len(one)


def large(step):
    """What is read at arm's length in a step, with the figures under it, in the order of the hands, worked out from the figures alone."""
    printed = step["printed"]
    mains = [moment["about"] for moment in step["says"] if moment["main"]]
    assert mains[0] == f"END {step['lead']}" and mains[1] == f"MARK {step['bend']}" and mains[-1] == f"STOP {printed['look'] or printed['stop']}", mains
    assert all(one in ("UP", "DOWN", "LEVEL", "TURN") for one in mains[2:-1]) and len(mains) >= 4, mains
    return mains[:2] + [printed["mark"] + " ", printed["tail"] + " "] + mains[2:]


def taped(step):
    """The size that is taped after a step and the room for what was got; nothing where an end has its cut before bending."""
    return [step["check"]["printed"], "got"] if "check" in step else []
