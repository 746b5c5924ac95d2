"""Examples for `--help`: what is typed, and what comes of it. Every command has one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import tabterm

if TYPE_CHECKING:
    from collections.abc import Mapping

EXAMPLES: Mapping[str, Mapping[str, str]] = {
    "edit": {
        "tabterm tune.tabterm": "open a score, or start one",
        "tabterm edit --plain tune.tabterm": "with a screen reader",
    },
    "show": {
        "tabterm show tune.tabterm --from 5 --to 8": "print measures 5 to 8",
        "tabterm show tune.tabterm --from 5 --to 8 --clean --copy": "and copy them, ready to paste",
        "tabterm show tune.tabterm --table": "list its events: as a table, or tab-separated in a pipe",
        "tabterm show - < tune.abc": "read a score from a pipe",
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
        "tabterm check tune.tabterm --tempo 120 --fix": "fix it for this tempo",
        "tabterm check tunes --json --fail-on hard": "check a folder of scores from a script",
    },
    "hand": {
        "tabterm hand": "show your hand and its limits",
        "tabterm hand --span 150 --weak 4": "set your own span and weak finger",
    },
    "hard": {"tabterm hard tune.tabterm --top 5": "the five hardest passages, with drills"},
    "explain": {"tabterm explain tune.tabterm --from 1 --to 8": "explain the first eight measures"},
    "dyads": {"tabterm dyads G7": "double stops of a chord that you can hold"},
    "neck": {"tabterm neck G major pentatonic --positions": "a scale on the neck, with fingers"},
    "phrases": {
        "tabterm phrases import": "add the phrases that come with tabterm",
        "tabterm phrases find swing --chords 'ii V I' --level easy": "search it",
        "tabterm phrases find --fits tune.tabterm --from 5": "find phrases that fit the chords from measure 5 on",
        "tabterm phrases add tune.tabterm --from 5 --to 6 --name 'My Ending' --tag ending": "keep two measures",
        "tabterm phrases insert 5 tune.tabterm --from 5 -o new.tabterm": "put phrase 5 into measure 5",
    },
    "invent": {
        "tabterm invent tune.tabterm --from 5 --to 8 --way ornamented": "five ways to ornament a phrase",
        "tabterm invent tune.tabterm --from 5 --to 6 --pool 'G major blues'": "new phrases from a scale",
        "tabterm invent tune.tabterm --from 5 --to 8 --way plainer --take 1 -o easy.txt": "put one into the tune",
    },
    "play": {
        "tabterm play tune.tabterm --from 5 --to 8 --tempo 70% --loop 0": "loop a phrase slowly until Ctrl-C",
        "tabterm play tune.tabterm --ladder 60:100:5x3 --loop 0 --click beats": "climb to the full tempo",
    },
    "listen": {
        "tabterm listen": "play what an editor on another machine sends",
        "tabterm listen --page": "and show its sheets in the browser",
    },
    "log": {
        "tabterm log tune.tabterm": "graph what you practised of a tune",
        "tabterm log --csv practice.csv": "export the whole log for a spreadsheet",
    },
    "render": {
        "tabterm render tune.tabterm tune.mp3 --tempo 80% --chords": "slower, with chords and bass",
        "tabterm render tune.tabterm tune.mid": "as a MIDI file",
    },
    "handout": {"tabterm handout tune.tabterm tune-practice": "a folder for a student"},
    "sheet": {"tabterm sheet tune.tabterm tune.pdf": "notation and tab on paper"},
    "convert": {
        "tabterm convert tune.musicxml tune.tabterm": "bring in a score from another program",
        "tabterm convert tune.tabterm - --to-format abc": "write ABC to a pipe",
        "tabterm convert tunes tabs --to-format txt": "convert a folder of scores into a folder that exists",
    },
    "slow": {
        "tabterm slow solo.ogg slow.wav --tempo 70% --from 12 --to 31": "part of it, slower, at the same pitch"
    },
    "transcribe": {"tabterm transcribe solo.ogg solo.tabterm --tempo 116": "propose a tab of a recorded solo"},
    "compare": {"tabterm compare tune.tabterm": "list what differs from the original line"},
    "recover": {"tabterm recover --take 1 -o saved.tabterm": "save unsaved work to a new file"},
    "ports": {"tabterm ports": "list the outputs you can choose"},
    "keys": {"tabterm keys": "list all keys of the editor"},
    "config": {
        "tabterm config": "show the settings, and where each is set",
        "tabterm config template": "print a configuration with every setting explained",
        "tabterm config set screen.theme light": "change a setting",
    },
    "demo": {"tabterm demo": "try the editor on a sample"},
    "help": {"tabterm help check": "the same as `tabterm check --help`"},
    "completion": {
        "tabterm completion bash > ~/.local/share/bash-completion/completions/tabterm": "completion for bash",
        "tabterm completion zsh > ~/.zfunc/_tabterm": "for zsh, where ~/.zfunc is in fpath before compinit",
        "tabterm completion fish > ~/.config/fish/completions/tabterm.fish": "completion for fish",
    },
}
"""By command; each is taken by the parser, which a test holds."""

PAGES = Path(tabterm.__file__).parent / "docs"
"""Where the pages of documentation lie in the package."""

STATUS = "exit status: 0 done, 1 findings, 2 wrong usage or bad input, 130 stopped by Ctrl-C"


def epilog(name: str) -> str:
    """What stands at the end of the help of a command, where it has one: examples, its page, the exit status."""
    found = EXAMPLES.get(name, {})
    lines = [line for typed, words in found.items() for line in (f"  {typed}", f"      {words}")]
    page = [f"page: `tabterm help {name}.md` has more", ""] if (PAGES / f"{name}.md").is_file() else []
    return "\n".join([*(["examples:", *lines, ""] if lines else []), *page, STATUS])
