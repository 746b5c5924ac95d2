def test_no_mark_looks_like_the_sign_of_something_impossible_or_hard():
    """The editor writes that sign behind the note as well."""
    from tabterm.formats.text.cells import EVENT_SIGNS
    from tabterm.tui.painter import SIGNS

    assert not {SIGNS["impossible"], SIGNS["hard"]} & EVENT_SIGNS.keys()
