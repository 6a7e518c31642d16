"""What the import linter can't see: names in strings, a core without Django, sizes of files and functions."""

import ast
import os
import subprocess
import sys
from pathlib import Path
from statistics import median

import pytest

ROOT = Path(__file__).resolve().parent.parent
CODE = ("config", "yard", "kilnruns", "drying")
FILE_LINES = 300
BODY_LINES = 40


def sources() -> list[Path]:
    return [path for top in CODE for path in sorted((ROOT / top).rglob("*.py")) if "migrations" not in path.parts]


def bodies(path: Path) -> list[tuple[str, int]]:
    """Name and number of lines of each function's body, its docstring not counted."""
    found = []
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            statements = node.body[1:] if ast.get_docstring(node) else node.body
            lines = statements[-1].end_lineno - statements[0].lineno + 1 if statements else 0
            found.append((f"{path.relative_to(ROOT)}:{node.name}", lines))
    return found


def test_nothing_of_the_yard_mentions_the_kiln_runs() -> None:
    places = [*(ROOT / "yard").rglob("*.py"), *(ROOT / "templates" / "yard").rglob("*.html")]
    assert len(places) > 30
    assert [str(path) for path in places if "kilnruns" in path.read_text()] == []


def test_the_core_loads_no_django() -> None:
    files = sorted((ROOT / "drying").rglob("*.py"))
    modules = [".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__") for path in files]
    script = f"import sys, {', '.join(modules)}; sys.exit(any(name.split('.')[0] == 'django' for name in sys.modules))"
    assert len(modules) > 10
    assert subprocess.run([sys.executable, "-c", script], cwd=ROOT, check=False).returncode == 0


def test_a_command_starts_without_what_few_need() -> None:
    """SciPy's parts and the workbooks' reader took 40 % of each start; they come in where they are first used."""
    heavy = {"scipy.stats", "scipy.interpolate", "scipy.special", "scipy.sparse", "openpyxl"}
    script = (
        "import sys, django; django.setup()\n"
        "from django.urls import get_resolver\n"
        "assert get_resolver().url_patterns\n"
        f"assert not {heavy} & set(sys.modules), {heavy} & set(sys.modules)"
    )
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "config.settings"}
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("path", sources(), ids=lambda path: str(path.relative_to(ROOT)))
def test_a_file_keeps_its_size(path: Path) -> None:
    assert len(path.read_text().splitlines()) <= FILE_LINES


def test_functions_keep_their_size() -> None:
    lengths = [body for path in sources() for body in bodies(path)]
    assert [(name, lines) for name, lines in lengths if lines > BODY_LINES] == []
    assert median(lines for _, lines in lengths) <= 8


def test_the_import_contracts_hold() -> None:
    command = [str(Path(sys.executable).parent / "lint-imports"), "--no-cache"]
    result = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert result.returncode == 0, result.stdout
