"""Numbers that the pages state are those that the program goes by: each sentence is made from the value itself."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tabterm.formats.abc import music as abc_music
from tabterm.formats.abc import tunes as abc_tunes
from tabterm.formats.smf import chunks, extent, tracks
from tabterm.formats.smf import grid as smf_grid
from tabterm.formats.smf import reader as smf_reader
from tabterm.hand import difficulty, passages
from tabterm.hand.adapt import octaves
from tabterm.page.rows import GIVE_WAY
from tabterm.piece import practice
from tabterm.piece.piece import blank
from tabterm.score import tempo
from tabterm.score.profile import REFERENCE_HAND
from tabterm.sound import audio_output, excitation, limiter, synthesiser, tone, voice, voicing
from tabterm.sound.remote import address, caller, door, handshake, inspection, listener
from tabterm.tui import front, lines
from tabterm.tui.terminal import keyboard, streams
from tabterm.workspace import rehearsal

ROOT = Path(__file__).parents[1]
MS = 1000.0

CLAIMS = {
    "README.md": [f"{practice.SLOWEST:g} to {practice.FASTEST:g}% of the tempo"],
    "docs/terminal.md": [
        f"After about {streams.ASK_AFTER} bytes the terminal is asked",
        f"never more than about {streams.AHEAD / 1024:g} kB behind",
        f"**Escape** is known after {keyboard.ESCAPE_S:g} s",
        f"the neck goes first (under {front.LOWEST_WITH_NECK} lines)",
        f"then the rows for {', '.join(row.name for row in GIVE_WAY[:-1])} and {GIVE_WAY[-1].name}, in this order",
        f"From {lines.Outlook.LOWEST} lines on a list of the next findings",
    ],
    "docs/sound.md": [
        f"Up to {tone.MOST_PARTIALS} partials, none above {tone.HIGHEST * synthesiser.RATE / 1000:.1f} kHz",
        f"Two strings {voicing.UNISON_CENTS:g} cents apart",
        f"meets one of them about {excitation.STAGGER_S * MS:g} ms before the other",
        f"what was on it in {voice.CHOKE_S * MS:g} ms",
        f"limiter that looks {limiter.AHEAD / synthesiser.RATE * MS:.1f} ms ahead, so that nothing passes -0.3 dB",
        f"{practice.SLOWEST:g} to {practice.FASTEST:g} percent of the written tempo",
    ],
    "docs/outputs.md": [
        f"a change must come {audio_output.AHEAD_FRAMES / synthesiser.RATE * MS:.0f} ms before its beat",
        f"Samples are rendered {audio_output.AHEAD_FRAMES / synthesiser.RATE * MS:.0f} ms ahead",
    ],
    "docs/listening.md": [
        f"{handshake.HELLO_WITHIN_S:g} s to say hello, {door.MOST_VISITORS} callers at the door",
        f"frames of {inspection.LIMITS.body_bytes / 2**20:g} MiB",
        f"{inspection.MOST_EVENTS:,} events a plan",
        f"{inspection.MESSAGES_IN_A_CROWD:,} MIDI messages or {inspection.PLUCKS_IN_A_CROWD} plucks in a quarter",
        f"{inspection.LIMITS.frames_per_s:g} frames a second in the long run",
        f"plans of {inspection.MOST_PLAN_BYTES / 2**20:g} MiB unfolded",
        f"silence after {listener.SILENT_FOR_S:g} s",
        f"after {caller.RESTS_S[0]:g} s, then ever more rarely, up to every {caller.RESTS_S[-1]:g} s",
        f"-R 127.0.0.1:{address.PORT}:127.0.0.1:{address.PORT} FAR",
    ],
    "docs/abc.md": [
        f"more than {abc_tunes.MOST_CHARACTERS:,} characters or {abc_music.MOST_MOMENTS:,} notes is refused"
    ],
    "docs/midi.md": [
        f"The grid is thirty-seconds and sixteenth triplets, `{smf_grid.USUAL}`",
        f"if it sounds for {smf_reader.SOUNDING_PART * 10:.0f}".replace("6", "six") + " tenths of the way",
        f"more than {tracks.MOST_NOTES:,} notes",
        f"{extent.MOST_OF_LINE:,} in a line to be fitted, {extent.MOST_OF_OWN:,} in one of our own",
        f"{'a million' if chunks.MOST_EVENTS == 10**6 else chunks.MOST_EVENTS} events",
        f"{tracks.MOST_MEASURES:,} measures or {tracks.LONGEST_QUARTERS:,} quarters",
    ],
    "docs/fitting.md": [f"within the first {'seven' if octaves.OFTEN == 7 else octaves.OFTEN} frets"],
    "docs/hand-profile.md": [f"the reference is {REFERENCE_HAND.span_mm:g} mm"],
    "docs/difficulty.md": [
        f"the effort of a beat is {'twice' if difficulty.BURST == 2 else difficulty.BURST} that of a plain scale",
        f"between {tempo.SLOWEST:g} and {tempo.FASTEST:g} quarters a minute",
        f"{passages.START * 100:.0f} % of the tempo at the limit",
        f"of which {'three quarters' if passages.NEAR == 0.75 else passages.NEAR} or more are used",
    ],
    "docs/tutorial.md": [f"{'Four' if len(blank().measures) == 4 else len(blank().measures)} measures of rest"],
    "docs/practice.md": [f"A loop or a ladder of {rehearsal.SHORTEST_S:g} seconds or more is entered"],
}
"""Sentences of each page, with the values put in."""


@pytest.mark.parametrize(("page", "claim"), [(page, claim) for page, claims in CLAIMS.items() for claim in claims])
def test_a_number_on_a_page_is_that_of_the_program(page, claim):
    text = re.sub(r"\s+", " ", (ROOT / page).read_text(encoding="utf-8"))
    assert claim in text
