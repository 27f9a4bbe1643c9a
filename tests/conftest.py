"""No test reads or writes the data folder of whoever runs the tests."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import settings


@pytest.fixture(scope="session", autouse=True)
def _own_data_folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TAILWISE_DATA", str(tmp_path_factory.mktemp("data")))
        yield


settings.register_profile("tailwise", deadline=None, derandomize=True)  # no timing asserts, the same examples every time
settings.load_profile("tailwise")
