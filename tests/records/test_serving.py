"""How the commands serve: this computer alone, or the phones of the dairy's network over TLS."""

from argparse import ArgumentParser
from ipaddress import ip_address
from typing import Any

import pytest
from django.core.management.base import CommandError

from records.management.commands import _serving
from safetyplan import local_network


def options(*words: str) -> dict[str, Any]:
    """Read a command line."""
    parser = ArgumentParser()
    _serving.add_serving(parser)
    return vars(parser.parse_args(words))


@pytest.fixture
def at_home(monkeypatch: pytest.MonkeyPatch) -> None:
    """Put this computer into a network at home."""
    monkeypatch.setattr(local_network, "own_addresses", lambda: [ip_address("192.168.1.20")])


def test_without_a_word_only_this_computer_is_served() -> None:
    assert _serving.base_url(options()) == "http://127.0.0.1:8000"


def test_on_the_network_the_records_are_served_over_https(at_home: None) -> None:
    assert _serving.base_url(options("--lan")) == "https://192.168.1.20:8443"


def test_an_address_named_counts_alone(at_home: None) -> None:
    assert _serving.addresses(options("--lan", "--host", "10.0.0.7")) == [ip_address("10.0.0.7")]


@pytest.mark.parametrize("text", ["dairy", "203.0.113.7", "300.1.1.1"])
def test_an_address_that_is_none_of_a_local_network_is_refused(at_home: None, text: str) -> None:
    with pytest.raises(CommandError, match=text):
        _serving.addresses(options("--lan", "--host", text))


def test_a_computer_without_network_is_told_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(local_network, "own_addresses", list)

    with pytest.raises(CommandError, match="no local network"):
        _serving.addresses(options("--lan"))


def test_the_switch_of_https_goes_on_before_anything_is_served(
    at_home: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun: list[dict[str, str]] = []
    monkeypatch.setattr("os.execve", lambda program, words, environ: begun.append(environ))

    _serving.begin_again_over_tls(options("--lan"))

    assert begun[0]["SAFETYPLAN_HTTPS"] == "1"
    assert "192.168.1.20" in begun[0]["ALLOWED_HOSTS"].split(",")


def test_without_the_network_nothing_is_begun_again(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("os.execve", lambda *words: pytest.fail("begun again"))

    _serving.begin_again_over_tls(options())
