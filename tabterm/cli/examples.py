"""Examples for `--help`: what is typed, and what comes of it. Every command has one."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

EXAMPLES: Mapping[str, Mapping[str, str]] = {
    "edit": {
        "tabterm tune.tabterm": "open a score, or begin one",
        "tabterm edit --plain tune.tabterm": "with a screen reader",
    },
    "show": {
        "tabterm show tune.tabterm --from 5 --to 8": "print measures 5 to 8",
        "tabterm show tune.tabterm --from 5 --to 8 --clean --copy": "and copy them, ready to paste",
        "tabterm show - < tune.abc": "print what another program writes",
    },
    "finger": {
        "tabterm finger tune.abc -o tune.tabterm": "write the tune with fingers and strokes",
        "tabterm finger tune.tabterm --alternatives 3": "three ways to finger it, and where they differ",
    },
    "strokes": {
        "tabterm strokes tune.tabterm --school alternate": "print it with strict alternation",
        "tabterm strokes --schools": "list the schools",
    },
    "check": {
        "tabterm check tune.tabterm": "list what is impossible or hard",
        "tabterm check tune.tabterm --tempo 120 --fix": "mend it for this tempo",
        "tabterm check tunes --json --fail-on hard": "all scores of a folder, for a script",
    },
    "hand": {
        "tabterm hand": "show whose hand the findings go by",
        "tabterm hand --span 150 --weak 4": "set your own",
    },
    "hard": {"tabterm hard tune.tabterm --top 5": "the five hardest passages, with drills"},
    "explain": {"tabterm explain tune.tabterm --from 1 --to 8": "what the first eight measures do"},
    "dyads": {"tabterm dyads G7": "double stops of a chord that you can hold"},
    "neck": {"tabterm neck G major pentatonic --positions": "a scale on the neck, with fingers"},
    "play": {
        "tabterm play tune.tabterm --from 5 --to 8 --tempo 70% --loop 0": "a phrase, slower, until Ctrl-C",
        "tabterm play tune.tabterm --ladder 60:100:5x3 --loop 0 --click beats": "climb from 60 to 100 percent",
    },
    "listen": {
        "tabterm listen": "play here what an editor far away sends",
        "tabterm listen --page": "and show its sheets in the browser",
    },
    "log": {
        "tabterm log tune.tabterm": "what was practised of a tune, as a graph",
        "tabterm log --csv practice.csv": "all of it for a spreadsheet",
    },
    "render": {
        "tabterm render tune.tabterm tune.mp3 --tempo 80% --chords": "slower, with a band",
        "tabterm render tune.tabterm tune.mid": "as a MIDI file",
    },
    "handout": {"tabterm handout tune.tabterm tune-practice": "a folder for a student"},
    "sheet": {"tabterm sheet tune.tabterm tune.pdf": "notation and tab on paper"},
    "convert": {
        "tabterm convert tune.musicxml tune.tabterm": "bring in a score of another program",
        "tabterm convert tune.tabterm - --to-format abc": "print it as ABC, for a pipe",
        "tabterm convert tunes tabs --to-format txt": "a folder of scores into another folder",
    },
    "slow": {
        "tabterm slow solo.ogg slow.wav --tempo 70% --from 12 --to 31": "part of a recording, at its own pitch"
    },
    "transcribe": {"tabterm transcribe solo.ogg solo.tabterm --tempo 116": "propose a recorded solo as a tab"},
    "compare": {"tabterm compare tune.tabterm": "what differs from the line it was made of"},
    "recover": {"tabterm recover --take 1 -o saved.tabterm": "write unsaved work into a new file"},
    "ports": {"tabterm ports": "what `--output` may name"},
    "keys": {"tabterm keys": "all keys of the editor"},
    "config": {
        "tabterm config": "what is set, and where",
        "tabterm config template": "a file with every setting explained",
        "tabterm config set screen.theme light": "change one",
    },
    "demo": {"tabterm demo": "try the editor on a sample"},
    "help": {"tabterm help check": "the same as `tabterm check --help`"},
    "completion": {
        "tabterm completion bash > ~/.local/share/bash-completion/completions/tabterm": "complete words in bash",
        "tabterm completion fish > ~/.config/fish/completions/tabterm.fish": "in fish",
    },
}
"""By command; each is taken by the parser, which a test holds."""

STATUS = "exit status: 0, 1 where something was found, 2 for wrong usage or bad input, 130 after Ctrl-C"


def epilog(name: str) -> str:
    """What stands at the end of the help of a command."""
    found = EXAMPLES.get(name, {})
    lines = [line for typed, words in found.items() for line in (f"  {typed}", f"      {words}")]
    return "\n".join([*(["examples:", *lines, ""] if lines else []), STATUS]).replace("%", "%%")
