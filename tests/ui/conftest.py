"""What is computed for the pages stands in a folder of this run: nothing of the user's own cache is read or left."""

import os

import pytest


@pytest.fixture(scope="session", autouse=True)
def _own_cache(tmp_path_factory):
    before = os.environ.get("MELTWISE_CACHE")
    os.environ["MELTWISE_CACHE"] = str(tmp_path_factory.mktemp("melting"))
    yield
    if before is None:
        del os.environ["MELTWISE_CACHE"]
    else:
        os.environ["MELTWISE_CACHE"] = before
