"""Which signs of a page touch that should not, by their boxes and the hulls of what is curved or slanted."""

from __future__ import annotations

from collections import defaultdict

LINES = {"staff", "courses", "system"}
"""What everything stands on."""

BELONG = {
    frozenset(pair)
    for pair in (
        ("notehead", "stem"),
        ("notehead", "ledger"),
        ("stem", "beam"),
        ("stem", "flag"),
        ("stem", "tremolo"),
        ("stem", "ledger"),
        ("beam", "beam"),
        ("ledger", "ledger"),
        ("notehead", "notehead"),
        ("stem", "stem"),
        ("grace", "stem"),
        ("grace", "ledger"),
        ("slash", "stem"),
        ("slash", "flag"),
        ("slash", "grace"),
        ("barline", "tie"),
        ("barline", "slur"),
        ("barline", "slide"),
        ("barline", "arc"),
        ("barline", "barline"),
        ("bend", "bend"),
    )
}
"""Kinds that meet by what they are: a stem stands on its head, a tie goes over the bar line."""

INK_MM = 0.03
"""Less than a printer shows."""


def boxes(sign):
    """The boxes of the ink of a sign."""
    return sign.hull or (sign.box,)


def meet(one, other):
    """Whether two boxes overlap by more than nobody sees."""
    (x, y, w, h), (u, v, s, t) = one, other
    return min(x + w, u + s) - max(x, u) > INK_MM and min(y + h, v + t) - max(y, v) > INK_MM


def touching(page):
    """Pairs of signs of a page that touch and do not belong together."""
    signs = [sign for sign in page.signs if sign.kind not in LINES]
    cells = defaultdict(list)
    for number, sign in enumerate(signs):
        x, y, width, height = sign.box
        for column in range(int(x // 10), int((x + width) // 10) + 1):
            for row in range(int(y // 10), int((y + height) // 10) + 1):
                cells[column, row].append(number)
    pairs = {(a, b) for numbers in cells.values() for at, a in enumerate(numbers) for b in numbers[at + 1 :]}
    return [
        (signs[a], signs[b])
        for a, b in sorted(pairs)
        if meet(signs[a].box, signs[b].box)
        and frozenset((signs[a].kind, signs[b].kind)) not in BELONG
        and any(meet(one, other) for one in boxes(signs[a]) for other in boxes(signs[b]))
    ]
