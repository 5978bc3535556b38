"""One time beside another of the same run."""

import time
from collections.abc import Callable
from dataclasses import dataclass

HEADER = f"{'benchmark':12} {'what':44} {'ms':>9} {'rival ms':>9} {'ratio':>7}  aim"


@dataclass(frozen=True, kw_only=True)
class Row:
    """A time, a rival's in the same run if there is one, and what was aimed at."""

    what: str
    seconds: float
    aim: str
    rival_seconds: float | None = None

    def __str__(self) -> str:
        rival = ratio = "-"
        if self.rival_seconds is not None:
            rival = f"{self.rival_seconds * 1e3:.3f}"
            ratio = f"{self.seconds / self.rival_seconds:.2f}"
        return f"{self.what:44} {self.seconds * 1e3:9.3f} {rival:>9} {ratio:>7}  {self.aim}"


def least_seconds(work: Callable[[], object], *, rounds: int = 5, calls: int = 20) -> float:
    """Return the time of one call: the least mean of several rounds, others' work kept out."""
    work()
    return min(_mean_seconds(work, calls) for _ in range(rounds))


def _mean_seconds(work: Callable[[], object], calls: int) -> float:
    start = time.perf_counter()
    for _ in range(calls):
        work()
    return (time.perf_counter() - start) / calls
