"""Commands that write pages of the same wheels, made by many tests, ask for the same sums."""

from collections.abc import Iterator

import pytest

from tests.support.kept import keep_sums_of_pages


@pytest.fixture(scope="session", autouse=True)
def _sums_of_pages_kept() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        keep_sums_of_pages(patch)
        yield
