"""Run the benchmarks: ``python -m tests.benchmarks [name ...]``.

Each module of this folder has ``rows() -> list[Row]``. A row sets a time beside a rival measured in
the same run, so that the machine cancels out, and beside what was aimed at. Nothing is judged here.
"""

import importlib
import pkgutil
import sys
from pathlib import Path

from tests.benchmarks.timing import HEADER

FOLDER = Path(__file__).parent
NOT_BENCHMARKS = {"__main__", "timing", "truth"}


def main(wanted: list[str]) -> int:
    names = [module.name for module in pkgutil.iter_modules([str(FOLDER)])]
    benchmarks = [name for name in names if name not in NOT_BENCHMARKS]
    unknown = set(wanted) - set(benchmarks)
    if unknown:
        sys.stderr.write(f"no benchmark {sorted(unknown)}; there are {benchmarks}\n")
        return 2
    sys.stdout.write(HEADER + "\n")
    for name in wanted or benchmarks:
        for row in importlib.import_module(f"tests.benchmarks.{name}").rows():
            sys.stdout.write(f"{name:12} {row}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
