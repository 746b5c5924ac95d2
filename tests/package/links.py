"""The links of README.md made absolute, as the page of a package registry needs them.

    python -m tests.package.links BASE [PICTURES]

rewrites README.md of this tree, before what is published is built: BASE is where the files of the tree are read,
such as https://git.example/tabterm/blob/v0.2.0, and PICTURES where pictures are sent as they are,
if that is elsewhere. `git checkout README.md` brings the relative links back.
"""

from __future__ import annotations

import re
import sys

from tests.package.targets import ROOT

README = ROOT / "README.md"
LINK = re.compile(r"(!?)(\[[^\]]*\]\()(?![a-z]+:|#)([^)\s]+)")


def absolute(text: str, base: str, pictures: str = "") -> str:
    """A page with all relative links under an address, its pictures under another where one is named."""

    def joined(link: re.Match[str]) -> str:
        where = (pictures if link[1] else "") or base
        return f"{link[1]}{link[2]}{where.rstrip('/')}/{link[3]}"

    return LINK.sub(joined, text)


if __name__ == "__main__":
    README.write_text(absolute(README.read_text(encoding="utf-8"), *sys.argv[1:3]), encoding="utf-8")
