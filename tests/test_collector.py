"""The collector's rest: while something is made, and over what stays."""

from __future__ import annotations

import gc

import pytest

from tabterm import collector


@pytest.fixture(autouse=True)
def _as_before():
    threshold = gc.get_threshold()
    yield
    gc.unfreeze()
    gc.set_threshold(*threshold)


def test_it_rests_and_goes_on_whatever_happens():
    with pytest.raises(ZeroDivisionError), collector.at_rest(), collector.at_rest():
        _ = 1 // gc.isenabled()
    assert gc.isenabled()


def test_one_that_was_off_stays_off():
    gc.disable()
    try:
        with collector.at_rest():
            pass
        assert not gc.isenabled()
    finally:
        gc.enable()


def test_what_stays_is_not_looked_through_again():
    kept = [[number] for number in range(1000)]
    collector.keep_all()
    assert gc.get_freeze_count() > len(kept)
    collector.look_rarely()
    assert gc.get_threshold() == collector.RARELY
