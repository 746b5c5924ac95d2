"""Difficulty: rates, limits, the hardest passages and their drills."""

from __future__ import annotations

import json
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.cli.main import main
from tabterm.formats import native
from tabterm.hand.difficulty import (
    BURST,
    WINDOW_S,
    Load,
    Playing,
    curve,
    difficulty,
    limit_rate,
    limit_tempo,
    loads,
    rates,
    use,
)
from tabterm.hand.fingering import fingering
from tabterm.hand.neck import neck_of
from tabterm.hand.passages import cut, hardest
from tabterm.hand.proposals import with_hands
from tabterm.performance import perform
from tabterm.score.place import Place
from tabterm.score.profile import HandProfile, Speeds
from tabterm.score.query import events_in
from tabterm.score.tempo import Tempo
from tests.build import score
from tests.hand.passages import passages

PLAIN = "8 3.0,8 3.2,8 3.4,8 3.5,8 2.0,8 2.2,8 2.3,8 2.5"
LEAP = "16 3.0,16 3.2,16 1.12,16 1.14,16 1.2,16 1.3,8 1.0,8 2.0,8 2.2,8 2.3,8 2.5"


def playing(built):
    (solved,) = fingering(with_hands(built)).phrases
    return Playing.of(solved)


def test_rates_by_hand():
    """Three onsets of 0.3 s with 1, 2 and 3 points: over 0.6 s (1+2)/0.6 = 5, (2+3)/0.6, and 3/0.6 alone."""
    given_loads = [Load(Place(0), float(points), 0.3, 0.0) for points in (1, 2, 3)]
    assert WINDOW_S == 0.6
    assert [rate.per_s for rate in rates(given_loads)] == pytest.approx([5.0, 25 / 3, 5.0])


def test_the_limit_comes_from_the_player_s_strokes():
    quick = HandProfile(speeds=Speeds(strokes=12.0))
    slow = HandProfile(speeds=Speeds(strokes=6.0))
    heads = [score(PLAIN, hand=hand).head for hand in (quick, slow)]
    assert limit_rate(neck_of(heads[0])) == pytest.approx(2 * limit_rate(neck_of(heads[1])))
    assert BURST > 1


@settings(max_examples=40, deadline=None)
@given(passages(), st.floats(1.05, 3.0))
def test_slower_is_never_harder(built, slower):
    for solved in fingering(with_hands(built)).phrases:
        assert use(Playing.of(solved), slower) <= use(Playing.of(solved)) + 1e-9


def test_the_tempo_at_the_limit():
    """At it the player is used up to the full, a little faster to more; a faster hand reaches it later."""
    built = score(LEAP, PLAIN)
    play = playing(built)
    tempo = limit_tempo(play, 100.0)
    assert use(play, 100.0 / tempo) == pytest.approx(1.0, abs=0.01)
    assert use(play, 100.0 / (tempo * 1.1)) > 1.0
    quick = HandProfile(speeds=Speeds(strokes=15.0, course_change=14.0, repeated=10.0))
    assert limit_tempo(playing(score(LEAP, PLAIN, hand=quick)), 100.0) > tempo


@pytest.mark.parametrize(
    ("tempo", "strokes_per_s"),
    [(75.0, 5.0), (150.0, 10.0), (160.0, 160 * 4 / 60)],
)
def test_strokes_at_three_tempos(tempo, strokes_per_s):
    """Sixteenths at 75, 150 and 160 are 5, 10 and 10.7 strokes a second; the profile does 10."""
    run = ",".join(["16 2.2,16 2.3"] * 8)
    strains = [load.strain for load in loads(playing(score(run, tempo=Tempo(tempo))))[1:]]
    assert max(strains) == pytest.approx(strokes_per_s / 10.0, abs=0.01)


def test_a_leap_among_scales_is_the_hardest():
    built = with_hands(score(PLAIN, PLAIN, LEAP, PLAIN, PLAIN))
    first, *_ = hardest(built)
    assert first.span.start.measure == 2
    assert any(reason.term in {"shift", "travel", "hurry"} for reason in first.reasons)
    assert first.shifts


def test_equal_music_is_equally_hard_wherever_it_stands():
    early, late = (with_hands(score(*order)) for order in ([LEAP, PLAIN, PLAIN], [PLAIN, PLAIN, LEAP]))
    assert hardest(early)[0].rate == pytest.approx(hardest(late)[0].rate, rel=0.25)


def test_passages_do_not_overlap_and_drills_have_a_note_on_each_side():
    built = with_hands(score(PLAIN, LEAP, PLAIN, LEAP, PLAIN))
    found = hardest(built, 3)
    assert len(found) == 3
    spans = sorted((hard.span.start, hard.span.end) for hard in found)
    assert all(one[1] <= other[0] for one, other in pairwise(spans))
    for hard in found:
        inside = [place for place, event in events_in(built, hard.span) if event.notes]
        drilled = [place for place, event in events_in(built, hard.drill.span) if event.notes]
        assert len(drilled) - len(inside) in {1, 2}
        assert set(inside) < set(drilled)
        piece = cut(built, hard.drill)
        assert [n.fret for m in piece.measures for e in m.events for n in e.notes if not n.tied] == [
            n.fret for _, e in events_in(built, hard.drill.span) for n in e.notes if not n.tied
        ]
        assert piece.head.tempo.quarters_per_minute < built.head.tempo.quarters_per_minute
        assert perform(piece).messages


def test_a_phrase_in_numbers():
    (solved,) = fingering(with_hands(score(PLAIN, LEAP))).phrases
    found = difficulty(solved, 100.0)
    assert found.peak >= found.ninetieth > 0
    assert found.first == Place(0)
    assert (found.limit_tempo > 100.0) == (found.use < 1.0)


def test_the_curve_covers_every_event():
    built = with_hands(score(PLAIN, LEAP))
    (solved,) = fingering(built).phrases
    levels = curve(solved)
    assert set(levels) == {Place(i, o) for i, m in enumerate(built.measures) for o, e in m.timed() if e.notes}
    leap = max(level for place, level in levels.items() if place.measure == 1)
    assert leap > 2 * max(level for place, level in levels.items() if place.measure == 0)


def test_the_command(tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setenv("TABTERM_CONFIG", str(tmp_path / "config.toml"))
    path = tmp_path / "a.tabterm"
    path.write_bytes(native.write(score(PLAIN, LEAP, PLAIN)))
    assert main(["hard", str(path), "--json", "--top", "2"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert len(data["passages"]) == 2
    assert data["passages"][0]["from"]["measure"] == 2
    assert data["passages"][0]["drill"]["play"].startswith("tabterm play ")
    assert "no absolute grade" in data["note"]
    assert main(["hard", str(path)]) == 0
    out = capsys.readouterr().out
    assert "no absolute grade" in out
    assert "why: " in out
    assert main(["hard", str(path), "--top", "0"]) == 2
    path.write_bytes(native.write(score("1")))
    assert main(["hard", str(path)]) == 2
    assert "nothing sounds" in capsys.readouterr().err
