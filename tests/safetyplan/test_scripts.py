"""The scripts of the pages: whatever one uses of another, it imports. No build step would tell."""

import re
from functools import cache
from pathlib import Path

import pytest
from django.conf import settings

FOLDER = Path(settings.BASE_DIR) / "safetyplan" / "static" / "js"
SCRIPTS = sorted(path.name for path in FOLDER.glob("*.js"))


@cache
def text_of(name: str) -> str:
    """Give a script without its comments and texts."""
    text = re.sub(r"/\*.*?\*/", "", (FOLDER / name).read_text(), flags=re.S)
    text = re.sub(r'"(?:\\.|[^"\\\n])*"', '""', text)
    return re.sub(r"(?<!:)//.*", "", text)


@cache
def exported(name: str) -> frozenset[str]:
    """Give what a script offers to others."""
    return frozenset(
        re.findall(r"^export (?:async )?(?:function\*?|const|let|class) (\w+)", text_of(name), re.M)
    )


def imported(name: str) -> list[tuple[str, str]]:
    """Give what a script imports by name, with the script it comes from."""
    rows = re.findall(r'import \{([^}]*)\} from "\./([\w-]+\.js)"', (FOLDER / name).read_text())
    return [(one.split(" as ")[0].strip(), origin) for names, origin in rows for one in names.split(",")]


@pytest.mark.parametrize("name", SCRIPTS)
def test_what_a_script_imports_is_there(name: str) -> None:
    missing = [(one, origin) for one, origin in imported(name) if one and one not in exported(origin)]
    assert missing == []


@pytest.mark.parametrize("name", SCRIPTS)
def test_what_a_script_calls_of_another_is_imported(name: str) -> None:
    text, own = text_of(name), {one for one, _origin in imported(name)}
    offered = {one for other in SCRIPTS if other != name for one in exported(other)} - exported(name) - own
    called = {one for one in offered if re.search(rf"(?<![\w.]){one}\(", text)}
    own_ways = r"\b(?:function|const|let) {0}\b|[{{,(]\s*{0}\s*[,}})=]"
    declared = {one for one in called if re.search(own_ways.format(one), text)}
    assert called - declared == set()
