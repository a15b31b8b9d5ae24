"""CSV for spreadsheets: what it may not run, and letters that must survive."""

import csv

import pytest

from suitability.outputs.spreadsheet import forget_table, harmless, write_table


@pytest.mark.parametrize("text", ["=1+1", "+1", "-barn", "@SUM(A1)", "\tx", "\rx", "＝1"])
def test_what_would_run_is_text(text):
    # OWASP, "CSV Injection": cells that begin with = + - @ tab or return, wide forms too.
    assert harmless(text) == f"'{text}"


@pytest.mark.parametrize("text", ["barn", "1 barn", "", "a=b", "'=1"])
def test_other_words_stay(text):
    assert harmless(text) == text


def test_letters_beyond_ascii_are_marked(tmp_path):
    plain, marked = tmp_path / "plain.csv", tmp_path / "marked.csv"
    write_table(plain, ["name"], [["barn"]])
    write_table(marked, ["name"], [["Straße, 1\n2. Zeile"]])
    assert plain.read_bytes() == b"name\r\nbarn\r\n"
    assert marked.read_bytes().startswith(b"\xef\xbb\xbf")
    with marked.open(encoding="utf-8-sig", newline="") as file:
        assert list(csv.reader(file)) == [["name"], ["Straße, 1\n2. Zeile"]]


def test_only_a_table_of_these_columns_is_taken_away(tmp_path):
    own, others = tmp_path / "own.csv", tmp_path / "others.csv"
    write_table(own, ["name", "höhe"], [["barn", "1"]])
    write_table(others, ["owner", "name"], [["barn", "1"]])
    for path in (own, others, tmp_path / "missing.csv"):
        forget_table(path, ["name", "höhe"])
    assert [path.name for path in tmp_path.iterdir()] == ["others.csv"]
