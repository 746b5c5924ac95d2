"""The picture of the house: the rooms of the package on their floors, and who imports whom, read from the code."""

from __future__ import annotations

import ast
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "tabterm"
WIDTH, FLOOR, BOX, WIDE, TOP, LEFT = 760, 66, 34, 130, 58, 20
STYLE = """
  text { font: 12px sans-serif; fill: #4a4a4a; } .name { font-weight: bold; font-size: 13px; }
  .room { fill: #f2efe6; stroke: #8a867c; } .arrow { stroke: #8a867c; stroke-width: 1; opacity: 0.55; fill: none; }
  .late { stroke-dasharray: 3 3; }
  @media (prefers-color-scheme: dark) {
    text { fill: #d0d0d0; } .room { fill: #2f3238; stroke: #8a867c; }
  }
"""


def floors() -> list[list[str]]:
    """The rooms by floor, the top floor first, as the layers of the import contracts have them."""
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"][
        "contracts"
    ]
    layers = next(each["layers"] for each in contracts if each["type"] == "layers")
    return [[room.strip() for room in layer.split("|")] for layer in layers]


def files_of(room: str) -> list[Path]:
    """The modules of a room."""
    folder = PACKAGE / room
    return sorted(folder.rglob("*.py")) if folder.is_dir() else [PACKAGE / f"{room}.py"]


def imports_of(room: str) -> dict[str, bool]:
    """The rooms that a room imports, not for types alone, and whether only where a function runs."""
    found: dict[str, bool] = {}
    for file in files_of(room):
        for node, late in _nodes(ast.parse(file.read_text(encoding="utf-8")), late=False):
            for name in _modules(node):
                other = name.split(".")[1]
                if other != room:
                    found[other] = found.get(other, True) and late
    return found


def _nodes(tree: ast.AST, *, late: bool) -> list[tuple[ast.Import | ast.ImportFrom, bool]]:
    found: list[tuple[ast.Import | ast.ImportFrom, bool]] = []
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            found.append((node, late))
        elif not (isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)):
            inside = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
            found += _nodes(node, late=late or inside)
    return found


def _modules(node: ast.Import | ast.ImportFrom) -> list[str]:
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names if alias.name.startswith("tabterm.")]
    if node.module == "tabterm":
        return [
            f"tabterm.{alias.name}"
            for alias in node.names
            if (PACKAGE / alias.name).exists() or _is_module(alias.name)
        ]
    return [node.module] if node.module and node.module.startswith("tabterm.") else []


def _is_module(name: str) -> bool:
    return (PACKAGE / f"{name}.py").exists()


def picture() -> str:
    """The SVG."""
    rows = floors()
    places = {
        room: (LEFT + (WIDTH - 2 * LEFT) * (number + 0.5) / len(row), TOP + FLOOR * floor)
        for floor, row in enumerate(rows)
        for number, room in enumerate(row)
    }
    height = TOP + FLOOR * len(rows)
    arrows, words = [], []
    for room, (x, y) in places.items():
        for other, late in sorted(imports_of(room).items()):
            if other in places:
                arrows.append(_arrow(x, y + BOX / 2, *places[other], late=late))
        needs = ", ".join(sorted(other for other in imports_of(room) if other in places))
        words.append(f"{room} imports {needs or 'nothing'}.")
    boxes = [_box(room, *place) for room, place in places.items()]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img">\n'
        "<title>The rooms of tabterm and what they import</title>\n"
        f"<desc>{' '.join(words)}</desc>\n<style>{STYLE}</style>\n"
        f'<text x="{LEFT}" y="24">A room imports from the floors below it; dashed: when a function runs.</text>\n'
        + "\n".join(arrows + boxes)
        + "\n</svg>\n"
    )


def _arrow(x: float, y: float, to_x: float, to_y: float, *, late: bool) -> str:
    end = to_y - BOX / 2
    bend = x + (to_x - x) * 0.5
    kind = "arrow late" if late else "arrow"
    return f'<path class="{kind}" d="M{x:.0f} {y:.0f} Q{bend:.0f} {end - 14:.0f} {to_x:.0f} {end:.0f}"/>'


def _box(room: str, x: float, y: float) -> str:
    return (
        f'<rect class="room" x="{x - WIDE / 2:.0f}" y="{y - BOX / 2:.0f}" width="{WIDE}" height="{BOX}" rx="6"/>'
        f'<text class="name" x="{x:.0f}" y="{y + 5:.0f}" text-anchor="middle">{room}</text>'
    )


def climbs() -> list[str]:
    """Imports that go up, or across a floor; there should be none."""
    level = {room: number for number, row in enumerate(floors()) for room in row}
    return [
        f"{room} imports {other}"
        for room in level
        for other in imports_of(room)
        if other in level and level[other] <= level[room] and room != "__main__"
    ]
