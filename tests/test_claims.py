"""Numbers that the pages state: made from the program's own value, or held by a test, a benchmark or a source."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from tabterm.formats.abc import music as abc_music
from tabterm.formats.abc import tunes as abc_tunes
from tabterm.formats.musicxml import parts, tree
from tabterm.formats.smf import chunks, tracks
from tabterm.formats.smf import grid as smf_grid
from tabterm.formats.smf import parts as smf_parts
from tabterm.formats.smf import reader as smf_reader
from tabterm.hand import difficulty, drills, effort, learning, onsets, passages, terms
from tabterm.hand.adapt import octaves
from tabterm.harmony import analysis, figures, melody
from tabterm.instrument import PRESETS
from tabterm.instrument.model import pitch_name
from tabterm.judge import json_schema
from tabterm.page.rows import GIVE_WAY
from tabterm.performance import comping, ringing
from tabterm.piece import audio, practice, sheet, viewing
from tabterm.piece.phrase_book import entry, wish
from tabterm.piece.phrase_book.folder import starting_book
from tabterm.piece.piece import blank
from tabterm.score import tempo
from tabterm.score.metre import Metre
from tabterm.score.profile import REFERENCE_HAND
from tabterm.sheet import spacing
from tabterm.sheet.layout import Layout
from tabterm.sound import audio_output, device, excitation, loudness, synthesiser, tone, voice, voicing
from tabterm.sound.files import KINDS as KINDS_OF_AUDIO
from tabterm.sound.remote import address, caller, door, handshake, inspection, listener
from tabterm.sound.timbre import TIMBRES
from tabterm.storage import appending
from tabterm.tui import front, lines
from tabterm.tui.terminal import clipboard, first, keyboard, streams
from tabterm.workspace import rehearsal
from tabterm.workspace.commands import fingers
from tests.bench import __main__ as bench
from tests.bench import listener as far
from tests.harmony.test_analysis import PHRASES
from tests.mutations.__main__ import EACH, GOAL
from tests.ordeal.__main__ import PARTS

ROOT = Path(__file__).parents[1]
MS = 1000.0

KINDS = list(dict.fromkeys(each.name.partition(",")[0].lower() for each in PRESETS.values()))
"""Instruments that are built in, whatever their tuning."""

MARGIN = json_schema(Layout)["properties"]["margin_mm"]

LABELLED = sum(len(labels) for _, labels in PHRASES)

CLAIMS = {
    "README.md": [
        f"{', '.join(KINDS[:-1])} and {KINDS[-1]} in both usual tunings are built in".capitalize(),
        f"{practice.SLOWEST:g} to {practice.FASTEST:g}% of the tempo",
    ],
    "docs/safety.md": [
        f"the disk syncs within {appending.QUICK_S * MS:g} ms",
        f"takes more than {appending.QUICK_S * MS:g} ms is synced",
        f"kills the editor's work {PARTS['kills']:,} times, runs {PARTS['disks']:,} histories",
    ],
    "docs/accompaniment.md": [
        f"else after {'four' if comping.PHRASE == 4 else comping.PHRASE} measures",
        f"from {pitch_name(comping.LOWEST)} ({440 * 2 ** ((comping.LOWEST - 69) / 12):.0f} Hz) up",
    ],
    "docs/musicxml.md": [
        f"more than {tree.MAX_BYTES // 1_000_000} MB of XML or {tree.MAX_ELEMENTS:,} elements",
        f"texts of more than {tree.MAX_TEXT:,} characters, parts of more than {parts.MAX_NOTES:,} notes",
        f"measures of more than {parts.MAX_NOTES_OF_MEASURE:,} notes or {Metre.parse('99/1').length} quarters",
    ],
    "docs/library.md": [f"{practice.SLOWEST:g} to {practice.FASTEST:g}."],
    "docs/sheet.md": [
        f"A note twice as long gets {spacing.GROWTH:g} times the room",
        f"in {sheet.TEXT_PT:g}-point type, {sheet.LARGE_PT:g} for large print",
        f"on all sides, {MARGIN['minimum']:g} to {MARGIN['maximum']:g} mm ({MARGIN['default']:g})",
        f"PNG picture, {sheet.LOWEST_DPI} to {sheet.HIGHEST_DPI} ({sheet.DPI})",
    ],
    "docs/terminal.md": [
        f"more than {clipboard.MOST_BYTES:,} bytes of text",
        f"in pieces of {clipboard.SCREEN_CHUNK} bytes",
        f"After about {streams.ASK_AFTER} bytes it asks",
        f"never more than about {streams.AHEAD / 1024:g} kB behind",
        f"**Escape** is recognised after {keyboard.ESCAPE_S:g} s",
        f"your state folder (the last {first.MOST_KEPT})",
        f"the neck goes first (under {front.LOWEST_WITH_NECK} lines)",
        f"then the rows for {', '.join(row.name for row in GIVE_WAY[:-1])} and {GIVE_WAY[-1].name}, in this order",
        f"From {lines.Findings.LOWEST} lines on, the next findings",
        f"From {lines.Findings.WIDE_FROM} columns on, the findings appear beside",
    ],
    "docs/audio-files.md": [
        f"Before it writes {'ten' if audio.LONG_S == 600 else audio.LONG_S} minutes of sound or more",
        f"A limiter takes up to {loudness.MOST_LIMITED_DB:g} dB from the peaks",
        f"anything shorter than {loudness.STEPS * loudness.STEP_S:g} s",
        f"{loudness.TARGET_LUFS:g} LUFS by ITU-R",
        f"No true peak is over {loudness.PEAK_DBTP:g} dBTP",
        f"a WAV {KINDS_OF_AUDIO['.wav'].longest_s / 3600:.1f} h",
        f"{practice.SLOWEST:g} to {practice.FASTEST:g} percent of the written tempo",
    ],
    "docs/sound.md": [
        f"up to {tone.MOST_PARTIALS} partials, none above {tone.HIGHEST * synthesiser.RATE / 1000:.1f} kHz",
        f"two strings {voicing.UNISON_CENTS:g} cents apart",
        f"meets one of them about {excitation.STAGGER_S * MS:g} ms before the other",
        f"fallen by 60 dB after {math.log(1000) * excitation.MANY_FALL_S:.2f} s",
        f"for a mandolin from about {round(TIMBRES['mandolin'].bridge_hz, -1):g} Hz on",
        f"silences the old note in {voice.CHOKE_S * MS:g} ms",
        f"needed elsewhere leaves its course {ringing.ON_ITS_WAY_S * MS:g} ms early",
        f"limiter that looks {synthesiser.AHEAD / synthesiser.RATE * MS:.1f} ms ahead",
    ],
    "docs/outputs.md": [
        f"the device adds its own buffer of about {device.LATENCY_S * MS:.0f} ms",
        f"a change must come {audio_output.AHEAD_FRAMES / synthesiser.RATE * MS:.0f} ms before its beat",
        f"Samples are rendered {audio_output.AHEAD_FRAMES / synthesiser.RATE * MS:.0f} ms ahead",
    ],
    "docs/listening.md": [
        f"{handshake.HELLO_WITHIN_S:g} s for the handshake, {door.MOST_VISITORS} waiting callers",
        f"frames of {inspection.LIMITS.body_bytes / 2**20:g} MiB",
        f"{inspection.MOST_EVENTS:,} events a plan",
        f"{inspection.MESSAGES_IN_A_CROWD:,} MIDI messages or {inspection.PLUCKS_IN_A_CROWD} plucks in a quarter",
        f"{inspection.LIMITS.frames_per_s:g} frames a second in the long run",
        f"plans of {inspection.MOST_PLAN_BYTES / 2**20:g} MiB unfolded",
        f"silence after {listener.SILENT_FOR_S:g} s",
        f"up to {inspection.MOST_SHEET_BYTES / 2**20:g} MiB each; {viewing.MOST_SHEETS} of them are kept",
        f"in parts of {inspection.PART_BYTES:,} bytes",
        f"after {caller.RESTS_S[0]:g} s, then less and less often, up to every {caller.RESTS_S[-1]:g} s",
        f"-R 127.0.0.1:{address.PORT}:127.0.0.1:{address.PORT} FAR",
    ],
    "docs/analysis.md": [
        *(f"| `{sign}` | {kind.value} |" for kind, sign in analysis.SHORT.items()),
        f"| `a+1` `a-2` | {analysis.NoteClass.APPROACH.value} |",
        f"{LABELLED} notes labelled by hand",
        f"A note of {'two' if analysis.HELD == 2 else analysis.HELD} quarters or more",
        f"a rest of {'one quarter' if melody.BEAT == 1 else melody.BEAT} or more",
        f"the first {'three' if melody.AHEAD == 3 else melody.AHEAD} events after the bar line",
    ],
    "docs/phrase-book.md": [
        *(f"{level} up to {entry.LEVELS[level]:g}%" for level in ("easy", "medium", "advanced")),
        f"such as a wide reach, counts as at least {entry.AT_LEAST['hard']:g}%",
        f"with an impossible place as at least {entry.AT_LEAST['impossible']:g}%",
        f"compared at {figures.MOMENTS} moments",
        f"Added to that is {figures.DEGREE_WEIGHT:g} times the share of the time",
        f"Phrases up to {wish.WITHIN:g} apart are alike",
        f"{len([*starting_book().glob('*.tabterm')])} short phrases were written for tabterm",
    ],
    "docs/abc.md": [
        f"more than {abc_tunes.MOST_CHARACTERS:,} characters or {abc_music.MOST_MOMENTS:,} notes is refused"
    ],
    "docs/midi.md": [
        f"The grid is thirty-seconds and sixteenth triplets, `{smf_grid.USUAL}`",
        f"if it sounds for {smf_reader.SOUNDING_PART * 10:.0f}".replace("6", "six") + " tenths of the way",
        f"more than {tracks.MOST_NOTES:,} notes",
        f"{smf_parts.MOST_OF_LINE:,} in a line to be fitted, {smf_parts.MOST_OF_OWN:,} in a file of tabterm",
        f"{'a million' if chunks.MOST_EVENTS == 10**6 else chunks.MOST_EVENTS} events",
        f"{tracks.MOST_MEASURES:,} measures or {tracks.LONGEST_QUARTERS:,} quarters",
    ],
    "docs/fitting.md": [f"within the first {'seven' if octaves.OFTEN == 7 else octaves.OFTEN} frets"],
    "docs/hand.md": [
        f"in less than {effort.IN_TURN_S:g} s a note are judged as if both were held",
        f"ends at a rest of {'half' if onsets.FREE_S == 0.5 else onsets.FREE_S} a second or more",
        f"of less than {learning.LEAST:g} points does not count",
        f"and none counts for more than {terms.LIMITS[1]:g}",
        f"goes through the best {'three' if fingers.WAYS == 3 else fingers.WAYS} fingerings",
    ],
    "docs/judgement.md": [
        f"to and fro in less than {effort.IN_TURN_S:g} s a note",
    ],
    "docs/hand-profile.md": [
        f"the {' and the '.join({3: 'ring', 4: 'little'}[each] for each in REFERENCE_HAND.weak)} finger are weak",
        f"the reference is {REFERENCE_HAND.span_mm:g} mm",
        f"Play the passage {'four' if drills.TIMES == 4 else drills.TIMES} times in a row",
        f"120 quarters a minute are {120 * drills.A_BEAT // 60} sixteenths a second",
    ],
    "docs/difficulty.md": [
        f"the effort of a beat is {'twice' if difficulty.BURST == 2 else difficulty.BURST} that of a plain scale",
        f"between {tempo.SLOWEST:g} and {tempo.FASTEST:g} quarters a minute",
        f"{passages.START * 100:.0f}% of the tempo at the limit",
        f"of which the passage uses {'three quarters' if passages.NEAR == 0.75 else passages.NEAR} or more",
    ],
    "docs/tutorial.md": [f"{'Four' if len(blank().measures) == 4 else len(blank().measures)} measures of rest"],
    "docs/practice.md": [f"logged when it ends, if it lasted at least {rehearsal.SHORTEST_S:g} seconds"],
    "DEVELOPERS.md": [
        f"{'two' if EACH == 2 else EACH} of each kind in",
        f"must catch at least {GOAL} of 60",
        f"measures it over a simulated line and sends {far.FRAMES:,} malformed frames",
    ],
}
"""Sentences of each page, with the values put in."""


HELD = {
    "DEVELOPERS.md": {
        "mostly under 300 lines": "habit",
        "of at most 72 characters": "habit",
        "against A4 = 440 Hz": "published",
    },
    "docs/difficulty.md": {
        "at your limit, 100%": "tests/hand/test_difficulty.py::test_the_player_is_used_up_at_that_tempo",
    },
    "docs/ear.md": {
        **dict.fromkeys(
            (
                "| 0.991 | 2.3 ms |",
                "| 6 dB over a band | 0.983 | 0.990 | 0.976 | 2.2 ms |",
                "| 0.926 | 2.4 ms |",
                "| 0.977 | 1.7 ms |",
                "97% of the plucked notes, 76% of the slurred ones and 89% of those",
                "within 50 ms",
                "95% as slurred in a solo alone, 86% 6 dB over the band and 76% over one as loud",
                "3 to 4% of the plucked notes",
                "Of the 754 notes it reports, 4 are an octave off",
            ),
            "tests/recording/ear/trial.py",
        ),
        **dict.fromkeys(
            (
                "One core processes 21 seconds of music a second",
                "Of each 47 ms that a second of music takes, notes take 38, chords 4",
                "reading and tuning 3 and beats 2",
            ),
            "bench ear: the whole ear: CPU a second of music",
        ),
        "A minute takes 140 MB": "tabterm/recording/ear.py",
        **dict.fromkeys(
            (
                "the 25 ms before an attack",
                "0.0, 0.0 cents | 2.7 ms | 5.0 ms | -1.5 dB | 0.12 dB | 15 ms",
                "| 0.0, 0.0 | 10.1 | 20.2 | 12 | 0.11 | 15 |",
                "| 0.0, 0.0 | 3.1 | 37.2 | 22 | 0.22 | 7 |",
                "| 0.4, 2.6 | 0.2 | 15.2 | 21 | 0.14 | 13 |",
                "| 0.4, 2.9 | 2.7 | 0.2 | -0.8 | 0.15 | 14 |",
                "a double stop comes out 2.6 to 2.9 cents off",
                "over 60 times as fast as the music",
                "the worst of 70 notes moved by 3.0 cents",
                "falls by 3.8 dB at most; it would fall by 4.5 dB if",
                "the sound jumps 2.9 times as far from one sample to the next as elsewhere",
                "with it, 1.25 times",
            ),
            "tests/bench/slowing.py",
        ),
        "a fade of 20 ms": "tabterm/sound/record.py",
        "Verhelst and Roelands 1993": "published",
        **dict.fromkeys(
            (
                "each 20 ms off (standard deviation) | 1.00 | 1.000 | 1.00 |",
                "one downbeat | 1.00 | 1.000 | 1.00 |",
                "| nothing | 0.85 | 0.911 | 0.42 |",
                "144 synthetic recordings: a phrase of 64 beats",
                "between 80 and 200 bpm",
                "found within 40 ms",
            ),
            "tests/recording/beats_trial.py",
        ),
        **dict.fromkeys(
            (
                "recordings, up to 40 cents off",
                "2 to 7 cents flat (Csound) | 1.2 cents (median), 2.2 at most",
                "0.3 cents (median), 1.4 at most",
                "measured 3.3 to 4.2 cents low",
                "768 beats of 24 bands",
                "| the root | 0.974 | 0.992 |",
                "or minor | 0.971 | 0.992 |",
                "with its seventh | 0.914 | 0.898 |",
            ),
            "tests/recording/chords_trial.py",
        ),
        "40 cents low, it hears 0.97 of STK's notes over a band, and next to none if it listens at 440 Hz": (
            "tests/recording/test_ear.py::test_a_band_that_is_tuned_low_is_heard_as_well"
        ),
        "A4 = 440 Hz": "published",
        "A recording more than 50 cents off": "tests/recording/test_chords.py",
        "bends of 50 to 200 cents within 20 cents": "tests/recording/test_articulation.py",
        "353 kB": "tests/recording/test_ear.py::test_the_net_that_comes_along_is_small",
        "from 14 dB softer to 7 dB louder": "tests/recording/ear/scores.py",
        "two GPUs 26 minutes": "tests/recording/ear/train.py",
    },
    "docs/recording.md": {
        "`D5?9` is a D, proposed, and the ear is 90% sure": (
            "tests/page/test_rows.py::test_what_is_proposed_says_how_sure_it_is"
        ),
        "the octave over them, down by 12 dB": (
            "tests/sound/test_record.py::test_a_side_and_a_register_are_heard_while_it_plays"
        ),
        "`G7?6` is a G7, proposed, and the ear is 60% sure": (
            "tests/page/test_rows.py::test_a_chord_that_is_proposed_is_faint_and_says_how_sure_it_is"
        ),
    },
    "docs/transcribing.md": {
        "lasts at most 8 ms at any speed, and the pitch is less than a cent off": (
            "tests/recording/test_slow.py::test_notes_keep_pitch_and_attack_at_any_speed"
        ),
        "at 25 to 200 percent of its speed": "tests/cli/test_slow.py::test_what_cannot_be_is_said_in_one_line",
        "70%, and 30 cents lower": "tests/recording/test_slow.py::test_higher_and_lower_at_the_same_speed",
        "`--tuning -31`: 31 cents below A4 = 440 Hz": (
            "tests/piece/test_transcription.py::test_the_report_tells_how_far_the_recording_is_off_pitch"
        ),
        "`--balance -40` to make the right softer": "tests/recording/test_mix.py",
        "`--register 190-1400` turns down everything outside this range (in Hz) by 12 dB": (
            "tests/recording/test_mix.py::test_a_register_stands_out_and_comes_at_its_time"
        ),
        "begin at 196 Hz": "published",
        "moves the recording to A4 = 440 Hz": "tests/cli/test_slow.py::test_one_side_is_heard_in_tune",
        "24 cents low": "docs/sample_recording.py",
        "less than 90% sure": (
            "tests/cli/test_transcribe.py::test_unsure_notes_are_named_with_what_else_they_could_be"
        ),
        "up to ten minutes at once. tabterm also listens to half a second": "tabterm/piece/transcription.py",
    },
    "docs/format.md": {
        "405 equally spaced layouts (3 to 16 notes": (
            "tests/formats/test_text_spacing.py::test_equal_distances_are_equal_values"
        ),
        "99% of the measures are read as meant": "tests/formats/test_text_generated.py::test_tabs_of_every_habit",
    },
    "docs/hand.md": {
        "gave 90.0% of the notes of ten works the same finger": "tests/hand/violin.py",
        "210 of 218 fingers, 96.3%; checking half: 274 of 281 fingers, 97.5%": (
            "tests/hand/test_exercises.py::test_the_page_of_the_hand_has_the_agreement_of_both_halves"
        ),
        "463 tunes of a fiddle collection": "tests/hand/fiddle.py",
    },
    "docs/listening.md": {"10 minutes of music are about 0.1 MB": "bench listener: a plan of {name}"},
    "docs/midi.md": {
        "played 9 ms off (standard deviation, a hundred quarters a minute) more than 99.5% of the onsets end up "
        "where they were written, 18 ms off 98%, 24 ms off 90 to 94%": (
            "tests/formats/test_smf_maps.py::test_played_rhythms_are_found"
        ),
    },
    "docs/outputs.md": {
        "a MIDI message goes out within 50 ms of the key": "bench sound: start of sound after play",
        "a sample within 60 ms": (
            "tests/sound/test_audio_output.py::test_sound_starts_within_60_ms_of_a_warm_engine"
        ),
    },
    "docs/handout.md": {
        "in at most 60 bytes": "tests/storage/test_names.py::test_no_title_leads_elsewhere_or_hides_anything",
        **dict.fromkeys(
            (
                "60% of the tempo at which the phrase reaches the hand's limit, at most 80% of the written tempo",
                "90% of the limit, at most the written tempo",
            ),
            "tests/piece/handout/test_lesson.py::test_a_ladder_begins_where_it_is_easy_and_leaves_room_below_the_limit",
        ),
        "two neighbouring phrases if both stay under 50% of the limit; a phrase over 90% takes two days": (
            "tests/piece/handout/test_lesson.py::test_the_breakdown_is_at_the_limit_in_one_phrase"
        ),
        "A piece of 16 measures at five tempos makes about 4 MB": (
            "tests/piece/handout/test_page.py::test_the_page_of_a_sample_is_small"
        ),
        "at widths of 360, 768 and 1280 pixels": (
            "tests/piece/handout/test_page.py::test_nothing_overflows_and_buttons_are_large_at_any_width"
        ),
    },
    "docs/practice.md": {
        "5% slower, faster": "tests/workspace/test_practising.py::test_faster_and_slower_go_by_fives_or_by_rungs",
        "from 60 to 100 percent": "tests/piece/test_practice.py::test_rungs_lead_from_the_start_to_the_end",
        "allows adults at most 80 dB for 40 hours a week, and children 75 dB (ITU-T H.870); every 3 dB more "
        "halves the time": "published",
    },
    "docs/safety.md": {
        "0.2 to 0.3 ms (median), and 3 to 9 ms while other programs": "bench journal: journal: {name}, p50",
    },
    "docs/audio-files.md": {
        "all stereo at 44.1 kHz": "tests/sound/test_files.py::test_every_kind_holds_what_was_written",
        "a count-in of 0 to 2 measures": "tests/cli/test_render.py::test_what_cannot_be_is_said_in_one_line",
        "-18 LUFS by ITU-R BS.1770-4 and EBU R 128. No true peak is over -1 dBTP": (
            "tests/sound/test_loudness.py::test_files_are_as_loud_as_meant_at_every_tempo"
        ),
        "as loud as a stroke of medium loudness in a solo, or up to 6 dB louder, on every built-in": (
            "tests/sound/test_loudness.py::test_the_click_is_heard_over_the_solo_and_not_far_over_it"
        ),
        "Every other file is 0.300 s longer": (
            "tests/sound/test_files.py::test_a_file_to_be_looped_has_its_tail_at_its_start"
        ),
    },
    "docs/sound.md": {
        **dict.fromkeys(
            (
                "at 30, 60, 100 and 140 percent",
                "| -20.0, -17.4, -15.7, -14.9 LUFS | -18.1 LUFS each |",
                "| -24.4, -21.9, -20.1, -19.3 LUFS | -18.1 LUFS each |",
                "| -25.1, -23.1, -21.2, -19.9 LUFS | -18.1 LUFS each |",
                "| -27.1, -25.4, -23.5, -22.2 LUFS | -18.1 LUFS each |",
            ),
            "tests/sound/test_loudness.py::test_files_are_as_loud_as_meant_at_every_tempo",
        ),
        "equal temperament (A4 = 440 Hz)": "tests/sound/test_pitches.py::test_every_fret_is_in_tune",
        "is within 0.1 cents of its pitch at every fret": (
            "tests/sound/test_pitches.py::test_each_string_at_every_fret_is_in_tune"
        ),
        "both together within 1 cent": "tests/sound/test_pitches.py::test_every_fret_is_in_tune",
        "slides and bends follow their curves within 3 cents": (
            "tests/sound/test_pitches.py::test_slides_and_bends_follow_their_curves"
        ),
        "as long as the table says within 3%": (
            "tests/sound/test_tones.py::test_single_strings_ring_as_long_as_their_timbre_says"
        ),
        "every attack within 5 ms, none extra, every single note within 3 cents": (
            "tests/sound/test_files.py::test_a_solo_is_heard_as_it_is_written"
        ),
        "185 times as fast as it sounds (measured here on one core; 400 to 600 times before body, open courses "
        "and room were added)": "bench synth: 100 s of {name}",
        "for 25 to 130 ms": "tests/sound/test_answers.py::test_modes_die_within_what_is_kept_of_them",
        "The others are 3 to 4 ms off on average, and never more than 6 ms": (
            "tests/performance/test_perform.py::test_the_strokes_of_a_tremolo_are_a_hand_s"
        ),
        "apart the two strings of a course are: 1.5 cents at 100": (
            "tests/sound/test_tone_controls.py::test_detuning_is_how_far_the_strings_of_a_course_are_apart"
        ),
        "about 35 dB under it": "tests/sound/test_answers.py::test_an_open_course_answers_what_meets_its_partials",
        "about 39 dB under the stroke": "tests/sound/test_answers.py::test_a_finger_that_leaves_is_heard_faintly",
        "about 45 dB under": "tests/sound/test_answers.py::test_a_finger_that_leaves_is_heard_faintly",
        "Eight early reflections within 42 ms": "tests/sound/test_answers.py::test_eight_reflections_within_42_ms",
        **dict.fromkeys(
            (
                "frets 0 to 15",
                "goes 80 dB down from its own peak",
                "second and third partial within 12 dB",
                "| 26 dB, 13 of 64 notes over | at most 10.7 dB |",
            ),
            "bench tone: 2nd and 3rd partial off the trend, at most",
        ),
        "of the first 40 ms inside the references' range | 5 of 20 notes outside | 1 of 64, by 7% |": (
            "bench tone: attack centroid, outside the references"
        ),
        "over 5 kHz in the first 10 ms inside it | 3 of 20 notes outside | none of 64 |": (
            "bench tone: share over 5 kHz in 10 ms, outside them"
        ),
        **dict.fromkeys(
            (
                "level at 0.3, 0.6 and 1.0 s within 4 dB of one of them",
                "| 31 of 192 over, at most 9.0 dB | 4 of 192, at most 4.5 dB |",
                "6.7 dB from G4 to G#4 after a second",
            ),
            "bench tone: decay off the nearer reference, at most",
        ),
        **dict.fromkeys(
            (
                "60 to 200 ms, like the samples' | 9.7 dB off | 4.6 dB off (median) |",
                "end after 50 ms, where the samples have noise for 0.2 s",
            ),
            "bench tone: between the partials, off the samples (median)",
        ),
        "a solo 80 times as fast as it sounds | 400 to 600 times | 185 times |": "bench synth: 100 s of {name}",
        **dict.fromkeys(
            (
                "(F 1.00), 99% of pitches | | 370 of 370, none extra; 311 of 314 |",
                "all 370 attacks are heard and none extra, and 310 of 314 pitches",
            ),
            "bench heard: onsets of eight phrases, by {who}: 1 - F",
        ),
        "reflections 12 to 18 dB down at the side; open courses near -35 dB": (
            "tests/sound/test_answers.py::test_the_side_lies_12_to_18_db_under_the_middle"
        ),
        "20 phrases as a player would": "tests/performance/test_ringing.py::test_a_player_would_let_it_ring_until",
        **dict.fromkeys(
            ("a tremolo 3 to 6 ms off its grid", "3 to 4 ms on average, 6 at most |"),
            "tests/performance/test_perform.py::test_the_strokes_of_a_tremolo_are_a_hand_s",
        ),
        "| 0.300 s longer |": "tests/sound/test_files.py::test_a_file_to_be_looped_has_its_tail_at_its_start",
        "less than 6 dB | 9 to 14 dB under it | 0 to 6 dB over it |": (
            "tests/sound/test_loudness.py::test_the_click_is_heard_over_the_solo_and_not_far_over_it"
        ),
        "files at -18 LUFS, true peak -1 dBTP; tempos within 1 LU | 6 LU apart |": (
            "tests/sound/test_loudness.py::test_files_are_as_loud_as_meant_at_every_tempo"
        ),
        "bass heard above 150 Hz | | at most 8 dB under the solo |": (
            "tests/sound/test_tones.py::test_the_bass_is_heard_on_a_loudspeaker_that_begins_at_150_hz"
        ),
    },
    "docs/judgement.md": {
        "in 73% and 27%": "tests/hand/violin.py",
        "Thirds in eighths at 140 quarters a minute": "tests/hand/teaching.py",
        "All 405 equally spaced layouts are read as equal values": (
            "tests/formats/test_text_spacing.py::test_equal_distances_are_equal_values"
        ),
        "at least 99% of the measures": "tests/formats/test_text_generated.py::test_tabs_of_every_habit",
        "no fall beyond 1 point": "tests/hand/habits.py",
    },
    "docs/phrase-book.md": {
        "Each kind of search takes less than 50 ms among 10,000": "bench phrases: search of 10,000 phrases",
    },
    "docs/terminal.md": {
        "a step of the cursor takes about 45 bytes": "bench terminal: cursor move, p50",
        "a page about 1 kB": "bench terminal: page",
        "the start about 2.1 kB": "bench terminal: start",
    },
    "docs/tutorial.md": {
        "a terminal of at least 80 by 24 characters": "tests/tui/test_sizes.py::test_a_small_screen_edits",
        "from 60 to 100 percent": "tests/piece/test_practice.py::test_rungs_lead_from_the_start_to_the_end",
    },
}
"""Other sentences with a figure, and what holds each: a test, a command's module, a line of `tests.bench`, or a
published source that the sentence names."""

UNITS = (
    "%|percent|ms|s|seconds?|mm|cents?|k?Hz|dB|[kM]i?B|bytes?|notes?|characters|measures?|quarters?|sixteenths"
    "|frames|turns|times|messages|events|plucks|callers|elements|lines|tunes|fingers|points?|minutes|hours?"
    "|layouts|of 100"
)
FIGURE = re.compile(rf"(?<![\w.:-])\d[\d,.]*(?: to \d[\d,.]*)? ?(?:{UNITS})(?![\w])")
BLANKED = re.compile(r"```.*?```|<!-- [\w-]+ -->.*?<!-- end -->|``.*?``|`[^`\n]+\n?[^`\n]*`", re.DOTALL)
"""Code, and what is made from the program, say nothing that could differ from it."""


def text_of(page, *, blanked=False):
    """A page on one line; with code and made parts left out by blots as long."""
    text = (ROOT / page).read_text(encoding="utf-8")
    if blanked:
        text = BLANKED.sub(lambda found: re.sub(r"\S", "x", found.group()), text)
    return re.sub(r"\s+", " ", text)


@pytest.mark.parametrize(("page", "claim"), [(page, claim) for page, claims in CLAIMS.items() for claim in claims])
def test_a_number_on_a_page_is_that_of_the_program(page, claim):
    assert claim in text_of(page)


PAGES = [page.relative_to(ROOT).as_posix() for page in (*ROOT.glob("*.md"), *(ROOT / "docs").glob("*.md"))]
LISTS = ("CHANGELOG.md", "docs/commands.md", "docs/constants.md", "docs/keys.md")


@pytest.mark.parametrize("page", sorted({*PAGES} - {*LISTS}))
def test_every_figure_on_a_page_is_held_by_something(page):
    text = text_of(page)
    spans = [
        found.span()
        for claim in (*CLAIMS.get(page, ()), *HELD.get(page, ()))
        for found in re.finditer(re.escape(claim), text)
    ]
    loose = [
        text[max(0, figure.start() - 40) : figure.end() + 20]
        for figure in FIGURE.finditer(text_of(page, blanked=True))
        if not any(start <= figure.start() and figure.end() <= end for start, end in spans)
    ]
    assert loose == [], "add the sentence to CLAIMS or HELD"


@pytest.mark.parametrize(("page", "claim"), [(page, claim) for page, claims in HELD.items() for claim in claims])
def test_what_holds_a_figure_is_there(page, claim):
    assert claim in text_of(page)
    holder = HELD[page][claim]
    path, _, test = holder.partition("::")
    if holder.startswith("bench "):
        part, figure = holder.removeprefix("bench ").split(": ", 1)
        source = (ROOT / "tests" / "bench" / f"{bench.PARTS[part]}.py").read_text(encoding="utf-8")
        assert figure in source
    elif holder not in {"published", "habit"}:
        assert (ROOT / path).exists()
        assert not test or f"def {test}(" in (ROOT / path).read_text(encoding="utf-8")
