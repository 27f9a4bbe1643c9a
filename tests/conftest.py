"""No test reads or writes the data folder of whoever runs the tests."""

from __future__ import annotations

from collections.abc import Iterator

import pytest


@pytest.fixture(scope="session", autouse=True)
def _own_data_folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TAILWISE_DATA", str(tmp_path_factory.mktemp("data")))
        yield
