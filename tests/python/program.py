"""Our own programs, built as the Rust tests build them."""

import functools
import os
import pathlib
import subprocess

TOP = pathlib.Path(__file__).resolve().parents[2]


@functools.cache
def built():
    """Builds all programs and returns the folder that holds them."""
    # Members and kinds of target as in the tests: for others, cargo would choose other features and compile all crates again.
    subprocess.run("cargo build --quiet --locked --workspace --bins --tests".split(), cwd=TOP, check=True)
    return TOP / os.environ.get("CARGO_TARGET_DIR", "target") / "debug"


def run(name, *words):
    """Runs a program in the repository's root; standard output and error as text."""
    return subprocess.run([built() / name, *words], cwd=TOP, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def run_bytes(name, *words):
    """The same with standard output as bytes."""
    return subprocess.run([built() / name, *words], cwd=TOP, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
