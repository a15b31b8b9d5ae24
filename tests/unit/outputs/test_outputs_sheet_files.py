import os

import pytest

from suitability.outputs.sheet_files import BOOKS, FOLDER, file_names, forget_sheets

HOSTILE = [
    "../../etc/passwd", "..", ".", "", "   ", "/", "C:\\boot.ini", "a/b", "a\\b", "a\x00b", "-rf",
    "~root", "$(reboot)", "con", "NUL", "com1", "x" * 500, "è" * 200, "漢字" * 90, "line\nbreak",
    ".hidden", "name.pdf", "*?<>|:\"", "trailing. ", "\u202egnp.exe", "Straße", "STRASSE",
    "ﬁeld", "field", "Field", "fie\u0301ld", "fi\u00e9ld",
]  # fmt: skip


def test_hostile_names_become_files_of_their_own_in_the_folder(tmp_path):
    names = file_names(HOSTILE)
    inside = tmp_path / "in"
    inside.mkdir()
    for name in names:
        (inside / f"{name}.pdf").write_text(name, encoding="utf-8")
    assert [path.name for path in tmp_path.iterdir()] == ["in"]
    assert len(list(inside.iterdir())) == len(HOSTILE)
    assert len({name.casefold() for name in names}) == len(HOSTILE)
    for name in names:
        assert not name.startswith((".", "-", "~"))
        assert os.sep not in name
        assert len(f"{name}.pdf".encode()) <= 100
        assert name.lower() not in {"con", "nul", "com1"}


@pytest.mark.parametrize(
    ("name", "becomes"),
    [("North field", "North_field"), ("Flur 12/3", "Flur_12_3"), ("Łąka", "Łąka"),
     ("../secret", "secret"), ("", "parcel"), ("con", "con_")],
)  # fmt: skip
def test_a_name_stays_what_it_can(name, becomes):
    assert file_names([name]) == [becomes]


def test_equal_names_are_numbered_even_where_the_number_is_taken():
    assert file_names(["a", "A", "a_2", "a!"]) == ["a", "A_2", "a_2_2", "a_3"]


def test_pages_of_an_earlier_run_go_and_nothing_else(tmp_path):
    (tmp_path / FOLDER).mkdir()
    kept = tmp_path / "notes.pdf"
    for path in (kept, *(tmp_path / name for name in BOOKS.values()), tmp_path / FOLDER / "a.pdf"):
        path.write_text("x")
    forget_sheets(tmp_path)
    assert list(tmp_path.iterdir()) == [kept]
