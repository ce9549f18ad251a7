"""Bench codes: what they lead to, that a reader of another make reads them, and when a phone can't follow."""

from __future__ import annotations

import socket
from collections.abc import Sequence

import numpy as np
import pytest
import zxingcpp

from bridge.bench_codes import CodeMaker
from bridge.bench_keys import BenchKeys
from bridge.errors import ControlError
from bridge.messages import BenchCode
from bridge.own_addresses import ordered, own_addresses

KEYS = BenchKeys(bytes(32))
HERE = "192.168.1.20"


def maker(host: str = "0.0.0.0", addresses: Sequence[str] = (HERE, "10.0.0.7")) -> CodeMaker:
    return CodeMaker(KEYS, host=host, page_port=8050, addresses=lambda: addresses)


def read(code: BenchCode) -> str:
    """As a camera sees it: four points a module, within the quiet zone of four modules."""
    modules = np.array([[one == "1" for one in row] for row in code.modules])
    dark = np.kron(np.pad(modules, 4), np.ones((4, 4), bool))
    (found,) = zxingcpp.read_barcodes(np.where(dark, 0, 255).astype(np.uint8))
    assert found.format == zxingcpp.BarcodeFormat.QRCode
    return found.text


def test_every_code_leads_to_the_page_of_its_bench_with_its_key() -> None:
    found = maker().codes((1, 3, 24, 9999), None)
    assert (found.base, found.reachable, found.words) == (f"http://{HERE}:8050", True, "")
    assert found.bases == (f"http://{HERE}:8050", "http://10.0.0.7:8050")
    for code, bench in zip(found.codes, (1, 3, 24, 9999), strict=True):
        assert code.url == f"http://{HERE}:8050/bench/{bench}#k={KEYS.key(bench)}"
        assert read(code) == code.url
        assert len({len(row) for row in code.modules} | {len(code.modules)}) == 1


def test_codes_are_kept_until_they_would_be_others() -> None:
    made = maker()
    first = made.codes((1, 2), None).codes
    assert made.codes((1, 2), None).codes is first
    assert [one.url for one in made.codes((1, 2), "http://10.0.0.7:8050").codes] != [one.url for one in first]
    assert len(made.codes((1, 2, 3), None).codes) == 3


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "127.5.5.5", "::1"])
def test_a_session_for_this_machine_only_says_how_to_open_it(host: str) -> None:
    found = maker(host).codes((1,), None)
    assert (found.base, found.bases, found.reachable) == ("http://127.0.0.1:8050", (), False)
    assert "--host 0.0.0.0" in found.words


def test_a_session_on_one_address_leads_there() -> None:
    found = maker("10.1.2.3").codes((1,), None)
    assert (found.bases, found.reachable) == (("http://10.1.2.3:8050",), True)
    assert maker("fd00::2").codes((1,), None).bases == ("http://[fd00::2]:8050",)


def test_a_machine_in_no_network_says_so() -> None:
    found = maker(addresses=()).codes((1,), None)
    assert not found.reachable
    assert "in no network" in found.words


@pytest.mark.parametrize(
    ("base", "reachable", "words"),
    [
        ("http://10.0.0.7:8050", True, ""),
        (f"HTTP://{socket.gethostname().upper()}:8050", True, ""),
        ("http://192.168.9.9:8050", False, "may not connect"),
        ("https://10.0.0.7:8050", False, "may not connect"),
        ("http://localhost:8050", False, "the phone itself"),
    ],
)
def test_another_base_is_taken_and_told_where_it_can_not_work(base: str, reachable: bool, words: str) -> None:
    found = maker().codes((1,), base.replace("HTTP", "http"))
    assert found.reachable is reachable
    assert words in found.words
    assert found.codes[0].url.startswith(base.lower())


@pytest.mark.parametrize(
    "base",
    [
        "", "10.0.0.7:8050", "ftp://10.0.0.7", "http://", "http://a b", "http://a/", "http://a/x",
        "http://a?b", "http://a#b", "http://me@a", "http://a:99999", "http://a:0", "http://a:", "http://a\n",
        "javascript:1", "http://a<script>", "http://[::1", "http://é",
    ],
)  # fmt: skip
def test_what_is_no_plain_origin_is_refused(base: str) -> None:
    with pytest.raises(ControlError, match="no address for bench codes"):
        maker().codes((1,), base)


def test_private_addresses_come_first_and_useless_ones_not_at_all() -> None:
    found = ordered(["127.0.1.1", "169.254.3.4", "8.8.8.8", "192.168.1.20", "10.0.0.7", "0.0.0.0"])
    assert found == ("192.168.1.20", "10.0.0.7", "8.8.8.8", "169.254.3.4")


def test_every_address_found_is_this_machines_own() -> None:
    for address in own_addresses():
        with socket.socket() as probe:
            probe.bind((address, 0))  # refused for an address of another machine
