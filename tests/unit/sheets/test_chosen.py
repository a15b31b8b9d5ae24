import pytest

from suitability.errors import ConfigError
from suitability.sheets import chosen_sites

RANKS = [1, 2, 3, 4, 5, 8, 9]


@pytest.mark.parametrize(
    ("text", "ranks"),
    [(None, RANKS), ("3", [3]), ("1-5,8", [1, 2, 3, 4, 5, 8]), (" 8 , 2-3,2", [2, 3, 8]),
     ("9-9", [9])],
)  # fmt: skip
def test_spans_are_read(text, ranks):
    assert chosen_sites(text, RANKS) == ranks


@pytest.mark.parametrize(
    ("text", "what", "fix"),
    [
        ("", "names no sites", "1-5,8"),
        ("two", "names no sites", "1-5,8"),
        ("1,,2", "names no sites", "1-5,8"),
        ("-3", "names no sites", "1-5,8"),
        ("6", "no site 6", "1 to 9"),
        ("5-9", "no site 6", "1 to 9"),
        ("0-2", "no site 0", "1 to 9"),
        ("1-999999999999", "no site 6", "1 to 9"),
        ("4-2", "backwards", "1 to 9"),
    ],
)
def test_what_is_none_is_refused(text, what, fix):
    with pytest.raises(ConfigError) as refused:
        chosen_sites(text, RANKS)
    assert what in str(refused.value)
    assert fix in str(refused.value)


def test_a_run_without_sites_says_so():
    with pytest.raises(ConfigError, match="found none"):
        chosen_sites("1", [])
