"""Every test runs without a screen, and finds the project's own samples."""

import os
from collections.abc import Iterator
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import hypothesis
import pytest

# How long an example takes is for the benchmarks: a busy machine makes no test fail.
hypothesis.settings.register_profile("untimed", deadline=None)
hypothesis.settings.load_profile("untimed")

ROOT = Path(__file__).resolve().parent.parent
SHARED = ROOT.parent / "shared"


@pytest.fixture(autouse=True, scope="session")
def _no_things_of_a_person(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep the tests off the pens and families of whoever runs them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("BLANKWRIGHT_DATA", str(tmp_path_factory.mktemp("data")))
        yield


@pytest.fixture(scope="session")
def samples() -> Path:
    return ROOT / "samples"


@pytest.fixture(scope="session")
def shared() -> Path:
    """The material that is kept beside the project; a test that needs it skips without it."""
    if not SHARED.is_dir():
        pytest.skip("the folder 'shared' is not beside the project")
    return SHARED
