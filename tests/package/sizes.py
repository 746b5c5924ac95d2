"""How large an installation is, by what is installed.

    python -m tests.package.sizes

builds the wheel, installs it bare and with each extra in environments of their own by uv (extra `release`), and
prints how many packages that is and how many MB they take on disk, the program itself among them.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from tests.package.built import built, copied
from tests.package.targets import EXTRAS, ROOT
from tests.package.wheels import uv


def installed(wheel: Path, extra: str, folder: Path) -> tuple[int, int]:
    """The packages of an installation, and their bytes; nothing is compiled beforehand."""
    python = folder / "bin" / "python"
    subprocess.run([uv(), "venv", "-q", "--python", sys.executable, folder], check=True)
    asked = f"tabterm[{extra}] @ {wheel.as_uri()}" if extra else f"tabterm @ {wheel.as_uri()}"
    subprocess.run([uv(), "pip", "install", "-q", "--only-binary", ":all:", "--python", python, asked], check=True)
    (packages,) = folder.glob("lib/python*/site-packages")
    own = {path for path in packages.rglob("*") if path.is_file() and not path.name.startswith("_virtualenv")}
    return len(list(packages.glob("*.dist-info"))), sum(path.stat().st_size for path in own)


def main() -> int:
    """Print the table."""
    print("| installed | packages | MB |\n|---|---|---|")
    with tempfile.TemporaryDirectory() as folder:
        wheel = built("wheel", copied(Path(folder) / "source"), Path(folder) / "wheel")
        for extra in EXTRAS:
            packages, size = installed(wheel, extra, Path(folder) / (extra or "bare"))
            name = f"tabterm[{extra}]" if extra else "tabterm"
            print(f"| `{name}` | {packages} | {size / 1e6:.0f} |", flush=True)
        pages = sum(path.stat().st_size for path in (ROOT / "docs").iterdir() if path.suffix != ".py")
        samples = sum(path.stat().st_size for path in (ROOT / "samples").rglob("*") if path.is_file())
        print(
            f"\nThe wheel has {wheel.stat().st_size / 1e6:.1f} MB. Before they are packed the pages have ", end=""
        )
        print(f"{pages / 1e6:.1f} of them, samples and tunes {samples / 1e6:.1f}.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
