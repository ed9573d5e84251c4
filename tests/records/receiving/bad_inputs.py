"""Rows of the table of bad inputs as they meet the forms at the door.

row: its number in the table. form, field: where it is typed. The outcome: refused (R), refused with a choice
that puts it right (C), or taken as `stored` (A).
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Bad:
    """One input and what becomes of it."""

    row: int
    form: str
    field: str
    typed: str
    outcome: str
    stored: str = ""


ROWS = (
    Bad(1, "milk", "volume", "300,5", "A", "300.5"),
    Bad(2, "milk", "volume", "300 L", "A", "300"),
    Bad(5, "milk", "volume", "NaN", "R"),
    Bad(5, "milk", "volume", "-Infinity", "R"),
    Bad(6, "milk", "volume", "1e3", "R"),
    Bad(6, "milk", "volume", "1e309", "R"),
    Bad(7, "milk", "volume", "1_000", "R"),
    Bad(7, "milk", "volume", "½", "R"),
    Bad(8, "milk", "volume", "３００", "R"),
    Bad(8, "milk", "volume", "3O0", "R"),
    Bad(9, "milk", "volume", "4.625", "C"),
    Bad(2, "milk", "acidity", "16 °D", "A", "16"),
    Bad(10, "milk", "volume", "1.234,5", "R"),
    Bad(13, "milk", "ph", "70", "C"),
    Bad(13, "milk", "ph", "14.5", "R"),
    Bad(14, "milk", "ph", " 6,8 ", "A", "6.8"),
    Bad(15, "milk", "volume", "--", "R"),
    Bad(16, "milk", "volume", "", "R"),
    Bad(17, "milk", "volume", "99999999999999999999", "R"),
    Bad(23, "milk", "on_time", "23:59", "R"),
    Bad(27, "milk", "on_time", "24:00", "R"),
    Bad(27, "milk", "on_date", "2026-02-30", "R"),
    Bad(28, "milk", "on_date", "14/05/2026", "R"),
    Bad(29, "milk", "on_date", "0001-01-01", "R"),
    Bad(29, "milk", "on_date", "9999-12-31", "R"),
    Bad(30, "milk", "code", "  m  7 ", "A", "M 7"),
    Bad(31, "milk", "code", "M-O", "R"),
    Bad(32, "milk", "kit", "11111111-1111-4111-8111-111111111111", "R"),
    Bad(65, "milk", "tank", "=1+1", "A", "=1+1"),
    Bad(66, "milk", "tank", "<script>alert(1)</script>", "A", "<script>alert(1)</script>"),
    Bad(68, "milk", "tank", "a\x00b", "R"),
    Bad(69, "milk", "code", "M\u202e7", "R"),
    Bad(70, "milk", "code", "Mа7", "R"),
    Bad(72, "milk", "late_reason", "x" * 10_000, "R"),
    Bad(3, "milk", "volume", "80 gal", "C"),
    Bad(4, "milk", "ph", "2.1", "C"),
    Bad(11, "milk", "volume", "-5", "R"),
    Bad(11, "milk", "volume", "−5", "R"),
    Bad(12, "milk", "acidity", "-300", "R"),
    Bad(18, "milk", "volume", "300.12345", "C"),
    Bad(19, "milk", "volume", "-0", "R"),
    Bad(84, "milk", "volume", "300\n", "A", "300"),
    Bad(84, "milk", "volume", "Volume: 300", "R"),
    Bad(16, "ingredient", "name", "", "R"),
    Bad(3, "ingredient", "quantity", "5 lb", "C"),
    Bad(11, "ingredient", "quantity", "−2", "R"),
    Bad(19, "ingredient", "quantity", "-0", "A", "0"),
    Bad(84, "ingredient", "quantity", "2,5\t", "A", "2.5"),
    Bad(1, "ingredient", "quantity", "2,5", "A", "2.5"),
    Bad(5, "ingredient", "quantity", "inf", "R"),
    Bad(28, "ingredient", "use_by", "03/04/2027", "R"),
    Bad(27, "ingredient", "use_by", "2027-02-29", "R"),
    Bad(29, "ingredient", "use_by", "0001-01-01", "R"),
    Bad(30, "ingredient", "code", " k  9 ", "A", "K 9"),
    Bad(70, "ingredient", "code", "Kа9", "R"),
    Bad(16, "refuse", "why", "", "R"),
    Bad(3, "refuse", "volume", "2 gal", "C"),
    Bad(11, "refuse", "volume", "-1", "R"),
    Bad(19, "refuse", "volume", "-0", "R"),
    Bad(17, "refuse", "volume", "300.5", "R"),
    Bad(21, "refuse", "on_time", "06:00", "R"),
    Bad(1, "refuse", "volume", "10,5", "A", "10.5"),
)
