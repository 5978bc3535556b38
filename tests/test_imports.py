"""The arrows between the packages run one way: app -> calibration -> geometry."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
DRAWING_FILES = {"ezdxf", "reportlab", "svgelements"}
FORBIDDEN = {
    "geometry": {"app", "calibration", "cv2", "PySide6", *DRAWING_FILES},
    "calibration": {"app", "PySide6", *DRAWING_FILES},
    "app/document": {"PySide6", "app.gui"},
    "app/files": {"PySide6", "app.gui"},
    "app/exports": {"PySide6", "app.gui"},
}
WITHOUT_QT = ["geometry", "calibration", "app.document", "app.files", "app.exports", "app.cli"]


def imported(path: Path) -> Iterator[tuple[str, int]]:
    """Name and line of each import, those inside functions too."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from ((f"{node.module}.{alias.name}", node.lineno) for alias in node.names)


def wrong_imports(package: str, root: Path) -> list[str]:
    return [
        f"{path}:{line} imports {name}"
        for path in sorted((root / package).rglob("*.py"))
        for name, line in imported(path)
        for banned in FORBIDDEN[package]
        if f"{name}.".startswith(f"{banned}.")
    ]


@pytest.mark.parametrize("package", FORBIDDEN)
def test_imports_go_down(package: str) -> None:
    assert list((ROOT / package).rglob("*.py")), f"{package} has no modules"
    wrong = wrong_imports(package, ROOT)
    assert not wrong, "\n".join(wrong)


def test_an_upward_import_is_seen(tmp_path: Path) -> None:
    (tmp_path / "geometry").mkdir()
    source = "def f():\n    from app.files import job\n"
    (tmp_path / "geometry" / "bad.py").write_text(source, encoding="utf-8")
    assert len(wrong_imports("geometry", tmp_path)) == 1


@pytest.mark.parametrize("module", WITHOUT_QT)
def test_a_fresh_process_loads_no_qt(module: str) -> None:
    code = f"import sys, {module}; sys.exit('PySide6' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
