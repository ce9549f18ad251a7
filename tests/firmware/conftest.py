"""Every program is compiled once for all tests."""

from __future__ import annotations

import pytest

from tests.firmware.building import Built, build


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Built:
    return build(tmp_path_factory.mktemp("firmware"))
