"""What the package may import."""

import ast
import subprocess
import sys
from pathlib import Path

from safetyplan import calculation
from tests.calculation.published import ROOT

PACKAGE = Path(calculation.__file__).parent


def imported(path: Path) -> set[str]:
    """The top-level packages a file imports, in type checking too."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            names.add((node.module or "").split(".")[0])
    return names


def test_importing_the_whole_package_loads_neither_django_nor_pint() -> None:
    modules = [
        ".".join(path.relative_to(ROOT).with_suffix("").parts)
        for path in PACKAGE.rglob("*.py")
        if path.name != "__init__.py"
    ]
    program = "import importlib, sys\n" + "\n".join(f"importlib.import_module({name!r})" for name in modules)
    program += "\nprint([name for name in ('django', 'pint') if name in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_only_the_file_of_units_imports_pint_and_nothing_else_comes_from_outside() -> None:
    outside = {
        path.relative_to(PACKAGE).as_posix(): imported(path) - set(sys.stdlib_module_names) - {"safetyplan"}
        for path in PACKAGE.rglob("*.py")
    }
    assert {path: names for path, names in outside.items() if names} == {"units.py": {"pint"}}


def test_no_file_reads_the_clock_a_file_or_the_network() -> None:
    forbidden = {"os", "io", "pathlib", "socket", "urllib", "http", "time", "random", "subprocess"}
    users = [path.name for path in PACKAGE.rglob("*.py") if imported(path) & forbidden]
    clocks = [
        path.name
        for path in PACKAGE.rglob("*.py")
        if any(
            call in path.read_text(encoding="utf-8")
            for call in ("datetime.now(", "datetime.utcnow(", "today(")
        )
    ]
    assert (users, clocks) == ([], [])


def test_only_the_file_of_rounding_rounds() -> None:
    rounding_words = ("quantize(", "ROUND_", " round(")
    users = {
        path.name
        for path in PACKAGE.rglob("*.py")
        if any(word in path.read_text(encoding="utf-8") for word in rounding_words)
    }
    assert users == {"rounding.py"}
