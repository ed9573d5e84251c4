"""Each row of the bad inputs is asked on each way by which a record comes, and who asks is there."""

from pathlib import Path

import pytest

from tests.records.rules.bad_input_table import PATHS, TABLE, TESTS

TEST_FOLDER = Path(__file__).resolve().parents[2]


def test_every_row_says_for_every_way_who_asks() -> None:
    assert sorted(TABLE) == [*range(1, 41), *range(63, 85)]
    cells = {row: [cell.strip() for cell in line.split("|")] for row, line in TABLE.items()}
    assert {row: line for row, line in cells.items() if len(line) != len(PATHS)} == {}
    assert {cell for line in cells.values() for cell in line} - {"-"} == set(TESTS)


@pytest.mark.parametrize("name", sorted(TESTS))
def test_who_asks_is_there(name: str) -> None:
    file, test = TESTS[name]
    assert f"def {test}" in (TEST_FOLDER / file).read_text(encoding="utf-8")
