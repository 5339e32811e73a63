"""What the README shows of files is what the files say.

A fenced block after a line `<!-- copy of FILE -->` holds FILE to the letter. With TUBEWRIGHT_UPDATE=1 the README is written anew.
"""

import os
import re
import sys

import program


def main():
    """Compares all blocks; status 1 where any differs."""
    page = program.TOP / "README.md"
    old = page.read_text()
    pattern = re.compile(r"(<!-- copy of (\S+) -->\n```\w*\n)(.*?)(```\n)", re.S)
    new = pattern.sub(lambda m: m[1] + (program.TOP / m[2]).read_text() + m[4], old)
    count = len(pattern.findall(old))
    if os.environ.get("TUBEWRIGHT_UPDATE") == "1":
        page.write_text(new)
    elif new != old or not count:
        print("readme: README.md shows files otherwise than they are: TUBEWRIGHT_UPDATE=1 tests/run", file=sys.stderr)
        return 1
    print(f"judge: readme: {count} blocks are as the files")
    return 0


if __name__ == "__main__":
    sys.exit(main())
