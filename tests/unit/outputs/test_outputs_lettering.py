import pytest

from suitability.outputs.lettering import printable


@pytest.mark.parametrize(
    "text", ["Łąka über Ångström", "Ферма № 3", "Λιβάδι", "5 × 4 m, 12°", "$5"]
)
def test_letters_that_the_font_has_stay(text):
    assert printable(text) == text


@pytest.mark.parametrize(
    ("text", "shown"),
    [("漢字 farm", "□□ farm"), ("שדה", "□□□"), ("حقل 7", "□□□ 7"), ("खेत", "□□□"),
     ("tab\tand\x00line\nbreak", "tab and line break"), ("\u202eback", "back"), ("", "")],
)  # fmt: skip
def test_letters_that_it_lacks_or_would_jumble_are_boxes(text, shown):
    assert printable(text) == shown
