"""Both ends know the token, speak the same version, and say so otherwise."""

from __future__ import annotations

import hashlib
import hmac
import stat

import pytest

from tabterm.errors import SoundError
from tabterm.sound.link import Frame
from tabterm.sound.remote.handshake import PROTOCOL, Handshake, make_token, plain, read_token

TOKEN, OTHER = bytes(range(32)), bytes(32)


def shaken(listener_token, editor_token):
    """The two ends after each has heard the other."""
    listener, editor = Handshake("listener", listener_token), Handshake("editor", editor_token)
    editor.hear(Frame("hello", listener.hello(), b""))
    hello = editor.hello()
    listener.hear(Frame("hello", hello, b""))
    return listener, editor, hello


def test_ends_that_know_the_token_believe_each_other():
    listener, editor, hello = shaken(TOKEN, TOKEN)
    listener.check("editor", hello["proof"])
    editor.check("listener", listener.proof("listener"))


def test_a_proof_is_the_hmac_of_who_proves_and_both_nonces():
    """RFC 2104 with SHA-256, by the standard library's other interface to it."""
    listener, _, hello = shaken(TOKEN, TOKEN)
    text = f"tabterm {PROTOCOL}\neditor\n{listener.hello()['nonce']}\n{hello['nonce']}"
    assert hello["proof"] == hmac.new(TOKEN, text.encode(), hashlib.sha256).hexdigest()


@pytest.mark.parametrize(("near", "far"), [(TOKEN, OTHER), (OTHER, TOKEN), (TOKEN, None), (None, TOKEN)])
def test_an_end_without_the_token_is_not_believed(near, far):
    listener, editor, hello = shaken(near, far)
    with pytest.raises(SoundError, match="the editor has a different token"):
        listener.check("editor", hello["proof"])
    with pytest.raises(SoundError, match="the listener has a different token"):
        editor.check("listener", listener.proof("listener"))


def test_proofs_are_compared_in_constant_time(monkeypatch):
    """By the function that the standard library has for it, whatever stands in the proof."""
    compared = []
    monkeypatch.setattr(hmac, "compare_digest", lambda *both: compared.append(both) or False)
    listener, _, hello = shaken(TOKEN, TOKEN)
    with pytest.raises(SoundError):
        listener.check("editor", hello["proof"])
    assert compared == [(hello["proof"].encode(),) * 2]


def test_a_proof_said_back_or_again_is_worth_nothing():
    _, editor, hello = shaken(TOKEN, TOKEN)
    with pytest.raises(SoundError):
        editor.check("listener", hello["proof"])
    again = Handshake("listener", TOKEN)
    again.hear(Frame("hello", hello, b""))
    with pytest.raises(SoundError):
        again.check("editor", hello["proof"])
    mirror = Handshake("editor", TOKEN)
    with pytest.raises(SoundError):
        mirror.hear(Frame("hello", mirror.hello(), b""))


@pytest.mark.parametrize("proof", [None, 7, [], "\udc80", "é"])
def test_a_proof_of_another_kind_is_none(proof):
    listener, _, _ = shaken(TOKEN, TOKEN)
    with pytest.raises(SoundError):
        listener.check("editor", proof)


def test_another_protocol_is_told_with_both_versions_and_what_to_do():
    hello = Handshake("listener", None).hello() | {"protocol": "2.\x07", "version": "9.8\x1b[2J"}
    with pytest.raises(SoundError) as told:
        Handshake("editor", None).hear(Frame("hello", hello, b""))
    assert "tabterm 9.8?[2J (protocol 2.?)" in told.value.message
    assert f"(protocol {PROTOCOL})" in told.value.message
    assert told.value.hint == "install the same version at both ends"


@pytest.mark.parametrize(
    "changes",
    [{"protocol": 1}, {"protocol": None}, {"version": 1}, {"nonce": ""}, {"nonce": 5}, {"nonce": "x" * 65}],
)
def test_what_is_no_hello_is_told(changes):
    hello = Handshake("listener", None).hello() | changes
    with pytest.raises(SoundError, match="not a tabterm listener"):
        Handshake("editor", None).hear(Frame("hello", hello, b""))


def test_a_token_is_made_once_for_its_owner_alone(tmp_path):
    file = tmp_path / "deep" / "token"
    token = make_token(file)
    assert len(token) == 32
    assert make_token(file) == read_token(file) == token
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert make_token(tmp_path / "another") != token


@pytest.mark.parametrize(("text", "mode"), [("00" * 32, 0o640), ("00" * 31, 0o600), ("no", 0o600), ("é", 0o600)])
def test_a_token_that_others_know_or_that_is_none_is_refused(tmp_path, text, mode):
    file = tmp_path / "token"
    file.write_text(text)
    file.chmod(mode)
    with pytest.raises(SoundError):
        read_token(file)


def test_what_the_other_end_says_cannot_command_the_terminal():
    assert plain("a\x1b]0;x\x07\nb" + "c" * 500, most=12) == "a?]0;x??bccc"
