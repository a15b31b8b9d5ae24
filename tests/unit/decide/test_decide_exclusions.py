"""Why land is out: one bit a reason."""

import numpy as np
import pytest

from suitability.decide import REASONS, reason_bits, reasons_in

# Files of earlier runs hold these bits: a new reason takes the next one, none ever moves.
BITS = {"no_data": 1, "outside": 2, "under_canopy": 4, "clearance": 8, "building": 16, "water": 32,
        "slope": 64, "keep_out": 128, "existing_box": 256}  # fmt: skip


def mask(*values: int) -> np.ndarray:
    return np.array([values], dtype=bool)


def test_each_reason_has_its_own_bit_and_words():
    assert {reason.key: reason.bit for reason in REASONS} == BITS
    words = [reason.words for reason in REASONS]
    assert len(set(words)) == len(words)
    assert all(words)


def test_bits_add_up():
    bits = reason_bits(
        {"outside": mask(1, 1, 0, 0), "slope": mask(0, 1, 1, 0), "existing_box": mask(0, 1, 0, 0)},
        (1, 4),
    )
    assert bits.dtype == np.uint16
    np.testing.assert_array_equal(bits, [[2, 2 + 64 + 256, 64, 0]])


def test_without_a_rule_all_land_is_candidate():
    np.testing.assert_array_equal(reason_bits({}, (2, 3)), np.zeros((2, 3)))


def test_an_unknown_rule_is_a_bug_and_not_passed_over():
    with pytest.raises(KeyError):
        reason_bits({"too_windy": mask(1)}, (1, 1))


@pytest.mark.parametrize("number", [0, 1, 2, 4 + 32, 511])
def test_bits_are_read_back(number):
    found = reasons_in(number)
    assert sum(reason.bit for reason in found) == number
    assert [reason.number for reason in found] == sorted(reason.number for reason in found)
