"""The benches' keys and the secret that they are made from."""

from __future__ import annotations

import re
import stat
import threading
from pathlib import Path

import pytest

from bridge.bench_keys import SECRET_FILE, BenchKeys, kept_secret, new_secret


def test_each_bench_has_a_key_of_its_own_that_may_stand_in_an_address() -> None:
    keys = BenchKeys(bytes(32))
    made = [keys.key(bench) for bench in range(1, 200)]
    assert len(set(made)) == len(made)
    assert all(re.fullmatch(r"[A-Za-z0-9_-]{22}", key) for key in made)


def test_only_the_benchs_own_key_is_right() -> None:
    keys = BenchKeys(bytes(32))
    key = keys.key(3)
    assert keys.is_right(3, key)
    for wrong in ("", key[:-1], key + "A", key.swapcase(), keys.key(4), "\ud800", "é" * 22):
        assert not keys.is_right(3, wrong)
    assert not keys.is_right(4, key)
    assert not BenchKeys(b"\1" * 32).is_right(3, key)


def test_the_secret_stays_and_only_the_user_may_read_it(tmp_path: Path) -> None:
    folder = tmp_path / "not there yet"
    secret = kept_secret(folder)
    assert kept_secret(folder) == secret
    assert kept_secret(tmp_path / "other") != secret
    (file,) = folder.iterdir()
    assert file.name == SECRET_FILE
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


@pytest.mark.parametrize("damage", ["", "ab", "x" * 64, "é"])
def test_a_damaged_secret_is_made_anew_and_told(
    tmp_path: Path, damage: str, caplog: pytest.LogCaptureFixture
) -> None:
    (tmp_path / SECRET_FILE).write_text(damage, encoding="utf-8")
    secret = kept_secret(tmp_path)
    assert kept_secret(tmp_path) == secret
    assert "printed before are no good" in caplog.text
    assert secret.hex() not in caplog.text


def test_a_folder_that_can_not_be_written_costs_no_session(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    (tmp_path / "file").write_text("in the way")
    assert len(kept_secret(tmp_path / "file")) == 32
    assert "this session only" in caplog.text


def test_a_secret_that_can_not_be_read_is_left_alone(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    (tmp_path / SECRET_FILE).mkdir()
    assert kept_secret(tmp_path) != kept_secret(tmp_path)
    assert (tmp_path / SECRET_FILE).is_dir()
    assert "this session only" in caplog.text


def test_sessions_that_begin_at_once_use_one_secret(tmp_path: Path) -> None:
    found: list[bytes] = []
    together = threading.Barrier(8)

    def begin() -> None:
        together.wait()
        found.append(kept_secret(tmp_path))

    threads = [threading.Thread(target=begin) for _ in range(8)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert len(set(found)) == 1
    assert [one.name for one in tmp_path.iterdir()] == [SECRET_FILE]


def test_secrets_are_drawn_anew() -> None:
    assert len({new_secret() for _ in range(20)}) == 20
    with pytest.raises(ValueError, match="32 bytes"):
        BenchKeys(b"short")
