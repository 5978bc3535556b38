"""Run the benchmarks: ``python -m tests.benchmarks [--quick] [name ...]``.

Each module of this folder has ``rows() -> list[Row]``; one that takes long also has ``quick_rows``
for ``--quick``. A row sets a time beside a rival measured in the same run, so that the machine
cancels out, and beside what was aimed at. Nothing is judged here.
"""

import importlib
import pkgutil
import sys
from pathlib import Path

from tests.benchmarks.timing import HEADER

FOLDER = Path(__file__).parent
NOT_BENCHMARKS = {"__main__", "rival_poses", "timing", "truth"}


def main(arguments: list[str]) -> int:
    quick = "--quick" in arguments
    wanted = [name for name in arguments if name != "--quick"]
    names = [module.name for module in pkgutil.iter_modules([str(FOLDER)])]
    benchmarks = [name for name in names if name not in NOT_BENCHMARKS]
    unknown = set(wanted) - set(benchmarks)
    if unknown:
        sys.stderr.write(f"no benchmark {sorted(unknown)}; there are {benchmarks}\n")
        return 2
    sys.stdout.write(HEADER + "\n")
    for name in wanted or benchmarks:
        module = importlib.import_module(f"tests.benchmarks.{name}")
        for row in getattr(module, "quick_rows", module.rows)() if quick else module.rows():
            sys.stdout.write(f"{name:12} {row}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
